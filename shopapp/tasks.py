"""What is done after the answer was sent, by the worker beside the server."""

from django.tasks import task

from shopapp.documents.invoices import invoice_pdf
from shopapp.models import Invoice


@task
def make_invoice_paper(invoice_pk: int) -> None:
    """Have the paper of an issued invoice ready before somebody asks for it; repeating it does nothing."""
    invoice_pdf(Invoice.objects.get(pk=invoice_pk))
