"""What is told by telephone or email is written down with all that proves it."""

import hashlib
import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, connection, transaction

from shopapp.actions import approvals, quotes, spoken_answers
from shopapp.actions.actor import Actor
from shopapp.actions.answers import first_unfaithful_answer
from shopapp.actions.approvals import DecisionInput
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.spoken_answers import SpokenInput
from shopapp.calc.errors import BadInput
from shopapp.documents.quotes import verified_approval
from shopapp.models import Activity, AnswerHow, Approval, Job, Outcome, Person, QuoteRevision, Stage
from shopapp.queries.links import DoorState, door
from shopapp.triggers import remove_triggers
from tests.factories.quotes import (
    answered,
    behind,
    desk,
    draft_quote,
    first_options,
    opened_link,
    sent_quote,
    sent_supplement,
)
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]
HOUR = timedelta(hours=1)


def told(revision: QuoteRevision, **changes: object) -> SpokenInput:
    """Yes to the first options, on the telephone, half an hour after the quote was sent."""
    facts = {
        "how": AnswerHow.PHONE,
        "is_declined": False,
        "chosen": first_options(revision),
        "spoken_with": "Aud Nilsen",
        "number": "604 555 0199",
        "spoken_at": revision.sent_at + HOUR / 2,
        "relation": "owner",
        "extra_work": "New seals and the oil with them",
    }
    return SpokenInput(**facts | changes)


@pytest.fixture
def sent(ilse: Person, now: datetime) -> QuoteRevision:
    return sent_quote(ilse, at=now)


@pytest.fixture
def later(ilse: Person, now: datetime) -> Actor:
    """The front desk an hour after the quote was sent."""
    return desk(ilse, at=now + HOUR)


def test_spoken_yes_is_kept_with_its_facts(sent: QuoteRevision, later: Actor, ilse: Person) -> None:
    approval = spoken_answers.record_spoken(sent.pk, told(sent), by=later)

    approval.refresh_from_db()
    assert (approval.how, approval.decision, approval.signed_name) == ("phone", "approved", "Aud Nilsen")
    assert (approval.called_number, approval.relation) == ("604 555 0199", "owner")
    assert (approval.decided_at, approval.recorded_at) == (sent.sent_at + HOUR / 2, later.at)
    assert (approval.recorded_by, approval.witness, approval.strokes) == (ilse, None, "")
    # 300.00 hours and 54.80 goods (as in test_approvals)
    assert (approval.extra_work, approval.extra_minor) == ("New seals and the oil with them", 35_480)
    assert (approval.new_total_minor, approval.with_tax_minor) == (35_480, 37_638)
    job = Job.objects.get()
    assert (job.stage, job.outcome) == (Stage.IN_LINE, Outcome.OPEN)


def test_spoken_extra_adds_to_what_was_agreed_t34(
    sent: QuoteRevision, later: Actor, ilse: Person, now: datetime
) -> None:
    answered(sent, ilse, at=now)
    extra = sent_supplement(Job.objects.get(), ilse, at=now + HOUR / 4)

    approval = spoken_answers.record_spoken(extra.pk, told(extra), by=later)

    # 354.80 agreed before, 36.80 more
    assert (approval.extra_minor, approval.new_total_minor) == (3_680, 39_160)


def test_spoken_work_left_empty_is_named_by_titles(sent: QuoteRevision, later: Actor) -> None:
    approval = spoken_answers.record_spoken(sent.pk, told(sent, extra_work="  "), by=later)

    assert approval.extra_work == "New seals on the old shaft"


def test_spoken_no_by_email_keeps_the_reason(sent: QuoteRevision, later: Actor) -> None:
    said = told(sent, how=AnswerHow.EMAIL, is_declined=True, number="aud@inlet.test", reason="Too dear")

    approval = spoken_answers.record_spoken(sent.pk, said, by=later)

    assert (approval.how, approval.decision, approval.reason) == ("email", "declined", "Too dear")
    assert (approval.with_tax_minor, approval.extra_minor, approval.new_total_minor) == (0, None, None)
    assert Job.objects.get().outcome == Outcome.DECLINED


def test_spoken_facts_are_in_the_hash(sent: QuoteRevision, later: Actor) -> None:
    approval = spoken_answers.record_spoken(sent.pk, told(sent, wants_parts_back=True), by=later)

    def moment(at: datetime) -> str:
        return at.astimezone(UTC).isoformat(timespec="microseconds")

    signed = {
        "called_number": "604 555 0199",
        "chosen": {str(choice): option for choice, option in first_options(sent).items()},
        "decision": "approved",
        "extra_minor": 35_480,
        "extra_work": "New seals and the oil with them",
        "how": "phone",
        "name": "Aud Nilsen",
        "new_total_minor": 35_480,
        "reason": "",
        "recorded_at": moment(later.at),
        "recorded_by": later.person.pk,
        "relation": "owner",
        "shown": sent.shown_sha256,
        "strokes": hashlib.sha256(b"").hexdigest(),
        "time": moment(sent.sent_at + HOUR / 2),
        "wants_parts_back": True,
        "with_tax_minor": 37_638,
        "without_tax_minor": 35_480,
        "witness": None,
    }
    text = json.dumps(signed, sort_keys=True, separators=(",", ":"))
    assert approval.signed_sha256 == hashlib.sha256(text.encode()).hexdigest()
    assert verified_approval(sent) == approval
    facts = json.loads(Activity.objects.get(verb="answer quote").payload)
    assert (facts["how"], facts["signed_sha256"]) == ("phone", approval.signed_sha256)


@pytest.mark.parametrize(
    "change",
    [
        {"how": "email"},
        {"called_number": "604 555 0000"},
        {"extra_work": "A new engine"},
        {"extra_minor": 1},
        {"new_total_minor": 1},
        {"relation": "neighbour"},
        {"recorded_at": datetime.fromisoformat("2026-06-02T17:31:01Z")},
        {"decided_at": datetime.fromisoformat("2026-06-02T17:31:01Z")},
        {"wants_parts_back": True},
    ],
)
def test_rewritten_fact_is_named_t17(sent: QuoteRevision, later: Actor, change: dict[str, object]) -> None:
    spoken_answers.record_spoken(sent.pk, told(sent), by=later)
    assert first_unfaithful_answer() is None
    remove_triggers(connection)

    Approval.objects.update(**change)

    assert first_unfaithful_answer() == f"The answer to {sent} is not what was signed."


def test_other_writer_is_named_t17(sent: QuoteRevision, later: Actor, maren: Person) -> None:
    spoken_answers.record_spoken(sent.pk, told(sent), by=later)
    remove_triggers(connection)

    Approval.objects.update(recorded_by=maren)

    assert first_unfaithful_answer() == f"The answer to {sent} is not what was signed."


@pytest.mark.parametrize(
    "change",
    [
        {"called_number": ""},
        {"recorded_by": None},
        {"recorded_at": None},
        {"extra_work": ""},
        {"extra_minor": None},
        {"new_total_minor": None},
    ],
)
def test_database_refuses_a_missing_fact_t34(
    sent: QuoteRevision, later: Actor, change: dict[str, object]
) -> None:
    spoken_answers.record_spoken(sent.pk, told(sent), by=later)
    remove_triggers(connection)

    with pytest.raises(IntegrityError, match="approval_spoken_has_its_facts"), transaction.atomic():
        Approval.objects.update(**change)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"spoken_with": " "}, "spoken_with"),
        ({"spoken_with": "x" * 121}, "spoken_with"),
        ({"number": ""}, "number"),
        ({"relation": "x" * 61}, "relation"),
        ({"extra_work": "x" * 2001}, "extra_work"),
        ({"how": AnswerHow.LINK}, "how"),
        ({"chosen": {987_654: None}}, "choice"),
    ],
)
def test_spoken_answer_refuses_input_by_field(
    sent: QuoteRevision, later: Actor, change: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as refusal:
        spoken_answers.record_spoken(sent.pk, told(sent, **change), by=later)

    assert (refusal.value.field, Approval.objects.count()) == (field, 0)


@pytest.mark.parametrize(
    ("minutes", "accepted"), [(-1, "a time after this quote was sent"), (63, "a time that has passed")]
)
def test_spoken_answer_lies_between_sending_and_now(
    sent: QuoteRevision, later: Actor, minutes: int, accepted: str
) -> None:
    with pytest.raises(BadInput) as refusal:
        spoken_answers.record_spoken(
            sent.pk, told(sent, spoken_at=sent.sent_at + timedelta(minutes=minutes)), by=later
        )

    assert (refusal.value.field, refusal.value.accepted) == ("spoken_at", accepted)


def test_call_in_the_minute_of_sending_counts(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now + timedelta(seconds=40))

    approval = spoken_answers.record_spoken(
        sent.pk, told(sent, spoken_at=now), by=desk(ilse, at=now + timedelta(seconds=50))
    )

    assert approval.decided_at == sent.sent_at


def test_spoken_answer_is_the_desks_alone(
    sent: QuoteRevision, tobiah: Person, ilse: Person, by: Acting, now: datetime
) -> None:
    link, _ = opened_link(sent, ilse, at=now)

    for actor in (by(tobiah), behind(link, at=now)):
        with pytest.raises(NotAllowed, match="Only the front desk and the owner"):
            spoken_answers.record_spoken(sent.pk, told(sent), by=actor)


def test_spoken_answer_needs_a_sent_quote(ilse: Person, later: Actor, now: datetime) -> None:
    draft = draft_quote(ilse, at=now)
    said = told(sent_quote(ilse, at=now), spoken_at=later.at)

    with pytest.raises(Refused, match="was not sent yet"):
        spoken_answers.record_spoken(draft.pk, said, by=later)


def test_spoken_answer_comes_once(sent: QuoteRevision, later: Actor) -> None:
    spoken_answers.record_spoken(sent.pk, told(sent), by=later)

    with pytest.raises(Refused, match="answered already"):
        spoken_answers.record_spoken(sent.pk, told(sent, is_declined=True), by=later)


def test_call_before_prices_ran_out_counts_later(sent: QuoteRevision, ilse: Person) -> None:
    late = desk(ilse, at=sent.sent_at + timedelta(days=40))

    with pytest.raises(Refused, match="prices of this quote have run out"):
        spoken_answers.record_spoken(sent.pk, told(sent, spoken_at=late.at), by=late)

    assert spoken_answers.record_spoken(sent.pk, told(sent), by=late).decision == "approved"


def test_link_shows_what_was_told_by_telephone(
    sent: QuoteRevision, later: Actor, ilse: Person, now: datetime
) -> None:
    _, token = opened_link(sent, ilse, at=later.at)

    spoken_answers.record_spoken(sent.pk, told(sent), by=later)

    found = door(token, at=later.at + timedelta(minutes=1))
    assert found is not None
    assert found.state == DoorState.ANSWERED


@pytest.mark.django_db(transaction=True)
def test_signature_and_telephone_meet_once(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    link, _ = opened_link(sent, ilse, at=now)
    signed = DecisionInput(is_declined=True, chosen={}, signed_name="Aud Nilsen")
    said = told(sent, spoken_at=now)

    ends = outcomes(
        [
            lambda: approvals.decide(sent.pk, signed, by=behind(link, at=now)),
            lambda: spoken_answers.record_spoken(sent.pk, said, by=desk(ilse, at=now)),
            lambda: quotes.revise_quote(sent.pk, by=desk(ilse, at=now)),
        ]
    )

    refused = [end for end in ends if isinstance(end, Refused)]
    sent.refresh_from_db()
    assert len(refused) == 2
    assert (sent.state, Approval.objects.count()) in (("decided", 1), ("replaced", 0))
