"""Hostile values in every field of every kind of entry: each is in the books or on the list with a sentence.

None is lost, none counts twice, and no answer is an error of the server.
"""

import io
import json
import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.models import Job, JobStep, Person, Stage, TabletEntry
from shopapp.queries.entries import Sent, key_secret, signature_of
from shopapp.web.bench.kinds import KINDS
from tests.factories.devices import browser_of
from tests.factories.dock_calls import AtDock, at_dock, signed_content
from tests.factories.entries import Tablet, tablet_of
from tests.factories.jobs import agreed_job, job_at, picture, plan_line
from tests.factories.quotes import sent_quote
from tests.factories.steps import with_step
from tests.web.bench.test_entries import send
from tests.web.shared.bad_values import share_of_today
from tests.web.shared.hostile import row_counts

pytestmark = pytest.mark.django_db

HOLE = "@@"
AT_ONCE = 50
NOTE = {"text": "Line on the shaft"}
# what a text field of an entry may hold
TEXTS = (
    *("", " ", "0", "-1", "-0.001", "9" * 30, "9" * 5_000, "1" + "0" * 400, "1e400", "1e-400", "NaN", "-NaN"),
    *(
        "sNaN",
        "Infinity",
        "-Infinity",
        "inf",
        "0x10",
        "1_000",
        "½",
        "١٢٣",
        "１２",
        "1.234,56",
        "1 234,5",
        "1'000",
    ),
    *(
        "1\u202f000",
        "\u221212",
        "\u202e12",
        "12\u200f",
        "\u2066x\u2069",
        "\ufeff1",
        "x" * 10_000,
        "é" * 10_000,
    ),
    *("x" * 25_000, "\x07", "null", "true", "[]", "{}", "<script>alert(1)</script>", "'; DROP TABLE x; --"),
    *("99999999", "2147483648", "9223372036854775808", "00000000-0000-0000-0000-000000000000", "kpa", "each"),
    *("\x00", "a\x00b", "\ud800", "a\udfffb"),
)
# what is no text at all; as it stands in the JSON
WRONG = (
    *("null", "true", "12", "-1.5", "NaN", "-Infinity", "1e400", "[]", "{}", '["1"]', '{"a": "1"}'),
    *("[" * 3_000 + "]" * 3_000, '{"a":' * 900 + "1" + "}" * 900, "9" * 4_000),
)
ENVELOPE = ("id", "device", "sequence", "person", "key", "kind", "job", "at", "offset_ms", "content")


@dataclass(frozen=True, kw_only=True)
class Bench:
    """A tablet at which Tobiah works on a job, and what of another work order is not his."""

    tablet: Tablet
    person: Person
    job: Job
    line: int
    step: int
    foreign: tuple[str, ...]
    dock: AtDock


@pytest.fixture
def bench(ilse: Person, maren: Person, tobiah: Person, wen: Person) -> Bench:
    at = timezone.now()
    tablet = tablet_of(maren, tobiah, at=at)
    job, other = (agreed_job(Stage.IN_HAND, technician=one) for one in (tobiah, wen))
    steps = [_step(one, person, at=at) for one, person in ((job, tobiah), (other, wen))]
    return Bench(
        tablet=tablet,
        person=tobiah,
        job=job,
        line=plan_line(job, "part").pk,
        step=steps[0].pk,
        # lines, a step and a job of another work order
        foreign=tuple(
            str(row.pk) for row in (plan_line(other, "part"), plan_line(other, "labour"), steps[1], other)
        ),
        dock=at_dock(sent_quote(ilse, at=at), tablet, tobiah, by=ilse),
    )


def _step(job: Job, person: Person, *, at: Any) -> JobStep:
    return with_step(job, "New gaskets", by=Actor(scope=Scope.DESK, person=person, at=at))


def good(kind: str, bench: Bench) -> dict[str, str]:
    """What a tablet would send; a kind that is missing here fails."""
    mark = str(uuid.uuid4())
    return {
        "part": {"line": "", "number": "", "description": "Plug gasket", "quantity": "2", "unit": "each"},
        "planned": {"line": str(bench.line), "quantity": "1"},
        "time": {"line": "", "hours": "1", "minutes": "5", "work": "repair"},
        "fluid": {
            "point": "Gearcase",
            "product": "Gear oil",
            "drained": "300",
            "condition": "clean",
            "filled": "350",
            "measure": "ml",
        },
        "note": NOTE,
        "photo": {"caption": "Groove", "sha256": "0" * 64},
        "undo": {"entry": mark},
        "clock_on": {"mark": mark, "work": "repair"},
        "clock_off": {"mark": mark},
        "test": {"verdict": "passed", "rpm": "5200", "idle_temperature": "65", "temperature_unit": "deg_c"},
        "reading": {"reading": "compression", "value_1": "900", "second_1": "950", "unit": "kpa"},
        "tick": {"step": str(bench.step)},
        "signature": signed_content(bench.dock.call, bench.dock.sent),
    }[kind]


def spoiled(kind: str, bench: Bench) -> Sequence[tuple[str, str]]:
    """Each field of a kind with each hostile value, as JSON."""
    fields = sorted({*KINDS[kind].base_fields, *good(kind, bench)})
    return [(field, raw) for field in fields for raw in _raws(bench)]


def written(kind: str, bench: Bench, *, field: str = "", raw: str = "") -> Sent:
    """A signed entry of which one field holds what stands in ``raw``."""
    # a job has one test that passes
    job = job_at(Stage.TEST, technician=bench.person) if kind == "test" else bench.job
    if kind == "signature":
        job = bench.dock.job
    content = good(kind, bench) | ({field: HOLE} if field else {})
    return signed(bench, bench.tablet.write(kind, job, bench.person, content, after=0), raw=raw)


def signed(bench: Bench, sent: Sent, *, raw: str) -> Sent:
    """The same with the hole filled, signed anew as the tablet's own page would."""
    text = sent.text.replace(json.dumps(HOLE), raw)
    secret = key_secret(bench.tablet.keys[bench.person.pk].pk)
    return bench.tablet.sent(text, signature_of(text, secret=secret))


def answers_to(sents: Sequence[Sent], client: Client, *, bench: Bench, kind: str) -> Iterator[dict[str, Any]]:
    """What the tablet is told of each, in its order; photos go one at a time with their pictures."""
    if kind == "photo":
        for sent in sents:
            yield from _told(_with_picture(sent, client, bench=bench))
        return
    for place in range(0, len(sents), AT_ONCE):
        yield from _told(send(client, list(sents[place : place + AT_ONCE]), sent_at=bench.tablet.at))


def _with_picture(sent: Sent, client: Client, *, bench: Bench) -> Any:
    told = {"sent_at": bench.tablet.at.isoformat(), "text": sent.text, "signature": sent.signature}
    # a picture of its own: the same one twice on a job is one photo
    colour = f"#{sent.text_sha256[:6]}"
    return client.post("/bench/photo/", told | {"photo": io.BytesIO(picture(colour=colour))})


def _told(answer: Any) -> list[dict[str, Any]]:
    assert (answer.status_code, answer.headers.get("X-Shopapp-Entries")) == (200, "1")
    return list(answer.json()["entries"])


def require_each_kept_once(sents: Sequence[Sent], bench: Bench, *, kind: str = "") -> list[dict[str, Any]]:
    """Send all of them, and again backwards: nothing is lost, silent or double. Returns what was told."""
    client = browser_of(bench.tablet.token)
    told = list(answers_to(sents, client, bench=bench, kind=kind))
    counts = row_counts()
    again = list(answers_to(sents[::-1], client, bench=bench, kind=kind))

    assert (again[::-1], row_counts()) == (told, counts)
    assert (len(told), TabletEntry.objects.count()) == (len(sents), len(sents))
    assert {one.text for one in TabletEntry.objects.all()} == {sent.text for sent in sents}
    assert [one for one in told if one["outcome"] == "review" and not one["reason"].strip()] == []
    assert {one["outcome"] for one in told} <= {"stored", "review"}
    rows = [one["row"] for one in told if one["row"]]
    assert len(rows) == len(set(rows))
    return told


@pytest.mark.parametrize("kind", KINDS)
def test_hostile_values_are_kept_once_each(bench: Bench, kind: str) -> None:
    _require_kind_withstands(_few(spoiled(kind, bench)), kind=kind, bench=bench)


def _few[T](values: Sequence[T]) -> Sequence[T]:
    """At most five of those of today; the whole is a long run."""
    share = share_of_today(values)
    return share[:: -(-len(share) // 5)]


@pytest.mark.soak
@pytest.mark.parametrize("kind", KINDS)
def test_every_hostile_value_is_kept_once(bench: Bench, kind: str) -> None:
    _require_kind_withstands(spoiled(kind, bench), kind=kind, bench=bench)


def _require_kind_withstands(tried: Sequence[tuple[str, str]], *, kind: str, bench: Bench) -> None:
    plain = written(kind, bench)
    sents = [plain, *(written(kind, bench, field=field, raw=raw) for field, raw in tried)]

    told = require_each_kept_once(sents, bench, kind=kind)

    # the tablet's own entry, unspoiled, is in the books beside all of them
    assert told[0]["outcome"] == "stored", told[0]
    assert len(tried) > 2


def test_hostile_envelopes_are_kept_once_each(bench: Bench) -> None:
    _require_envelopes_withstand(share_of_today(_hostile_lines(bench)), bench=bench)


@pytest.mark.soak
def test_every_hostile_envelope_is_kept_once(bench: Bench) -> None:
    _require_envelopes_withstand(_hostile_lines(bench), bench=bench)


def _raws(bench: Bench) -> Sequence[str]:
    """Hostile values as JSON; the ids of others as numbers and as texts."""
    raws = [*(json.dumps(text) for text in (*TEXTS, *bench.foreign)), *bench.foreign, *WRONG]
    return list(dict.fromkeys(raws))


def _hostile_lines(bench: Bench) -> Sequence[tuple[str, str]]:
    return [(field, raw) for field in ENVELOPE for raw in _raws(bench)]


def _require_envelopes_withstand(tried: Sequence[tuple[str, str]], *, bench: Bench) -> None:
    plain = written("note", bench)
    sents = [plain, *(_with_line(bench, field, raw=raw) for field, raw in tried)]

    told = require_each_kept_once(sents, bench)

    assert told[0]["outcome"] == "stored", told[0]
    assert "review" in {one["outcome"] for one in told}


def _with_line(bench: Bench, field: str, *, raw: str) -> Sent:
    usual = bench.tablet.write("note", bench.job, bench.person, NOTE, after=0, told={field: HOLE})
    return signed(bench, usual, raw=raw)
