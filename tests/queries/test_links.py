"""Which door a token opens."""

from datetime import datetime, timedelta

import pytest

from shopapp.actions import approvals, quotes
from shopapp.actions.approvals import DecisionInput
from shopapp.models import Person, QuoteRevision
from shopapp.queries.links import DoorState, door
from tests.factories.quotes import behind, desk, opened_link, sent_quote

pytestmark = pytest.mark.django_db

SOON = timedelta(minutes=1)


@pytest.fixture
def sent(ilse: Person, now: datetime) -> QuoteRevision:
    return sent_quote(ilse, at=now)


def test_door_is_open_until_it_expires(sent: QuoteRevision, ilse: Person, now: datetime) -> None:
    link, token = opened_link(sent, ilse, at=now)

    found = door(token, at=now + SOON)

    assert found is not None
    assert (found.link, found.revision, found.state) == (link, sent, DoorState.OPEN)
    assert door(token, at=link.expires_at) is None


def test_door_stays_shut_for_unknown_tokens(sent: QuoteRevision, ilse: Person, now: datetime) -> None:
    _, token = opened_link(sent, ilse, at=now)

    found = [door(wrong, at=now) for wrong in ("", "x", token[:-1], token + "x", token.swapcase())]

    assert found == [None] * 5


def test_door_is_shut_when_revoked(sent: QuoteRevision, ilse: Person, now: datetime) -> None:
    _, token = opened_link(sent, ilse, at=now)
    opened_link(sent, ilse, at=now + SOON)

    assert door(token, at=now + SOON) is None


def test_door_shows_its_own_answer(sent: QuoteRevision, ilse: Person, now: datetime) -> None:
    _, revoked = opened_link(sent, ilse, at=now)
    link, token = opened_link(sent, ilse, at=now + SOON)
    data = DecisionInput(is_declined=True, chosen={}, signed_name="Aud Nilsen")
    approvals.decide(sent.pk, data, by=behind(link, at=now + 2 * SOON))

    found = door(token, at=now + 3 * SOON)

    assert found is not None
    assert found.state == DoorState.ANSWERED
    assert (door(token, at=link.expires_at), door(revoked, at=now + 3 * SOON)) == (None, None)


def test_door_tells_of_newer_revision_t04(sent: QuoteRevision, ilse: Person, now: datetime) -> None:
    _, revoked = opened_link(sent, ilse, at=now)
    _, token = opened_link(sent, ilse, at=now + SOON)
    new = quotes.revise_quote(sent.pk, by=desk(ilse, at=now))
    quotes.send_quote(new.pk, version=1, by=desk(ilse, at=now + 2 * SOON))

    found = door(token, at=now + 3 * SOON)

    assert found is not None
    assert found.state == DoorState.REPLACED
    assert door(revoked, at=now + 3 * SOON) is None
