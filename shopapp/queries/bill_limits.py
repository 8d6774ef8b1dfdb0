"""How a bill stands to what the customer agreed to (T34)."""

from dataclasses import dataclass
from decimal import Decimal

from shopapp.calc.billing import most_billable
from shopapp.calc.money import from_minor, to_minor
from shopapp.models import Invoice, WorkOrder
from shopapp.queries.approvals import authorised
from shopapp.queries.billed_rows import billed_rows
from shopapp.queries.proposals import FEE_ORIGINS
from shopapp.queries.shop import rules_of, the_shop
from shopapp.queries.visit_books import VisitBooks


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


def limit_of(invoice: Invoice, *, work_order: WorkOrder, books: VisitBooks | None = None) -> Limit:
    """The standing of a draft, together with what issued invoices billed before; three queries.

    None with the ``books`` of the visit and this draft.
    """
    shop = books.shop if books is not None else the_shop()
    agreed = (books.may if books is not None else authorised(work_order)).total_minor
    rows = books.billed if books is not None else billed_rows(work_order, draft=invoice)
    most = most_billable(
        from_minor(agreed, currency=shop.currency),
        share_over=Decimal(shop.over_agreed_e4) / 10_000,
        rules=rules_of(shop),
    )
    discounts = {row.invoice_pk: row.discount_minor for row in rows}
    counted = [row for row in rows if row.origin not in FEE_ORIGINS and not row.is_by_owner]
    return Limit(
        agreed_minor=agreed,
        most_minor=to_minor(most, currency=shop.currency),
        billed_minor=sum(row.amount_minor for row in counted) - sum(discounts.values()),
    )
