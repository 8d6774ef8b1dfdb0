"""What the worker does after the answer was sent."""

from collections.abc import Callable

import pytest
from django.core.management import call_command
from django.tasks import TaskResultStatus

from shopapp.actions.actor import Actor
from shopapp.models import Person, StoredPaper
from shopapp.tasks import make_invoice_paper
from tests.factories.invoices import issued


@pytest.mark.django_db(transaction=True)
def test_worker_has_the_paper_ready(ilse: Person, by: Callable[[Person], Actor]) -> None:
    invoice = issued(by=by(ilse))
    result = make_invoice_paper.enqueue(invoice.pk)

    call_command("db_worker", batch=True, verbosity=0)

    result.refresh()
    assert result.status == TaskResultStatus.SUCCESSFUL
    assert StoredPaper.objects.get().content_sha256 == invoice.shown_sha256
