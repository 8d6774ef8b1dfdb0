"""A hundred people answer one quote at the same moment, each in another way: it is answered once."""

from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connections

from shopapp.actions import approvals, jobs, links, spoken_answers
from shopapp.actions.activity import first_bad_link
from shopapp.actions.answers import first_unfaithful_answer
from shopapp.actions.approvals import DecisionInput
from shopapp.actions.refusals import Refused
from shopapp.actions.spoken_answers import SpokenInput
from shopapp.actions.start_now import StartNowInput, start_now
from shopapp.models import AnswerHow, Approval, Job, NumberSeries, Person, Quote, QuoteRevision
from shopapp.queries.approvals import authorised
from tests.factories.quotes import (
    answered,
    behind,
    desk,
    first_options,
    opened_link,
    sent_quote,
    sent_supplement,
)

pytestmark = pytest.mark.django_db(transaction=True)

Deed = Callable[[], Approval]
HOUR = timedelta(hours=1)
AT_ONCE = 12


def told_of(deed: Deed) -> str:
    """ "done", or the sentence of the refusal."""
    try:
        deed()
    except Refused as refusal:
        return refusal.sentence
    finally:
        connections.close_all()
    return "done"


def ends_of(deeds: list[Deed]) -> list[str]:
    with ThreadPoolExecutor(max_workers=AT_ONCE) as pool:
        return list(pool.map(told_of, deeds))


class Crowd:
    """Everybody who can answer one sent revision."""

    def __init__(self, sent: QuoteRevision, person: Person, *, at: datetime) -> None:
        self.sent, self.person, self.at = sent, person, at
        self.counter, _ = opened_link(sent, person, at=at)
        self.phone, _ = links.open_phone(sent.pk, "604 555 0199", by=desk(person, at=at))
        self.options = first_options(sent)

    def signs(self, turn: int) -> Approval:
        """At the counter or on their own phone, yes and no by turns."""
        data = DecisionInput(is_declined=turn % 3 == 0, chosen=self.options, signed_name="Aud Nilsen")
        link = self.phone if turn % 2 else self.counter
        return approvals.decide(self.sent.pk, data, by=behind(link, at=self.at))

    def tells(self, turn: int) -> Approval:
        data = SpokenInput(
            how=AnswerHow.PHONE if turn % 2 else AnswerHow.EMAIL,
            is_declined=turn % 3 == 0,
            chosen=self.options,
            spoken_with="Aud Nilsen",
            number="604 555 0199",
            spoken_at=self.at,
        )
        return spoken_answers.record_spoken(self.sent.pk, data, by=desk(self.person, at=self.at))

    def starts(self, job: Job) -> Approval:
        data = StartNowInput(
            what="New impeller",
            at_most=Decimal(10),
            spoken_with="Aud Nilsen",
            number="604 555 0199",
            spoken_at=self.at,
        )
        return start_now(job.pk, data, by=desk(self.person, at=self.at))


def test_hundred_mixed_answers_are_one(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    crowd = Crowd(sent, ilse, at=now)

    ends = ends_of(
        [
            (lambda turn=turn: crowd.tells(turn)) if turn % 4 < 2 else (lambda turn=turn: crowd.signs(turn))
            for turn in range(100)
        ]
    )

    assert Counter(ends) == {"done": 1, "This quote is answered already.": 99}
    approval = Approval.objects.get()
    assert authorised(sent.quote.work_order).agreed_minor == approval.without_tax_minor
    assert (first_unfaithful_answer(), first_bad_link()) == (None, None)


def test_hundred_calls_and_signatures_on_extra_work_count_once_each(ilse: Person, now: datetime) -> None:
    """An answer to the supplement counts once; a call to start is a piece of work of its own each time."""
    answered(sent_quote(ilse, at=now), ilse, at=now)
    job = jobs.start_work(Job.objects.get().pk, by=desk(ilse, at=now + timedelta(minutes=2)))
    crowd = Crowd(sent_supplement(job, ilse, at=now + HOUR), ilse, at=now + HOUR)
    deeds: list[Deed] = [
        *[lambda turn=turn: crowd.tells(turn) for turn in range(45)],
        *[lambda turn=turn: crowd.signs(turn) for turn in range(45)],
        *[lambda: crowd.starts(job)] * 10,
    ]

    ends = ends_of([deeds[37 * number % 100] for number in range(100)])

    assert Counter(ends) == {"done": 11, "This quote is answered already.": 89}
    answer = Approval.objects.get(revision=crowd.sent)
    # 354.80 agreed before, each call 10.00, and the supplement if the one who was first said yes
    assert authorised(job.work_order).agreed_minor == 35_480 + 10 * 1_000 + answer.without_tax_minor
    calls = Approval.objects.exclude(revision=crowd.sent).filter(how=AnswerHow.PHONE).order_by("pk")
    totals = [one.new_total_minor for one in calls]
    # each call names the total as it was when it was written down: none names the same one twice
    assert (len(set(totals)), totals) == (10, sorted(totals))
    assert (first_unfaithful_answer(), first_bad_link()) == (None, None)
    numbers = Quote.objects.exclude(number__startswith="S-").values_list("number", flat=True)
    assert NumberSeries.objects.get(code="quote").next_value == len(set(numbers)) + 1


def test_call_to_start_waits_for_the_quote_that_is_out(ilse: Person, now: datetime) -> None:
    """While the customer has the quote nobody starts; after the answer a call is extra work, or refused."""
    sent = sent_quote(ilse, at=now)
    crowd, job = Crowd(sent, ilse, at=now), Job.objects.get()

    ends = ends_of(
        [(lambda: crowd.starts(job)) if turn % 2 else (lambda: crowd.tells(1)) for turn in range(20)]
    )

    told = Approval.objects.filter(revision=sent).count()
    begun = Approval.objects.exclude(revision=sent).count()
    assert (told, told + begun) == (1, Counter(ends)["done"])
    assert authorised(job.work_order).agreed_minor == 35_480 + begun * 1_000
    job.refresh_from_db()
    assert job.stage == ("in_hand" if begun else "in_line")
