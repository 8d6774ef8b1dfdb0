"""What a value of the spec book may be: units that fit, figures that are judged by, doubtful torques."""

from dataclasses import replace
from decimal import Decimal

import pytest

from shopapp.actions.spec_values import LimitInput
from shopapp.actions.tightening_specs import StageInput, TighteningInput
from shopapp.calc.errors import BadInput
from shopapp.calc.tightening import Fastener
from shopapp.calc.units import Unit
from shopapp.models import PatternKind, ReadingKind, StageKind
from tests.factories.spec_book import BULLETIN, COMPRESSION, FAULT, GEARCASE, HEAD, SERVICE, VACUUM

M8 = Fastener(diameter=8, pitch=1.25, property_class="8.8")


def field_of(data: object) -> str:
    """The field at which a value is refused."""
    with pytest.raises(BadInput) as error:
        data.checked()
    return error.value.field


def test_capacity_is_kept_as_written_and_in_millilitres() -> None:
    kept = replace(GEARCASE, amount=Decimal("11.8"), unit=Unit.US_FLUID_OUNCE).checked()

    # 29.57353 ml an ounce (NIST SP 811): 348.97
    assert (kept["amount_e4"], kept["unit"], kept["ml"]) == (118_000, "us_fl_oz", 349)


@pytest.mark.parametrize(
    ("data", "field"),
    [
        (replace(GEARCASE, point=" "), "point"),
        (replace(GEARCASE, amount=Decimal(0)), "amount"),
        (replace(GEARCASE, amount=Decimal("0.1")), "amount"),
        (replace(GEARCASE, unit=Unit.PSI), "unit"),
        (replace(COMPRESSION, unit=None), "unit"),
        (replace(COMPRESSION, unit=Unit.LITRE), "unit"),
        (replace(COMPRESSION, maximum=Decimal(800)), "maximum"),
        (replace(COMPRESSION, most_spread=Decimal(-1)), "most_spread"),
        (replace(COMPRESSION, loss=Decimal(1), loss_minutes=Decimal(1)), "loss"),
        (replace(COMPRESSION, minimum=None, maximum=None, most_spread=None), "minimum"),
        (replace(COMPRESSION, kind=ReadingKind.FULL_THROTTLE), "kind"),
        (replace(VACUUM, loss_minutes=None), "loss_minutes"),
        (replace(VACUUM, loss_minutes=Decimal(0)), "loss_minutes"),
        (replace(VACUUM, minimum=Decimal(1)), "minimum"),
        (LimitInput(kind=ReadingKind.VOLTAGE, unit=Unit.BAR, minimum=Decimal(12), page="1"), "unit"),
        (LimitInput(kind=ReadingKind.LEAK_DOWN, minimum=Decimal(12), page="1"), "minimum"),
        (replace(SERVICE, what=""), "what"),
        (replace(SERVICE, hours=None, months=None), "hours"),
        (replace(SERVICE, months=241), "months"),
        (replace(FAULT, text="\n"), "text"),
        (replace(BULLETIN, number=""), "number"),
        (replace(BULLETIN, text=""), "text"),
        (replace(HEAD, joint=""), "joint"),
        (replace(HEAD, rows_count=16), "fasteners"),
        (replace(HEAD, sequence=(1, 2, 3)), "sequence"),
        (replace(HEAD, stages=()), "stages"),
        (replace(HEAD, stages=HEAD.stages[2:]), "stages"),
        (replace(HEAD, stages=HEAD.stages * 3), "stages"),
    ],
    ids=lambda value: value if isinstance(value, str) else type(value).__name__,
)
def test_value_that_says_nothing_sound_is_refused_at_its_field(data: object, field: str) -> None:
    assert field_of(data) == field


def test_fluid_loss_has_a_least_and_a_most_of_different_kinds() -> None:
    limit = LimitInput(
        kind=ReadingKind.FLUID_LOSS,
        point="Sump",
        minimum=Decimal(2),
        maximum=Decimal("0.05"),
        unit=Unit.LITRE,
        page="3-3",
    )

    assert (limit.checked()["minimum_e4"], limit.checked()["maximum_e4"]) == (20_000, 500)


def test_doubtful_torque_is_asked_about_and_never_blocked() -> None:
    # 250 N·m would break an M8; 25 N·m of class 8.8 is in proportion
    wrong = StageInput(kind=StageKind.TORQUE, value=Decimal(250), unit=Unit.NEWTON_METRE)
    cover = TighteningInput(
        joint="Cover",
        pattern=PatternKind.LINE,
        columns_count=4,
        stages=(wrong,),
        fastener=M8,
        page="5-1",
    )

    assert field_of(cover) == "is_looked_up"
    assert "Look at the manual." in cover.question()
    assert replace(cover, is_looked_up=True).checked()["is_looked_up"] is True
    sound = replace(cover, stages=(replace(wrong, value=Decimal(25)),))
    assert (sound.question(), sound.checked()["diameter_e4"]) == ("", 80_000)


def test_makers_own_order_is_kept() -> None:
    order = (3, 6, 2, 7, 4, 5, 1, 8)

    assert replace(HEAD, sequence=order).checked()["sequence"] == list(order)
