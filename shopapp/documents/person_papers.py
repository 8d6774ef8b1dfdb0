"""The stored papers of one customer: bills, quotes with their answers, terms, as they were first made."""

from collections.abc import Iterator, Mapping
from pathlib import Path

from django.db.models import Q

from shopapp.documents.approvals import approval_key
from shopapp.documents.papers import stored_files
from shopapp.models import Approval, Intake, Invoice, QuoteRevision


def person_papers(customer_pk: int) -> Mapping[str, Path]:
    """Name → file of each paper that was made for a customer. Five queries."""
    names = dict(_keys(customer_pk))
    return {f"papers/{names[key]}.pdf": path for key, path in stored_files(names).items()}


def _keys(pk: int) -> Iterator[tuple[str, str]]:
    """Content key → what the paper is called."""
    bills = Invoice.objects.filter(Q(customer=pk) | Q(work_order__customer=pk), issued_at__isnull=False)
    for number, key in bills.values_list("number", "shown_sha256"):
        yield key, str(number)
    sent = QuoteRevision.objects.filter(quote__work_order__customer=pk).exclude(shown_sha256="")
    for number, revision, key in sent.values_list("quote__number", "revision", "shown_sha256"):
        yield key, f"{number}-{revision}"
    answers = Approval.objects.filter(revision__quote__work_order__customer=pk)
    named = answers.values_list("revision__quote__number", "revision__revision", "signed_sha256")
    for number, revision, signed in named:
        yield signed, f"{number}-{revision}-answered"
        yield approval_key(signed), f"{number}-{revision}-approval"
    signed_terms = Intake.objects.filter(work_order__customer=pk).exclude(signed_sha256="")
    for number, intake, key in signed_terms.values_list("work_order__number", "pk", "signed_sha256"):
        yield key, f"{number}-terms-{intake}"
