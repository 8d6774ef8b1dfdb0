"""Opening the link to an intake sets a cookie and signs nothing."""

from datetime import timedelta

from django.test import Client
from django.utils import timezone

from shopapp.models import CustomerLink, Intake, Person
from tests.factories.intakes import opened, unsigned


def test_enter_five_times_signs_nothing_t03(ilse: Person) -> None:
    _link, token = opened(unsigned(at=timezone.now()), ilse, at=timezone.now())

    answers = [Client().get(f"/approvals/intake/enter/{token}/") for _ in range(5)]

    assert {(one.status_code, one["Location"]) for one in answers} == {(302, "/approvals/intake/terms/")}
    assert (Intake.objects.get().signed_at, CustomerLink.objects.get().revoked_at) == (None, None)


def test_enter_is_told_to_nobody_t07(ilse: Person) -> None:
    _link, token = opened(unsigned(at=timezone.now()), ilse, at=timezone.now())

    response = Client().get(f"/approvals/intake/enter/{token}/")

    told = [response[name] for name in ("Referrer-Policy", "Cache-Control", "X-Robots-Tag")]
    assert told == ["no-referrer", "no-store", "noindex"]


def test_shut_doors_look_alike(ilse: Person) -> None:
    intake = unsigned(at=timezone.now())
    _link, expired = opened(intake, ilse, at=timezone.now() - timedelta(minutes=31))
    _link, shut = opened(intake, ilse, at=timezone.now())
    opened(intake, ilse, at=timezone.now())

    pages = [Client().get(f"/approvals/intake/enter/{token}/") for token in (expired, shut, "A" * 43)]

    assert [page.status_code for page in pages] == [404] * 3
    assert len({page.content for page in pages}) == 1
