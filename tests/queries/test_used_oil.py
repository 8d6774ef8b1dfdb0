"""The used-oil log as the desk and a technician read it."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogFluidInput, log_fluid
from shopapp.actions.corrections import strike_row
from shopapp.actions.waste import HandOverInput, PutInInput, end_container, hand_over, put_in
from shopapp.models import FluidCondition, Person, Stage, WasteContainer, WasteKind
from shopapp.queries.used_oil import ContainerPage, container_page, used_oil_page, with_level
from tests.factories.jobs import job_at
from tests.factories.waste import container_of

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
N = "\u00a0"
OIL = LogFluidInput(
    point="Gearcase",
    product="Gear oil",
    drained_ml=820,
    filled_ml=780,
    condition=FluidCondition.CLEAN,
)


def tray(volume_ml: int) -> PutInInput:
    return PutInInput(volume_ml=volume_ml, kind=WasteKind.USED_OIL, what="Drip tray")


def page_of(row: WasteContainer, viewer: Person) -> ContainerPage:
    return container_page(with_level(WasteContainer.objects.all()).get(pk=row.pk), viewer=viewer, locale="en")


def test_containers_show_level_size_and_how_full_they_are(ilse: Person, by: By) -> None:
    full, empty = container_of(by(ilse)), container_of(by(ilse), name="Spare")
    end_container(container_of(by(ilse), name="Away").pk, by=by(ilse))
    put_in(full.pk, tray(54_000), by=by(ilse))

    page = used_oil_page(viewer=ilse, locale="en")

    assert [(one.name, one.level, one.share, one.fullness_word) for one in page.containers] == [
        ("Oil drum", f"54{N}l (57.06{N}US qt)", 90, "nearly full"),
        ("Spare", f"0{N}ml (0{N}US fl oz)", 0, "empty"),
    ]
    assert [one.name for one in page.ended] == ["Away"]
    assert (empty.pk, page.is_desk) == (page.containers[1].pk, True)


def test_rows_of_a_container_are_told_newest_first(ilse: Person, tobiah: Person, by: By) -> None:
    row, job = container_of(by(ilse)), job_at(Stage.IN_HAND, technician=tobiah)
    entry = log_fluid(job.pk, replace(OIL, container=row.pk), by=by(tobiah))
    taken = HandOverInput(
        volume_ml=500, collector="Inlet Oil Collection", taken_at=by(ilse).at, paper_number="C-1"
    )
    hand_over(row.pk, taken, by=by(ilse))
    strike_row(("fluid_entry", entry.pk), reason="wrong boat", by=by(tobiah))

    rows = {one.is_out: one for one in page_of(row, ilse).rows}

    assert (rows[False].what, rows[False].condition, rows[False].work_order_pk) == (
        "Gear oil, Gearcase",
        "clean",
        job.work_order_id,
    )
    assert (rows[False].is_struck, rows[False].struck, rows[False].may_strike) == (True, "wrong boat", False)
    assert (rows[True].what, rows[True].paper, rows[True].may_strike) == ("Inlet Oil Collection", "C-1", True)


def test_technician_reads_no_boats_of_others(ilse: Person, tobiah: Person, wen: Person, by: By) -> None:
    row, job = container_of(by(ilse)), job_at(Stage.IN_HAND, technician=tobiah)
    log_fluid(job.pk, replace(OIL, container=row.pk), by=by(tobiah))

    found = page_of(row, wen).rows[0]

    assert (found.work_order_pk, found.work_order, found.may_strike) == (None, "", False)


@pytest.mark.parametrize("count", [1, 30])
def test_pages_take_two_queries(
    *, ilse: Person, by: By, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    row = container_of(by(ilse))
    for place in range(count):
        container_of(by(ilse), name=f"Drum {place}")
        put_in(row.pk, tray(100), by=by(ilse))

    with django_assert_num_queries(2):
        assert len(used_oil_page(viewer=ilse, locale="en").containers) == count + 1
    with django_assert_num_queries(3):
        assert len(page_of(row, ilse).rows) == count
