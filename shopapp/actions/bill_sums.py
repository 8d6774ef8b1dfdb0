"""What a bill comes to: its lines with their amounts, its taxes and sums; and how they are written down."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from operator import attrgetter

from shopapp.calc.billing import Source, discount_by_tax
from shopapp.calc.money import from_minor, to_minor
from shopapp.calc.tax import TaxTreatment
from shopapp.calc.totals import Adjustment, Line, Rules, TaxRow, document_totals
from shopapp.models import SOURCES, BilledSource, Customer, Invoice, InvoiceLine, InvoiceTax
from shopapp.queries.shop import rules_of, the_shop, treatments_at

SUMS = ("discount_minor", "without_tax_minor", "tax_minor", "total_minor")
TAX_FACTS = ("name", "category", "rate_e6", "taxable_minor", "tax_minor", "exemption_reason")
LINE_FACTS = (
    "origin",
    "kind",
    "number",
    "description",
    "quantity_milli",
    "unit",
    "unit_price_e4",
    "discount_e4",
    "tax_code_id",
    "payer",
    "condition",
    "job_id",
    "plan_line_id",
    "part_id",
    "note",
    "amount_minor",
)


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """A line that is not saved yet, and the rows it bills."""

    line: InvoiceLine
    sources: tuple[Source, ...] = ()

    @property
    def claims(self) -> tuple[Source, ...]:
        """Those of its sources that are rows of a book."""
        return tuple(source for source in self.sources if source[0] in SOURCES)


@dataclass(frozen=True, kw_only=True)
class Terms:
    """For whom a bill is, the day whose tax counts, and a discount on the whole of it."""

    customer: Customer | None
    tax_date: date
    discount_e4: int = 0
    discount_reason: str = ""


@dataclass(frozen=True, kw_only=True)
class Figures:
    """What a bill comes to: rows that are not saved yet, and the sums in the smallest coin."""

    drawn: tuple[Drawn, ...]
    taxes: tuple[InvoiceTax, ...]
    discount_minor: int
    without_tax_minor: int
    tax_minor: int
    total_minor: int


def figures_of(drawn: Sequence[Drawn], *, terms: Terms) -> Figures:
    """What these lines come to; each line gets its amount and its place. Three queries."""
    shop = the_shop()
    rules, treatments = rules_of(shop), treatments_at(terms.tax_date, customer=terms.customer)
    lines = [one.line.as_line(treatments) for one in drawn]
    allowances = _allowances(drawn, terms=terms, treatments=treatments, rules=rules)
    totals = document_totals(lines, rules=rules, allowances=allowances)
    for place, (one, amount) in enumerate(zip(drawn, totals.line_amounts, strict=True), start=1):
        one.line.position, one.line.amount_minor = place, to_minor(amount, currency=shop.currency)
    return Figures(
        drawn=tuple(drawn),
        taxes=tuple(_tax(row, currency=shop.currency) for row in totals.tax_rows),
        discount_minor=to_minor(totals.allowances, currency=shop.currency),
        without_tax_minor=to_minor(totals.without_tax, currency=shop.currency),
        tax_minor=to_minor(totals.tax, currency=shop.currency),
        total_minor=to_minor(totals.with_tax, currency=shop.currency),
    )


def _allowances(
    drawn: Sequence[Drawn], *, terms: Terms, treatments: Mapping[int, TaxTreatment], rules: Rules
) -> list[Adjustment]:
    lines: list[tuple[int, Line]] = [(one.line.tax_code_id, one.line.as_line(treatments)) for one in drawn]
    shares = discount_by_tax(lines, share=Decimal(terms.discount_e4) / 10_000, rules=rules)
    return [
        Adjustment(
            amount=from_minor(minor, currency=rules.currency),
            reason=terms.discount_reason,
            tax=treatments[tax],
        )
        for tax, minor in shares.items()
    ]


def has(draft: Invoice, *, figures: Figures) -> bool:
    """Whether the draft shows exactly these lines, claims, amounts, taxes and sums. Three queries."""
    lines = list(draft.lines.order_by("position"))
    claims = claims_of(draft)
    taxes = draft.taxes.order_by("pk").values_list(*TAX_FACTS)
    return (
        [attrgetter(*LINE_FACTS)(row) for row in lines]
        == [attrgetter(*LINE_FACTS)(one.line) for one in figures.drawn]
        and [claims.get(row.pk, frozenset()) for row in lines]
        == [frozenset(one.claims) for one in figures.drawn]
        and list(taxes) == [attrgetter(*TAX_FACTS)(row) for row in figures.taxes]
        and attrgetter(*SUMS)(draft) == attrgetter(*SUMS)(figures)
    )


def claims_of(invoice: Invoice) -> dict[int, frozenset[Source]]:
    """Line → the rows that it bills. One query."""
    found: dict[int, set[Source]] = {}
    keys = [f"{name}_id" for name in SOURCES]
    for row in BilledSource.objects.filter(line__invoice=invoice).values("line_id", *keys):
        source = next((name, row[f"{name}_id"]) for name in SOURCES if row[f"{name}_id"] is not None)
        found.setdefault(row["line_id"], set()).add(source)
    return {line: frozenset(sources) for line, sources in found.items()}


def write(draft: Invoice, *, figures: Figures) -> None:
    """Write the lines, their claims, the tax rows and the sums anew."""
    for one in figures.drawn:
        one.line.invoice = draft
    for tax in figures.taxes:
        tax.invoice = draft
    draft.lines.all().delete()
    InvoiceLine.objects.bulk_create([one.line for one in figures.drawn])
    BilledSource.objects.bulk_create(
        [
            BilledSource(line=one.line, **{f"{name}_id": key})
            for one in figures.drawn
            for name, key in one.claims
        ]
    )
    draft.taxes.all().delete()
    InvoiceTax.objects.bulk_create(figures.taxes)
    draft.discount_minor, draft.without_tax_minor, draft.tax_minor, draft.total_minor = attrgetter(*SUMS)(
        figures
    )
    draft.save(update_fields=SUMS)


def sums_told(invoice: Invoice) -> dict[str, str | int | bool | None]:
    """The sums as facts for the chain."""
    return {"without_tax_minor": invoice.without_tax_minor, "total_minor": invoice.total_minor}


def _tax(row: TaxRow, *, currency: str) -> InvoiceTax:
    longest = InvoiceTax._meta.get_field("exemption_reason").max_length
    return InvoiceTax(
        name=row.component_name,
        category=row.category,
        rate_e6=int(row.rate * 1_000_000),
        taxable_minor=to_minor(row.taxable, currency=currency),
        tax_minor=to_minor(row.tax, currency=currency),
        exemption_reason=row.exemption_reason[:longest],
    )
