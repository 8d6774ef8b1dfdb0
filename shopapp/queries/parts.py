"""The shop's list of parts: found by their numbers however they are written, shown with what each may see."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from shopapp import access
from shopapp.models import Part, PartCondition, Person, TaxCode, Unit
from shopapp.queries.find import closed, matching_ids
from shopapp.queries.paging import ROWS_A_PAGE, Pager, pager_for
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import ShopTexts, texts_of
from shopapp.queries.versions import Conflict

MOST_SUGGESTED = 12
MOST_FOUND = 200


@dataclass(frozen=True, kw_only=True)
class KnownPart:
    """A part as everybody in the shop may see it: no money."""

    pk: int
    number: str
    description: str
    unit: str
    condition: str
    is_active: bool


@dataclass(frozen=True, kw_only=True)
class PricedPart(KnownPart):
    """The same for the desk, with what one sells for."""

    price: str


@dataclass(frozen=True, kw_only=True)
class CostedPart(PricedPart):
    """The same for the owner, with what one costs."""

    cost: str


@dataclass(frozen=True, kw_only=True)
class PartList:
    """A page of the list; ``is_all``: also what is not offered any more."""

    rows: tuple[KnownPart, ...]
    question: str
    is_all: bool
    pager: Pager
    has_prices: bool
    has_costs: bool


@dataclass(frozen=True, kw_only=True)
class PartPage:
    """A part that is written or edited; ``conflict`` when somebody else saved meanwhile."""

    pk: int | None
    number: str
    description: str
    is_active: bool
    conflict: Conflict | None


@dataclass(frozen=True, kw_only=True)
class Label:
    """What stands on a part's label."""

    pk: int
    number: str
    description: str
    condition: str
    unit: str
    paper_size: str


def part_by_number(text: str, *, is_active_only: bool = True) -> Part | None:
    """The part that bears this number, however it is written; None when none or several might.

    One query when it is written as on the list, at most three.
    """
    if not closed(text):
        return None
    rows = Part.objects.filter(is_active=True) if is_active_only else Part.objects.all()
    exact = rows.filter(number=text.strip()).first()
    if exact is not None:
        return exact
    found = [pk for _kind, pk in matching_ids(text, kinds=["part"], limit=MOST_FOUND)]
    alike = [part for part in rows.filter(pk__in=found) if closed(part.number) == closed(text)]
    return alike[0] if len(alike) == 1 else None


def suggestions(text: str) -> Sequence[KnownPart]:
    """A few active parts whose number or name holds these words; two queries."""
    found = [pk for _kind, pk in matching_ids(text, kinds=["part"], limit=MOST_SUGGESTED)]
    rows = Part.objects.filter(pk__in=found, is_active=True).defer("unit_cost_e4", "unit_price_e4")
    return tuple(KnownPart(**_facts(part)) for part in rows.order_by("number"))


def parts_page(*, question: str, number: int, is_all: bool, viewer: Person) -> PartList:
    """A page of the list, by number: everything, or what the question finds. At most four queries.

    Money columns are not even read for a technician, costs only for the owner.
    """
    rows = Part.objects.all() if is_all else Part.objects.filter(is_active=True)
    if question.strip():
        rows = rows.filter(
            pk__in=[pk for _kind, pk in matching_ids(question, kinds=["part"], limit=MOST_FOUND)]
        )
    pager = pager_for(rows.count(), wanted=number)
    texts = texts_of(the_shop())
    shown = rows.defer(*_unseen(viewer)).order_by("number")[pager.start : pager.start + ROWS_A_PAGE]
    return PartList(
        rows=tuple(_row(part, viewer=viewer, texts=texts) for part in shown),
        question=question,
        is_all=is_all,
        pager=pager,
        has_prices=access.may_use_desk(viewer),
        has_costs=access.may_see_costs(viewer),
    )


def part_page(part: Part | None, *, conflict: Conflict | None = None) -> PartPage:
    """The page of a part, or of one that is to be written. No query."""
    return PartPage(
        pk=part.pk if part is not None else None,
        number=part.number if part is not None else "",
        description=part.description if part is not None else "",
        is_active=part is None or part.is_active,
        conflict=conflict,
    )


def label_of(part: Part) -> Label:
    """What is printed on the label of a part: no money. One query."""
    return Label(
        pk=part.pk,
        number=part.number,
        description=part.description,
        condition="" if part.condition == PartCondition.NEW else str(PartCondition(part.condition).label),
        unit=str(Unit(part.unit).label),
        paper_size=str(the_shop().paper),
    )


def tax_codes() -> tuple[tuple[int, str], ...]:
    """The shop's tax codes to choose from. One query."""
    return tuple(TaxCode.objects.order_by("name").values_list("pk", "name"))


def _unseen(viewer: Person) -> tuple[str, ...]:
    if access.may_see_costs(viewer):
        return ()
    return ("unit_cost_e4",) if access.may_use_desk(viewer) else ("unit_cost_e4", "unit_price_e4")


def _facts(part: Part) -> dict[str, Any]:
    return {
        "pk": part.pk,
        "number": part.number,
        "description": part.description,
        "unit": str(Unit(part.unit).label),
        "condition": str(PartCondition(part.condition).label),
        "is_active": part.is_active,
    }


def _row(part: Part, *, viewer: Person, texts: ShopTexts) -> KnownPart:
    facts = _facts(part)
    if not access.may_use_desk(viewer):
        return KnownPart(**facts)
    facts["price"] = _money(part.unit_price_e4, texts=texts) or _("cost and markup")
    if not access.may_see_costs(viewer):
        return PricedPart(**facts)
    return CostedPart(**facts, cost=_money(part.unit_cost_e4, texts=texts) or "–")


def _money(e4: int | None, *, texts: ShopTexts) -> str:
    return texts.price(e4) if e4 is not None else ""
