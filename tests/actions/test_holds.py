"""What a visit waits for: several at once, each with who chases it and when; released and taken up again."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.holds import (
    ChaseInput,
    HoldInput,
    chase_hold,
    place_hold,
    release_hold,
    restore_hold,
)
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Hold, Job, Person, PlacedHold, Stage
from tests.factories import PersonFactory
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
# the day of the tests' moment in the shop's own zone
TODAY = date(2026, 6, 2)


def waits(person: Person, kind: Hold = Hold.PARTS, **more: object) -> HoldInput:
    return HoldInput(**{"kind": kind, "chase_date": TODAY, "chaser": person.pk} | more)


@pytest.fixture
def job(tobiah: Person) -> Job:
    return job_at(Stage.IN_LINE, technician=tobiah)


def test_visit_waits_for_several_things(ilse: Person, tobiah: Person, job: Job, by: By) -> None:
    place_hold(job.work_order_id, waits(tobiah, note="seal kit ", job=job.pk), by=by(tobiah))
    place_hold(job.work_order_id, waits(ilse, Hold.PAYMENT, note="half up front"), by=by(ilse))

    rows = PlacedHold.objects.order_by("pk").values_list("kind", "note", "job", "chaser", "placed_by")
    assert list(rows) == [
        ("parts", "seal kit", job.pk, tobiah.pk, tobiah.pk),
        ("payment", "half up front", None, ilse.pk, ilse.pk),
    ]


def test_story_tells_no_note_of_a_hold(ilse: Person, job: Job, by: By) -> None:
    place_hold(job.work_order_id, waits(ilse, Hold.PAYMENT, note="owes 4,321.00"), by=by(ilse))

    assert [entry.verb for entry in Activity.objects.all()] == ["place hold"]
    assert "4,321" not in str(Activity.objects.get().payload)


def test_technician_places_no_hold_on_payment(tobiah: Person, job: Job, by: By) -> None:
    with pytest.raises(NotAllowed) as refusal:
        place_hold(job.work_order_id, waits(tobiah, Hold.PAYMENT), by=by(tobiah))

    assert (refusal.value.sentence, PlacedHold.objects.count()) == ("A hold on payment is the desk's.", 0)


def test_technician_releases_no_hold_on_payment(ilse: Person, tobiah: Person, job: Job, by: By) -> None:
    hold = place_hold(job.work_order_id, waits(ilse, Hold.PAYMENT), by=by(ilse))

    with pytest.raises(NotAllowed):
        release_hold(hold.pk, by=by(tobiah))

    hold.refresh_from_db()
    assert hold.released_at is None


def test_technician_of_another_boat_places_none(wen: Person, job: Job, by: By) -> None:
    with pytest.raises(NotAllowed) as refusal:
        place_hold(job.work_order_id, waits(wen), by=by(wen))

    assert refusal.value.sentence == "Only those who work on this boat may do that."


def test_closed_visit_waits_for_nothing(ilse: Person, by: By) -> None:
    work_order = job_at(Stage.CANCELLED).work_order

    with pytest.raises(Refused) as refusal:
        place_hold(work_order.pk, waits(ilse), by=by(ilse))

    assert refusal.value.sentence == "This visit is over; it waits for nothing any more."


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"chase_date": TODAY - timedelta(days=1)}, "chase_date"),
        ({"chase_date": TODAY + timedelta(days=731)}, "chase_date"),
        ({"chaser": 999_999}, "chaser"),
        ({"job": 999_999}, "job"),
        ({"note": "x" * 301}, "note"),
    ],
)
def test_hold_refuses_what_nobody_could_chase(
    ilse: Person, job: Job, by: By, change: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as error:
        place_hold(job.work_order_id, replace(waits(ilse), **change), by=by(ilse))

    assert (error.value.field, PlacedHold.objects.count()) == (field, 0)


def test_nobody_who_left_chases(ilse: Person, job: Job, by: By) -> None:
    gone = PersonFactory(name="Gone Away", is_active=False)

    with pytest.raises(BadInput, match=r"^chaser"):
        place_hold(job.work_order_id, waits(gone), by=by(ilse))


def test_job_of_another_visit_does_not_hold_this_one(ilse: Person, job: Job, by: By) -> None:
    other = job_at(Stage.HERE)

    with pytest.raises(BadInput, match=r"^job"):
        place_hold(job.work_order_id, waits(ilse, job=other.pk), by=by(ilse))


def test_chasing_moves_the_day_and_keeps_the_answer(ilse: Person, tobiah: Person, job: Job, by: By) -> None:
    hold = place_hold(job.work_order_id, waits(tobiah), by=by(ilse))
    data = ChaseInput(chase_date=TODAY + timedelta(days=3), chaser=ilse.pk, note="ships on Monday")

    chase_hold(hold.pk, data, version=1, by=by(ilse))

    hold.refresh_from_db()
    assert (hold.chase_date, hold.chaser, hold.note, hold.version) == (
        TODAY + timedelta(days=3),
        ilse,
        "ships on Monday",
        2,
    )


def test_second_who_chases_is_told_t22(ilse: Person, tobiah: Person, job: Job, by: By) -> None:
    hold = place_hold(job.work_order_id, waits(tobiah), by=by(ilse))
    first = ChaseInput(chase_date=TODAY, chaser=ilse.pk, note="ships on Monday")
    chase_hold(hold.pk, first, version=1, by=by(ilse))

    with pytest.raises(Stale) as stale:
        chase_hold(hold.pk, replace(first, note="no answer"), version=1, by=by(tobiah))

    assert stale.value.record.note == "ships on Monday"


def test_released_hold_is_chased_no_more(ilse: Person, job: Job, by: By) -> None:
    hold = place_hold(job.work_order_id, waits(ilse), by=by(ilse))
    release_hold(hold.pk, by=by(ilse))

    with pytest.raises(Refused) as refusal:
        chase_hold(hold.pk, ChaseInput(chase_date=TODAY, chaser=ilse.pk, note=""), version=1, by=by(ilse))

    assert refusal.value.sentence == "This hold is released; nobody waits for it any more."


def test_release_is_taken_back(ilse: Person, tobiah: Person, job: Job, by: By) -> None:
    hold = place_hold(job.work_order_id, waits(ilse), by=by(ilse))

    for _ in range(2):
        release_hold(hold.pk, by=by(tobiah))
    released = PlacedHold.objects.get()
    for _ in range(2):
        restore_hold(hold.pk, by=by(tobiah))

    assert (released.released_at, released.released_by) == (by(tobiah).at, tobiah)
    assert (PlacedHold.objects.get().released_at, PlacedHold.objects.get().released_by) == (None, None)
    assert [entry.verb for entry in Activity.objects.order_by("seq")] == [
        "place hold",
        "release hold",
        "restore hold",
    ]
