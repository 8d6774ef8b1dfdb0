"""The usual path of a visit, so that forty of them need not be written step by step."""

from collections.abc import Iterator

from shopapp.management.demo.world import Facts

# days after the first, the time of day, the verb; a visit goes so far as its ``until``
PATHS: tuple[tuple[str, tuple[tuple[int, str, str], ...]], ...] = (
    ("here", ((0, "08:40", "arrive"), (0, "08:50", "sign terms"), (0, "08:55", "arrival photo"))),
    ("diagnosis", ((0, "13:10", "look"), (1, "10:20", "find"), (1, "10:40", "finding photo"))),
    ("with_customer", ((1, "14:30", "quote"), (1, "14:45", "send link"))),
    ("in_line", ((2, "11:05", "answer"), (2, "11:20", "deposit"))),
    ("in_hand", ((3, "08:30", "begin"), (3, "12:00", "use plan"))),
    ("test", ((3, "15:40", "finish"),)),
    ("ready", ((4, "10:15", "prove"), (4, "11:30", "tell"))),
    ("drafted", ((4, "13:30", "draft"),)),
    ("billed", ((4, "14:20", "issue"),)),
    ("gone", ((5, "09:50", "pay"), (5, "10:05", "go home"))),
)
DESK, OWNER = "ilse", "maren"
BY_TECHNICIAN = ("look", "find", "finding photo", "begin", "use plan", "finish", "prove")
PHOTOS = ("arrival photo", "finding photo")
SAID_OR_LEFT_OUT = (*PHOTOS, "find", "quote", "deposit", "sign terms", "send link")
CALM = ("Light wind, two aboard, 11 °C", "Calm, one aboard, full tank", "Short chop, two aboard, 9 °C")
# minutes by which the visits keep off one another
SPREAD, APART = 45, 13

type Step = tuple[str, str, str, Facts]


def usual_steps(facts: Facts, *, place: int) -> Iterator[Step]:
    """The steps of a visit up to its ``until``, with what the visit itself says about them.

    ``rest`` (verb → days) lets the visit wait before that step and all that follow it.
    """
    rested = 0
    for stage, steps in PATHS:
        for days, clock, verb in steps:
            rested += facts.get("rest", {}).get(verb, 0)
            told = _told(verb, facts=facts, place=place)
            if told is not None:
                moment = f"{facts['came'] + days + rested} {_apart(clock, place=place)}"
                yield moment, _who(verb, facts=facts), *told
        if stage == facts["until"]:
            return


def _apart(clock: str, *, place: int) -> str:
    hours, minutes = clock.split(":")
    late = int(hours) * 60 + int(minutes) + place * APART % SPREAD
    return f"{late // 60:02}:{late % 60:02}"


def _who(verb: str, *, facts: Facts) -> str:
    if verb in BY_TECHNICIAN:
        return str(next(iter(facts.get("technicians", ())), OWNER))
    return OWNER if verb == "quote" else DESK


def _told(verb: str, *, facts: Facts, place: int) -> tuple[str, Facts] | None:
    """The verb and what it is told; None where the visit leaves that step out."""
    key = verb.replace(" ", "_")
    if verb == "arrive":
        return verb, facts
    if verb == "answer":
        return facts.get("answer", "sign"), facts.get("told", {})
    if verb == "prove":
        proof = {"conditions": CALM[place % len(CALM)], "remarks": "No leak, no alarm"}
        return None if facts.get("test") == "none" else (verb, proof)
    if verb in SAID_OR_LEFT_OUT and key not in facts:
        return None
    if verb in PHOTOS:
        return "photo", {**facts[key], "arrival": verb == "arrival photo"}
    return verb, facts.get(key, {})
