"""The page of one row of the actual book, and the desk's page on what goes beyond what was agreed."""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from shopapp import access
from shopapp.calc.money import format_number
from shopapp.models import (
    BilledSource,
    FeeEntry,
    FluidEntry,
    Job,
    PartUsed,
    Payer,
    Person,
    SubletEntry,
    TimeEntry,
    Unit,
    WorkOrder,
)
from shopapp.queries.actual_rows import KINDS, AnyRow, RowKey, row_words, slug_of
from shopapp.queries.actuals import in_words
from shopapp.queries.open_points import OpenPoints, PlannedLine, open_points, planned_lines
from shopapp.queries.over_agreed import Beyond, beyond_of, options_of, over_agreed
from shopapp.queries.shop_texts import ShopTexts
from shopapp.queries.vessels import boat_words


@dataclass(frozen=True, kw_only=True)
class RowMoney:
    """What the desk sees of a row: its price, who pays, what it waits for, why it is billed all the same."""

    price: str
    rule: str
    is_agreed_price: bool
    payer: str
    payer_reason: str
    held: str
    by_owner: str
    may_override: bool


@dataclass(frozen=True, kw_only=True)
class RowPage:
    """One row, and what may be done with it; ``money`` is there for the desk only."""

    slug: str
    words: str
    amount: str
    who: str
    job_pk: int
    position: int
    work_order_pk: int
    number: str
    boat: str
    plan: tuple[PlannedLine, ...]
    plan_line: int | None
    struck: str
    is_billed: bool
    is_out: bool
    may_strike: bool
    may_change: bool
    money: RowMoney | None


@dataclass(frozen=True, kw_only=True)
class HeldLine:
    """A row that waits, ready to show."""

    slug: str
    words: str
    why: str
    coins: str


@dataclass(frozen=True, kw_only=True)
class AgreedPage:
    """What was agreed on a visit, what it has come to, which rows wait, where plan and book do not meet."""

    pk: int
    number: str
    boat: str
    beyond: Beyond
    held: tuple[HeldLine, ...]
    open_points: OpenPoints


def row_page(key: RowKey, row: AnyRow, *, viewer: Person) -> RowPage:
    """The page of a row that was fetched with its job, work order, boat and who logged it; seven queries."""
    job: Job = row.job
    options = options_of(job.work_order)
    plan = planned_lines({option.pk: job.pk for option in options.get(job.pk, ())})
    over = over_agreed(job.work_order, options=options)
    is_desk = access.may_use_desk(viewer)
    is_billed = BilledSource.objects.filter(
        **{key[0]: row.pk}, line__invoice__issued_at__isnull=False
    ).exists()
    is_open = row.struck_at is None and not is_billed
    held = {one.key: one.why for one in over.held}.get(key, "")
    return RowPage(
        slug=slug_of(key),
        words=row_words(row),
        amount=amount_words(row, texts=over.texts),
        who=row.logged_by.name,
        job_pk=job.pk,
        position=job.position,
        work_order_pk=job.work_order_id,
        number=job.work_order.number,
        boat=boat_words(job.work_order.vessel),
        plan=tuple(line for line in plan if line.kind == KINDS[key[0]]),
        plan_line=row.plan_line_id,
        struck=row.struck_reason,
        is_billed=is_billed,
        is_out=isinstance(row, SubletEntry) and row.back_at is None,
        may_strike=is_open and (is_desk or row.logged_by_id == viewer.pk),
        may_change=is_open,
        money=_money(row, held=held, viewer=viewer, texts=over.texts) if is_desk else None,
    )


def amount_words(row: AnyRow, *, texts: ShopTexts) -> str:
    """How much of it: "2 each", "1 h 30 min", "750 ml"."""
    match row:
        case PartUsed() | FeeEntry():
            return texts.quantity(row.quantity_milli, row.unit)
        case TimeEntry():
            return f"{in_words(row.minutes)}, {row.person.name}"
        case FluidEntry():
            ml = format_number(Decimal(row.filled_ml or row.drained_ml), locale=texts.locale)
            measured = f"{ml}\u00a0{Unit.MILLILITRE.label}"
            return measured if row.filled_ml else _("%s drained") % measured
        case SubletEntry():
            return texts.day(row.due_back_date)


def agreed_page(work_order: WorkOrder) -> AgreedPage:
    """The desk's page of a visit fetched with its ``vessel``; eight queries."""
    jobs = list(Job.objects.filter(work_order=work_order))
    options = options_of(work_order)
    over = over_agreed(work_order, options=options)
    points = open_points(jobs, options=options)
    words = {row.key: row.words for row in points.rows}
    return AgreedPage(
        pk=work_order.pk,
        number=work_order.number,
        boat=boat_words(work_order.vessel),
        beyond=beyond_of(over),
        held=tuple(
            HeldLine(
                slug=slug_of(row.key),
                words=words.get(row.key, ""),
                why=row.why,
                coins=over.texts.money(row.coins),
            )
            for row in over.held
        ),
        open_points=points,
    )


def _money(row: AnyRow, *, held: str, viewer: Person, texts: ShopTexts) -> RowMoney:
    price = row.unit_price_e4
    return RowMoney(
        price=texts.price(price) if price is not None else "",
        rule=row.price_rule if access.may_see_costs(viewer) else "",
        is_agreed_price=row.plan_line_id is not None and price is not None,
        payer=Payer(row.payer).value,
        payer_reason=row.payer_reason,
        held=held,
        by_owner=row.override_reason,
        may_override=viewer.is_owner,
    )
