"""Sentences about what was logged."""

import pytest

from shopapp.models import FeeEntry, FluidEntry, JobTest, PartUsed, SubletEntry, TimeEntry
from shopapp.web.work_orders.said import said


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (PartUsed(description="Seal kit", quantity_milli=1_500, unit="set"), "Logged: Seal kit, 1.5 set."),
        (TimeEntry(minutes=85), "Logged: 1 h 25 min."),
        (FluidEntry(product="Gear oil", point="gearcase"), "Logged: Gear oil at the gearcase."),
        (FeeEntry(description="Lift", quantity_milli=1_000, unit="each"), "Logged: Lift, 1 each."),
        (SubletEntry(description="Weld", supplier="Inlet Machine"), "Logged: Weld at Inlet Machine."),
        (JobTest(has_passed=True), "The test is passed. The job is ready."),
        (JobTest(has_passed=False), "The test is written down. The job goes back to the bench."),
        (None, "It is logged."),
    ],
)
def test_said_names_what_was_logged(row: object, sentence: str) -> None:
    assert said(row, locale="en_CA") == sentence
