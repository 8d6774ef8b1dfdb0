"""A customer with an open link to a sent quote, as the browser has it."""

from dataclasses import dataclass, field

import pytest
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from shopapp.models import CustomerLink, Person, QuoteRevision
from tests.factories.quotes import first_options, opened_link, sent_quote
from tests.web.pages import fields_of


@dataclass
class Visitor:
    """A browser behind the door of one quote."""

    revision: QuoteRevision
    link: CustomerLink
    token: str
    browser: Client = field(default_factory=Client)

    def picks(self, option: int | None = None) -> dict[str, str]:
        """The radio buttons: the first option of each choice, or the given one (0: not now)."""
        first = first_options(self.revision)
        wanted = {choice: first[choice] if option is None else (option or "none") for choice in first}
        return {f"choice-{choice}": str(value) for choice, value in wanted.items()}

    def sees(self, picks: dict[str, str]) -> dict[str, str]:
        """All fields of the page that shows the total of these picks."""
        shown = self.browser.post("/approvals/decide/", picks | {"answer": "total"})
        return dict(fields_of(shown)) | picks

    def answers(self, **typed: str) -> HttpResponse:
        """Looks at the total of the first options, signs and approves, unless told otherwise."""
        fields = self.sees(self.picks()) | {"signed_name": "Aud Nilsen", "answer": "approve"} | typed
        return self.browser.post("/approvals/decide/", fields)


@pytest.fixture
def sent(ilse: Person) -> QuoteRevision:
    return sent_quote(ilse, at=timezone.now())


@pytest.fixture
def visitor(sent: QuoteRevision, ilse: Person) -> Visitor:
    link, token = opened_link(sent, ilse, at=timezone.now())
    visitor = Visitor(revision=sent, link=link, token=token)
    visitor.browser.get(f"/approvals/enter/{token}/")
    return visitor
