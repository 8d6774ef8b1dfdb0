"""What may be billed on a visit now: proposed lines by job, and what is kept off the bill."""

import hashlib
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from shopapp.calc.billing import (
    Agreed,
    Item,
    JobBooks,
    Origin,
    Proposed,
    Source,
    amount_of,
    billed_lines,
    grouped_time,
)
from shopapp.calc.money import from_minor, to_minor
from shopapp.calc.totals import Rules
from shopapp.models import (
    DECLINED_OUTCOMES,
    FeeCredit,
    InvoiceLine,
    Job,
    LineKind,
    LineOrigin,
    Outcome,
    Payer,
    PriceKind,
    QuoteLine,
    QuoteOption,
    Unit,
    Way,
    WorkOrder,
)
from shopapp.queries.bill_books import (
    Choices,
    Logged,
    Mark,
    clocked,
    logged_rows,
    marked,
    tax_codes,
    with_offs,
)
from shopapp.queries.shop import rules_of
from shopapp.queries.visit_books import VisitBooks, books_of

PRICES = {
    PriceKind.FIXED: Agreed.FIXED,
    PriceKind.CEILING: Agreed.CEILING,
    PriceKind.TIME_AND_MATERIAL: Agreed.TIME,
}
ORIGINS = {
    Origin.PLAN: LineOrigin.PLAN,
    Origin.ACTUAL: LineOrigin.ACTUAL,
    Origin.CEILING: LineOrigin.CEILING,
    Origin.DISCOUNT: LineOrigin.AGREED_DISCOUNT,
}
FEE_ORIGINS = (LineOrigin.DIAGNOSIS_FEE, LineOrigin.FEE_CREDIT)
# the fee is no row of a book; these stand for it where a person leaves a line out
FEE_SOURCES: Mapping[str, Source] = {origin: (origin.value, 0) for origin in FEE_ORIGINS}
NO_CHOICES = Choices()


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """A line that a bill may have now; ``job_pk`` is None where it belongs to the visit as a whole."""

    job_pk: int | None
    origin: LineOrigin
    item: Item
    amount_minor: int
    mark: Mark | None = None

    @property
    def sources(self) -> tuple[Source, ...]:
        """The rows that the line bills."""
        return self.item.sources


@dataclass(frozen=True, kw_only=True)
class Proposals:
    """All that may be billed on a visit now, in the order of jobs."""

    lines: tuple[Proposal, ...]
    job_pks: tuple[int, ...]

    @property
    def sources(self) -> frozenset[Source]:
        """Every row that may be billed."""
        return frozenset(source for line in self.lines for source in line.sources)

    @property
    def sha256(self) -> str:
        """Changes when other rows, amounts or fees could be billed."""
        facts = sorted(
            repr((line.job_pk, line.origin.value, sorted(line.sources), line.amount_minor))
            for line in self.lines
        )
        return hashlib.sha256("\n".join(facts).encode()).hexdigest()


@dataclass(frozen=True, kw_only=True)
class _Visit:
    """What the books of a visit hold, read once."""

    rules: Rules
    taxes: Mapping[str, int]
    options: Mapping[int, tuple[QuoteOption, ...]]
    plan: Mapping[int, QuoteLine]
    items: Mapping[int, Item]
    logged: Mapping[int, list[Logged]]
    billed: Mapping[int | None, int]
    fees: Collection[str]
    fee_minor: int
    fee_credit: str


def proposals(
    work_order: WorkOrder,
    *,
    held: Collection[Source],
    choices: Choices = NO_CHOICES,
    books: VisitBooks | None = None,
) -> Proposals:
    """What may be billed now, with a person's choices worked in; eight queries.

    ``held`` are the rows that may not be billed yet (``queries.over_agreed``). The jobs that have ended
    count, each by its price kind; see ``calc.billing``. With the ``books`` of the visit two
    queries are left.
    """
    known = books if books is not None else books_of(work_order)
    jobs = ended_jobs(known.jobs)
    visit = _read(jobs, books=known)
    lines = [line for job in jobs for line in _job_lines(job, visit=visit, held=held, choices=choices)]
    fees = _fee_lines(jobs, visit=visit, left_out=choices.left_out)
    return Proposals(lines=(*lines, *fees), job_pks=tuple(job.pk for job in jobs))


def ended_jobs(jobs: Iterable[Job]) -> list[Job]:
    """Jobs that nothing sends back to the bench: proved, declined, without a fault, or put off."""
    return [job for job in jobs if job.outcome != Outcome.OPEN]


def is_plan_owed(job: Job, options: Sequence[QuoteOption]) -> bool:
    """Whether the approved lines are owed: the work was done, or what leaving it costs was agreed."""
    if job.outcome == Outcome.DONE:
        return bool(options)
    is_left = any(option.way == Way.LEAVE for option in options)
    return is_left and job.outcome in DECLINED_OUTCOMES


def _read(jobs: Sequence[Job], *, books: VisitBooks) -> _Visit:
    """The rest of the books of the jobs that have ended; two queries."""
    shop, taxes = books.shop, tax_codes()
    options = {job.pk: books.options[job.pk] for job in jobs if job.pk in books.options}
    keys = {option.pk for chosen in options.values() for option in chosen}
    pks = {job.pk for job in jobs}
    lines = [line for line in books.lines if line.option.choice.job_id in pks]
    plan = {line.pk: line for line in lines}
    agreed = [line for line in lines if line.option_id in keys and line.payer == Payer.CUSTOMER]
    logged = defaultdict(list)
    for row in logged_rows(jobs, plan=plan, taxes=taxes):
        logged[row.job_pk].append(row)
    # what the owner bills on their own word counts apart
    billed = [row for row in books.issued if not row.is_by_owner]
    rules, sums = rules_of(shop), Counter[int | None]()
    for line in billed:
        sums[line.job_pk] += line.amount_minor
    return _Visit(
        rules=rules,
        taxes=taxes,
        options=options,
        plan=plan,
        items=with_offs(agreed, rules=rules),
        logged=logged,
        billed=sums,
        fees={row.origin for row in billed if row.origin in FEE_ORIGINS},
        fee_minor=books.may.fee_minor,
        fee_credit=books.may.fee_credit or shop.fee_credit,
    )


def _job_lines(job: Job, *, visit: _Visit, held: Collection[Source], choices: Choices) -> list[Proposal]:
    books = _books(job, visit=visit, held=held, choices=choices)
    return [
        Proposal(
            job_pk=job.pk,
            origin=ORIGINS[one.origin],
            item=one.item,
            amount_minor=to_minor(one.amount, currency=visit.rules.currency),
            mark=_mark_of(one, choices=choices),
        )
        for one in billed_lines(books, rules=visit.rules)
    ]


def _mark_of(one: Proposed, *, choices: Choices) -> Mark | None:
    return next((choices.marks[source] for source in one.item.sources if source in choices.marks), None)


def _books(job: Job, *, visit: _Visit, held: Collection[Source], choices: Choices) -> JobBooks:
    """The books of one job, without what is held, left out, billed, or inside the diagnosis fee."""
    options = visit.options.get(job.pk, ())
    keys = {option.pk for option in options}
    agreed = {pk: item for pk, item in visit.items.items() if visit.plan[pk].option_id in keys}
    open_plan = {
        pk: marked(item, mark=choices.marks.get(("plan_line", pk)))
        for pk, item in agreed.items()
        if not visit.plan[pk].is_billed and ("plan_line", pk) not in choices.left_out  # type: ignore[attr-defined]  # annotated
    }
    rows = [row for row in visit.logged[job.pk] if _may_bill(row, visit=visit, held=held, choices=choices)]
    minimum = next((item for pk, item in open_plan.items() if visit.plan[pk].is_minimum_charge), None)
    return JobBooks(
        price=PRICES[PriceKind(job.price_kind)],
        is_plan_owed=is_plan_owed(job, options),
        planned=list(open_plan.values()),
        logged=_items([row for row in rows if not row.is_overridden], choices=choices),
        overridden=_items([row for row in rows if row.is_overridden], choices=choices),
        agreed=sum((amount_of(item, rules=visit.rules) - item.off for item in agreed.values()), Decimal(0)),
        billed=from_minor(visit.billed.get(job.pk, 0), currency=visit.rules.currency),
        minimum=minimum,
        off_words=_off_words(options, visit=visit),
        above_words=_("Above the agreed maximum: not charged"),
    )


def _may_bill(row: Logged, *, visit: _Visit, held: Collection[Source], choices: Choices) -> bool:
    is_in_fee = row.is_diagnosis and row.plan_line_pk is None and visit.fee_minor > 0
    return row.source not in held and row.source not in choices.left_out and not is_in_fee


def _items(rows: Sequence[Logged], *, choices: Choices) -> list[Item]:
    """Time in groups, everything else row by row; time first."""
    marks = choices.marks
    times = [clocked(row, mark=marks.get(row.source)) for row in rows if row.minutes is not None]
    others = [marked(row.item, mark=marks.get(row.source)) for row in rows if row.minutes is None]
    return [*grouped_time(times), *others]


def _off_words(options: Sequence[QuoteOption], *, visit: _Visit) -> str:
    keys = {option.pk for option in options}
    revisions = [line.option.choice.revision for line in visit.plan.values() if line.option_id in keys]
    reason = next((one.discount_reason for one in revisions if one.discount_e4), "")
    return (_("Discount: %s") % reason)[:200]


def _fee_lines(jobs: Sequence[Job], *, visit: _Visit, left_out: Collection[Source]) -> list[Proposal]:
    """The diagnosis fee of the signed intake, once a visit, and its credit once a repair went ahead.

    What was never charged is not credited.
    """
    if not visit.fee_minor or not jobs:
        return []
    lines = []
    is_billed = LineOrigin.DIAGNOSIS_FEE in visit.fees
    if not is_billed and FEE_SOURCES[LineOrigin.DIAGNOSIS_FEE] not in left_out:
        lines.append(_fee_line(LineOrigin.DIAGNOSIS_FEE, _("Diagnosis fee"), visit=visit))
    is_credited = LineOrigin.FEE_CREDIT in visit.fees or FEE_SOURCES[LineOrigin.FEE_CREDIT] in left_out
    if (is_billed or lines) and not is_credited and _goes_ahead(jobs, visit=visit):
        words = _("Diagnosis fee credited: the repair went ahead")
        lines.append(_fee_line(LineOrigin.FEE_CREDIT, words, visit=visit))
    return lines


def _goes_ahead(jobs: Sequence[Job], *, visit: _Visit) -> bool:
    if visit.fee_credit != FeeCredit.GOES_AHEAD:
        return False
    return any(
        job.outcome == Outcome.DONE and any(one.way != Way.LEAVE for one in visit.options.get(job.pk, ()))
        for job in jobs
    )


def _fee_line(origin: LineOrigin, words: str, *, visit: _Visit) -> Proposal:
    sign = -1 if origin == LineOrigin.FEE_CREDIT else 1
    item = Item(
        sources=(FEE_SOURCES[origin],),
        kind=LineKind.FEE,
        description=words,
        quantity=Decimal(sign),
        unit=Unit.EACH,
        unit_price=from_minor(visit.fee_minor, currency=visit.rules.currency),
        tax=visit.taxes[LineKind.FEE],
    )
    return Proposal(job_pk=None, origin=origin, item=item, amount_minor=sign * visit.fee_minor)


def line_of(proposal: Proposal) -> InvoiceLine:
    """The proposal as a row that is not saved yet and has no place."""
    item, mark = proposal.item, proposal.mark
    plan = next((pk for name, pk in item.sources if name == "plan_line"), None)
    facts: dict[str, Any] = {
        "kind": item.kind,
        "number": item.number,
        "description": item.description[:200],
        "quantity_milli": int(item.quantity * 1_000),
        "unit": item.unit,
        "unit_price_e4": int(item.unit_price * 10_000),
        "discount_e4": int(item.discount * 10_000),
        "tax_code_id": item.tax,
        "condition": item.condition,
        "part_id": item.part,
    }
    return InvoiceLine(
        **facts,
        position=0,
        origin=proposal.origin,
        job_id=proposal.job_pk,
        plan_line_id=plan,
        payer=mark.payer if mark is not None else Payer.CUSTOMER,
        note=mark.note if mark is not None else "",
        amount_minor=proposal.amount_minor,
    )
