"""What an invoice shows on paper, as a plain map, made from its rows when it is issued and frozen with it.

Exact figures are text, what people read stands beside them in keys that end in ``_shown``. Fields: EN 16931,
directive 2006/112/EC art. 226, and the Canadian GST/HST table of invoice fields.
"""

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shopapp.calc.money import to_minor
from shopapp.calc.tax import TaxTreatment
from shopapp.calc.totals import document_totals
from shopapp.models import (
    ApprovedChoice,
    Customer,
    Decision,
    Engine,
    Invoice,
    InvoiceKind,
    InvoiceLine,
    InvoiceTax,
    Job,
    LineKind,
    Outcome,
    QuoteOption,
    Shop,
    Way,
    WorkOrder,
)
from shopapp.queries.approvals import approved_options
from shopapp.queries.invoice_pages import condition_words, line_row, lines_with_jobs, note_words
from shopapp.queries.shop import rules_of, the_shop, treatments_at
from shopapp.queries.shop_texts import ShopTexts, texts_of
from shopapp.queries.vessels import boat_line

SCHEMA = 2

type Content = dict[str, Any]
type Treatments = Mapping[int, TaxTreatment]


def invoice_content(invoice: Invoice) -> Content:
    """The map. The invoice has its number, days and sums; they need not be saved yet. Ten queries.

    Buyer and taxes come from the one ``invoice.customer``, which whoever issues has read under its lock.
    What was paid before is the deposits that were taken off at issue; a sale over the counter is paid then
    and there.
    """
    shop = the_shop()
    texts = texts_of(shop)
    lines, treatments = list(lines_with_jobs(invoice)), _treatments(invoice)
    return {
        "schema": SCHEMA,
        "kind": invoice.kind,
        "credits": _credits(invoice, texts=texts),
        "paper_size": shop.paper,
        "currency": shop.currency,
        "prices_include_tax": shop.prices_include_tax,
        "shop": _shop(shop),
        "buyer": _buyer(invoice.customer),
        "invoice": _facts(invoice, texts=texts),
        "visit": _visit(invoice.work_order),
        "jobs": _jobs(lines, taxed=_line_taxes(treatments, texts=texts), texts=texts),
        "discount": _discount(invoice, texts=texts),
        "kinds": _kinds(lines, treatments=treatments, shop=shop),
        "taxes": [_tax(tax, texts=texts) for tax in invoice.taxes.order_by("pk")],
        "totals": _totals(invoice, texts=texts),
    }


def _shop(shop: Shop) -> Content:
    return {
        "name": shop.name,
        "address": shop.address,
        "phone": shop.phone,
        "email": shop.email,
        "tax_number": shop.tax_number,
        "warranty_terms": shop.warranty_terms,
    }


def _buyer(customer: Customer | None) -> Content:
    if customer is None:
        return {"name": "", "address": "", "exemption_number": "", "exemption_reason": ""}
    return {
        "name": customer.name,
        "address": customer.address,
        "exemption_number": customer.exemption_number if customer.is_tax_exempt else "",
        "exemption_reason": customer.exemption_reason if customer.is_tax_exempt else "",
    }


def _facts(invoice: Invoice, *, texts: ShopTexts) -> Content:
    if invoice.issue_date is None or invoice.tax_date is None or invoice.due_date is None:
        raise ValueError(f"{invoice} has no days yet, so it shows nothing")
    days = (invoice.due_date - invoice.issue_date).days
    return {
        "number": invoice.number,
        "issue_date": invoice.issue_date.isoformat(),
        "issue_date_shown": texts.day(invoice.issue_date),
        "tax_date": invoice.tax_date.isoformat(),
        "tax_date_shown": texts.day(invoice.tax_date),
        "due_date": invoice.due_date.isoformat(),
        "due_date_shown": texts.day(invoice.due_date),
        "purchase_order": invoice.purchase_order,
        "terms_shown": _terms(invoice, days=days, due=texts.day(invoice.due_date)),
    }


def _credits(invoice: Invoice, *, texts: ShopTexts) -> Content | None:
    """What a credit note takes back, and why."""
    if invoice.credits is None:
        return None
    return {
        "number": invoice.credits.number,
        "issue_date_shown": texts.day(invoice.credits.issue_date),
        "reason": invoice.credit_reason,
    }


def _discount(invoice: Invoice, *, texts: ShopTexts) -> Content | None:
    """A discount on the whole of the bill (EN 16931 BG-20), with its reason."""
    if not invoice.discount_minor:
        return None
    return {
        "share_shown": texts.percent(invoice.discount_e4 * 100),
        "reason": invoice.discount_reason,
        "amount_minor": invoice.discount_minor,
        "amount_shown": texts.money(-invoice.discount_minor),
    }


def _terms(invoice: Invoice, *, days: int, due: str) -> str:
    if invoice.kind == InvoiceKind.CREDIT_NOTE:
        return _(
            "This amount is no longer owed. What was paid of it is given back or taken off the next bill."
        )
    if invoice.deposit_minor >= invoice.total_minor:
        return _("Paid. Thank you.")
    if days == 0:
        return _("Please pay today.")
    sentence = ngettext(
        "Please pay within %(days)s day, by %(due)s.", "Please pay within %(days)s days, by %(due)s.", days
    )
    return sentence % {"days": days, "due": due}


def _visit(work_order: WorkOrder | None) -> Content:
    if work_order is None:
        return {"work_order": "", "boat": "", "hull_number": "", "registration": ""}
    vessel = work_order.vessel
    return {
        "work_order": work_order.number,
        "boat": boat_line(vessel),
        "hull_number": vessel.hull_number,
        "registration": vessel.registration,
    }


def _treatments(invoice: Invoice) -> Treatments:
    """Tax code id → what was in force for this customer on the tax date."""
    if invoice.tax_date is None:
        raise ValueError(f"{invoice} has no days yet, so it has no tax")
    return treatments_at(invoice.tax_date, customer=invoice.customer)


def _line_taxes(treatments: Treatments, *, texts: ShopTexts) -> dict[int, str]:
    """Tax code id → the rates in force at the tax date, such as "5 % + 7 %"."""
    return {
        code: " + ".join(texts.percent(int(one.rate * 1_000_000)) for one in treatment.components)
        or _("none")
        for code, treatment in treatments.items()
    }


def _jobs(lines: list[InvoiceLine], *, taxed: dict[int, str], texts: ShopTexts) -> list[Content]:
    jobs = {line.job_id: line.job for line in lines if line.job is not None}
    options = approved_options(jobs.values())
    agreed = _agreements({one.pk for some in options.values() for one in some}, texts=texts)
    return [
        _job(jobs.get(key), options=options.get(key or 0, ()), agreed=agreed)
        | {"lines": [_line(line, tax=taxed[line.tax_code_id], texts=texts) for line in some]}
        for key, some in groupby(lines, key=lambda line: line.job_id)
    ]


def _agreements(options: Iterable[int], *, texts: ShopTexts) -> dict[int, str]:
    """Option id → who agreed to it, when, and on which quote."""
    answers = ApprovedChoice.objects.filter(
        option_id__in=options, approval__decision=Decision.APPROVED
    ).select_related("approval__revision__quote")
    return {
        answer.option_id: _("Agreed by %(name)s on %(day)s (quote %(quote)s, revision %(revision)s).")
        % {
            "name": answer.approval.signed_name,
            "day": texts.day_of(answer.approval.decided_at),
            "quote": answer.approval.revision.quote.number,
            "revision": answer.approval.revision.revision,
        }
        for answer in answers
        if answer.option_id is not None
    }


def _job(job: Job | None, *, options: Sequence[QuoteOption], agreed: Mapping[int, str]) -> Content:
    """A job with its story and what was agreed for it; lines of the visit as a whole have none."""
    if job is None:
        return {"title": "", "way": "", "way_shown": "", "engine": _engine(None), "complaint": ""} | {
            "cause": "",
            "correction": "",
            "agreed_shown": "",
            "warranty_months": 0,
            "warranty_shown": "",
        }
    main = options[0] if options else None
    return {
        "title": main.title if main is not None else _("Job %s") % job.position,
        "way": main.way if main is not None else "",
        "way_shown": str(Way(main.way).label) if main is not None else "",
        "engine": _engine(job.engine),
        "complaint": job.complaint,
        "cause": job.cause,
        "correction": job.correction,
        "agreed_shown": " ".join(agreed[one.pk] for one in options if one.pk in agreed),
        "warranty_months": main.warranty_months if main is not None else 0,
        "warranty_shown": _warranty(main) if main is not None and job.outcome == Outcome.DONE else "",
    }


def _engine(engine: Engine | None) -> Content:
    if engine is None:
        return {"name": "", "serial": ""}
    return {"name": " ".join(filter(None, [engine.make, engine.model])), "serial": engine.serial}


def _warranty(option: QuoteOption) -> str:
    if option.warranty_months == 0:
        return _("No warranty on this work.")
    sentence = ngettext("%(months)s month", "%(months)s months", option.warranty_months)
    months = sentence % {"months": option.warranty_months}
    return f"{months}: {option.warranty_covers}" if option.warranty_covers else months


def _line(line: InvoiceLine, *, tax: str, texts: ShopTexts) -> Content:
    row = line_row(line, texts=texts)
    return {
        "kind": line.kind,
        "kind_shown": str(LineKind(line.kind).label),
        "number": line.number,
        "description": line.description,
        "quantity_milli": line.quantity_milli,
        "unit": line.unit,
        "quantity_shown": row.quantity,
        "unit_price_e4": line.unit_price_e4,
        "unit_price_shown": row.unit_price,
        "condition_shown": condition_words(line),
        "note": note_words(line),
        "discount_e4": line.discount_e4,
        "discount_shown": row.discount,
        "tax_code": line.tax_code.name,
        "tax_shown": tax,
        "amount_minor": line.amount_minor,
        "amount_shown": row.amount,
    }


def _kinds(lines: list[InvoiceLine], *, treatments: Treatments, shop: Shop) -> list[Content]:
    """Parts, labour and the rest apart, as Cal. Harbors and Navigation Code 410-418 asks (second-hand).

    Amounts are as the lines have them, with tax or without.
    """
    by_kind = {kind: [line for line in lines if line.kind == kind] for kind in LineKind}
    return [
        _kind(kind, lines=some, treatments=treatments, shop=shop) for kind, some in by_kind.items() if some
    ]


def _kind(kind: LineKind, *, lines: list[InvoiceLine], treatments: Treatments, shop: Shop) -> Content:
    totals = document_totals([line.as_line(treatments) for line in lines], rules=rules_of(shop))
    amount_minor = to_minor(totals.sum_of_lines, currency=shop.currency)
    return {
        "kind": kind.value,
        "kind_shown": str(kind.label),
        "amount_minor": amount_minor,
        "amount_shown": texts_of(shop).money(amount_minor),
    }


def _tax(tax: InvoiceTax, *, texts: ShopTexts) -> Content:
    return {
        "category": tax.category,
        "name": tax.name,
        "rate_e6": tax.rate_e6,
        "label_shown": f"{tax.name} {texts.percent(tax.rate_e6)}" if tax.name else _("No tax"),
        "taxable_minor": tax.taxable_minor,
        "taxable_shown": texts.money(tax.taxable_minor),
        "tax_minor": tax.tax_minor,
        "tax_shown": texts.money(tax.tax_minor),
        "reason": tax.exemption_reason,
    }


def _totals(invoice: Invoice, *, texts: ShopTexts) -> Content:
    sums = {
        "without_tax": invoice.without_tax_minor,
        "tax": invoice.tax_minor,
        "total": invoice.total_minor,
        "paid": invoice.deposit_minor,
        "due": invoice.total_minor - invoice.deposit_minor,
    }
    exact = {f"{name}_minor": minor for name, minor in sums.items()}
    return exact | {f"{name}_shown": texts.money(minor) for name, minor in sums.items()}
