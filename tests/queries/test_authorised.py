"""What is authorised in all: of main offers the newest answer of each job, and every supplement.

Work that is agreed is not asked about again, it is added to; but "leave it" has a price too, and whoever left
a job once may agree to its repair later.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shopapp.actions import quotes
from shopapp.actions.quote_drafts import OptionInput
from shopapp.models import Job, Outcome, Person, Quote, QuoteChoice, QuoteRevision, Stage, Way
from shopapp.queries.approvals import agreed_besides, authorised, in_force
from tests.factories import JobFactory
from tests.factories.quotes import LABOUR, SHAFT, answered, desk, sent_supplement

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)
LEFT = OptionInput(way=Way.LEAVE, title="Leave it, put back together")


def asked(
    jobs: Sequence[Job], prices: Sequence[str], *, by: Person, at: datetime, discount: str = "0"
) -> QuoteRevision:
    """A main offer, sent: what leaving the first job costs, and what the others do."""
    number = f"M-{Quote.objects.count() + 1:05d}"
    quote = Quote.objects.create(work_order=jobs[0].work_order, number=number)
    draft = QuoteRevision.objects.create(
        quote=quote,
        revision=1,
        created_at=at,
        discount_e4=int(Decimal(discount) * 10_000),
        discount_reason="Regular customer" if Decimal(discount) else "",
    )
    actor = desk(by, at=at)
    for place, (job, price) in enumerate(zip(jobs, prices, strict=True), start=1):
        Job.objects.filter(pk=job.pk).update(stage=Stage.DIAGNOSIS, outcome=Outcome.OPEN)
        choice = QuoteChoice.objects.create(revision=draft, job=job, position=place)
        option = quotes.add_option(choice.pk, LEFT if place == 1 else SHAFT, by=actor)
        line = replace(LABOUR, quantity=Decimal(1), unit_price=Decimal(price))
        quotes.add_line(option.pk, line, by=actor)
    return quotes.send_quote(draft.pk, version=1, by=actor)


@pytest.fixture
def job() -> Job:
    return JobFactory.create(stage=Stage.DIAGNOSIS)


def test_job_agreed_anew_counts_once(job: Job, ilse: Person, now: datetime) -> None:
    answered(asked([job], ["100"], by=ilse, at=now), ilse, at=now)

    answered(asked([job], ["150"], by=ilse, at=now + DAY), ilse, at=now + DAY)

    assert authorised(job.work_order).total_minor == 15_000


def test_only_the_job_that_is_agreed_anew_goes_off_the_elder_approval(
    job: Job, ilse: Person, now: datetime
) -> None:
    """100 and 33.33 less 10 % are agreed; the first is agreed anew for 150: 30.00 (29.997) and 150."""
    other = JobFactory.create(work_order=job.work_order, position=2, stage=Stage.DIAGNOSIS)
    answered(asked([job, other], ["100", "33.33"], by=ilse, at=now, discount="0.1"), ilse, at=now)
    both = authorised(job.work_order).total_minor

    answered(asked([job], ["150"], by=ilse, at=now + DAY), ilse, at=now + DAY)

    assert (both, authorised(job.work_order).total_minor) == (12_000, 18_000)
    assert [one.without_tax_minor for one in in_force(job.work_order)] == [3_000, 15_000]


def test_not_now_in_a_newer_approval_takes_the_job_off(job: Job, ilse: Person, now: datetime) -> None:
    other = JobFactory.create(work_order=job.work_order, position=2, stage=Stage.DIAGNOSIS)
    answered(asked([job], ["100"], by=ilse, at=now), ilse, at=now)
    newer = asked([job, other], ["150", "40"], by=ilse, at=now + DAY)
    choices = {choice.job_id: choice for choice in newer.choices.all()}
    chosen = {choices[job.pk].pk: None, choices[other.pk].pk: choices[other.pk].options.get().pk}

    answered(newer, ilse, at=now + DAY, chosen=chosen)

    assert authorised(job.work_order).total_minor == 4_000


def test_supplements_go_on_counting_beside_the_newest_answer(job: Job, ilse: Person, now: datetime) -> None:
    other = JobFactory.create(work_order=job.work_order, position=2, stage=Stage.DIAGNOSIS)
    answered(asked([job, other], ["100", "30"], by=ilse, at=now), ilse, at=now)
    answered(sent_supplement(other, ilse, at=now), ilse, at=now)

    answered(asked([job], ["150"], by=ilse, at=now + DAY), ilse, at=now + DAY)

    assert authorised(job.work_order).total_minor == 15_000 + 3_000 + 3_680


def test_what_is_agreed_at_a_moment_is_told_afterwards_as_it_was(
    job: Job, ilse: Person, now: datetime
) -> None:
    """A supplement that was sent before the job was agreed anew still adds to what was agreed then."""
    answered(asked([job], ["100"], by=ilse, at=now), ilse, at=now)
    answered(asked([job], ["150"], by=ilse, at=now + DAY), ilse, at=now + DAY)

    then = in_force(job.work_order, at=now + DAY / 2)

    assert [one.without_tax_minor for one in then] == [10_000]


def test_an_open_offer_adds_to_what_it_does_not_replace(job: Job, ilse: Person, now: datetime) -> None:
    other = JobFactory.create(work_order=job.work_order, position=2, stage=Stage.DIAGNOSIS)
    answered(asked([job, other], ["100", "30"], by=ilse, at=now), ilse, at=now)

    newer = asked([job], ["150"], by=ilse, at=now + DAY)

    assert agreed_besides(newer) == 3_000
    assert authorised(job.work_order).total_minor == 13_000


@pytest.mark.parametrize("rounds", [2, 5])
def test_authorised_takes_two_queries_however_often_a_job_is_asked(
    job: Job, ilse: Person, now: datetime, rounds: int
) -> None:
    others = [
        JobFactory.create(work_order=job.work_order, position=place, stage=Stage.DIAGNOSIS)
        for place in range(2, rounds + 2)
    ]
    for turn, other in enumerate(others):
        at = now + DAY * turn
        answered(asked([job, other], ["100", "30"], by=ilse, at=at), ilse, at=at)

    with CaptureQueriesContext(
        connection,
    ) as taken:
        found = authorised(job.work_order)

    assert (len(taken), found.total_minor) == (2, 10_000 + rounds * 3_000)
