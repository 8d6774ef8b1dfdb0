"""The demo's spec book: invented families of the invented makes, and the readings that are judged by it."""

from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from shopapp.actions.actor import Actor
from shopapp.actions.engines import EngineEdit, EngineInput, edit_engine
from shopapp.actions.readings import FigureInput, ReadingInput, log_reading
from shopapp.actions.spec_book import FamilyInput, add_family, add_value
from shopapp.actions.spec_values import (
    BulletinInput,
    CapacityInput,
    FaultInput,
    IntervalInput,
    LimitInput,
    ValueInput,
)
from shopapp.actions.tightening_specs import StageInput, TighteningInput
from shopapp.calc.tightening import Fastener
from shopapp.calc.units import Unit
from shopapp.management.demo.world import Facts, Visit, World
from shopapp.models import Engine, EngineFamily, PatternKind, ReadingKind, StageKind, Warmth

_FIGURES = ("amount", "minimum", "maximum", "most_spread", "loss", "loss_minutes", "minutes")
_READ: Mapping[str, Callable[[Any], Any]] = {
    **dict.fromkeys(_FIGURES, Decimal),
    **dict.fromkeys(("power_from", "power_to", "gear_ratio"), Decimal),
    "unit": Unit,
    "kind": ReadingKind,
    "warmth": Warmth,
    "pattern": PatternKind,
    "sequence": tuple,
    "stages": lambda stages: tuple(
        StageInput(kind=StageKind(kind), value=Decimal(value), unit=Unit(unit) if unit else None)
        for kind, value, unit in stages
    ),
    "fastener": lambda told: Fastener(diameter=told[0], pitch=told[1], property_class=told[2]),
}
_INPUTS: Mapping[str, type[ValueInput]] = {
    "capacity": CapacityInput,
    "limit": LimitInput,
    "tightening": TighteningInput,
    "interval": IntervalInput,
    "fault": FaultInput,
    "bulletin": BulletinInput,
}


def write_book(families: list[Facts], *, by: Actor) -> None:
    """Every family with its values, as the owner would have copied them."""
    for facts in families:
        family = add_family(FamilyInput(**_typed(facts["family"])), by=by)
        for value in _values(facts):
            add_value(family.pk, value, by=by)


def _values(facts: Facts) -> Iterator[ValueInput]:
    for kind, made_by in _INPUTS.items():
        yield from (made_by(**_typed(told)) for told in facts.get(kind, ()))


def _typed(facts: Facts) -> dict[str, Any]:
    return {name: _READ[name](value) if name in _READ else value for name, value in facts.items()}


def pick_family(*, facts: Facts, world: World, by: Actor) -> None:
    """Somebody says to which family an engine belongs."""
    engine = Engine.objects.get(serial=facts["serial"])
    names = ("make", "model", "serial", "serial_state", "year", "power_tenths_hp")
    data = EngineInput(
        **{name: getattr(engine, name) for name in names},
        family_id=EngineFamily.objects.get(name=facts["family"]).pk,
    )
    position = engine.mountings.get(until_date=None).position
    edit_engine(engine.pk, EngineEdit(engine=data, position=position), version=engine.version, by=by)


def read(visit: Visit, *, facts: Facts, world: World, by: Actor) -> None:
    """A reading is taken; figures are told in their order, by cylinder where there are several."""
    told = _typed({name: facts[name] for name in facts if name not in ("figures", "job")})
    by_cylinder = told["kind"] in (ReadingKind.COMPRESSION, ReadingKind.LEAK_DOWN)
    figures = tuple(
        FigureInput(
            value=Decimal(pair[0]),
            second=Decimal(pair[1]) if len(pair) > 1 else None,
            cylinder=number if by_cylinder else None,
        )
        for number, pair in enumerate(facts["figures"], start=1)
    )
    log_reading(visit.job(facts).pk, ReadingInput(**told, figures=figures), by=by)
