"""What tablets send is in the books once, whatever order it comes in; what can't be is on the desk's list."""

import json
import random
import uuid
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import connection

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.devices import end_device
from shopapp.actions.entries import SettleInput, settle_entry, take_entry
from shopapp.actions.job_tests import RecordTestInput, record_test
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Activity,
    EntryState,
    FluidEntry,
    Job,
    JobNote,
    PartUsed,
    Person,
    Pin,
    Stage,
    TabletEntry,
    TimeEntry,
)
from shopapp.queries.entries import missing_of, signature_of
from shopapp.web.bench.kinds import wanted_by
from tests.factories.entries import Tablet, mark_of, tablet_of
from tests.factories.jobs import agreed_job, job_at, plan_line
from tests.factories.waste import container_of

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
GASKET = {"description": "Plug gasket", "quantity": "2", "unit": "each"}
HOURS = {"work": "repair", "hours": "1", "minutes": "30"}
OIL = {
    "point": "gearcase",
    "product": "Gear oil",
    "drained": "1",
    "filled": "0.5",
    "measure": "us_qt",
    "condition": "milky",
}


@pytest.fixture
def tablet(maren: Person, tobiah: Person, wen: Person, now: Any) -> Tablet:
    """A tablet at which Tobiah and then Wen gave their PIN at this moment."""
    return tablet_of(maren, tobiah, wen, at=now)


def test_signature_is_that_of_the_published_case() -> None:
    # RFC 4231, test case 2
    secret, text = b"Jefe", "what do ya want for nothing?"

    assert signature_of(text, secret=secret) == (
        "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
    )


def test_part_of_an_entry_is_used_by_who_wrote_it_then(tablet: Tablet, tobiah: Person) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    entry = tablet.take(tablet.write("part", job, tobiah, GASKET, after=20))

    row = PartUsed.objects.get()
    assert (row.description, row.quantity_milli, row.logged_by) == ("Plug gasket", 2_000, tobiah)
    assert (row.happened_at, row.recorded_at) == (tablet.at + timedelta(minutes=20), tablet.received_at)
    assert (entry.state, entry.row, entry.person) == (EntryState.STORED, f"part_used-{row.pk}", tobiah)


def test_fluid_for_the_wrong_container_goes_to_the_desk(tablet: Tablet, tobiah: Person, ilse: Person) -> None:
    job, drum = (
        job_at(Stage.IN_HAND, technician=tobiah),
        container_of(Actor(scope=Scope.DESK, person=ilse, at=tablet.at)),
    )

    entry = tablet.take(tablet.write("fluid", job, tobiah, OIL | {"container": f"{drum.pk}: Oil drum"}))

    assert (entry.state, FluidEntry.objects.count()) == (EntryState.REVIEW, 0)
    assert "Give a container for oily water" in entry.reason


def test_fluid_in_quarts_is_kept_in_millilitres(tablet: Tablet, tobiah: Person) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    tablet.take(tablet.write("fluid", job, tobiah, OIL))

    # a US quart is 946.352 946 ml (NIST Handbook 44, appendix C); halved 473.176
    assert FluidEntry.objects.values_list("drained_ml", "filled_ml", "condition").get() == (946, 473, "milky")


def test_planned_part_of_an_entry_meets_its_line(tablet: Tablet, tobiah: Person) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    line = plan_line(job, "part")

    tablet.take(tablet.write("planned", job, tobiah, {"line": line.pk, "quantity": "2"}))

    assert PartUsed.objects.values_list("plan_line", "price_rule").get() == (line.pk, "as agreed")


def test_two_people_at_one_tablet_keep_their_own_entries(tablet: Tablet, tobiah: Person, wen: Person) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    job.assignments.create(person=wen)

    tablet.take(tablet.write("time", job, tobiah, HOURS))
    tablet.take(tablet.write("time", job, wen, HOURS))

    names = TimeEntry.objects.order_by("pk").values_list("person__name", "logged_by__name", "minutes")
    assert list(names) == [("Tobiah Reyes", "Tobiah Reyes", 90), ("Wen Okafor", "Wen Okafor", 90)]


def test_entry_sent_again_is_answered_and_not_repeated(tablet: Tablet, tobiah: Person) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    sent = tablet.write("part", job, tobiah, GASKET)

    first, second = tablet.take(sent), tablet.take(sent)

    assert first.pk == second.pk
    assert PartUsed.objects.count() == 1


def test_same_mark_with_other_content_goes_to_the_desk(tablet: Tablet, tobiah: Person) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    sent = tablet.write("part", job, tobiah, GASKET)
    other = tablet.write("part", job, tobiah, GASKET | {"quantity": "3"}, told={"id": mark_of(sent)})

    tablet.take(sent)
    entry = tablet.take(other)

    assert entry.reason == "Another entry came under the same mark with other content."
    assert PartUsed.objects.values_list("quantity_milli", flat=True).get() == 2_000


def test_any_order_with_repeats_gives_the_state_of_the_order_written(
    tablet: Tablet, tobiah: Person, wen: Person
) -> None:
    rng = random.Random(20261126)
    told: list[Any] = []
    for _round in range(4 if connection.vendor == "sqlite" else 2):
        job = job_at(Stage.IN_HAND, technician=tobiah)
        job.assignments.create(person=wen)
        sents = [
            tablet.write(kind, job, rng.choice([tobiah, wen]), content, after=after)
            for after, (kind, content) in enumerate(
                [("part", GASKET), ("time", HOURS), ("fluid", OIL), ("note", {"text": "Line on the shaft"})]
                * 3
            )
        ]
        undone = rng.choice(sents[:3])
        author = {tobiah.pk: tobiah, wen.pk: wen}[json.loads(undone.text)["person"]]
        sents.append(tablet.write("undo", job, author, {"entry": mark_of(undone)}))
        order = sents * 2
        rng.shuffle(order)
        for sent in order:
            tablet.take(sent)
        kind = json.loads(undone.text)["kind"]
        told.append((kind, _state_of(job)))

    for kind, state in told:
        assert state == {name: 3 - (name == kind) for name in ("part", "time", "fluid", "note")}
    assert not TabletEntry.objects.exclude(state=EntryState.STORED).exists()


def _state_of(job: Any) -> dict[str, int]:
    rows = {"part": job.partuseds, "time": job.timeentrys, "fluid": job.fluidentrys, "note": job.notes}
    return {name: found.filter(struck_at=None).count() for name, found in rows.items()}


def test_undo_of_somebody_elses_entry_goes_to_the_desk(tablet: Tablet, tobiah: Person, wen: Person) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    job.assignments.create(person=wen)
    sent = tablet.write("part", job, tobiah, GASKET)

    tablet.take(sent)
    entry = tablet.take(tablet.write("undo", job, wen, {"entry": mark_of(sent)}))

    assert entry.reason == "It would take back what somebody else wrote."
    assert PartUsed.objects.get().struck_at is None


@pytest.mark.parametrize("is_undo_first", [False, True])
def test_undone_entry_that_could_not_be_taken_is_set_aside(
    tablet: Tablet, tobiah: Person, is_undo_first: bool
) -> None:
    job = job_at(Stage.HERE, technician=tobiah)
    sent = tablet.write("part", job, tobiah, GASKET)
    undo = tablet.write("undo", job, tobiah, {"entry": mark_of(sent)})

    for one in (undo, sent) if is_undo_first else (sent, undo):
        tablet.take(one)

    entry = TabletEntry.objects.get(kind="part")
    assert (entry.state, entry.settled_by) == (EntryState.SET_ASIDE, tobiah)
    assert not PartUsed.objects.exists()


def test_order_gone_meanwhile_sends_the_entry_to_the_desk(tablet: Tablet, tobiah: Person) -> None:
    job = _gone(job_at(Stage.IN_HAND, technician=tobiah))

    entry = tablet.take(tablet.write("part", job, tobiah, GASKET))

    assert entry.reason == (
        "Parts, hours and fluids are logged from diagnosis to test; this job is at “Gone”."
    )
    assert (entry.state, entry.person, entry.job) == (EntryState.REVIEW, tobiah, job)


def _gone(job: Job) -> Job:
    Job.objects.filter(pk=job.pk).update(stage=Stage.GONE)
    return job


def test_late_part_of_a_job_that_passed_its_test_is_taken(tablet: Tablet, tobiah: Person, by: By) -> None:
    job = job_at(Stage.TEST, technician=tobiah)
    actor = by(tobiah)
    record_test(job.pk, RecordTestInput(has_passed=True), by=_later(actor, minutes=60))

    before = tablet.take(tablet.write("part", job, tobiah, GASKET, after=59))
    after = tablet.take(tablet.write("part", job, tobiah, GASKET, after=61))

    assert (before.state, after.state) == (EntryState.STORED, EntryState.REVIEW)


def _later(actor: Actor, *, minutes: int) -> Actor:
    return Actor(scope=actor.scope, person=actor.person, at=actor.at + timedelta(minutes=minutes))


def test_job_of_others_is_not_written_on(tablet: Tablet, tobiah: Person, wen: Person) -> None:
    job = job_at(Stage.IN_HAND, technician=wen)

    entry = tablet.take(tablet.write("part", job, tobiah, GASKET))

    assert entry.reason == "Only those who work on this boat may do that."


@pytest.mark.parametrize(
    ("kind", "content", "reason"),
    [
        ("part", {"quantity": "2", "unit": "each"}, "Or what it is: Say which part it was, or pick it"),
        ("part", GASKET | {"quantity": "-1"}, 'How many: "-1" is not accepted.'),
        ("time", HOURS | {"hours": "25"}, 'Hours: "25" is not accepted.'),
        ("fluid", OIL | {"measure": "bucket"}, "Measured in: Select a valid choice."),
        ("note", {"text": " "}, "Note is missing. Please fill it in."),
        ("wish", {}, "This shop does not know what kind of entry “wish” is."),
        ("photo", {"sha256": "0" * 64}, "This entry came without its picture."),
    ],
)
def test_bad_value_is_kept_with_the_sentence_about_it(
    tablet: Tablet, tobiah: Person, kind: str, content: dict[str, str], reason: str
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    entry = tablet.take(tablet.write(kind, job, tobiah, content))

    assert entry.reason.startswith(reason)
    assert (entry.state, json.loads(entry.text)["content"]) == (EntryState.REVIEW, content)


def test_person_switched_off_has_their_queue_looked_at_t15(tablet: Tablet, tobiah: Person) -> None:
    """T15, the tablet's queue."""
    job = job_at(Stage.IN_HAND, technician=tobiah)
    sent = tablet.write("part", job, tobiah, GASKET)
    Person.objects.filter(pk=tobiah.pk).update(is_active=False)

    entry = tablet.take(sent)

    assert (entry.state, entry.reason) == (EntryState.REVIEW, "Tobiah Reyes no longer works here.")
    assert not PartUsed.objects.exists()


def test_nobody_is_believed_without_their_key(tablet: Tablet, tobiah: Person, maren: Person) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    without = tablet.write("part", job, None, GASKET | {"said_name": "Tobiah"})
    as_owner = tablet.write("part", job, tobiah, GASKET, told={"person": maren.pk})
    signed = tablet.write("part", job, tobiah, GASKET)
    changed = tablet.sent(signed.text.replace('"2"', '"9"'), signed.signature)

    reasons = [tablet.take(sent).reason for sent in (without, as_owner, changed)]

    assert reasons == [
        "No PIN was given for it: Tobiah.",
        "Its signature does not fit: it is not sure who wrote it.",
        "Its signature does not fit: it is not sure who wrote it.",
    ]
    assert set(TabletEntry.objects.values_list("person", flat=True)) == {None}


def _set_pin_at(person: Person, at: datetime) -> None:
    Pin.objects.filter(person=person).update(set_at=at)


def test_key_signs_for_twelve_hours_and_until_a_new_pin(tablet: Tablet, tobiah: Person) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    tablet.device.enrolled_at = tablet.at - timedelta(days=3)
    tablet.device.save()
    key = tablet.keys[tobiah.pk]
    key.issued_at = tablet.at - timedelta(hours=12)
    key.save()
    _set_pin_at(tobiah, tablet.at - timedelta(days=1))

    within = tablet.take(tablet.write("part", job, tobiah, GASKET, after=0))
    beyond = tablet.take(tablet.write("part", job, tobiah, GASKET, after=1))
    _set_pin_at(tobiah, tablet.at - timedelta(minutes=5))
    anew = tablet.take(tablet.write("part", job, tobiah, GASKET, after=-1))

    assert (within.state, beyond.reason, anew.reason) == (
        EntryState.STORED,
        "It was written more than 12 hours after Tobiah Reyes gave the PIN.",
        "The PIN of Tobiah Reyes was changed before this was written.",
    )


@pytest.mark.parametrize(
    ("told", "after", "reason"),
    [
        ({"offset_ms": -4 * 60_000}, 10, ""),
        ({"offset_ms": 6 * 60_000}, 10, "The tablet's clock was off by 6 minutes: "),
        ({"offset_ms": None}, -7, "The tablet's clock was off by 7 minutes: "),
        ({}, 187, "The tablet's clock was off by 7 minutes: "),
        ({"device": 999_999}, 10, "Its signature does not fit"),
        ({"job": None}, 10, "The job that it names is not there."),
        ({"job": 999_999}, 10, "The job that it names is not there."),
        ({"key": str(uuid.UUID(int=7))}, 10, "Its signature does not fit"),
    ],
)
def test_doubtful_entry_says_what_is_doubtful(
    tablet: Tablet, tobiah: Person, told: dict[str, Any], after: int, reason: str
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    entry = tablet.take(tablet.write("part", job, tobiah, GASKET, told=told, after=after))

    assert entry.reason[: len(reason)] == reason
    assert (entry.state == EntryState.STORED) is (reason == "")


@pytest.mark.parametrize(
    "text", ["", "[]", "null", '{"id": 1}', "[" * 30_000, '{"id": "\\ud800"}', "x" * 9_000]
)
def test_unreadable_entry_is_kept_as_it_came(tablet: Tablet, text: str) -> None:
    entry = tablet.take(tablet.sent(text))

    assert (entry.text, entry.reason) == (text, "The tablet sent something that can't be read.")


def test_tablet_enrolled_anew_brings_its_old_entries_to_the_desk(
    tablet: Tablet, tobiah: Person, maren: Person, by: By
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    sent = tablet.write("part", job, tobiah, GASKET)
    end_device(tablet.device.pk, by=by(maren))
    anew = tablet_of(maren, at=tablet.at, name="Bench tablet 2")

    with pytest.raises(NotAllowed):
        tablet.take(sent)
    entry = anew.take(sent)

    assert entry.reason == "It was written on another tablet, or before this one was enrolled anew."
    assert (entry.person, entry.device) == (tobiah, anew.device)


def test_desk_takes_an_entry_in_at_the_time_it_happened(
    tablet: Tablet, tobiah: Person, ilse: Person, by: By
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    sent = tablet.write("time", job, None, HOURS | {"said_name": "Tobiah"})
    entry, wanted = tablet.take(sent), wanted_by(sent.written, locale="en")
    actor = _later(by(ilse), minutes=600)

    with pytest.raises(BadInput, match="whose hours these are"):
        settle_entry(entry.pk, SettleInput(is_taken=True), wanted, by=actor)
    settled = settle_entry(entry.pk, SettleInput(is_taken=True, person=tobiah.pk), wanted, by=actor)

    row = TimeEntry.objects.get()
    assert (row.person, row.logged_by, row.minutes) == (tobiah, ilse, 90)
    assert (row.happened_at, row.recorded_at) == (entry.happened_at, actor.at)
    assert (settled.state, settled.settled_by, settled.row) == (
        EntryState.TAKEN,
        ilse,
        f"time_entry-{row.pk}",
    )
    with pytest.raises(Refused, match="dealt with a moment ago"):
        settle_entry(entry.pk, SettleInput(is_taken=False, reason="twice"), wanted, by=actor)


def test_entry_set_aside_says_why_and_stays(tablet: Tablet, tobiah: Person, ilse: Person, by: By) -> None:
    job = _gone(job_at(Stage.IN_HAND, technician=tobiah))
    sent = tablet.write("part", job, tobiah, GASKET)
    entry, wanted = tablet.take(sent), wanted_by(sent.written, locale="en")

    with pytest.raises(NotAllowed):
        settle_entry(entry.pk, SettleInput(is_taken=False, reason="no"), wanted, by=by(tobiah))
    with pytest.raises(BadInput, match="why it does not go into the books"):
        settle_entry(entry.pk, SettleInput(is_taken=False, reason=" "), wanted, by=by(ilse))
    with pytest.raises(Refused, match="from diagnosis to test"):
        settle_entry(entry.pk, SettleInput(is_taken=True), wanted, by=by(ilse))
    settle_entry(entry.pk, SettleInput(is_taken=False, reason="billed by hand"), wanted, by=by(ilse))

    entry.refresh_from_db()
    assert (entry.state, entry.settled_reason, entry.text) == (
        EntryState.SET_ASIDE,
        "billed by hand",
        sent.text,
    )
    verbs = Activity.objects.order_by("-seq").values_list("verb", flat=True)
    assert list(verbs[:2]) == ["set entry aside", "keep for the desk"]


def test_gaps_in_a_tablets_numbers_are_named() -> None:
    assert missing_of([]) == ()
    assert missing_of([1, 2, 3]) == ()
    assert missing_of([9, 5, 2, 1, 2]) == ((3, 4), (6, 8))
    assert missing_of([3]) == ((1, 2),)


def test_nobody_but_an_enrolled_tablet_sends(tablet: Tablet, tobiah: Person, by: By) -> None:
    sent = tablet.write("part", job_at(Stage.IN_HAND, technician=tobiah), tobiah, GASKET)
    with pytest.raises(NotAllowed, match="no longer enrolled"):
        take_entry(sent, wanted_by(sent.written, locale="en"), by=by(tobiah))


def test_note_stays_when_it_is_struck(tablet: Tablet, tobiah: Person) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    sent = tablet.write("note", job, tobiah, {"text": "Line on the shaft"})

    tablet.take(sent)
    tablet.take(tablet.write("undo", job, tobiah, {"entry": mark_of(sent)}))

    note = JobNote.objects.get()
    assert (note.text, note.written_by, note.struck_by) == ("Line on the shaft", tobiah, tobiah)


def test_test_at_the_dock_makes_the_job_ready_once_it_is_sent(tablet: Tablet, tobiah: Person) -> None:
    job = job_at(Stage.TEST, technician=tobiah)
    run = {"verdict": "passed", "rpm": "5400", "there": "21,5", "back": "20", "speed_unit": "kn"}

    wrong = tablet.take(tablet.write("test", job, tobiah, run | {"back": ""}))
    entry = tablet.take(tablet.write("test", job, tobiah, run | {"there": "21.5"}))

    job.refresh_from_db()
    assert wrong.reason.startswith("Speed one way: ") or wrong.reason.startswith("Speed back: ")
    assert (entry.state, job.stage) == (EntryState.STORED, Stage.READY)
    test = job.tests.get()
    assert (test.said, test.tested_at) == (
        "20.8\u00a0kn as the mean of both ways; 5400 rpm: no range known",
        entry.happened_at,
    )


@pytest.mark.parametrize("is_undo_first", [False, True])
def test_undo_of_what_stays_goes_to_the_desk_and_holds_up_nothing(
    tablet: Tablet, tobiah: Person, is_undo_first: bool
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    sent = tablet.write("clock_on", job, tobiah, {"mark": uuid.uuid4(), "work": "repair"})
    undo = tablet.write("undo", job, tobiah, {"entry": mark_of(sent)})

    for one in (undo, sent) if is_undo_first else (sent, undo):
        tablet.take(one)

    states = dict(TabletEntry.objects.values_list("kind", "state"))
    assert states == {"clock_on": EntryState.STORED, "undo": EntryState.REVIEW}
    assert TabletEntry.objects.get(kind="undo").reason == (
        "This can't be taken back at the tablet. Ask the desk."
    )
