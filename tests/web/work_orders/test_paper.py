"""The work order opens as a PDF for the desk and for the technician whose visit it is."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Person, Stage
from tests.factories.jobs import job_at

pytestmark = pytest.mark.django_db(transaction=True)
SignedIn = Callable[[Person], Client]


def test_paper_opens(ilse: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.IN_LINE)

    response = signed_in(ilse).get(f"/work-orders/{job.work_order_id}/paper/")

    assert (response.status_code, response["Content-Type"], response.content[:5]) == (
        200,
        "application/pdf",
        b"%PDF-",
    )
    assert response["Content-Disposition"] == f'inline; filename="{job.work_order.number}.pdf"'


def test_technician_prints_the_paper_of_their_own(tobiah: Person, wen: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.IN_LINE, technician=tobiah)

    answers = [
        signed_in(one).get(f"/work-orders/{job.work_order_id}/paper/").status_code for one in (tobiah, wen)
    ]

    assert answers == [200, 404]
