"""What stands beside the jobs of a visit: all of it for the owner, less for the desk, least for the bench."""

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.custody import CustodyInput, record_custody
from shopapp.actions.devices import end_device
from shopapp.actions.holds import HoldInput, place_hold, release_hold
from shopapp.models import CallSlip, Hold, Intake, Job, Outcome, Person, Stage, VisitPerson
from shopapp.queries.visit_sides import Sides, sides_of
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.devices import enrolled, with_pin
from tests.factories.dock_calls import handed_out
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
TODAY = date(2026, 6, 2)
SECRET = "owes 9,876.54"


def seen(job: Job, viewer: Person) -> Sides:
    jobs = list(job.work_order.jobs.all())
    return sides_of(job.work_order, jobs=jobs, viewer=viewer, today=TODAY, currency="CAD")


@pytest.fixture
def job(ilse: Person, tobiah: Person, by: By) -> Job:
    """A job with something of everything beside it."""
    found = job_at(Stage.IN_LINE, technician=tobiah)
    visit = found.work_order
    for kind, days, note, on in ((Hold.PAYMENT, 4, SECRET, None), (Hold.PARTS, 0, "seal kit", found.pk)):
        day = TODAY + timedelta(days=days)
        place_hold(
            visit.pk, HoldInput(kind=kind, chase_date=day, chaser=ilse.pk, note=note, job=on), by=by(ilse)
        )
    over = place_hold(visit.pk, HoldInput(kind=Hold.LIFT, chase_date=TODAY, chaser=ilse.pk), by=by(ilse))
    release_hold(over.pk, by=by(ilse))
    record_custody(visit.pk, CustodyInput(thing="keys", move="in", who="Pia", place="hook 4"), by=by(ilse))
    VisitPerson.objects.create(work_order=visit, part="collector", name="Pia", phone="604 555 0177")
    Intake.objects.create(
        work_order=visit, spending_limit_minor=20_000, diagnosis_fee_minor=8_000, created_at=by(ilse).at
    )
    CallSlip.objects.create(work_order=visit, name="Pia", about="when?", taken_by=ilse, taken_at=by(ilse).at)
    return found


def test_desk_sees_everything_in_one_query(
    ilse: Person, job: Job, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_num_queries(2):
        # the other one fetches the jobs
        sides = seen(job, ilse)

    assert [(one.word, one.note, one.job, one.is_due) for one in sides.holds] == [
        ("Parts", "seal kit", 1, True),
        ("Payment", SECRET, None, False),
    ]
    assert [one.word for one in sides.released] == ["Lift or tide"]
    assert [(one.word, one.is_here, one.place, one.who) for one in sides.things] == [
        ("Keys", True, "hook 4", "Pia")
    ]
    assert [(one.word, one.name, one.phone) for one in sides.people] == [
        ("Collects the boat", "Pia", "604 555 0177")
    ]
    assert sides.terms is not None
    assert (sides.terms.limit, sides.terms.fee, sides.terms.signed_at) == (Decimal(200), Decimal(80), None)
    assert [one.about for one in sides.slips] == ["when?"]
    assert [one.name for one in sides.technicians] == ["Tobiah Reyes"]


def test_technician_sees_waits_and_keys_without_money_and_numbers(tobiah: Person, job: Job) -> None:
    sides = seen(job, tobiah)

    assert [(one.word, one.note) for one in sides.holds] == [("Parts", "seal kit"), ("Payment", "")]
    assert (sides.people, sides.terms, sides.slips, sides.kin) == ((), None, (), ())
    assert [one for one in (SECRET, "604 555 0177", "200") if one in repr(sides)] == []


def test_later_entry_tells_where_a_thing_is(ilse: Person, job: Job, by: By) -> None:
    record_custody(job.work_order_id, CustodyInput(thing="keys", move="out", who="Aud"), by=by(ilse))

    assert [(one.is_here, one.who) for one in seen(job, ilse).things] == [(False, "Aud")]


def test_signed_terms_come_before_newer_unsigned_ones(ilse: Person, job: Job, by: By) -> None:
    Intake.objects.update(
        signed_at=by(ilse).at,
        signed_how="paper",
        signed_name="Aud",
        shown_sha256="0" * 64,
        signed_sha256="1" * 64,
    )
    Intake.objects.create(work_order=job.work_order, spending_limit_minor=1, created_at=by(ilse).at)

    terms = seen(job, ilse).terms

    assert terms is not None
    assert (terms.signed_name, terms.limit) == ("Aud", Decimal(200))


def test_only_the_owner_sees_where_a_job_comes_from(
    ilse: Person, tobiah: Person, maren: Person, job: Job
) -> None:
    elder = JobFactory(work_order=WorkOrderFactory(number="W-OLD"), outcome=Outcome.DONE)
    later = JobFactory(work_order=WorkOrderFactory(number="W-NEW"), caused_by_job=job)
    Job.objects.filter(pk=job.pk).update(caused_by_job=elder)

    kin = [(one.number, one.job_pk, one.is_cause) for one in seen(job, maren).kin]

    assert sorted(kin) == [("W-NEW", later.pk, False), ("W-OLD", elder.pk, True)]
    assert [seen(job, one).kin for one in (ilse, tobiah)] == [(), ()]


def test_desk_sees_the_dock_call_and_the_tablets_of_the_shop(
    ilse: Person, maren: Person, tobiah: Person, job: Job, by: By
) -> None:
    at = by(ilse).at
    tablets = [enrolled(maren, at=at, name=name)[0] for name in ("Tablet 2", "Tablet 1", "Old tablet")]
    end_device(tablets[2].pk, by=by(maren))
    with_pin(tobiah, at=at)

    before = seen(job, ilse)
    call = handed_out(job.work_order, tablets[0], tobiah, by=ilse, at=at)
    after, technician = seen(job, ilse), seen(job, tobiah)

    assert ([one.name for one in before.tablets], before.dock_call) == (["Tablet 1", "Tablet 2"], None)
    assert after.dock_call is not None
    assert (after.dock_call.pk, after.dock_call.person, after.dock_call.tablet) == (
        call.pk,
        "Tobiah Reyes",
        "Tablet 2",
    )
    assert (technician.tablets, technician.dock_call) == ((), None)
