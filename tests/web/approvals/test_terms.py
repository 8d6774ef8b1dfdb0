"""The customer reads the terms on the tablet and signs them."""

from dataclasses import dataclass, field

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import Intake, Person
from tests.factories.intakes import opened, unsigned
from tests.factories.quotes import opened_link, sent_quote
from tests.web.pages import fields_of, fresh_key, text_of


@dataclass
class Signer:
    """A browser behind the door of one intake."""

    intake: Intake
    token: str
    browser: Client = field(default_factory=Client)

    def fields(self) -> dict[str, str]:
        return dict(fields_of(self.browser.get("/approvals/intake/terms/")))


@pytest.fixture
def signer(ilse: Person) -> Signer:
    intake = unsigned(at=timezone.now())
    _link, token = opened(intake, ilse, at=timezone.now())
    signer = Signer(intake=intake, token=token)
    signer.browser.get(f"/approvals/intake/enter/{token}/")
    return signer


def test_terms_are_read_and_signed(signer: Signer) -> None:
    fields = signer.fields() | {"signed_name": "Anna Berg"}

    page = text_of(signer.browser.get("/approvals/intake/terms/"))
    response = signer.browser.post("/approvals/intake/terms/", fields, headers={"user-agent": "Tablet 9"})

    row = Intake.objects.get()
    assert ("$250.00" in page, "I leave my boat on these terms." in page) == (True, True)
    assert response["Location"] == "/approvals/intake/signed/"
    assert (row.signed_name, row.shown_sha256, row.device, row.address) == (
        "Anna Berg",
        fields["seen"],
        "Tablet 9",
        "127.0.0.1",
    )


def test_double_tap_signs_once(signer: Signer) -> None:
    fields = signer.fields() | {"signed_name": "Anna Berg"}

    answers = [signer.browser.post("/approvals/intake/terms/", fields) for _ in range(2)]

    assert [answer["Location"] for answer in answers] == ["/approvals/intake/signed/"] * 2


def test_changed_terms_are_shown_again_with_what_was_typed(signer: Signer) -> None:
    fields = signer.fields() | {"signed_name": "Anna Berg"}
    Intake.objects.update(spending_limit_minor=99_900)

    response = signer.browser.post("/approvals/intake/terms/", fields)

    page = text_of(response)
    again = dict(fields_of(response))
    assert (response.status_code, Intake.objects.get().signed_at) == (409, None)
    assert ("Please read it once more." in page, "$999.00" in page) == (True, True)
    assert (again["signed_name"], again["seen"] != fields["seen"]) == ("Anna Berg", True)
    signer.browser.post("/approvals/intake/terms/", again)
    assert Intake.objects.get().signed_name == "Anna Berg"


def test_nameless_signature_is_refused(signer: Signer) -> None:
    response = signer.browser.post("/approvals/intake/terms/", signer.fields() | {"signed_name": " "})

    assert (response.status_code, Intake.objects.get().signed_at) == (422, None)
    assert "Your name is missing." in text_of(response)


def test_forged_amounts_are_ignored_t02(signer: Signer) -> None:
    forged = {"spending_limit": "1", "spending_limit_minor": "1", "witness": "1", "signed_at": "2001-01-01"}

    signer.browser.post("/approvals/intake/terms/", signer.fields() | {"signed_name": "Anna"} | forged)

    row = Intake.objects.get()
    assert (row.spending_limit_minor, row.signed_at.year >= 2026) == (25_000, True)


def test_door_of_a_quote_opens_no_terms_t05(ilse: Person, signer: Signer) -> None:
    sent = sent_quote(ilse, at=timezone.now())
    _link, token = opened_link(sent, ilse, at=timezone.now())
    browser = Client()
    browser.get(f"/approvals/enter/{token}/")

    answers = [browser.get(f"/approvals/intake/{page}/") for page in ("terms", "signed", "intake-paper")]
    answers += [
        Client().get(f"/approvals/intake/enter/{token}/"),
        Client().get(f"/approvals/enter/{signer.token}/"),
    ]
    answers += [signer.browser.get(f"/approvals/{page}/") for page in ("decide", "done", "paper")]

    assert [answer.status_code for answer in answers] == [404] * 8
    assert len({answer.content for answer in answers}) == 1


def test_nobody_signs_without_a_door(signer: Signer) -> None:
    fields = signer.fields() | {"signed_name": "Anna Berg"} | fresh_key()

    response = Client().post("/approvals/intake/terms/", fields)

    assert (response.status_code, Intake.objects.get().signed_at) == (404, None)
