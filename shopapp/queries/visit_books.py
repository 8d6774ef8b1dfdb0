"""What several questions about the bill of a visit rest on, read once for all of them."""

from collections.abc import Sequence
from dataclasses import dataclass

from shopapp.models import Invoice, Job, QuoteLine, Shop, WorkOrder
from shopapp.queries.approvals import Authorised, Options, approved_options, authorised
from shopapp.queries.bill_books import plan_lines
from shopapp.queries.billed_rows import BilledRow, billed_rows
from shopapp.queries.shop import the_shop


@dataclass(frozen=True, kw_only=True)
class VisitBooks:
    """The shop, the jobs in their order, what is agreed, how far the shop may go, and what bills have.

    ``lines`` are those of the options in force, and others that a logged row names; ``billed`` holds the
    lines of ``draft`` too, where one was asked for.
    """

    shop: Shop
    jobs: Sequence[Job]
    options: Options
    lines: Sequence[QuoteLine]
    may: Authorised
    billed: Sequence[BilledRow]
    draft: Invoice | None

    @property
    def issued(self) -> tuple[BilledRow, ...]:
        """The lines of issued bills that stand."""
        return tuple(row for row in self.billed if self.draft is None or row.invoice_pk != self.draft.pk)

    @property
    def drafted(self) -> tuple[BilledRow, ...]:
        """The lines of the draft."""
        return tuple(row for row in self.billed if self.draft is not None and row.invoice_pk == self.draft.pk)


def books_of(work_order: WorkOrder, *, draft: Invoice | None = None) -> VisitBooks:
    """All of it; six queries, seven where an elder approval counts in part."""
    jobs = list(Job.objects.filter(work_order=work_order).order_by("position"))
    options = approved_options(jobs)
    chosen = {option.pk for some in options.values() for option in some}
    return VisitBooks(
        shop=the_shop(),
        jobs=jobs,
        options=options,
        lines=plan_lines(chosen, jobs=[job.pk for job in jobs]),
        may=authorised(work_order),
        billed=billed_rows(work_order, draft=draft),
        draft=draft,
    )
