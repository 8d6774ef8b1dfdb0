"""After a boat was taken in: everything at one glance, and what is to be done next."""

from collections.abc import Callable
from html import escape

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Intake, Person, Photo, Stage, WorkOrder
from tests.factories import EngineFactory, JobFactory, WorkOrderFactory
from tests.factories.intakes import signed
from tests.web.shared.hostile import NASTY_NAMES

SignedIn = Callable[[Person], Client]


def content_of(client: Client, visit: WorkOrder) -> str:
    response = client.get(f"/arrivals/{visit.pk}/taken-in/")
    assert response.status_code == 200
    return response.content.decode()


def test_taken_in_shows_everything(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake
) -> None:
    content = content_of(signed_in(ilse), visit)

    for piece in (
        "W-00012",
        "Kittiwake",
        "Gear oil looks milky",
        "about half",
        "Yard 4",
        "$80.00",
        "$250.00",
        f'href="/arrivals/{visit.pk}/tag/"',
        f'href="/arrivals/{visit.pk}/sheet/"',
        f'action="/arrivals/{visit.pk}/hand-over/"',
        f'action="/arrivals/{visit.pk}/sign-on-paper/"',
        "Until it is signed, nothing may be spent.",
    ):
        assert piece in content, piece


def test_taken_in_shows_who_signed(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake
) -> None:
    signed(terms, ilse, at=timezone.now())

    content = content_of(signed_in(ilse), visit)

    assert ("Signed by Anna Berg" in content, "hand-over" in content) == (True, False)
    assert "Write new terms" in content


def test_taken_in_without_terms_says_so(ilse: Person, signed_in: SignedIn, visit: WorkOrder) -> None:
    content = content_of(signed_in(ilse), visit)

    assert ("There are no terms for this visit yet." in content, "/sheet/" in content) == (True, False)


def test_taken_in_of_a_closed_visit_offers_nothing(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake
) -> None:
    WorkOrder.objects.update(stage=Stage.CANCELLED)

    content = content_of(signed_in(ilse), visit)

    offered = ("hand-over", "add-photo", f"/arrivals/{visit.pk}/people/", f"/arrivals/{visit.pk}/terms/")
    assert [address in content for address in offered] == [False] * 4


def test_technician_does_not_see_the_terms(tobiah: Person, signed_in: SignedIn, visit: WorkOrder) -> None:
    assert signed_in(tobiah).get(f"/arrivals/{visit.pk}/taken-in/").status_code == 403


def test_missing_visit_is_404(ilse: Person, signed_in: SignedIn) -> None:
    assert signed_in(ilse).get("/arrivals/999999/taken-in/").status_code == 404


@pytest.mark.parametrize("size", [1, 30])
def test_taken_in_takes_fourteen_queries(
    ilse: Person,
    signed_in: SignedIn,
    visit: WorkOrder,
    terms: Intake,
    django_assert_num_queries: DjangoAssertNumQueries,
    size: int,
) -> None:
    client, job = signed_in(ilse), visit.jobs.get()
    facts = {"work_order": visit, "job": job, "width": 4, "height": 3, "byte_size": 9, "taken_by": ilse}
    for number in range(size):
        EngineFactory(vessel=visit.vessel)
        gone = WorkOrderFactory(vessel=visit.vessel, stage="gone", gone_at=timezone.now())
        JobFactory(work_order=gone, engine=None)
        Photo.objects.create(sha256=f"{number:064d}", is_of_arrival=True, taken_at=timezone.now(), **facts)

    with django_assert_num_queries(14):
        content = content_of(client, visit)

    assert content.count('<img src="/media/photo/') == size


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_nasty_words_are_only_text_t13(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake, name: str
) -> None:
    WorkOrder.objects.update(loose_gear=name, keys_tag=name[:40])

    content = content_of(signed_in(ilse), visit)

    assert (name in content, escape(name) in content) == (False, True)
