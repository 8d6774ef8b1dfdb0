"""An answer that somebody rewrote in the database is named, whatever was rewritten."""

from datetime import datetime, timedelta

import pytest
from django.db import connection

from shopapp.actions import approvals
from shopapp.actions.activity import first_bad_link
from shopapp.actions.answers import first_unfaithful_answer
from shopapp.actions.approvals import DecisionInput
from shopapp.documents.quotes import signed_digest
from shopapp.models import Activity, Approval, ApprovedChoice, Person, QuoteOption
from shopapp.triggers import remove_triggers
from tests.factories.quotes import answered, behind, first_options, opened_link, sent_quote

pytestmark = pytest.mark.django_db

DRAWING = '{"width":600,"height":240,"strokes":[{"points":[{"x":1,"y":2,"time":3,"pressure":0.5}]}]}'


@pytest.fixture
def approval(ilse: Person, now: datetime) -> Approval:
    """A signed answer, after somebody else's."""
    answered(sent_quote(ilse, at=now), ilse, at=now)
    sent = sent_quote(ilse, at=now)
    link, _ = opened_link(sent, ilse, at=now)
    data = DecisionInput(
        is_declined=False, chosen=first_options(sent), signed_name="Aud Nilsen", strokes=DRAWING
    )
    return approvals.decide(sent.pk, data, by=behind(link, at=now + timedelta(minutes=1)))


def test_answers_as_they_were_signed_are_faithful(approval: Approval) -> None:
    assert (Approval.objects.count(), first_unfaithful_answer()) == (2, None)


@pytest.mark.parametrize(
    "change",
    [
        {"decision": "declined", "with_tax_minor": 0},
        {"with_tax_minor": 1},
        {"without_tax_minor": 1},
        {"signed_name": "Somebody Else"},
        {"strokes": DRAWING.replace("0.5", "0.6")},
        {"strokes": ""},
        {"reason": "No money"},
        {"decided_at": datetime.fromisoformat("2026-06-02T17:31:01Z")},
        {"witness": None},
        {"signed_sha256": "0" * 64},
    ],
)
def test_rewritten_answer_is_named_t17(approval: Approval, change: dict[str, object]) -> None:
    remove_triggers(connection)
    Approval.objects.filter(pk=approval.pk).update(**change)

    assert first_unfaithful_answer() == f"The answer to {approval.revision} is not what was signed."


def test_other_choice_is_named_t17(approval: Approval) -> None:
    remove_triggers(connection)
    other = QuoteOption.objects.get(choice__revision=approval.revision, position=2)
    ApprovedChoice.objects.filter(approval=approval).update(option=other)

    assert first_unfaithful_answer() == f"The answer to {approval.revision} is not what was signed."


def test_other_shown_text_is_named_t17(approval: Approval) -> None:
    remove_triggers(connection)
    type(approval.revision).objects.filter(pk=approval.revision_id).update(shown="x")

    assert first_unfaithful_answer() == f"The answer to {approval.revision} is not what was signed."


def test_answer_signed_anew_is_not_the_chains_t17(approval: Approval) -> None:
    """Whoever writes the row works its hash out as well; the chain has another."""
    remove_triggers(connection)
    approval.with_tax_minor = 1
    approval.signed_sha256 = signed_digest(
        approval, chosen=dict(approval.choices.values_list("choice", "option"))
    )
    approval.save()

    seq = Activity.objects.filter(verb="answer quote").latest("seq").seq
    assert first_unfaithful_answer() == (
        f"The answer to {approval.revision} is not the one that activity {seq} tells of."
    )


def test_removed_answer_is_named_t17(approval: Approval) -> None:
    remove_triggers(connection)
    revision = approval.revision_id
    ApprovedChoice.objects.filter(approval=approval).delete()
    approval.delete()

    seq = Activity.objects.filter(verb="answer quote").latest("seq").seq
    assert first_unfaithful_answer() == (
        f"Activity {seq} tells of an answer to quoterevision:{revision}, which is not there any more."
    )


def test_answer_slipped_in_is_named_t17(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    Approval.objects.create(
        revision=sent,
        decision="declined",
        without_tax_minor=0,
        with_tax_minor=0,
        signed_name="Aud Nilsen",
        decided_at=now,
    )

    assert first_unfaithful_answer() == f"The answer to {sent} is not in the chain."


def test_erased_facts_leave_the_answers_own_hash(approval: Approval) -> None:
    Activity.objects.filter(verb="answer quote").update(payload=None, salt=None)

    assert (first_bad_link(), first_unfaithful_answer()) == (None, None)
