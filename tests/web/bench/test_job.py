"""One job at the bench: facts, plan and what is logged; no money; kept only for its own technician."""

from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogFluidInput, UsePartInput, log_fluid, use_part
from shopapp.actions.step_ticks import TickInput, tick_step
from shopapp.models import EngineFamily, FluidCondition, Job, JobNote, PartUsed, Person, Stage
from tests.factories import JobFactory
from tests.factories.jobs import agreed_job, job_at, lay_up, log_parts
from tests.factories.spec_book import written_family
from tests.factories.steps import with_step
from tests.factories.waste import container_of
from tests.web.bench.told import words_of
from tests.web.shared.hostile import NASTY_NAMES

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
By = Callable[[Person], Actor]
OIL = LogFluidInput(
    point="gear case",
    product="Gear oil",
    drained_ml=420,
    filled_ml=350,
    condition=FluidCondition.MILKY,
)


def address(job: Job) -> str:
    return f"/bench/job/{job.pk}/"


def test_job_shows_what_was_agreed_and_logged(tobiah: Person, now: datetime, by_pin: SignedIn) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    log_parts(job, tobiah, count=1, at=now)

    content = words_of(by_pin(tobiah), address(job))

    assert "Shaft seal" in content
    assert "part 1" in content
    assert "Battery: negative lead off first." in content
    assert "Finish the work" in content


def test_no_money_even_for_an_owner_at_the_desk(maren: Person, tobiah: Person, signed_in: SignedIn) -> None:
    """The page may be kept on a tablet, so it is read with a technician's rights whoever looks."""
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    moment = timezone.now()
    PartUsed.objects.create(
        job=job,
        description="Drive shaft",
        quantity_milli=1_000,
        unit_cost_e4=7_310_113,
        unit_price_e4=8_310_120,
        logged_by=tobiah,
        happened_at=moment,
        recorded_at=moment,
    )

    content = words_of(signed_in(maren), address(job))

    assert "Drive shaft" in content
    assert [amount in content for amount in ("731.01", "831.01", "7310113")] == [False, False, False]


def test_own_open_job_may_be_kept(tobiah: Person, by_pin: SignedIn) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)

    assert by_pin(tobiah).get(address(job))["X-Shopapp-Kept-For"] == str(tobiah.pk)


def test_job_of_a_colleague_on_the_same_boat_is_read_but_not_kept(
    tobiah: Person, wen: Person, by_pin: SignedIn
) -> None:
    mine = job_at(Stage.DIAGNOSIS, technician=tobiah)
    other = JobFactory.create(work_order=mine.work_order, position=2, technician=wen)

    answer = by_pin(tobiah).get(address(other))

    assert (answer.status_code, "X-Shopapp-Kept-For" in answer) == (200, False)


def test_closed_job_is_not_kept(tobiah: Person, by_pin: SignedIn) -> None:
    job = job_at(Stage.CANCELLED, technician=tobiah)

    assert "X-Shopapp-Kept-For" not in by_pin(tobiah).get(address(job))


def test_job_of_another_is_missing_t01(tobiah: Person, wen: Person, by_pin: SignedIn) -> None:
    job, client = job_at(Stage.HERE, technician=tobiah), by_pin(wen)

    other, missing = client.get(address(job)), client.get("/bench/job/999999/")

    assert (other.status_code, other.content) == (404, missing.content)


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_part_names_are_inert_t13(tobiah: Person, by_pin: SignedIn, name: str) -> None:
    job, moment = job_at(Stage.DIAGNOSIS, technician=tobiah), timezone.now()
    row = {"quantity_milli": 1_000, "logged_by": tobiah, "happened_at": moment, "recorded_at": moment}
    PartUsed.objects.create(job=job, description=name, **row)

    assert "<script>alert" not in words_of(by_pin(tobiah), address(job))


@pytest.mark.parametrize("count", [1, 100])
def test_job_takes_the_same_queries(
    *,
    tobiah: Person,
    now: datetime,
    by_pin: SignedIn,
    by: By,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    job.engine.family = EngineFamily.objects.create(make="Petrel Marine", name="P60")
    job.engine.save(update_fields=["family"])
    log_parts(job, tobiah, count=count, at=now)
    for number in range(min(count, 20)):
        step = with_step(job, f"Step {number}", is_required=False, by=by(tobiah))
        tick_step(job.pk, TickInput(step=step.pk), by=by(tobiah))
    if count > 1:
        # whoever fogged it is named without another query
        lay_up(job, tobiah, at=now)
    client = by_pin(tobiah)

    with django_assert_num_queries(15):
        client.get(address(job))


def test_fluids_are_reckoned_up_and_points_containers_and_parts_are_offered(
    tobiah: Person, ilse: Person, maren: Person, by: By, by_pin: SignedIn
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    job.engine.family = written_family(by(maren))
    job.engine.save(update_fields=["family"])
    drum = container_of(by(ilse))
    moment = by(tobiah)
    log_fluid(job.pk, OIL, by=moment)
    use_part(job.pk, UsePartInput(quantity=Decimal(1), number="SE-10", description="Shaft seal"), by=moment)

    content = words_of(by_pin(tobiah), address(job))

    # the book says 350 ml
    assert "more came out than belongs in. Is there water in it?" in content
    assert "350\xa0ml (11.8\xa0US fl oz) fit, to the vent hole (spec book, 6-4)" in content
    for offered in (f'value="{drum.pk}: Oil drum"', 'data-never="milky fuel"', 'data-then="quantity"'):
        assert offered in content


def test_moving_a_job_on_leads_back_to_the_bench(tobiah: Person, by_pin: SignedIn, key: Key) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    answer = by_pin(tobiah).post(f"/work-orders/job/{job.pk}/start-diagnosis/", key())

    assert answer["Location"] == address(job)


def test_notes_are_read_oldest_first_and_struck_ones_are_gone(
    tobiah: Person, now: datetime, by_pin: SignedIn
) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)
    for hour, text in enumerate(("seal is cut", "groove on the shaft", "struck one")):
        moment = now + timedelta(hours=hour)
        note = JobNote.objects.create(
            job=job, text=text, written_by=tobiah, happened_at=moment, recorded_at=moment
        )
    JobNote.objects.filter(pk=note.pk).update(struck_at=now, struck_by=tobiah)

    content = words_of(by_pin(tobiah), address(job))

    assert content.index("seal is cut") < content.index("groove on the shaft")
    assert "struck one" not in content
