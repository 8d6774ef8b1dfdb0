"""An answer about extra work adds to what was agreed, or leaves it as it was; it moves no job."""

from datetime import datetime, timedelta

import pytest

from shopapp.actions import approvals, jobs
from shopapp.actions.approvals import DecisionInput
from shopapp.models import Activity, Job, Outcome, Person, QuoteRevision, Stage
from shopapp.queries.approvals import approved_option, approved_options, authorised
from tests.factories.quotes import (
    answered,
    behind,
    desk,
    first_options,
    opened_link,
    sent_quote,
    sent_supplement,
)

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


@pytest.fixture
def job(ilse: Person, now: datetime) -> Job:
    """Agreed for 354.80 without tax, and in hand."""
    answered(sent_quote(ilse, at=now), ilse, at=now)
    return jobs.start_work(Job.objects.get().pk, by=desk(ilse, at=now))


@pytest.fixture
def extra(job: Job, ilse: Person, now: datetime) -> QuoteRevision:
    return sent_supplement(job, ilse, at=now + HOUR)


def test_sending_extra_work_moves_no_job(job: Job, extra: QuoteRevision) -> None:
    job.refresh_from_db()

    assert (job.stage, job.work_order.stage, extra.state) == (Stage.IN_HAND, Stage.IN_HAND, "sent")


def test_yes_to_extra_work_adds_to_what_was_agreed(
    job: Job, extra: QuoteRevision, ilse: Person, now: datetime
) -> None:
    before = approved_option(job)

    answered(extra, ilse, at=now + HOUR)

    job.refresh_from_db()
    assert (job.stage, job.outcome, approved_option(job)) == (Stage.IN_HAND, Outcome.OPEN, before)
    assert [option.pk for option in approved_options([job])[job.pk]] == [
        before.pk,
        *first_options(extra).values(),
    ]
    assert authorised(job.work_order).total_minor == 35_480 + 3_680
    assert Activity.objects.latest("seq").verb == "answer quote"


@pytest.mark.parametrize("is_declined", [True, False])
def test_no_to_extra_work_leaves_what_was_agreed(
    job: Job, extra: QuoteRevision, ilse: Person, now: datetime, is_declined: bool
) -> None:
    before = approved_option(job)
    link, _ = opened_link(extra, ilse, at=now + HOUR)
    nothing = dict.fromkeys(first_options(extra))
    data = DecisionInput(is_declined=is_declined, chosen=nothing, signed_name="Aud Nilsen", reason="Not this")

    approval = approvals.decide(extra.pk, data, by=behind(link, at=now + HOUR))

    job.refresh_from_db()
    assert (approval.decision, approval.reason) == ("declined", "Not this")
    assert (job.stage, job.outcome, approved_option(job)) == (Stage.IN_HAND, Outcome.OPEN, before)
    assert authorised(job.work_order).total_minor == 35_480
