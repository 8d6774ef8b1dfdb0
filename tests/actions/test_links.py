"""Links: one revision, half an hour, only the hash of the token kept."""

import hashlib
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest

from shopapp.actions import links
from shopapp.actions.actor import Actor
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.models import Activity, CustomerLink, Person
from tests.factories.quotes import answered, desk, draft_quote, opened_link, sent_quote

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]


def test_open_counter_keeps_the_hash_alone(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)

    link, token = opened_link(sent, ilse, at=now)

    assert link.token_sha256 == hashlib.sha256(token.encode()).hexdigest()
    assert link.expires_at == now + timedelta(minutes=30)
    assert len(token) == 43
    assert [row.verb for row in Activity.objects.all() if token in (row.payload or "")] == []


def test_open_counter_shuts_the_earlier_door(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    opened_link(sent, ilse, at=now)
    later = now + timedelta(minutes=5)

    opened_link(sent, ilse, at=later)

    revoked = CustomerLink.objects.order_by("pk").values_list("revoked_at", flat=True)
    assert list(revoked) == [later, None]


def test_open_counter_refuses_draft_and_answered(ilse: Person, by: Acting, now: datetime) -> None:
    draft = draft_quote(ilse, at=now)
    decided = sent_quote(ilse, at=now)
    answered(decided, ilse, at=now)

    for revision in (draft, decided):
        with pytest.raises(Refused, match="sent and not answered yet"):
            links.open_counter(revision.pk, by=by(ilse))


def test_open_counter_refuses_stale_prices(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)

    with pytest.raises(Refused, match="prices of this quote have run out"):
        links.open_counter(sent.pk, by=desk(ilse, at=now + timedelta(days=31)))


def test_open_counter_is_not_the_technicians(ilse: Person, tobiah: Person, by: Acting, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)

    with pytest.raises(NotAllowed, match="Only the front desk and the owner"):
        links.open_counter(sent.pk, by=by(tobiah))
