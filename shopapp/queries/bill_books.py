"""The rows a bill is made from: agreed lines and logged rows, with what a person changed of them by hand."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from django.db.models import CharField, Exists, F, IntegerField, Model, OuterRef, Q, QuerySet, Value
from django.utils.translation import gettext as _

from shopapp.calc.billing import Clocked, Item, Source, agreed_offs
from shopapp.calc.money import from_e4, from_milli
from shopapp.calc.totals import Rules
from shopapp.models import (
    BilledSource,
    FeeEntry,
    FluidEntry,
    Job,
    KindTax,
    LineKind,
    PartCondition,
    PartUsed,
    Payer,
    QuoteLine,
    SubletEntry,
    TimeEntry,
    TimeKind,
    Unit,
)
from shopapp.queries.agreed_rows import OF_AGREED

WHOLE_SHARE = 10_000
_NOTHING = Value("", output_field=CharField())
_NO_KEY = Value(None, output_field=IntegerField())
_EACH, _NEW = Value(Unit.EACH.value), Value(PartCondition.NEW.value)
# the five books in the same columns, so that one query reads them all; amounts in 1/1,000 (time: minutes)
BOOKS: tuple[tuple[str, type[Model], str, Mapping[str, Any]], ...] = (
    (
        "part_used",
        PartUsed,
        LineKind.PART,
        {
            "what": F("description"),
            "code": F("number"),
            "amount": F("quantity_milli"),
            "measure": F("unit"),
            "state": F("condition"),
            "part_key": F("part_id"),
            "own_tax": F("part__tax_code_id"),
        },
    ),
    (
        "time_entry",
        TimeEntry,
        LineKind.LABOUR,
        {"what": F("kind"), "amount": F("minutes"), "measure": Value(Unit.HOUR.value)},
    ),
    (
        "fluid_entry",
        FluidEntry,
        LineKind.FLUID,
        {"what": F("product"), "amount": F("filled_ml"), "measure": Value(Unit.LITRE.value)},
    ),
    ("sublet_entry", SubletEntry, LineKind.SUBLET, {"what": F("description"), "amount": Value(1_000)}),
    (
        "fee_entry",
        FeeEntry,
        LineKind.FEE,
        {"what": F("description"), "amount": F("quantity_milli"), "measure": F("unit")},
    ),
)
_PLAIN: Mapping[str, Any] = {
    "code": _NOTHING,
    "measure": _EACH,
    "state": _NEW,
    "part_key": _NO_KEY,
    "own_tax": _NO_KEY,
}
COLUMNS = (
    "id",
    "book",
    "job_id",
    "plan_line_id",
    "what",
    "code",
    "amount",
    "measure",
    "state",
    "part_key",
    "own_tax",
    "unit_price_e4",
    "override_by_id",
    "happened_at",
)
KIND_OF = {book: kind for book, _model, kind, _columns in BOOKS}


@dataclass(frozen=True, kw_only=True)
class Mark:
    """What a person changed of a proposed line: its words, a discount, who pays, and why."""

    description: str
    discount_e4: int = 0
    payer: str = Payer.CUSTOMER
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Choices:
    """What a person decided about a draft: rows left out of it for now, and marks on lines."""

    left_out: Collection[Source] = frozenset()
    marks: Mapping[Source, Mark] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Logged:
    """A row of the actual book that may be billed; ``minutes`` for time, else None."""

    source: Source
    job_pk: int
    item: Item
    minutes: int | None
    plan_line_pk: int | None
    is_overridden: bool
    is_diagnosis: bool
    happened_at: Any


def unclaimed(name: str) -> Q:
    """Inside a query over one of the books: no issued bill bills the row (a credited one gave it free)."""
    claims = BilledSource.objects.filter(**{name: OuterRef("pk")}, line__invoice__issued_at__isnull=False)
    return ~Q(Exists(claims))


def logged_rows(
    jobs: Iterable[Job], *, plan: Mapping[int, QuoteLine], taxes: Mapping[str, int]
) -> list[Logged]:
    """The customer's priced rows of these jobs that no bill has, oldest first; one query.

    Struck rows count nowhere. ``plan`` holds the lines that rows may name; ``taxes`` is kind → tax code.
    """
    keys = [job.pk for job in jobs]
    books = [_book(*book, jobs=keys) for book in BOOKS]
    rows = books[0].union(*books[1:], all=True).order_by("happened_at", "book", "id")
    return [_logged(row, plan=plan, taxes=taxes) for row in rows if row["amount"]]


def _book(
    name: str, model: type[Model], kind: str, columns: Mapping[str, Any], *, jobs: Collection[int]
) -> "QuerySet[Any, dict[str, Any]]":
    rows = model._default_manager.filter(
        unclaimed(name),
        job__in=jobs,
        payer=Payer.CUSTOMER,
        struck_at__isnull=True,
        unit_price_e4__isnull=False,
    )
    shown: dict[str, Any] = {**_PLAIN, **columns}
    found: QuerySet[Any, dict[str, Any]] = rows.annotate(book=Value(name), **shown).values(*COLUMNS)
    return found


def _logged(row: Mapping[str, Any], *, plan: Mapping[int, QuoteLine], taxes: Mapping[str, int]) -> Logged:
    source, line = (row["book"], row["id"]), plan.get(row["plan_line_id"])
    kind, is_time = KIND_OF[row["book"]], row["book"] == "time_entry"
    item = Item(
        sources=(source,),
        kind=kind,
        description=_words(row, line=line),
        number=row["code"],
        quantity=Decimal(0) if is_time else from_milli(row["amount"]),
        unit=row["measure"],
        unit_price=from_e4(row["unit_price_e4"]),
        discount=_share(line.discount_e4) if line is not None else Decimal(0),
        tax=line.tax_code_id if line is not None else row["own_tax"] or taxes[kind],
        condition=row["state"],
        part=row["part_key"],
        off_share=_share(line.option.choice.revision.discount_e4) if line is not None else Decimal(0),
    )
    return Logged(
        source=source,
        job_pk=row["job_id"],
        item=item,
        minutes=row["amount"] if is_time else None,
        plan_line_pk=row["plan_line_id"],
        is_overridden=row["override_by_id"] is not None,
        is_diagnosis=is_time and row["what"] == TimeKind.DIAGNOSIS,
        happened_at=row["happened_at"],
    )


def _words(row: Mapping[str, Any], *, line: QuoteLine | None) -> str:
    if row["book"] != "time_entry":
        return str(row["what"])
    return line.description if line is not None else _("Labour: %s") % TimeKind(row["what"]).label.lower()


def _share(e4: int) -> Decimal:
    return Decimal(e4) / WHOLE_SHARE


def tax_codes() -> dict[str, int]:
    """Kind of line → its usual tax code. One query."""
    return dict(KindTax.objects.values_list("kind", "tax_code_id"))


def plan_lines(options: Collection[int], *, jobs: Collection[int]) -> list[QuoteLine]:
    """The customer's lines of these options, and every line that a row of these jobs names; one query.

    Each knows as ``is_billed`` whether an issued bill has it, and what ``queries.agreed_rows`` asks.
    """
    claims = BilledSource.objects.filter(plan_line=OuterRef("pk"), line__invoice__issued_at__isnull=False)
    named = Q(option__choice__job__in=jobs, option__choice__revision__approval__isnull=False)
    rows = QuoteLine.objects.filter(Q(option__in=options) | named).defer("unit_cost_e4")
    return list(
        rows.annotate(is_billed=Exists(claims), **OF_AGREED)
        .select_related("option__choice__revision")
        .order_by("option__choice__position", "option__choice_id", "option_id", "position")
    )


def plan_item(line: QuoteLine) -> Item:
    """An agreed line as what a bill would have."""
    return Item(
        sources=(("plan_line", line.pk),),
        kind=line.kind,
        description=line.description,
        number=line.number,
        quantity=from_milli(line.quantity_milli),
        unit=line.unit,
        unit_price=from_e4(line.unit_price_e4),
        discount=_share(line.discount_e4),
        tax=line.tax_code_id,
        condition=line.condition,
    )


def with_offs(lines: Iterable[QuoteLine], *, rules: Rules) -> dict[int, Item]:
    """Agreed lines by their key, each with what the discount of its quote takes off it."""
    by_revision: dict[int, list[QuoteLine]] = {}
    for line in lines:
        by_revision.setdefault(line.option.choice.revision_id, []).append(line)
    found: dict[int, Item] = {}
    for some in by_revision.values():
        items = [plan_item(line) for line in some]
        share = _share(some[0].option.choice.revision.discount_e4)
        offs = agreed_offs(items, share=share, rules=rules)
        found |= {line.pk: replace(item, off=off) for line, item, off in zip(some, items, offs, strict=True)}
    return found


def marked(item: Item, *, mark: Mark | None) -> Item:
    """The item as a person changed it."""
    if mark is None:
        return item
    return replace(item, description=mark.description, discount=_share(mark.discount_e4))


def clocked(row: Logged, *, mark: Mark | None) -> Clocked:
    """A time entry as a bill counts it."""
    item = replace(marked(row.item, mark=mark), sources=())
    return Clocked(source=row.source, minutes=row.minutes or 0, item=item)
