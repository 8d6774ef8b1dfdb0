"""What the forms of a job offer: points of its family, containers in use, parts used lately; in one query."""

import json
from collections.abc import Callable
from decimal import Decimal

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import UsePartInput, use_part
from shopapp.actions.corrections import strike_row
from shopapp.actions.waste import PutInInput, end_container, put_in
from shopapp.models import EngineFamily, Job, Part, PartCondition, Person, Stage, WasteKind
from shopapp.queries.log_offers import LogOffers, log_offers
from tests.factories.jobs import job_at
from tests.factories.spec_book import written_family
from tests.factories.waste import container_of

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def offers_of(job: Job, viewer: Person) -> LogOffers:
    return log_offers(Job.objects.select_related("engine").get(pk=job.pk), viewer=viewer, locale="en")


def of_family(job: Job, family: EngineFamily) -> Job:
    job.engine.family = family
    job.engine.save(update_fields=["family"])
    return job


def used(job: Job, number: str, *, by: Actor, description: str = "Part") -> None:
    use_part(job.pk, UsePartInput(quantity=Decimal(1), number=number, description=description), by=by)


def test_points_come_from_the_family_of_the_engine(tobiah: Person, maren: Person, by: By) -> None:
    job, other = (job_at(Stage.IN_HAND, technician=tobiah) for _ in range(2))
    of_family(job, written_family(by(maren)))

    point = offers_of(job, tobiah).capacities[0]

    assert (point.point, point.ml, point.page, point.level_to) == ("Gearcase", 350, "6-4", "the vent hole")
    assert json.loads(point.fill) == {"point": "Gearcase", "product": "Gear oil 80W-90"}
    assert offers_of(other, tobiah).capacities == ()


def test_containers_in_use_say_what_they_take_and_when_they_are_full(
    tobiah: Person, ilse: Person, by: By
) -> None:
    drum = container_of(by(ilse))
    water = container_of(by(ilse), name="Water can", kind=WasteKind.OILY_WATER)
    container_of(by(ilse), name="Old solvent", kind=WasteKind.SOLVENT)
    end_container(container_of(by(ilse), name="Old drum").pk, by=by(ilse))
    put_in(drum.pk, PutInInput(volume_ml=54_000, kind=WasteKind.USED_OIL, what="Drip tray"), by=by(ilse))

    found = offers_of(job_at(Stage.IN_HAND, technician=tobiah), tobiah).containers

    assert [(one.value, one.words, one.is_full, one.never) for one in found] == [
        (f"{drum.pk}: Oil drum", "Oil drum (used oil, nearly full)", True, ("milky", "fuel")),
        (f"{water.pk}: Water can", "Water can (oily water, empty)", False, ("fuel",)),
    ]


def test_parts_of_the_family_come_newest_first_and_once(
    tobiah: Person, wen: Person, maren: Person, by: By
) -> None:
    family = written_family(by(maren))
    job, other, foreign = (job_at(Stage.IN_HAND, technician=one) for one in (tobiah, wen, tobiah))
    for one in (job, other):
        of_family(one, family)
    Part.objects.create(number="IM-22", description="Impeller", unit_price_e4=480_000)
    used(other, "SE-10", by=by(wen), description="Shaft seal")
    used(other, "IM-22", by=by(wen), description="")
    used(foreign, "XX-1", by=by(tobiah))
    used(job, "SE-10", by=by(tobiah), description="Shaft seal")

    found = offers_of(job, tobiah).parts

    assert [(one.number, one.description) for one in found] == [
        ("SE-10", "Shaft seal"),
        ("IM-22", "Impeller"),
    ]
    assert json.loads(found[1].fill) == {
        "line": "",
        "number": "IM-22",
        "description": "",
        "unit": "each",
        "quantity": "1",
    }


def test_without_a_family_the_technicians_own_are_offered(tobiah: Person, wen: Person, by: By) -> None:
    job, other = job_at(Stage.IN_HAND, technician=tobiah), job_at(Stage.IN_HAND, technician=wen)
    used(other, "WE-1", by=by(wen))
    for place in range(10):
        used(job, f"TO-{place}", by=by(tobiah))

    assert [one.number for one in offers_of(job, tobiah).parts] == [
        f"TO-{place}" for place in range(9, 1, -1)
    ]


def test_struck_unnumbered_and_customers_own_parts_are_not_offered(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    use_part(job.pk, UsePartInput(quantity=Decimal(1), description="Seal for Mrs Lind"), by=by(tobiah))
    own = UsePartInput(
        quantity=Decimal(1), number="OWN-1", description="Own", condition=PartCondition.CUSTOMERS_OWN
    )
    use_part(job.pk, own, by=by(tobiah))
    row = use_part(
        job.pk, UsePartInput(quantity=Decimal(1), number="ST-1", description="Struck"), by=by(tobiah)
    )
    strike_row(("part_used", row.pk), reason="wrong boat", by=by(tobiah))

    assert offers_of(job, tobiah).parts == ()


@pytest.mark.parametrize("count", [1, 20])
def test_offers_take_one_query(
    *, tobiah: Person, ilse: Person, by: By, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    for place in range(count):
        container_of(by(ilse), name=f"Drum {place}")
        used(job, f"TO-{place}", by=by(tobiah))
    row = Job.objects.select_related("engine").get(pk=job.pk)

    with django_assert_num_queries(1):
        found = log_offers(row, viewer=tobiah, locale="en")

    assert (len(found.containers), len(found.parts)) == (count, min(count, 8))
