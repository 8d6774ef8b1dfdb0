"""The page on which fees and bought-in work are logged on a job, with the storage that has come up."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from shopapp import access
from shopapp.calc.storage import Stay, days_stored
from shopapp.models import FeeKind, FeeRate, Job, LineKind, Person, Shop, Unit, WorkOrder
from shopapp.queries.actuals import ActualRow, actual_book
from shopapp.queries.approvals import approved_options
from shopapp.queries.custody import boat_spans
from shopapp.queries.jobs import may_charge_on
from shopapp.queries.open_points import PlannedLine, planned_of
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.vessels import boat_words

CHARGED = (LineKind.SUBLET, LineKind.FEE)


@dataclass(frozen=True, kw_only=True)
class UsualFee:
    """A fee the shop usually asks for; its price is not for the bench."""

    pk: int
    name: str
    kind: str
    unit: str


@dataclass(frozen=True, kw_only=True)
class ChargesPage:
    """Fees and bought-in work of one job; ``storage_days`` have come up so far."""

    pk: int
    work_order_pk: int
    number: str
    position: int
    boat: str
    planned: tuple[PlannedLine, ...]
    rates: tuple[UsualFee, ...]
    rows: tuple[ActualRow, ...]
    storage_days: int
    storage_rate: int | None
    is_desk: bool
    may_charge: bool


def charges_page(job: Job, *, viewer: Person, today: date) -> ChargesPage:
    """The page of a job fetched by ``find_job``; ``today`` is the shop's day. Six queries."""
    options = approved_options([job]).get(job.pk, ())
    rates = tuple(
        UsualFee(pk=rate.pk, name=rate.name, kind=rate.kind, unit=str(Unit(rate.unit).label))
        for rate in FeeRate.objects.order_by("name").defer("unit_price_e4")
    )
    book = actual_book([job], viewer=viewer)
    return ChargesPage(
        pk=job.pk,
        work_order_pk=job.work_order_id,
        number=job.work_order.number,
        position=job.position,
        boat=boat_words(job.work_order.vessel),
        planned=tuple(line for line in planned_of(options, job_pk=job.pk) if line.kind in CHARGED),
        rates=rates,
        rows=tuple(row for row in book.rows if row.book in CHARGED),
        storage_days=storage_days(job.work_order, shop=the_shop(), today=today),
        storage_rate=next((rate.pk for rate in rates if rate.kind == FeeKind.STORAGE), None),
        is_desk=access.may_use_desk(viewer),
        may_charge=may_charge_on(job),
    )


def storage_days(work_order: WorkOrder, *, shop: Shop, today: date) -> int:
    """Days of storage that have come up: after the customer was told, less the shop's free days.

    Custody decides: days at home count not. One query, none before anybody was told.
    """
    if work_order.told_at is None:
        return 0
    stays = [
        Stay(since=local_day(shop, since), until=local_day(shop, until) if until is not None else None)
        for since, until in boat_spans(work_order)
    ]
    told = local_day(shop, work_order.told_at)
    return days_stored(stays, told=told, until=today, free=shop.storage_free_days)


def days_as_quantity(days: int) -> Decimal | None:
    """What the form offers; nothing when no day has come up."""
    return Decimal(days) if days else None
