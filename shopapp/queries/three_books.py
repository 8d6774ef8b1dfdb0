"""The three books of each job side by side: what was planned, what happened, what was billed."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import F, OuterRef, QuerySet, Subquery, Sum

from shopapp.calc.agreed import less, whole_coins
from shopapp.calc.money import Rounding, from_minor, minor_digits
from shopapp.models import InvoiceLine, Job, LineKind, Payer, QuoteLine, QuoteOption, Shop
from shopapp.queries.actuals import ActualBook, in_words

TO_ONE = 1_000 * 10_000


@dataclass(frozen=True, kw_only=True)
class Books:
    """Planned and billed without tax (None: nothing yet); what happened as a count of rows and as hours."""

    planned: Decimal | None
    logged: int
    hours: str
    billed: Decimal | None


def with_billed(jobs: QuerySet[Job]) -> QuerySet[Job]:
    """The jobs, each with what issued invoices hold of it that no credit note took back, as ``billed``."""
    lines = InvoiceLine.objects.filter(
        job=OuterRef("pk"), invoice__issued_at__isnull=False, invoice__kind="invoice"
    ).exclude(invoice__credit_note__issued_at__isnull=False)
    sums = lines.order_by().values("job").annotate(sum=Sum("amount_minor")).values("sum")
    return jobs.annotate(billed=Subquery(sums))


def books_of(
    jobs: Sequence[Job],
    *,
    in_force: Mapping[int, Sequence[QuoteOption]],
    happened: ActualBook,
    currency: str,
) -> Mapping[int, Books]:
    """The books of jobs fetched by ``with_billed``; one query.

    Planned are the customer's lines of the options in force, each rounded once, then less the discount on
    their quote.
    """
    planned = _planned(in_force, currency=currency)
    rows = defaultdict(list)
    for row in happened.rows:
        rows[row.job].append(row)
    return {
        job.pk: Books(
            planned=_amount(planned.get(job.pk), currency=currency),
            logged=len(rows[job.position]),
            hours=in_words(sum(int(row.amount) for row in rows[job.position] if row.book == LineKind.LABOUR)),
            billed=_amount(job.billed, currency=currency),  # type: ignore[attr-defined]  # annotated by with_billed
        )
        for job in jobs
    }


def _planned(in_force: Mapping[int, Sequence[QuoteOption]], *, currency: str) -> Mapping[int, int]:
    job_of = {option.pk: job for job, options in in_force.items() for option in options}
    columns = ("option_id", "quantity_milli", "unit_price_e4", "discount_e4", "whole_e4", "rounding")
    lines = QuoteLine.objects.filter(option__in=list(job_of), payer=Payer.CUSTOMER).annotate(
        whole_e4=F("option__choice__revision__discount_e4"),
        rounding=Subquery(Shop.objects.values("rounding")[:1]),
    )
    found: defaultdict[tuple[int, int, str], int] = defaultdict(int)
    for line in lines.values(*columns):
        key = (line["option_id"], line["whole_e4"], line["rounding"])
        found[key] += _coins(line, currency=currency)
    sums: defaultdict[int, int] = defaultdict(int)
    for (option, whole_e4, rounding), coins in found.items():
        sums[job_of[option]] += whole_coins(
            less(Fraction(coins), share_e4=whole_e4), rounding=Rounding(rounding)
        )
    return sums


def _coins(line: Mapping[str, Any], *, currency: str) -> int:
    exact = Fraction(line["quantity_milli"] * line["unit_price_e4"] * 10 ** minor_digits(currency), TO_ONE)
    return whole_coins(less(exact, share_e4=line["discount_e4"]), rounding=Rounding(line["rounding"]))


def _amount(minor: int | None, *, currency: str) -> Decimal | None:
    return None if minor is None else from_minor(minor, currency=currency)
