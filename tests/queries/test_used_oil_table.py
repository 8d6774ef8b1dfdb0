"""The log as a table: what went in, then what was handed over, struck rows with their reason."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogFluidInput, log_fluid
from shopapp.actions.corrections import strike_row
from shopapp.actions.waste import HandOverInput, hand_over, strike_hand_over
from shopapp.models import FluidCondition, Person, Stage
from shopapp.queries.used_oil_table import used_oil_table
from tests.factories.jobs import job_at
from tests.factories.waste import container_of

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
OIL = LogFluidInput(
    point="Gearcase", product="Gear oil", drained_ml=820, filled_ml=780, condition=FluidCondition.CLEAN
)


def test_struck_rows_stay_in_the_table_with_their_reason(ilse: Person, tobiah: Person, by: By) -> None:
    drum, job = container_of(by(ilse)), job_at(Stage.IN_HAND, technician=tobiah)
    entry = log_fluid(job.pk, replace(OIL, container=drum.pk), by=by(tobiah))
    taken = hand_over(
        drum.pk, HandOverInput(volume_ml=500, collector="Inlet", taken_at=by(ilse).at), by=by(ilse)
    )
    strike_row(("fluid_entry", entry.pk), reason="wrong boat", by=by(tobiah))
    strike_hand_over(taken.pk, reason="other drum", by=by(ilse))

    table = used_oil_table(first=None, last=None, time_zone="America/Vancouver")

    rows = list(table.rows)
    assert [len(row) for row in rows] == [len(table.columns)] * 2
    assert [(row[3], row[4], row[5], row[6], row[-1]) for row in rows] == [
        ("in", Decimal("0.82"), "Gear oil, Gearcase", "clean", "wrong boat"),
        ("out", Decimal("0.5"), None, None, "other drum"),
    ]
