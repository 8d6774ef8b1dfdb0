"""A row of the actual book on a page of its own, where it is put right."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import UsePartInput, use_part
from shopapp.models import Job, PartUsed, Person, Stage
from tests.factories.jobs import agreed_job, log_parts
from tests.models.rows import MOMENT
from tests.web.shared.hostile import NASTY_NAMES, row_counts

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
By = Callable[[Person], Actor]


@pytest.fixture
def job(tobiah: Person) -> Job:
    return agreed_job(Stage.IN_HAND, technician=tobiah)


@pytest.fixture
def gasket(job: Job, tobiah: Person, by: By) -> PartUsed:
    return use_part(job.pk, UsePartInput(quantity=Decimal(2), description="Plug gasket"), by=by(tobiah))


def address(row: PartUsed, deed: str = "") -> str:
    return f"/work-orders/row/part_used-{row.pk}/" + (f"{deed}/" if deed else "")


def bench(job: Job) -> str:
    return f"/work-orders/job/{job.pk}/bench/"


def test_technician_may_link_and_strike(gasket: PartUsed, tobiah: Person, signed_in: SignedIn) -> None:
    content = signed_in(tobiah).get(address(gasket)).content.decode()

    deeds = ("link", "strike", "price", "payer", "override")
    assert [f'action="{address(gasket, deed)}"' in content for deed in deeds] == [True] * 2 + [False] * 3
    assert ("Plug gasket" in content, "Sells for" in content) == (True, False)


@pytest.mark.parametrize(("who", "overrides"), [("ilse", False), ("maren", True)])
def test_desk_sees_what_it_waits_for(
    request: pytest.FixtureRequest, gasket: PartUsed, signed_in: SignedIn, who: str, overrides: bool
) -> None:
    content = signed_in(request.getfixturevalue(who)).get(address(gasket)).content.decode()

    assert ("not on the plan of a fixed price" in content, "not priced yet" in content) == (True, True)
    assert (f'action="{address(gasket, "override")}"' in content) == overrides


def test_colleagues_row_is_not_theirs_to_strike(
    job: Job, gasket: PartUsed, wen: Person, signed_in: SignedIn, key: Key
) -> None:
    job.assignments.create(person=wen)
    client = signed_in(wen)

    content = client.get(address(gasket)).content.decode()
    refused = client.post(address(gasket, "strike"), {"reason": "Wrong"} | key())

    assert (f'action="{address(gasket, "strike")}"' in content, refused.status_code) == (False, 403)


@pytest.mark.parametrize(
    "slug",
    ["part_used-999999", "part_used-0", "part-1", "person-1", "part_used", "time_entry-99999999999999999999"],
)
def test_row_that_is_not_there_is_missing(ilse: Person, signed_in: SignedIn, slug: str) -> None:
    assert signed_in(ilse).get(f"/work-orders/row/{slug}/").status_code == 404


def test_row_of_another_boat_looks_missing_t01(
    gasket: PartUsed, wen: Person, signed_in: SignedIn, key: Key
) -> None:
    client, before = signed_in(wen), row_counts()

    for deed in ("", "strike", "link", "take-back"):
        other = client.post(address(gasket, deed), key()) if deed else client.get(address(gasket))
        assert other.status_code == 404
    assert row_counts() == before


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_row_page_shows_names_inert_t13(
    job: Job, tobiah: Person, by: By, signed_in: SignedIn, name: str
) -> None:
    row = use_part(job.pk, UsePartInput(quantity=Decimal(1), description=name), by=by(tobiah))

    assert "<script>alert" not in signed_in(tobiah).get(address(row)).content.decode()


@pytest.mark.parametrize("count", [1, 60])
def test_row_page_takes_the_same_queries(
    *,
    job: Job,
    gasket: PartUsed,
    ilse: Person,
    signed_in: SignedIn,
    django_assert_num_queries: DjangoAssertNumQueries,
    count: int,
) -> None:
    log_parts(job, ilse, count=count, at=MOMENT)
    client = signed_in(ilse)

    with django_assert_num_queries(11):
        client.get(address(gasket))
