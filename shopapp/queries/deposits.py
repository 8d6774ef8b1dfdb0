"""Money on a visit: what came in, what of it pays an invoice, what was given back, and what is left."""

from dataclasses import dataclass

from django.db.models import F, IntegerField, OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from shopapp.models import Allocation, Payment, PaymentMethod, Refund, WorkOrder
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import ShopTexts, texts_of
from shopapp.queries.vessels import boat_words


def with_left() -> "QuerySet[Payment]":
    """Payments, each with what pays an invoice as ``used``, what was given back, and what is ``left``."""
    used = Allocation.objects.filter(payment=OuterRef("pk")).order_by().values("payment")
    back = Refund.objects.filter(payment=OuterRef("pk")).order_by().values("payment")
    return Payment.objects.annotate(
        used=Coalesce(Subquery(used.annotate(sum=Sum("amount_minor")).values("sum")), 0),
        given_back=Coalesce(Subquery(back.annotate(sum=Sum("amount_minor")).values("sum")), 0),
    ).annotate(left=_left())


def _left() -> "F":
    return F("amount_minor") - F("used") - F("given_back")  # type: ignore[return-value]  # an expression


def deposit_minor(work_order: WorkOrder) -> int:
    """What was paid on a visit and pays nothing yet: it comes off the next invoice. One query."""
    rows = with_left().filter(work_order=work_order)
    return rows.aggregate(sum=Coalesce(Sum("left"), 0, output_field=IntegerField()))["sum"] or 0


@dataclass(frozen=True, kw_only=True)
class MoneyRow:
    """A payment, ready to show; ``left_coins`` is what may be given back, as typed."""

    pk: int
    number: str
    day: str
    method: str
    note: str
    taken_by: str
    amount: str
    used: str
    given_back: str
    left: str
    left_coins: str
    is_left: bool


@dataclass(frozen=True, kw_only=True)
class DepositPage:
    """The money on a visit."""

    work_order_pk: int
    number: str
    boat: str
    customer: str
    rows: tuple[MoneyRow, ...]
    left: str
    is_anything_left: bool


def deposit_page(work_order: WorkOrder) -> DepositPage:
    """The page of a visit fetched with ``vessel`` and ``customer``; two queries."""
    texts = texts_of(the_shop())
    rows = list(
        with_left().filter(work_order=work_order).select_related("taken_by").order_by("received_at", "pk")
    )
    left: int = sum(row.left for row in rows)  # type: ignore[attr-defined]  # annotated by with_left
    return DepositPage(
        work_order_pk=work_order.pk,
        number=work_order.number,
        boat=boat_words(work_order.vessel),
        customer=work_order.customer.name,
        rows=tuple(money_row(row, texts=texts) for row in rows),
        left=texts.money(left),
        is_anything_left=left > 0,
    )


def money_row(payment: Payment, *, texts: ShopTexts) -> MoneyRow:
    """A payment fetched by ``with_left``, as text."""
    used: int = payment.used  # type: ignore[attr-defined]  # annotated by with_left
    back: int = payment.given_back  # type: ignore[attr-defined]
    left: int = payment.left  # type: ignore[attr-defined]
    return MoneyRow(
        pk=payment.pk,
        number=payment.number or "",
        day=texts.day_of(payment.received_at),
        method=str(PaymentMethod(payment.method).label),
        note=payment.note,
        taken_by=payment.taken_by.name,
        amount=texts.money(payment.amount_minor),
        used=texts.money(used),
        given_back=texts.money(back) if back else "",
        left=texts.money(left),
        left_coins=texts.coins(left),
        is_left=left > 0,
    )


def payment_texts(payment: Payment) -> MoneyRow:
    """One payment as text; two queries."""
    row = with_left().select_related("taken_by").get(pk=payment.pk)
    return money_row(row, texts=texts_of(the_shop()))
