"""Links: one revision, half an hour at the counter or as long as the prices hold, only a hash kept."""

import hashlib
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from shopapp.actions import approvals, links
from shopapp.actions.actor import Actor
from shopapp.actions.approvals import DecisionInput
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, AnswerHow, CustomerLink, LinkPurpose, Person
from shopapp.queries.links import DoorState, door
from tests.factories.quotes import (
    answered,
    behind,
    desk,
    draft_quote,
    first_options,
    opened_link,
    sent_quote,
)

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


def test_open_phone_lasts_as_long_as_the_prices(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)

    link, token = links.open_phone(sent.pk, " 604 555 0199 ", by=desk(ilse, at=now))

    assert (link.purpose, link.sent_to) == (LinkPurpose.PHONE, "604 555 0199")
    assert link.token_sha256 == hashlib.sha256(token.encode()).hexdigest()
    # the second of July is over at seven in the morning, UTC
    assert link.expires_at == datetime(2026, 7, 3, 7, 0, tzinfo=UTC)
    assert [row.verb for row in Activity.objects.all() if token in (row.payload or "")] == []


def test_open_phone_replaces_the_link_sent_before(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    _, first = links.open_phone(sent.pk, "604 555 0199", by=desk(ilse, at=now))

    _, second = links.open_phone(sent.pk, "aud@inlet.test", by=desk(ilse, at=now))

    assert door(first, at=now) is None
    assert door(second, at=now).state == DoorState.OPEN


def test_counter_and_phone_stand_side_by_side(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    _, phone = links.open_phone(sent.pk, "604 555 0199", by=desk(ilse, at=now))

    _, counter = opened_link(sent, ilse, at=now)

    assert [door(token, at=now).state for token in (phone, counter)] == [DoorState.OPEN] * 2


def test_answer_behind_one_door_shows_behind_both(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    link, phone = links.open_phone(sent.pk, "604 555 0199", by=desk(ilse, at=now))
    _, counter = opened_link(sent, ilse, at=now)
    data = DecisionInput(is_declined=False, chosen=first_options(sent), signed_name="Aud Nilsen")

    approval = approvals.decide(sent.pk, data, by=behind(link, at=now + timedelta(days=3)))

    # nobody of the shop saw it signed
    assert (approval.how, approval.witness) == (AnswerHow.LINK, None)
    later = now + timedelta(days=3, minutes=1)
    assert door(phone, at=later).state == DoorState.ANSWERED
    # half an hour at the counter was over by then
    assert door(counter, at=later) is None


@pytest.mark.parametrize("sent_to", ["", "  ", "x" * 121])
def test_open_phone_needs_where_it_goes(ilse: Person, now: datetime, sent_to: str) -> None:
    sent = sent_quote(ilse, at=now)

    with pytest.raises(BadInput) as refusal:
        links.open_phone(sent.pk, sent_to, by=desk(ilse, at=now))

    assert (refusal.value.field, CustomerLink.objects.count()) == ("sent_to", 0)


def test_open_phone_refuses_what_nobody_can_answer(ilse: Person, by: Acting, now: datetime) -> None:
    decided = sent_quote(ilse, at=now)
    answered(decided, ilse, at=now)
    stale = sent_quote(ilse, at=now)

    for revision in (draft_quote(ilse, at=now), decided):
        with pytest.raises(Refused, match="sent and not answered yet"):
            links.open_phone(revision.pk, "604 555 0199", by=by(ilse))
    with pytest.raises(Refused, match="prices of this quote have run out"):
        links.open_phone(stale.pk, "604 555 0199", by=desk(ilse, at=now + timedelta(days=31)))


def test_revoke_phone_shuts_the_phone_alone(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    _, phone = links.open_phone(sent.pk, "604 555 0199", by=desk(ilse, at=now))
    _, counter = opened_link(sent, ilse, at=now)

    links.revoke_phone(sent.pk, by=desk(ilse, at=now))

    assert door(phone, at=now) is None
    assert door(counter, at=now).state == DoorState.OPEN
    assert Activity.objects.latest("seq").verb == "shut link"
    with pytest.raises(Refused, match="no link to shut"):
        links.revoke_phone(sent.pk, by=desk(ilse, at=now))


def test_phone_links_are_not_the_technicians(ilse: Person, tobiah: Person, by: Acting, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    links.open_phone(sent.pk, "604 555 0199", by=by(ilse))

    with pytest.raises(NotAllowed, match="Only the front desk and the owner"):
        links.open_phone(sent.pk, "604 555 0199", by=by(tobiah))
    with pytest.raises(NotAllowed, match="Only the front desk and the owner"):
        links.revoke_phone(sent.pk, by=by(tobiah))
