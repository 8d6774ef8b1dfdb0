"""The feed tells deeds in words, and no amounts."""

from collections.abc import Callable
from datetime import datetime

import pytest

from shopapp.actions import jobs, spoken_answers
from shopapp.actions.activity import Entry, record
from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogTimeInput, log_time
from shopapp.actions.spoken_answers import SpokenInput
from shopapp.actions.work_orders import TellInput, tell_customer
from shopapp.models import Activity, AnswerHow, Person, Stage, ToldHow
from shopapp.models import TestKind as Kind
from shopapp.queries.feed import feed_of
from tests.factories.jobs import job_at
from tests.factories.quotes import answered, desk, first_options, sent_quote

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def told(job: object) -> list[tuple[str, str, str]]:
    return [(row.who, row.deed, row.detail) for row in feed_of(job.work_order)]


def test_feed_tells_the_newest_first(tobiah: Person, by: By) -> None:
    job = job_at(Stage.HERE, technician=tobiah)
    jobs.start_diagnosis(job.pk, by=by(tobiah))
    log_time(job.pk, LogTimeInput(minutes=95), by=by(tobiah))

    assert told(job) == [
        ("Tobiah Reyes", "logged time", "Tobiah Reyes, 1 h 35 min"),
        ("Tobiah Reyes", "moved a job", "Here → Diagnosis"),
    ]


def test_feed_says_who_wrote_an_answer_down(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    said = SpokenInput(
        how=AnswerHow.PHONE,
        is_declined=False,
        chosen=first_options(sent),
        spoken_with="Aud Nilsen",
        number="604 555 0199",
        spoken_at=now,
    )

    spoken_answers.record_spoken(sent.pk, said, by=desk(ilse, at=now))

    deed = "wrote down the customer's answer"
    assert told(sent.quote)[1] == ("Ilse Brandt", deed, "approved, by telephone")


def test_feed_tells_the_same_thing_once(tobiah: Person, by: By) -> None:
    job = job_at(Stage.DIAGNOSIS, technician=tobiah)
    for version in (1, 2, 3):
        data = jobs.FindingsInput(complaint="c", cause=str(version), correction="", test_kind=Kind.WATER)
        jobs.edit_findings(job.pk, data, version=version, by=by(tobiah))

    assert told(job) == [("Tobiah Reyes", "wrote the findings", "")]


def test_feed_says_that_an_answer_moved_the_job(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)

    answered(sent, ilse, at=now)

    rows = [row for row in told(sent.quote) if row[0] == "the customer"]
    assert rows == [
        ("the customer", "answered, so a job moved on", "With customer → In line"),
        ("the customer", "answered the quote", "approved"),
    ]


def test_feed_says_why_a_job_was_moved(ilse: Person, by: By) -> None:
    job = job_at(Stage.READY)
    for why in ("declined", "taken back", "leaks"):
        facts = {"from": "with_customer", "to": "ready", "why": why}
        record([Entry(verb="move job", record=job, facts=facts, work_order=job.work_order)], by=by(ilse))

    assert [detail for _, _, detail in told(job)] == [
        "With customer → Ready: leaks",
        "With customer → Ready: the quote was taken back",
        "With customer → Ready: the customer does not want it",
    ]


def test_feed_keeps_amounts_to_itself(ilse: Person, by: By) -> None:
    job = job_at(Stage.READY)
    facts = {"invoice": "INV-1", "amount_minor": 7_654_321, "method": "card"}
    record([Entry(verb="take payment", record=job, facts=facts, work_order=job.work_order)], by=by(ilse))

    assert told(job) == [("Ilse Brandt", "took a payment", "")]


def test_feed_of_an_erased_fact_is_short(ilse: Person, by: By) -> None:
    job = job_at(Stage.READY)
    tell_customer(job.work_order_id, TellInput(how=ToldHow.TEXT), by=by(ilse))
    before = told(job)

    Activity.objects.update(payload=None, salt=None)

    assert before == [("Ilse Brandt", "told the customer that the boat is ready", "by text message")]
    assert told(job) == [("Ilse Brandt", "told the customer that the boat is ready", "")]


def test_feed_shows_an_unknown_deed_as_it_is(ilse: Person, by: By) -> None:
    job = job_at(Stage.READY)
    record([Entry(verb="wash the boat", record=job, work_order=job.work_order)], by=by(ilse))

    assert told(job) == [("Ilse Brandt", "wash the boat", "")]
