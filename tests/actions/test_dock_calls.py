"""A visit is handed out to one tablet for one day, and taken back."""

from collections.abc import Callable
from datetime import date, datetime, timedelta

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.devices import end_device
from shopapp.actions.dock_calls import HandOutInput, hand_out_dock_call, take_back_dock_call
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Device, DockCall, Job, Person, Pin, Stage
from tests.factories.devices import enrolled, with_pin
from tests.factories.dock_calls import handed_out
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
# the day of the tests' moment in the shop's own zone
TODAY = date(2026, 6, 2)


@pytest.fixture
def job(tobiah: Person, now: datetime) -> Job:
    with_pin(tobiah, at=now)
    return job_at(Stage.WITH_CUSTOMER, technician=tobiah)


@pytest.fixture
def tablet(maren: Person, now: datetime) -> Device:
    return enrolled(maren, at=now)[0]


def to(person: Person, tablet: Device) -> HandOutInput:
    return HandOutInput(person=person.pk, device=tablet.pk)


def test_call_is_for_one_tablet_one_person_and_the_day(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, by: By
) -> None:
    hand_out_dock_call(job.work_order_id, to(tobiah, tablet), by=by(ilse))

    row = DockCall.objects.values_list("work_order", "device", "person", "call_date", "handed_by").get()
    assert row == (job.work_order_id, tablet.pk, tobiah.pk, TODAY, ilse.pk)
    assert [entry.verb for entry in job.work_order.activity.all()] == ["hand out dock call"]


def test_day_is_that_of_the_shop(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, now: datetime
) -> None:
    # half past five in the afternoon of 2 June by UTC, and by Vancouver's clock 13 hours later still the 2nd
    call = handed_out(job.work_order, tablet, tobiah, by=ilse, at=now + timedelta(hours=13))

    assert call.call_date == TODAY


def test_second_call_at_the_same_tablet_is_refused(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, by: By
) -> None:
    hand_out_dock_call(job.work_order_id, to(tobiah, tablet), by=by(ilse))
    other = job_at(Stage.WITH_CUSTOMER, technician=tobiah)

    with pytest.raises(Refused) as refusal:
        hand_out_dock_call(other.work_order_id, to(tobiah, tablet), by=by(ilse))

    number = job.work_order.number
    assert refusal.value.sentence == (
        f"{number} is handed out to Bench tablet 1 today. Take that one back first."
    )
    assert DockCall.objects.count() == 1


def test_same_visit_goes_to_no_second_tablet(
    ilse: Person, maren: Person, tobiah: Person, job: Job, tablet: Device, by: By
) -> None:
    second = enrolled(maren, at=by(ilse).at, name="Bench tablet 2")[0]
    hand_out_dock_call(job.work_order_id, to(tobiah, tablet), by=by(ilse))

    with pytest.raises(Refused):
        hand_out_dock_call(job.work_order_id, to(tobiah, second), by=by(ilse))

    assert DockCall.objects.get().device == tablet


def test_call_of_yesterday_is_in_nobodys_way(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, now: datetime
) -> None:
    handed_out(job.work_order, tablet, tobiah, by=ilse, at=now)
    later = now + timedelta(days=1)

    handed_out(job.work_order, tablet, tobiah, by=ilse, at=later)

    assert list(DockCall.objects.in_force_on(later.date()).values_list("handed_at")) == [(later,)]


def test_taken_back_call_frees_tablet_and_visit(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, by: By
) -> None:
    call = hand_out_dock_call(job.work_order_id, to(tobiah, tablet), by=by(ilse))

    take_back_dock_call(call.pk, by=by(ilse))
    again = hand_out_dock_call(job.work_order_id, to(tobiah, tablet), by=by(ilse))

    call.refresh_from_db()
    assert (call.taken_back_by, call.taken_back_at) == (ilse, by(ilse).at)
    assert list(DockCall.objects.in_force_on(TODAY)) == [again]
    assert [entry.verb for entry in Activity.objects.order_by("seq")] == [
        "hand out dock call",
        "take back dock call",
        "hand out dock call",
    ]


def test_second_taking_back_is_refused(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, by: By
) -> None:
    call = hand_out_dock_call(job.work_order_id, to(tobiah, tablet), by=by(ilse))
    take_back_dock_call(call.pk, by=by(ilse))

    with pytest.raises(Refused) as refusal:
        take_back_dock_call(call.pk, by=by(ilse))

    assert refusal.value.sentence == "This dock call was taken back a moment ago."
    assert Activity.objects.count() == 2


def test_call_that_ended_with_its_day_is_not_taken_back(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, by: By, now: datetime
) -> None:
    call = handed_out(job.work_order, tablet, tobiah, by=ilse, at=now - timedelta(days=1))

    with pytest.raises(Refused):
        take_back_dock_call(call.pk, by=by(ilse))

    assert DockCall.objects.get().taken_back_at is None


def test_technician_hands_nothing_out(tobiah: Person, job: Job, tablet: Device, by: By) -> None:
    with pytest.raises(NotAllowed):
        hand_out_dock_call(job.work_order_id, to(tobiah, tablet), by=by(tobiah))

    assert DockCall.objects.count() == 0


def test_technician_takes_nothing_back(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, by: By
) -> None:
    call = hand_out_dock_call(job.work_order_id, to(tobiah, tablet), by=by(ilse))

    with pytest.raises(NotAllowed):
        take_back_dock_call(call.pk, by=by(tobiah))

    assert DockCall.objects.get().taken_back_at is None


def test_closed_visit_is_not_handed_out(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, by: By
) -> None:
    gone = job_at(Stage.CANCELLED)

    with pytest.raises(Refused):
        hand_out_dock_call(gone.work_order_id, to(tobiah, tablet), by=by(ilse))

    assert DockCall.objects.count() == 0


def test_tablet_that_was_ended_gets_nothing(
    ilse: Person, maren: Person, tobiah: Person, job: Job, tablet: Device, by: By
) -> None:
    end_device(tablet.pk, by=by(maren))

    with pytest.raises(BadInput) as refusal:
        hand_out_dock_call(job.work_order_id, to(tobiah, tablet), by=by(ilse))

    assert refusal.value.field == "device"


def test_person_without_a_pin_gets_nothing(
    ilse: Person, tobiah: Person, job: Job, tablet: Device, by: By
) -> None:
    Pin.objects.all().delete()

    with pytest.raises(Refused) as refusal:
        hand_out_dock_call(job.work_order_id, to(tobiah, tablet), by=by(ilse))

    assert refusal.value.sentence == "Tobiah Reyes has no PIN yet, and a tablet opens with a PIN only."


def test_front_desk_is_no_technician(ilse: Person, job: Job, tablet: Device, by: By) -> None:
    with pytest.raises(BadInput) as refusal:
        hand_out_dock_call(job.work_order_id, to(ilse, tablet), by=by(ilse))

    assert refusal.value.field == "person"
