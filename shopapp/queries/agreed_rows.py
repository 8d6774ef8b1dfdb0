"""What was agreed for each job of a visit, and its customer's rows of the five books, in exact coins."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Any

from django.db.models import (
    BooleanField,
    Exists,
    ExpressionWrapper,
    F,
    IntegerField,
    Model,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
)

from shopapp.calc.agreed import (
    MILLI,
    Bargain,
    Deal,
    Piece,
    less,
    whole_coins,
)
from shopapp.calc.money import Rounding, minor_digits
from shopapp.models import (
    BilledSource,
    FeeEntry,
    FluidEntry,
    PartUsed,
    Payer,
    PriceKind,
    QuoteLine,
    Shop,
    SubletEntry,
    TimeEntry,
    TimeKind,
    WorkOrder,
)
from shopapp.queries.approvals import Options, signed_intakes

E4 = 10_000
MINUTES_AN_HOUR = 60
# the books by the name that a claim of a billed line gives them; how their amounts are counted, and in how
# many to one of what the price is for
BOOKS: tuple[tuple[str, type[Model], Any, int], ...] = (
    ("part_used", PartUsed, F("quantity_milli"), MILLI),
    ("time_entry", TimeEntry, F("minutes"), MINUTES_AN_HOUR),
    ("fluid_entry", FluidEntry, F("filled_ml"), MILLI),
    ("sublet_entry", SubletEntry, Value(1), 1),
    ("fee_entry", FeeEntry, F("quantity_milli"), MILLI),
)
COLUMNS = (
    "id",
    "book",
    "amount",
    "to_one",
    "job_id",
    "unit_price_e4",
    "plan_line_id",
    "less_line",
    "less_whole",
    "override_by_id",
    "is_billed",
    "is_in_fee",
    "happened_at",
)
# what is asked of an agreed line beside its own columns
OF_AGREED = {
    "price_kind": F("option__choice__job__price_kind"),
    "less_whole": F("option__choice__revision__discount_e4"),
    "agreed_at": F("option__answers__approval__decided_at"),
}
BARGAINS = {
    PriceKind.FIXED: Bargain.FIXED,
    PriceKind.CEILING: Bargain.CEILING,
    PriceKind.TIME_AND_MATERIAL: Bargain.AS_USED,
}


@dataclass(frozen=True, kw_only=True)
class Agreed:
    """The deals of a visit, and since when each job has one."""

    deals: Mapping[int, Deal]
    since: Mapping[int, datetime]


def agreed_of(options: Options, *, shop: Shop, lines: Iterable[QuoteLine] | None = None) -> Agreed:
    """What was agreed for each job: the customer's lines of the options in force; one query.

    None where somebody has read the ``lines`` of the visit already (``queries.visit_books``).
    """
    jobs = {option.pk: job for job, chosen in options.items() for option in chosen}
    by_job: dict[int, list[Any]] = defaultdict(list)
    known = _agreed_lines(jobs) if lines is None else [line for line in lines if line.option_id in jobs]
    for line in known:
        by_job[jobs[line.option_id]].append(line)
    return Agreed(
        deals={
            job: Deal(bargain=BARGAINS[found[0].price_kind], agreed=_sum(found, shop=shop))
            for job, found in by_job.items()
        },
        since={job: min(line.agreed_at for line in found) for job, found in by_job.items()},
    )


def _agreed_lines(options: Iterable[int]) -> "QuerySet[QuoteLine]":
    lines = QuoteLine.objects.filter(option__in=list(options)).defer("unit_cost_e4")
    return lines.annotate(**OF_AGREED)


def _sum(lines: Sequence[Any], *, shop: Shop) -> int:
    """What the customer's lines come to: each rounded once, then less the discount on the whole."""
    rounding = Rounding(shop.rounding)
    by_share: dict[int, int] = defaultdict(int)
    for line in (line for line in lines if line.payer == Payer.CUSTOMER):
        exact = less(
            _exact(line.quantity_milli, to_one=MILLI, price_e4=line.unit_price_e4, shop=shop),
            share_e4=line.discount_e4,
        )
        by_share[line.less_whole] += whole_coins(exact, rounding=rounding)
    return sum(
        whole_coins(less(Fraction(coins), share_e4=share), rounding=rounding)
        for share, coins in by_share.items()
    )


def pieces_of(work_order: WorkOrder, *, agreed: Agreed, shop: Shop) -> list[Piece]:
    """The customer's rows of the five books, oldest first; one query."""
    books = [_book(*book, work_order=work_order) for book in BOOKS]
    rows = books[0].union(*books[1:], all=True).order_by("happened_at", "book", "id")
    return [_piece(row, since=agreed.since.get(row["job_id"]), shop=shop) for row in rows]


def _book(
    name: str, model: type[Model], amount: Any, to_one: int, *, work_order: WorkOrder
) -> "QuerySet[Any, dict[str, Any]]":
    billed = BilledSource.objects.filter(**{name: OuterRef("pk")}, line__invoice__issued_at__isnull=False)
    rows: QuerySet[Any] = model._default_manager.filter(
        job__work_order=work_order, payer=Payer.CUSTOMER, struck_at__isnull=True
    )
    told = rows.annotate(
        book=Value(name),
        amount=amount,
        to_one=Value(to_one, output_field=IntegerField()),
        less_line=F("plan_line__discount_e4"),
        less_whole=F("plan_line__option__choice__revision__discount_e4"),
        is_billed=Exists(billed),
        fee=Subquery(signed_intakes(work_order).values("diagnosis_fee_minor")[:1]),
        is_in_fee=_in_the_fee() if model is TimeEntry else Value(value=False, output_field=BooleanField()),
    )
    values: QuerySet[Any, dict[str, Any]] = told.values(*COLUMNS)
    return values


def _in_the_fee() -> "ExpressionWrapper[Q]":
    """Hours of looking are in the diagnosis fee of the signed terms, as they are on the bill."""
    is_looking = Q(kind=TimeKind.DIAGNOSIS, plan_line__isnull=True, fee__gt=0)
    return ExpressionWrapper(is_looking, output_field=BooleanField())


def _piece(row: Mapping[str, Any], *, since: datetime | None, shop: Shop) -> Piece:
    key = (row["book"], row["id"])
    price_e4 = row["unit_price_e4"]
    is_time = row["book"] == "time_entry"
    return Piece(
        key=key,
        job=row["job_id"],
        exact=_worth(row, shop=shop),
        group=(row["job_id"], price_e4 or 0, row["less_line"] or 0) if is_time else key,
        is_planned=row["plan_line_id"] is not None,
        is_by_owner=row["override_by_id"] is not None,
        is_billed=bool(row["is_billed"]),
        is_in_fee=bool(row["is_in_fee"]),
        is_before=since is not None and row["happened_at"] < since,
    )


def _worth(row: Mapping[str, Any], *, shop: Shop) -> Fraction | None:
    """What a row comes to in exact coins: at its frozen price, less the discounts of its plan line.

    None while it has no price, unless there is nothing to price: a fluid that was only drained.
    """
    if row["amount"] == 0:
        return Fraction(0)
    if row["unit_price_e4"] is None:
        return None
    exact = _exact(row["amount"], to_one=row["to_one"], price_e4=row["unit_price_e4"], shop=shop)
    return less(less(exact, share_e4=row["less_line"] or 0), share_e4=row["less_whole"] or 0)


def _exact(amount: int, *, to_one: int, price_e4: int, shop: Shop) -> Fraction:
    return Fraction(amount * price_e4 * 10 ** minor_digits(shop.currency), to_one * E4)
