"""What is agreed for a job: the option of the newest answer, or nothing."""

from datetime import timedelta
from typing import Any

import pytest

from shopapp.models import Approval, ApprovedChoice, Job, QuoteChoice, QuoteOption, QuoteRevision
from shopapp.queries.approvals import approved_option, asking_revision
from tests.factories import JobFactory
from tests.models.rows import MOMENT, SENT, change, make

pytestmark = pytest.mark.django_db


def answered(job: Job, *, days: int = 0, is_not_now: bool = False, **changes: Any) -> QuoteOption | None:
    """An answer about the job; the option that was chosen."""
    revision = make(QuoteRevision)
    choice = make(QuoteChoice, revision=revision, job=job)
    option = None if is_not_now else make(QuoteOption, choice=choice)
    change(revision, **SENT)
    approval = make(Approval, revision=revision, decided_at=MOMENT + timedelta(days=days), **changes)
    make(ApprovedChoice, approval=approval, choice=choice, option=option)
    return option


def test_job_nobody_answered_has_no_option() -> None:
    assert approved_option(JobFactory()) is None


def test_job_approved_has_the_option_chosen() -> None:
    job = JobFactory()
    make(QuoteOption, choice=make(QuoteChoice, job=job))

    option = answered(job)

    assert approved_option(job) == option


def test_declined_quote_leaves_no_option() -> None:
    job = JobFactory()

    answered(job, decision="declined", with_tax_minor=0)

    assert approved_option(job) is None


def test_not_now_leaves_no_option() -> None:
    job = JobFactory()

    answered(job, is_not_now=True)

    assert approved_option(job) is None


def test_newest_answer_counts_whatever_came_in_first() -> None:
    job = JobFactory()
    newest = answered(job, days=2)
    answered(job, days=1)

    assert approved_option(job) == newest


def test_later_not_now_takes_the_option_back() -> None:
    job = JobFactory()
    answered(job, days=1)

    answered(job, days=2, is_not_now=True)

    assert approved_option(job) is None


def test_answer_about_another_job_covers_nothing() -> None:
    job, other = JobFactory(), JobFactory()

    answered(other)

    assert approved_option(job) is None


def test_approved_option_takes_one_query(django_assert_num_queries: object) -> None:
    job = JobFactory()
    option = answered(job)

    with django_assert_num_queries(1):
        found = approved_option(job)
        assert (found.pk, found.title) == (option.pk, option.title)


def test_asking_revision_is_the_sent_one() -> None:
    job = JobFactory()
    draft, sent, replaced = (make(QuoteRevision, revision=number) for number in (1, 2, 3))
    for revision in (draft, sent, replaced):
        make(QuoteChoice, revision=revision, job=job)
    change(sent, **SENT)
    change(replaced, **SENT | {"state": "replaced"})

    assert (asking_revision(job), asking_revision(JobFactory())) == (sent, None)
