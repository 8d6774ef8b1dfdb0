"""Visits as rows of a list."""

import pytest

from shopapp.models import Stage
from shopapp.queries.visits import StageChip, as_visits, stage_chip
from tests.factories import VesselFactory, WorkOrderFactory


@pytest.mark.parametrize(
    ("stage", "chip"),
    [
        (Stage.HERE, StageChip(code="here", word="Here")),
        (Stage.WITH_CUSTOMER, StageChip(code="with-customer", word="With customer")),
        (Stage.IN_LINE, StageChip(code="in-line", word="In line")),
    ],
)
def test_stage_chip_has_code_and_word(stage: str, chip: StageChip) -> None:
    assert stage_chip(stage) == chip


@pytest.mark.django_db
@pytest.mark.parametrize(("stage", "is_open"), [("here", True), ("gone", False), ("cancelled", False)])
def test_visits_know_whether_they_are_over(stage: str, is_open: bool) -> None:
    gone_at = "2026-06-02T00:00Z" if stage == "gone" else None
    order = WorkOrderFactory(vessel=VesselFactory(name="Kittiwake"), stage=stage, gone_at=gone_at)

    (visit,) = as_visits([order])

    assert (visit.number, visit.boat, visit.complaint, visit.is_open) == (
        order.number,
        "Kittiwake",
        "Gear oil looks milky",
        is_open,
    )
