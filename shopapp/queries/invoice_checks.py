"""What is not on a draft and why, and how the draft stands to what was agreed: looked at before issuing."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _

from shopapp import access
from shopapp.calc.billing import Source
from shopapp.models import (
    Invoice,
    Job,
    Outcome,
    Person,
)
from shopapp.queries.bill_limits import limit_of
from shopapp.queries.invoices import buyer_words
from shopapp.queries.open_points import OpenPoints, open_points
from shopapp.queries.over_agreed import OverAgreed, over_agreed
from shopapp.queries.proposals import FEE_SOURCES, Proposal, proposals
from shopapp.queries.shop_texts import ShopTexts, texts_of
from shopapp.queries.visit_books import VisitBooks, books_of


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
class OpenLine:
    """Where plan and actual book do not meet; ``amount`` says how much of how much, if that is the matter."""

    job: str
    description: str
    amount: str


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
    not_logged: tuple[OpenLine, ...]
    not_planned: tuple[OpenLine, ...]
    has_changed: bool
    open_jobs: tuple[str, ...]
    agreed: str
    billed: str
    over: str
    over_reason: str
    may_bill_beyond: bool
    total: str


def check_page(draft: Invoice, *, viewer: Person) -> CheckPage | None:
    """The page of a draft; None for a sale over the counter. Twelve queries, however much there is."""
    work_order = draft.work_order
    if work_order is None:
        return None
    books = books_of(work_order, draft=draft)
    texts, weighed = texts_of(books.shop), over_agreed(work_order, books=books)
    jobs = {job.pk: job for job in books.jobs}
    found = proposals(work_order, held=frozenset(row.key for row in weighed.held), books=books)
    limit = limit_of(draft, work_order=work_order, books=books)
    points = open_points(books.jobs, options=books.options)
    on_it, is_over = _on(books), limit.over_minor > 0
    return CheckPage(
        pk=draft.pk,
        version=draft.version,
        customer=buyer_words(draft),
        work_order_pk=work_order.pk,
        work_order=work_order.number,
        left_out=tuple(
            _left_out(line, jobs=jobs, texts=texts) for line in found.lines if _is_left(line, on_it=on_it)
        ),
        held=_held(weighed, points=points, jobs=jobs, texts=texts),
        not_logged=_not_logged(points, jobs=jobs),
        not_planned=_not_planned(points, books=books, jobs=jobs),
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


def _on(books: VisitBooks) -> frozenset[Source]:
    """The rows that the draft bills; the fee is no row of a book, and has a name instead."""
    claims = {source for row in books.drafted for source in row.claims}
    return frozenset(claims | {FEE_SOURCES[row.origin] for row in books.drafted if row.origin in FEE_SOURCES})


def _not_logged(points: OpenPoints, *, jobs: Mapping[int, Job]) -> tuple[OpenLine, ...]:
    """Planned for work that is done, and not all of it logged: left away, or left off the book."""
    return tuple(
        OpenLine(
            job=job_words(jobs[line.job_pk]),
            description=line.description,
            amount=_("%(used)s of %(quantity)s %(unit)s")
            % {"used": f"{line.used:f}", "quantity": f"{line.quantity:f}", "unit": line.unit},
        )
        for line in points.not_logged
        if jobs[line.job_pk].outcome == Outcome.DONE
    )


def _not_planned(points: OpenPoints, *, books: VisitBooks, jobs: Mapping[int, Job]) -> tuple[OpenLine, ...]:
    """Logged on a job with a plan, but on none of its lines, and on no issued bill."""
    billed = {source for row in books.issued for source in row.claims}
    return tuple(
        OpenLine(job=job_words(jobs[row.job_pk]), description=row.words, amount="")
        for row in points.not_planned
        if row.job_pk in books.options and row.key not in billed
    )


def _held(
    weighed: OverAgreed, *, points: OpenPoints, jobs: Mapping[int, Job], texts: ShopTexts
) -> tuple[HeldLine, ...]:
    words = {row.key: row.words for row in points.rows}
    return tuple(
        HeldLine(
            job=job_words(jobs[row.job_pk]),
            description=words.get(row.key, ""),
            amount=texts.money(row.coins) if row.coins else "",
            why=row.why,
        )
        for row in weighed.held
    )
