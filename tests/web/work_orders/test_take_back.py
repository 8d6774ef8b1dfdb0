"""Work that went out to another shop is back."""

from collections.abc import Callable
from datetime import datetime

import pytest
from django.test import Client

from shopapp.models import PartUsed, Person, Stage, SubletEntry
from tests.factories.jobs import agreed_job
from tests.models.rows import MOMENT
from tests.web.work_orders.extra_rows import address, extra_row
from tests.web.work_orders.posts import answer_to_get

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


@pytest.fixture
def gasket(tobiah: Person, now: datetime) -> PartUsed:
    return extra_row(tobiah, at=now)


def test_sublet_comes_back_from_its_page(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    row = SubletEntry.objects.create(
        job=agreed_job(Stage.IN_HAND, technician=tobiah),
        supplier="Inlet Machine",
        description="Weld",
        logged_by=tobiah,
        happened_at=MOMENT,
        recorded_at=MOMENT,
    )
    page = f"/work-orders/row/sublet_entry-{row.pk}/"
    client = signed_in(tobiah)
    assert "It is back in the shop" in client.get(page).content.decode()

    client.post(f"{page}take-back/", key())

    row.refresh_from_db()
    assert row.back_at is not None
    assert "It is back in the shop" not in client.get(page).content.decode()


def test_part_does_not_come_back(gasket: PartUsed, ilse: Person, signed_in: SignedIn, key: Key) -> None:
    assert signed_in(ilse).post(address(gasket, "take-back"), key()).status_code == 404


def test_coming_back_is_posted_only(gasket: PartUsed, maren: Person, signed_in: SignedIn) -> None:
    assert answer_to_get(signed_in(maren), address(gasket, "take-back")) == (405, True)
