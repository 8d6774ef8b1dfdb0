"""After signing: the customer sees what was signed, takes a copy, gives the tablet back."""

from django.db import connection
from django.test import Client
from django.utils import timezone

from shopapp.models import Intake, Person
from shopapp.triggers import apply_triggers, remove_triggers
from tests.factories.intakes import opened, unsigned
from tests.web.pages import fields_of, fresh_key, text_of


def signed_browser(ilse: Person) -> Client:
    _link, token = opened(unsigned(at=timezone.now()), ilse, at=timezone.now())
    browser = Client()
    browser.get(f"/approvals/intake/enter/{token}/")
    fields = dict(fields_of(browser.get("/approvals/intake/terms/"))) | {"signed_name": "Anna Berg"}
    browser.post("/approvals/intake/terms/", fields)
    return browser


def test_signed_shows_what_was_signed(ilse: Person) -> None:
    browser = signed_browser(ilse)

    page = browser.get("/approvals/intake/signed/")
    back = browser.get("/approvals/intake/terms/")

    assert ("Signed by Anna Berg" in text_of(page), "$250.00" in text_of(page)) == (True, True)
    assert back["Location"] == "/approvals/intake/signed/"


def test_tablet_given_back_forgets_the_door(ilse: Person) -> None:
    browser = signed_browser(ilse)

    response = browser.post("/approvals/intake/signed/", fresh_key())

    assert response["Location"] == "/people/sign-in/"
    assert browser.get("/approvals/intake/signed/").status_code == 404


def test_unsigned_terms_lead_back(ilse: Person) -> None:
    _link, token = opened(unsigned(at=timezone.now()), ilse, at=timezone.now())
    browser = Client()
    browser.get(f"/approvals/intake/enter/{token}/")

    assert browser.get("/approvals/intake/signed/")["Location"] == "/approvals/intake/terms/"


def test_terms_changed_past_the_guards_are_not_shown_t35(ilse: Person) -> None:
    browser = signed_browser(ilse)
    remove_triggers(connection)
    Intake.objects.update(spending_limit_minor=1)
    apply_triggers(connection)

    response = browser.get("/approvals/intake/signed/")

    assert response.status_code == 409
    assert "no longer match what was signed" in text_of(response)
