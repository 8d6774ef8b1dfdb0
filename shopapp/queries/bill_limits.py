"""How a bill stands to what the customer agreed to (T34)."""

from dataclasses import dataclass
from decimal import Decimal

from django.db.models import QuerySet, Sum

from shopapp.calc.billing import most_billable
from shopapp.calc.money import from_minor, to_minor
from shopapp.models import Invoice, InvoiceLine, WorkOrder
from shopapp.queries.approvals import authorised
from shopapp.queries.proposals import FEE_ORIGINS, billed_on, overridden
from shopapp.queries.shop import rules_of, the_shop


@dataclass(frozen=True, kw_only=True)
class Limit:
    """Without tax, in the smallest coin: agreed, most that may be billed, and billed in all with this bill.

    The diagnosis fee was agreed by itself when the boat came in, and what the owner took on themselves to
    bill is covered by that: neither counts.
    """

    agreed_minor: int
    most_minor: int
    billed_minor: int

    @property
    def over_minor(self) -> int:
        """How far the bill goes beyond; nothing or less when it does not."""
        return self.billed_minor - self.most_minor


def limit_of(invoice: Invoice, *, work_order: WorkOrder) -> Limit:
    """The standing of a draft, together with what issued invoices billed before; seven queries."""
    shop = the_shop()
    rules, agreed = rules_of(shop), authorised(work_order).total_minor
    most = most_billable(
        from_minor(agreed, currency=shop.currency),
        share_over=Decimal(shop.over_agreed_e4) / 10_000,
        rules=rules,
    )
    before = billed_on(work_order)
    discounts = before.order_by().values("invoice").distinct().values("invoice__discount_minor", "invoice")
    earlier = _counted(before) - sum(row["invoice__discount_minor"] for row in discounts)
    mine = _counted(InvoiceLine.objects.filter(invoice=invoice)) - invoice.discount_minor
    return Limit(
        agreed_minor=agreed,
        most_minor=to_minor(most, currency=shop.currency),
        billed_minor=earlier + mine,
    )


def _counted(lines: "QuerySet[InvoiceLine]") -> int:
    by_owner = lines.filter(overridden()).values("pk")
    counted = lines.exclude(origin__in=FEE_ORIGINS).exclude(pk__in=by_owner)
    return counted.order_by().aggregate(sum=Sum("amount_minor"))["sum"] or 0
