"""Who is on a visit beside the owner, for the form that changes it."""

from dataclasses import dataclass
from decimal import Decimal

from shopapp.calc.money import from_minor
from shopapp.models import WorkOrder
from shopapp.queries.arrivals import FoundCustomer, payers_of
from shopapp.queries.shop import the_shop
from shopapp.queries.vessels import boat_words


@dataclass(frozen=True, kw_only=True)
class OnVisit:
    """Somebody with a part in the visit; ``up_to``: how far their yes goes, without tax."""

    part: str
    name: str
    phone: str
    customer_pk: int | None
    up_to: Decimal | None


@dataclass(frozen=True, kw_only=True)
class PeoplePage:
    """The people of a visit, and the customers who fit what was typed of whoever pays."""

    pk: int
    number: str
    boat: str
    customer: str
    purchase_order: str
    people: tuple[OnVisit, ...]
    payers: tuple[FoundCustomer, ...]


def people_page(work_order: WorkOrder, *, payer: str) -> PeoplePage:
    """The page about a visit that was fetched with its ``vessel`` and ``customer``. Four queries at most."""
    currency = the_shop().currency
    people = tuple(
        OnVisit(
            part=row.part,
            name=row.name,
            phone=row.phone,
            customer_pk=row.customer_id,
            up_to=None if row.up_to_minor is None else from_minor(row.up_to_minor, currency=currency),
        )
        for row in work_order.people.order_by("part")
    )
    now = tuple(
        FoundCustomer(pk=one.customer_pk, name=one.name, phone=one.phone)
        for one in people
        if one.customer_pk is not None
    )
    # whoever pays already is not looked up anew, since others may have the same name
    is_same = payer in ("", *(one.name for one in now))
    return PeoplePage(
        pk=work_order.pk,
        number=work_order.number,
        boat=boat_words(work_order.vessel),
        customer=work_order.customer.name,
        purchase_order=work_order.purchase_order,
        people=people,
        payers=now if is_same and now else payers_of(payer),
    )
