"""A sent quote is taken back and written anew; until then what the customer reads of a job stays."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal

import pytest

from shopapp.actions import approvals, jobs, quotes
from shopapp.actions.actor import Actor
from shopapp.actions.approvals import DecisionInput
from shopapp.actions.jobs import FindingsInput
from shopapp.actions.refusals import Refused, Stale
from shopapp.models import (
    Activity,
    CustomerLink,
    Job,
    Person,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    RevisionState,
    Stage,
)
from shopapp.models import TestKind as Kind
from shopapp.queries.shown import stored_content
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.quotes import (
    SEAL,
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
SOON = timedelta(minutes=1)


@pytest.fixture
def job(tobiah: Person) -> Job:
    return JobFactory(work_order=WorkOrderFactory(stage=Stage.DIAGNOSIS), technician=tobiah)


@pytest.fixture
def sent(job: Job, ilse: Person, now: datetime) -> QuoteRevision:
    return sent_quote(ilse, at=now, work_order=job.work_order)


def found(job: Job, **changes: object) -> FindingsInput:
    """What is written of the job, with changes."""
    job.refresh_from_db()
    words = {name: getattr(job, name) for name in ("complaint", "cause", "correction")}
    return FindingsInput(**words | {"test_kind": Kind(job.test_kind)} | changes)


def test_revise_quote_copies_words_and_lines(maren: Person, by: Acting, now: datetime) -> None:
    draft = draft_quote(maren, at=now)
    option = QuoteOption.objects.get(choice__revision=draft, position=1)
    quotes.add_line(option.pk, replace(SEAL, unit_cost=Decimal("9.10")), by=by(maren))
    sent = quotes.send_quote(draft.pk, version=1, by=by(maren))

    new = quotes.revise_quote(sent.pk, by=by(maren))

    assert (new.revision, new.state, new.quote) == (2, RevisionState.DRAFT, sent.quote)
    assert rows_of(new) == rows_of(sent)


def test_discarded_revision_leaves_the_quote_taken_back(
    sent: QuoteRevision, job: Job, ilse: Person, by: Acting
) -> None:
    draft = quotes.revise_quote(sent.pk, by=by(ilse))

    quotes.discard_quote(draft.pk, version=draft.version, by=by(ilse))
    with pytest.raises(Refused, match="replaced by a newer one"):
        quotes.revise_quote(sent.pk, by=by(ilse))
    new = quotes.start_quote(job.work_order_id, by=by(ilse))

    states = list(QuoteRevision.objects.order_by("pk").values_list("state", flat=True))
    assert states == ["replaced", "discarded", "draft"]
    assert new.quote != sent.quote


def test_draft_that_somebody_changed_is_not_thrown_away(maren: Person, by: Acting, now: datetime) -> None:
    draft = draft_quote(maren, at=now)
    QuoteRevision.objects.filter(pk=draft.pk).update(version=2)

    with pytest.raises(Stale):
        quotes.discard_quote(draft.pk, version=1, by=by(maren))

    assert QuoteRevision.objects.get().state == RevisionState.DRAFT


def rows_of(revision: QuoteRevision) -> list[tuple[object, ...]]:
    return list(
        QuoteLine.objects.filter(option__choice__revision=revision)
        .order_by("option__position", "position")
        .values_list(
            "option__title",
            "option__days",
            "option__warranty_months",
            "position",
            "kind",
            "description",
            "quantity_milli",
            "unit_price_e4",
            "unit_cost_e4",
        )
    )


def test_revise_quote_takes_it_back(sent: QuoteRevision, job: Job, ilse: Person, now: datetime) -> None:
    opened_link(sent, ilse, at=now)
    later = now + timedelta(hours=1)

    quotes.revise_quote(sent.pk, by=desk(ilse, at=later))

    states = dict(QuoteRevision.objects.values_list("revision", "state"))
    job.refresh_from_db()
    job.work_order.refresh_from_db()
    assert states == {1: RevisionState.REPLACED, 2: RevisionState.DRAFT}
    assert CustomerLink.objects.get().revoked_at == later
    assert (job.stage, job.work_order.stage) == (Stage.DIAGNOSIS, Stage.DIAGNOSIS)
    told = [(row.verb, json.loads(row.payload)) for row in Activity.objects.order_by("-seq")[:2]]
    assert told == [
        ("move job", {"from": "with_customer", "to": "diagnosis", "why": "taken back"}),
        ("revise quote", {"quote": f"{sent.quote} revision 2", "from": 1}),
    ]


def test_draft_of_revision_is_never_stranded(sent: QuoteRevision, ilse: Person, now: datetime) -> None:
    """Whoever revises while the customer reads: one of the two is refused, no draft outlives an answer."""
    link, _ = opened_link(sent, ilse, at=now)
    new = quotes.revise_quote(sent.pk, by=desk(ilse, at=now))
    yes = DecisionInput(is_declined=False, chosen=first_options(sent), signed_name="Aud Nilsen")

    with pytest.raises(Refused, match="replaced by a newer one"):
        approvals.decide(sent.pk, yes, by=behind(link, at=now + SOON))

    again = quotes.send_quote(new.pk, version=1, by=desk(ilse, at=now + SOON))
    answered(again, ilse, at=now + SOON)
    assert list(QuoteRevision.objects.order_by("pk").values_list("state", flat=True)) == [
        RevisionState.REPLACED,
        RevisionState.DECIDED,
    ]


def test_revise_quote_gives_second_sender_the_draft(sent: QuoteRevision, ilse: Person, by: Acting) -> None:
    first = quotes.revise_quote(sent.pk, by=by(ilse))

    second = quotes.revise_quote(sent.pk, by=by(ilse))

    assert second == first


def test_revise_quote_gives_no_other_quotes_draft(sent: QuoteRevision, ilse: Person, by: Acting) -> None:
    JobFactory(work_order=sent.quote.work_order, position=2, stage=Stage.DIAGNOSIS)
    other = quotes.start_quote(sent.quote.work_order_id, by=by(ilse))

    new = quotes.revise_quote(sent.pk, by=by(ilse))

    assert (new.quote, other.quote == new.quote) == (sent.quote, False)


def test_revise_quote_refuses_an_answered_one(sent: QuoteRevision, ilse: Person, now: datetime) -> None:
    answered(sent, ilse, at=now)

    with pytest.raises(Refused, match="has answered"):
        quotes.revise_quote(sent.pk, by=desk(ilse, at=now))


def test_revise_quote_refuses_a_replaced_one(sent: QuoteRevision, ilse: Person, by: Acting) -> None:
    new = quotes.revise_quote(sent.pk, by=by(ilse))
    quotes.send_quote(new.pk, version=1, by=by(ilse))

    with pytest.raises(Refused, match="Open the newer one"):
        quotes.revise_quote(sent.pk, by=by(ilse))

    assert QuoteRevision.objects.count() == 2


@pytest.mark.parametrize("change", [{"cause": "Groove in the shaft"}, {"complaint": "It smokes"}])
def test_findings_on_a_sent_quote_stay(
    sent: QuoteRevision, job: Job, tobiah: Person, by: Acting, change: dict[str, object]
) -> None:
    before = found(job)

    with pytest.raises(Refused, match="takes it back"):
        jobs.edit_findings(job.pk, replace(before, **change), version=1, by=by(tobiah))

    assert found(job) == before


def test_findings_not_on_the_quote_are_written(
    sent: QuoteRevision, job: Job, ilse: Person, tobiah: Person, by: Acting, now: datetime
) -> None:
    data = found(job, correction="Order the seals", test_kind=Kind.TANK)

    jobs.edit_findings(job.pk, data, version=1, by=by(tobiah))

    assert found(job) == data
    assert answered(sent, ilse, at=now).decision == "approved"


def test_findings_of_a_quote_taken_back_are_shown_anew(
    sent: QuoteRevision, job: Job, ilse: Person, tobiah: Person, by: Acting
) -> None:
    new = quotes.revise_quote(sent.pk, by=by(ilse))

    jobs.edit_findings(job.pk, found(job, cause="Groove in the shaft"), version=1, by=by(tobiah))

    again = stored_content(quotes.send_quote(new.pk, version=1, by=by(ilse)))
    assert again["facts"]["jobs"][str(job.pk)]["cause"] == "Groove in the shaft"
