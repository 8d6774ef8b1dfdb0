"""A row is tied to the plan line that it fulfils."""

from collections.abc import Callable
from datetime import datetime

import pytest
from django.test import Client

from shopapp.models import PartUsed, Person
from tests.factories.jobs import plan_line
from tests.web.work_orders.extra_rows import address, extra_row
from tests.web.work_orders.posts import answer_to_get

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


@pytest.fixture
def gasket(tobiah: Person, now: datetime) -> PartUsed:
    return extra_row(tobiah, at=now)


def test_row_is_linked_from_its_page(gasket: PartUsed, tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    line = plan_line(gasket.job, "part")

    signed_in(tobiah).post(address(gasket, "link"), {"line": line.pk} | key())

    gasket.refresh_from_db()
    assert gasket.plan_line == line


def test_line_of_another_kind_is_not_offered(
    gasket: PartUsed, tobiah: Person, signed_in: SignedIn, key: Key
) -> None:
    line = plan_line(gasket.job, "fluid")

    response = signed_in(tobiah).post(address(gasket, "link"), {"line": line.pk} | key())

    gasket.refresh_from_db()
    assert (response.status_code, gasket.plan_line) == (422, None)


def test_link_of_a_row_is_posted_only(gasket: PartUsed, maren: Person, signed_in: SignedIn) -> None:
    assert answer_to_get(signed_in(maren), address(gasket, "link")) == (405, True)
