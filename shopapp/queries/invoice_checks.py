"""What is not on a draft and why, and how the draft stands to what was agreed: looked at before issuing."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from django.db.models import F, Model, Value
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.calc.billing import Source
from shopapp.models import (
    FeeEntry,
    FluidEntry,
    Invoice,
    Job,
    Outcome,
    PartUsed,
    Person,
    SubletEntry,
    TimeEntry,
    TimeKind,
)
from shopapp.queries.bill_limits import limit_of
from shopapp.queries.invoices import buyer_words
from shopapp.queries.over_agreed import OverAgreed, over_agreed
from shopapp.queries.proposals import FEE_SOURCES, Proposal, proposals
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import ShopTexts, texts_of

_BOOKS: tuple[tuple[str, type[Model], str], ...] = (
    ("part_used", PartUsed, "description"),
    ("time_entry", TimeEntry, "kind"),
    ("fluid_entry", FluidEntry, "product"),
    ("sublet_entry", SubletEntry, "description"),
    ("fee_entry", FeeEntry, "description"),
)


@dataclass(frozen=True, kw_only=True)
class LeftOut:
    """A line that could be on the bill; ``rows`` is what its button sends."""

    job: str
    description: str
    amount: str
    rows: str


@dataclass(frozen=True, kw_only=True)
class HeldLine:
    """A logged row that may not be billed now, and why."""

    job: str
    description: str
    amount: str
    why: str


@dataclass(frozen=True, kw_only=True)
class CheckPage:
    """A draft before it is issued."""

    pk: int
    version: int
    customer: str
    work_order_pk: int
    work_order: str
    left_out: tuple[LeftOut, ...]
    held: tuple[HeldLine, ...]
    has_changed: bool
    open_jobs: tuple[str, ...]
    agreed: str
    billed: str
    over: str
    over_reason: str
    may_bill_beyond: bool
    total: str


def check_page(draft: Invoice, *, on_it: Collection[Source], viewer: Person) -> CheckPage | None:
    """The page of a draft that bills these rows; None for a sale over the counter. Bounded queries."""
    work_order = draft.work_order
    if work_order is None:
        return None
    texts, weighed = texts_of(the_shop()), over_agreed(work_order)
    jobs = {job.pk: job for job in Job.objects.filter(work_order=work_order)}
    found = proposals(work_order, held=frozenset(row.key for row in weighed.held))
    limit = limit_of(draft, work_order=work_order)
    is_over = limit.over_minor > 0
    return CheckPage(
        pk=draft.pk,
        version=draft.version,
        customer=buyer_words(draft),
        work_order_pk=work_order.pk,
        work_order=work_order.number,
        left_out=tuple(
            _left_out(line, jobs=jobs, texts=texts) for line in found.lines if _is_left(line, on_it=on_it)
        ),
        held=_held(weighed, jobs=jobs, texts=texts),
        has_changed=found.sha256 != draft.proposed_sha256,
        open_jobs=tuple(job_words(job) for job in jobs.values() if job.outcome == Outcome.OPEN),
        agreed=texts.money(limit.agreed_minor),
        billed=texts.money(limit.billed_minor),
        over=texts.money(limit.over_minor) if is_over else "",
        over_reason=draft.over_reason,
        may_bill_beyond=is_over and draft.over_by_id is None and access.may_see_costs(viewer),
        total=texts.money(draft.total_minor),
    )


def rows_text(sources: Iterable[Source]) -> str:
    """Rows as a form sends them: "part_used:7,time_entry:3"."""
    return ",".join(f"{name}:{key}" for name, key in sorted(sources))


def rows_from(text: str) -> frozenset[Source]:
    """The rows behind such a text; what is no row is left away."""
    pairs = (part.partition(":") for part in text.split(",")[:500])
    return frozenset(
        (name, int(key)) for name, _colon, key in pairs if key.isascii() and key.isdigit() and len(key) < 18
    )


def job_words(job: Job) -> str:
    """A job by its number and complaint."""
    return _("Job %(position)s: %(complaint)s") % {"position": job.position, "complaint": job.complaint[:60]}


def _is_left(line: Proposal, *, on_it: Collection[Source]) -> bool:
    return bool(line.sources) and not set(line.sources) <= set(on_it)


def _left_out(line: Proposal, *, jobs: dict[int, Job], texts: ShopTexts) -> LeftOut:
    job = jobs.get(line.job_pk or 0)
    return LeftOut(
        job=job_words(job) if job is not None else "",
        description=line.item.description,
        amount=texts.money(line.amount_minor),
        rows=rows_text(line.sources),
    )


def _held(weighed: OverAgreed, *, jobs: dict[int, Job], texts: ShopTexts) -> tuple[HeldLine, ...]:
    words = _words([row.key for row in weighed.held]) if weighed.held else {}
    return tuple(
        HeldLine(
            job=job_words(jobs[row.job_pk]),
            description=words.get(row.key, ""),
            amount=texts.money(row.coins) if row.coins else "",
            why=row.why,
        )
        for row in weighed.held
    )


def _words(keys: Sequence[Source]) -> dict[Source, str]:
    """What rows of the actual book are called. One query."""
    books = [
        model._default_manager.filter(pk__in=[key for book, key in keys if book == name])
        .annotate(book=Value(name), what=F(column))
        .values_list("book", "pk", "what")
        for name, model, column in _BOOKS
    ]
    rows = books[0].union(*books[1:], all=True)
    return {
        (book, pk): str(TimeKind(what).label) if book == "time_entry" else what for book, pk, what in rows
    }


def fee_source(origin: str) -> frozenset[Source]:
    """What stands for the diagnosis fee or its credit, if the line is one."""
    found = FEE_SOURCES.get(origin)
    return frozenset([found]) if found is not None else frozenset()
