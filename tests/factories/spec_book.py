"""The spec book of the invented shop: a family with one value of each kind."""

from decimal import Decimal

from shopapp.actions.actor import Actor
from shopapp.actions.spec_book import FamilyInput, add_family, add_value
from shopapp.actions.spec_values import (
    BulletinInput,
    CapacityInput,
    FaultInput,
    IntervalInput,
    LimitInput,
)
from shopapp.actions.tightening_specs import StageInput, TighteningInput
from shopapp.calc.units import Unit
from shopapp.models import EngineFamily, PatternKind, ReadingKind, StageKind, Warmth

P60 = FamilyInput(
    make="Petrel Marine",
    name="P60",
    covers="2015 to 2024",
    manual="P60 service manual",
    power_from=Decimal(50),
    power_to=Decimal(60),
    power_page="1-2",
    throttle_from=5_000,
    throttle_to=6_000,
    throttle_page="1-3",
    gear_ratio=Decimal("1.85"),
    gear_page="1-3",
    cylinders=3,
    cylinders_page="1-2",
)
GEARCASE = CapacityInput(
    point="Gearcase",
    amount=Decimal(350),
    unit=Unit.MILLILITRE,
    product="Gear oil 80W-90",
    level_to="the vent hole",
    page="6-4",
)
COMPRESSION = LimitInput(
    kind=ReadingKind.COMPRESSION,
    warmth=Warmth.WARM,
    minimum=Decimal(850),
    maximum=Decimal(1100),
    unit=Unit.KILOPASCAL,
    most_spread=Decimal(10),
    note="Throttle open",
    page="4-12",
)
VACUUM = LimitInput(
    kind=ReadingKind.GEARCASE_VACUUM,
    unit=Unit.KILOPASCAL,
    loss=Decimal(2),
    loss_minutes=Decimal(5),
    page="6-9",
)
HEAD = TighteningInput(
    joint="Cylinder head",
    pattern=PatternKind.GRID,
    columns_count=4,
    rows_count=2,
    stages=(
        StageInput(kind=StageKind.TORQUE, value=Decimal(15), unit=Unit.NEWTON_METRE),
        StageInput(kind=StageKind.TORQUE, value=Decimal(30), unit=Unit.NEWTON_METRE),
        StageInput(kind=StageKind.ANGLE, value=Decimal(90)),
    ),
    is_one_time=True,
    treatment="oiled",
    page="5-7",
)
SERVICE = IntervalInput(what="Gear oil", hours=100, months=12, page="2-1")
FAULT = FaultInput(text="The thermostat sticks when it ran in silt.", page="own experience")
BULLETIN = BulletinInput(
    number="B-17",
    text="Replace the thermostat.",
    serial_from="PM60-01000",
    serial_to="PM60-01999",
    page="B-17",
)
VALUES = (GEARCASE, COMPRESSION, VACUUM, HEAD, SERVICE, FAULT, BULLETIN)


def written_family(by: Actor) -> EngineFamily:
    """The P60 with all of it, written by the owner."""
    family = add_family(P60, by=by)
    for value in VALUES:
        add_value(family.pk, value, by=by)
    return family
