"""The tag opens as a PDF for everybody who may see the visit."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import JobAssignment, Person, WorkOrder

pytestmark = pytest.mark.django_db(transaction=True)
SignedIn = Callable[[Person], Client]


def test_tag_opens(ilse: Person, signed_in: SignedIn, visit: WorkOrder) -> None:
    response = signed_in(ilse).get(f"/arrivals/{visit.pk}/tag/")

    assert (response.status_code, response["Content-Type"], response.content[:5]) == (
        200,
        "application/pdf",
        b"%PDF-",
    )
    assert response["Content-Disposition"] == 'inline; filename="W-00012-tag.pdf"'


def test_technician_prints_the_tag_of_their_own(
    tobiah: Person, wen: Person, signed_in: SignedIn, visit: WorkOrder
) -> None:
    JobAssignment.objects.create(job=visit.jobs.get(), person=tobiah)

    answers = [signed_in(one).get(f"/arrivals/{visit.pk}/tag/").status_code for one in (tobiah, wen)]

    assert answers == [200, 404]
