"""One container: its level, what went in, what was handed over."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogFluidInput, log_fluid
from shopapp.actions.waste import HandOverInput, PutInInput, hand_over, put_in
from shopapp.models import FluidCondition, Person, Stage, WasteContainer, WasteKind
from tests.factories.jobs import job_at

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]
OIL = LogFluidInput(
    point="Gearcase", product="Gear oil", drained_ml=820, filled_ml=780, condition=FluidCondition.MILKY
)
TRAY = PutInInput(volume_ml=50_000, kind=WasteKind.USED_OIL, what="Drip tray")


def address(row: WasteContainer) -> str:
    return f"/used-oil/{row.pk}/"


def test_what_a_job_drained_stands_with_its_visit(
    ilse: Person, tobiah: Person, signed_in: SignedIn, by: By, water: WasteContainer
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    log_fluid(job.pk, replace(OIL, container=water.pk), by=by(tobiah))

    content = signed_in(ilse).get(address(water)).content.decode()

    assert "Gear oil, Gearcase" in content
    assert "milky (water)" in content
    assert f"/work-orders/{job.work_order_id}/" in content
    # 27.7 US fl oz: see tests/queries/test_fluid_changes.py
    assert "820\xa0ml (27.7\xa0US fl oz) of 20\xa0l" in content


def test_technician_sees_no_visits_and_strikes_only_their_own(
    tobiah: Person, wen: Person, signed_in: SignedIn, by: By, water: WasteContainer
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    log_fluid(job.pk, replace(OIL, container=water.pk), by=by(tobiah))

    theirs, own = (signed_in(one).get(address(water)).content.decode() for one in (wen, tobiah))

    assert [f"/work-orders/{job.work_order_id}/" in one for one in (theirs, own)] == [False, False]
    assert ["/strike/" in one for one in (theirs, own)] == [False, True]


def test_nearly_full_and_more_taken_than_poured_are_said(
    ilse: Person, signed_in: SignedIn, by: By, drum: WasteContainer
) -> None:
    client = signed_in(ilse)
    put_in(drum.pk, TRAY, by=by(ilse))
    full = client.get(address(drum)).content.decode()
    taken = HandOverInput(volume_ml=60_000, collector="Inlet Oil Collection", taken_at=by(ilse).at)
    hand_over(drum.pk, taken, by=by(ilse))
    short = client.get(address(drum)).content.decode()

    assert "Call the collector, or take another container into use." in full
    assert "more was handed over than went in by the book" in short


@pytest.mark.parametrize("count", [1, 60])
def test_detail_takes_the_same_queries(
    *,
    ilse: Person,
    signed_in: SignedIn,
    by: By,
    drum: WasteContainer,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for _ in range(count):
        put_in(drum.pk, TRAY, by=by(ilse))
    client = signed_in(ilse)

    with django_assert_num_queries(6):
        client.get(address(drum))


def test_missing_container_is_missing(ilse: Person, signed_in: SignedIn) -> None:
    assert signed_in(ilse).get("/used-oil/999999/").status_code == 404
