"""Lines of a quote in the demo's shorthand: ``P PM-6117 1``, ``L 2.6 Fit the seals``, ``F GO-90 0.78``.

``S 180/255 Straighten the skeg`` is bought in (cost/price), ``$ 85 Freight`` a fee; ``shop:`` before it is
goodwill, ``maker:`` the maker's warranty.
"""

from dataclasses import replace
from decimal import Decimal

from shopapp.actions.quote_drafts import LineInput
from shopapp.management.demo.world import World
from shopapp.models import LineKind, PartCondition, Payer, Unit

LABOUR_RATE = Decimal(128)


def line_of(text: str, *, world: World) -> LineInput:
    """The line that the shorthand says. Raises KeyError for a part that is not on the list."""
    payer, colon, rest = text.partition(": ")
    if not colon or payer not in Payer.values:
        payer, rest = Payer.CUSTOMER, text
    return replace(_line(*rest.split(maxsplit=2), world=world), payer=Payer(payer))


def _line(kind: str, what: str, words: str, *, world: World) -> LineInput:
    if kind in "PF":
        return _listed(kind, number=what, quantity=Decimal(words), world=world)
    if kind == "L":
        return LineInput(
            kind=LineKind.LABOUR,
            description=words,
            quantity=Decimal(what),
            unit=Unit.HOUR,
            unit_price=LABOUR_RATE,
        )
    cost, _slash, price = what.rpartition("/")
    return LineInput(
        kind=LineKind.SUBLET if kind == "S" else LineKind.FEE,
        description=words,
        quantity=Decimal(1),
        unit=Unit.EACH,
        unit_price=Decimal(price),
        unit_cost=Decimal(cost) if cost else None,
    )


def _listed(kind: str, *, number: str, quantity: Decimal, world: World) -> LineInput:
    listed = world.parts[number]
    return LineInput(
        kind=LineKind.PART if kind == "P" else LineKind.FLUID,
        description=listed.part.description,
        number=number,
        quantity=quantity,
        unit=Unit(listed.part.unit),
        unit_price=listed.price,
        condition=PartCondition(listed.part.condition),
    )
