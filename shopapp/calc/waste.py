"""Where drained fluids went: how much used oil, oily water and the rest into which labelled container.

Amounts are whole millilitres as stored. It asks and never blocks; local rules come first.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shopapp.calc.errors import BadInput
from shopapp.calc.fluids import Seen, whole_ml


class Waste(StrEnum):
    """What a container may hold. Its label: 40 CFR 279.22; kinds kept apart: common practice, no source."""

    USED_OIL = "used_oil"
    OILY_WATER = "oily_water"
    OILY_FUEL = "oily_fuel"
    OTHER = "other"


# water and oil, or fuel and oil, are not used oil for the collector: common practice, local rules first
_WASTE = {Seen.MILKY: Waste.OILY_WATER, Seen.FUEL: Waste.OILY_FUEL}


def waste_of(seen: Seen) -> Waste:
    """Which kind of container a drained oil belongs into, by what it looked like."""
    return _WASTE.get(seen, Waste.USED_OIL)


@dataclass(frozen=True, kw_only=True)
class Pour:
    """An amount poured into a container, and what it was."""

    container: str
    waste: Waste
    amount_ml: int

    def __post_init__(self) -> None:
        if not self.container.strip():
            raise BadInput("container", self.container, "the name on the container's label")
        whole_ml(self.amount_ml, field="poured", least=1)


@dataclass(frozen=True, kw_only=True)
class Container:
    """A labelled container: what it is for, what fits, and what is in it already."""

    name: str
    waste: Waste
    capacity_ml: int
    content_ml: int = 0

    def __post_init__(self) -> None:
        whole_ml(self.capacity_ml, field="container's size", least=1)
        whole_ml(self.content_ml, field="content")


@dataclass(frozen=True, kw_only=True)
class Filled:
    """A container after the pours: what came in of each kind, and what is in it now."""

    name: str
    added_ml: Mapping[Waste, int]
    content_ml: int
    questions: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Disposal:
    """Where the old fluid went. `unaccounted_ml`: drained, in no container; below 0: more than drained."""

    containers: tuple[Filled, ...]
    unaccounted_ml: int


def disposed(pours: Sequence[Pour], *, containers: Sequence[Container], drained_ml: int) -> Disposal:
    """How much of what was drained went into which container, each in the order given.

    Raises:
        BadInput: two containers of one name, or a pour into a container that is not among them.
    """
    names = [one.name for one in containers]
    for name in names:
        if names.count(name) > 1:
            raise BadInput("container", name, "a name that no other container has")
    for pour in pours:
        if pour.container not in names:
            raise BadInput(
                "container", pour.container, "one of " + ", ".join(names) if names else "a container"
            )
    return Disposal(
        containers=tuple(
            _after(one, pours=[p for p in pours if p.container == one.name]) for one in containers
        ),
        unaccounted_ml=whole_ml(drained_ml, field="drained") - sum(pour.amount_ml for pour in pours),
    )


def _after(container: Container, *, pours: Sequence[Pour]) -> Filled:
    added: dict[Waste, int] = {}
    for pour in pours:
        added[pour.waste] = added.get(pour.waste, 0) + pour.amount_ml
    content = container.content_ml + sum(added.values())
    asked = [
        f"{container.name} is for {_said(container.waste)}; {amount} ml of {_said(waste)} went in."
        " Tell the collector."
        for waste, amount in added.items()
        if waste != container.waste
    ]
    if content > container.capacity_ml:
        asked.append(f"{container.name} holds {container.capacity_ml} ml and would have {content} ml in it.")
    return Filled(name=container.name, added_ml=added, content_ml=content, questions=tuple(asked))


def _said(waste: Waste) -> str:
    return waste.replace("_", " ")
