"""The start page of the desk."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.misses import note_miss
from shopapp.models import Activity, CallSlip, Person, PlacedHold
from shopapp.queries.misses import MOST_MISSES
from shopapp.triggers import apply_triggers, remove_triggers
from tests.factories import CustomerFactory, JobFactory, WorkOrderFactory
from tests.web.pages import text_of
from tests.web.shared.hostile import NASTY_NAMES, row_counts

ADDRESS = "/today/"
SignedIn = Callable[[Person], Client]


def held(ilse: Person, number: str, **fields: object) -> PlacedHold:
    now = timezone.now()
    return PlacedHold.objects.create(
        work_order=WorkOrderFactory(number=number, stage="in_line", **fields),
        kind="parts",
        note="Impeller from the mainland",
        chaser=ilse,
        chase_date=now.date() - timedelta(days=3),
        placed_at=now,
        placed_by=ilse,
    )


def test_index_shows_what_waits_and_who_rang(ilse: Person, signed_in: SignedIn) -> None:
    visit = held(ilse, "W-00007").work_order
    slip = CallSlip.objects.create(
        name="Aud Nilsen", about="When is it ready?", taken_by=ilse, taken_at=timezone.now()
    )
    before = row_counts()

    content = signed_in(ilse).get(ADDRESS).content.decode()

    for piece in (
        'id="section-waits"',
        f'href="/work-orders/{visit.pk}/">W-00007</a>',
        "Impeller from the mainland",
        "Ilse Brandt chases now",
        f'action="/calls/{slip.pk}/close/"',
        "Nobody owes anything.",
        "Nobody has logged time today.",
    ):
        assert content.count(piece) == 1, piece
    assert row_counts() == before


def test_index_of_an_empty_shop_says_what_to_do(ilse: Person, signed_in: SignedIn) -> None:
    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert content.count("No boat is in our care. When one arrives, open its work order.") == 1


def test_filter_in_the_address_shows_what_fits_and_keeps_the_others(
    ilse: Person, signed_in: SignedIn
) -> None:
    held(ilse, "W-00007")
    WorkOrderFactory(number="W-00008", stage="in_hand")

    content = (
        signed_in(ilse).get(ADDRESS, {"stage": "in_line"}, headers={"hx-request": "true"}).content.decode()
    )

    assert ("W-00007" in content, "W-00008" in content, "<html" in content) == (True, False, False)
    assert 'href="?stage=in_line&amp;hold=parts"' in content
    assert 'href="?stage=in_hand"' in content


@pytest.mark.parametrize("query", ["stage=lost", "hold=lost", "person=x"])
def test_filter_there_is_not_is_told(ilse: Person, signed_in: SignedIn, query: str) -> None:
    assert signed_in(ilse).get(f"{ADDRESS}?{query}").status_code == 422


@pytest.mark.parametrize("size", [1, 100])
def test_index_takes_thirteen_queries(
    ilse: Person,
    tobiah: Person,
    signed_in: SignedIn,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
) -> None:
    client = signed_in(ilse)
    for number in range(size):
        JobFactory(work_order=held(ilse, f"W-{number}").work_order, technician=tobiah)

    with django_assert_num_queries(13):
        response = client.get(ADDRESS)

    assert response.content.decode().count('class="row-link"') == min(size, 50)


def guessed(days_ago: int, *, place: str) -> None:
    by = Actor(scope=Scope.SYSTEM, at=timezone.now() - timedelta(days=days_ago))
    for _ in range(MOST_MISSES):
        note_miss(place, by=by)


def test_owner_alone_is_told_of_guessed_links_t06(ilse: Person, maren: Person, signed_in: SignedIn) -> None:
    guessed(6, place="198.51.100.7")
    guessed(8, place="198.51.100.8")

    desk, owner = (signed_in(one).get(ADDRESS).content.decode() for one in (ilse, maren))

    assert ["Wrong links" in page for page in (desk, owner)] == [False, True]
    assert [owner.count(place) for place in ("198.51.100.7", "198.51.100.8")] == [1, 0]
    assert "198.51.100" not in desk


def test_erased_place_of_a_guess_is_a_dash(maren: Person, signed_in: SignedIn) -> None:
    guessed(1, place="198.51.100.7")
    remove_triggers(connection)
    Activity.objects.update(payload=None, salt=None)
    apply_triggers(connection)

    assert "from –" in text_of(signed_in(maren).get(ADDRESS))


@pytest.mark.parametrize(("size", "queries"), [(1, 15), (100, 14)])
def test_index_takes_at_most_fifteen_queries_for_the_owner(
    maren: Person,
    signed_in: SignedIn,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
    queries: int,
) -> None:
    """The guide of the first day is asked for in a quiet shop only."""
    client = signed_in(maren)
    for number in range(size):
        held(maren, f"W-{number}")
    guessed(1, place="198.51.100.7")

    with django_assert_num_queries(queries):
        client.get(ADDRESS)


def test_owner_alone_sees_the_guide_of_the_first_day(
    ilse: Person, maren: Person, signed_in: SignedIn
) -> None:
    desk, owner = (signed_in(one).get(ADDRESS).content.decode() for one in (ilse, maren))

    assert ["The first days" in page for page in (desk, owner)] == [False, True]
    assert 'id="first-arrival"' in owner
    assert 'class="is-done" id="first-tax"' in owner


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_nasty_names_are_only_text_t13(ilse: Person, signed_in: SignedIn, name: str) -> None:
    owner = CustomerFactory(name=name)
    held(ilse, "W-00007", customer=owner, complaint=name)
    PlacedHold.objects.update(note=name)

    assert name not in signed_in(ilse).get(ADDRESS).content.decode()


def test_technician_has_no_today(tobiah: Person, signed_in: SignedIn) -> None:
    assert signed_in(tobiah).get(ADDRESS).status_code == 403


def test_owner_alone_hears_that_there_is_no_backup(ilse: Person, maren: Person, signed_in: SignedIn) -> None:
    settings.BACKUP_DIR.mkdir()

    desk, owner = (text_of(signed_in(one).get(ADDRESS)) for one in (ilse, maren))

    assert ["There is no backup yet." in page for page in (desk, owner)] == [False, True]
