"""What a quote asks about: chosen jobs, several quotes at once, supplements that move nothing."""

from collections.abc import Callable
from datetime import datetime

import pytest

from shopapp.actions import quote_jobs, quotes
from shopapp.actions.actor import Actor
from shopapp.actions.quote_jobs import add_job, leave_job_out, start_supplement
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Activity,
    Job,
    NumberSeries,
    Outcome,
    Person,
    QuoteChoice,
    QuoteOption,
    QuoteRevision,
    Stage,
    WorkOrder,
)
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.quotes import LABOUR, add_lines, answered, draft_quote, first_options, sent_quote

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]


@pytest.fixture
def twins() -> list[Job]:
    """Two jobs of one visit."""
    visit = WorkOrderFactory(stage=Stage.DIAGNOSIS)
    return [JobFactory(work_order=visit), JobFactory(work_order=visit, position=2)]


@pytest.fixture
def agreed(ilse: Person, now: datetime) -> Job:
    """A job whose first option the customer chose."""
    job = JobFactory(work_order=WorkOrderFactory(stage=Stage.DIAGNOSIS))
    answered(sent_quote(ilse, at=now, work_order=job.work_order), ilse, at=now)
    return Job.objects.get()


def asked_of(revision: QuoteRevision) -> list[Job]:
    return [choice.job for choice in revision.choices.order_by("position")]


def filled(revision: QuoteRevision, *, by: Actor) -> QuoteRevision:
    for option in QuoteOption.objects.filter(choice__revision=revision):
        add_lines(option, [LABOUR], by=by)
    return revision


def test_start_quote_asks_about_chosen_jobs(ilse: Person, by: Acting, twins: list[Job]) -> None:
    revision = quotes.start_quote(twins[0].work_order_id, jobs=[twins[1].pk], by=by(ilse))

    assert asked_of(revision) == [twins[1]]


def test_start_quote_of_same_jobs_gives_the_draft(ilse: Person, by: Acting, twins: list[Job]) -> None:
    first = quotes.start_quote(twins[0].work_order_id, jobs=[twins[1].pk], by=by(ilse))

    assert quotes.start_quote(twins[0].work_order_id, jobs=[twins[1].pk], by=by(ilse)) == first
    assert NumberSeries.objects.get(code="quote").next_value == 2


def test_two_quotes_are_out_about_different_jobs(ilse: Person, by: Acting, twins: list[Job]) -> None:
    visit = twins[0].work_order
    for job in twins:
        draft = filled(quotes.start_quote(visit.pk, jobs=[job.pk], by=by(ilse)), by=by(ilse))
        quotes.send_quote(draft.pk, version=1, by=by(ilse))

    sent = QuoteRevision.objects.order_by("pk")
    assert [(one.quote.number, one.state, asked_of(one)) for one in sent] == [
        ("Q-00001", "sent", [twins[0]]),
        ("Q-00002", "sent", [twins[1]]),
    ]
    assert set(Job.objects.values_list("stage", flat=True)) == {Stage.WITH_CUSTOMER}


@pytest.mark.parametrize("is_sent", [False, True])
def test_job_is_in_one_open_quote_only(ilse: Person, by: Acting, twins: list[Job], is_sent: bool) -> None:
    visit = twins[0].work_order
    draft = filled(quotes.start_quote(visit.pk, jobs=[twins[0].pk], by=by(ilse)), by=by(ilse))
    if is_sent:
        quotes.send_quote(draft.pk, version=1, by=by(ilse))

    with pytest.raises(Refused, match="Job 1 is in quote Q-00001 already"):
        quotes.start_quote(visit.pk, jobs=[job.pk for job in twins], by=by(ilse))


def test_all_open_jobs_leave_those_in_other_quotes(ilse: Person, by: Acting, twins: list[Job]) -> None:
    visit = twins[0].work_order
    draft = filled(quotes.start_quote(visit.pk, jobs=[twins[0].pk], by=by(ilse)), by=by(ilse))
    quotes.send_quote(draft.pk, version=1, by=by(ilse))

    assert asked_of(quotes.start_quote(visit.pk, by=by(ilse))) == [twins[1]]


def test_start_quote_takes_no_job_of_another_visit(ilse: Person, by: Acting, twins: list[Job]) -> None:
    stranger = JobFactory()

    with pytest.raises(BadInput, match="jobs of this work order"):
        quotes.start_quote(twins[0].work_order_id, jobs=[twins[0].pk, stranger.pk], by=by(ilse))

    assert QuoteRevision.objects.count() == 0


def test_agreed_job_needs_a_supplement(ilse: Person, by: Acting, agreed: Job) -> None:
    with pytest.raises(Refused, match="Extra work on it needs a supplement"):
        quotes.start_quote(agreed.work_order_id, jobs=[agreed.pk], by=by(ilse))


@pytest.mark.parametrize("outcome", [Outcome.DECLINED, Outcome.LATER])
def test_job_asked_again_may_be_quoted_anew(
    ilse: Person, by: Acting, now: datetime, outcome: Outcome
) -> None:
    sent = sent_quote(ilse, at=now)
    answered(sent, ilse, at=now, chosen=dict.fromkeys(first_options(sent)))
    job = Job.objects.get()
    Job.objects.update(outcome=outcome)
    with pytest.raises(Refused, match="Open it again, then ask"):
        quotes.start_quote(job.work_order_id, jobs=[job.pk], by=by(ilse))
    # what asking again does to a job
    Job.objects.update(stage=Stage.DIAGNOSIS, outcome=Outcome.OPEN)

    assert asked_of(quotes.start_quote(job.work_order_id, by=by(ilse))) == [job]


def test_supplement_asks_for_more_on_an_agreed_job(ilse: Person, by: Acting, agreed: Job) -> None:
    revision = start_supplement(agreed.work_order_id, jobs=[agreed.pk], by=by(ilse))

    assert (revision.quote.is_supplement, revision.quote.number) == (True, "Q-00002")
    assert asked_of(revision) == [agreed]
    assert [option.title for option in QuoteOption.objects.filter(choice__revision=revision)] == [
        "Extra work"
    ]


def test_supplement_sent_twice_is_one(ilse: Person, maren: Person, by: Acting, agreed: Job) -> None:
    first = start_supplement(agreed.work_order_id, jobs=[agreed.pk], by=by(ilse))

    assert start_supplement(agreed.work_order_id, jobs=[agreed.pk], by=by(maren)) == first
    assert NumberSeries.objects.get(code="quote").next_value == 3


def test_supplement_needs_an_agreed_job(ilse: Person, by: Acting, twins: list[Job]) -> None:
    with pytest.raises(Refused, match="Nothing is agreed for job 1 yet"):
        start_supplement(twins[0].work_order_id, jobs=[twins[0].pk], by=by(ilse))


@pytest.mark.parametrize("stage", [Stage.READY, Stage.GONE])
def test_supplement_comes_before_the_work_is_ready(
    ilse: Person, by: Acting, agreed: Job, stage: Stage
) -> None:
    Job.objects.update(stage=stage)

    with pytest.raises(Refused, match="nothing can be added to it any more"):
        start_supplement(agreed.work_order_id, jobs=[agreed.pk], by=by(ilse))


def test_supplement_is_not_the_technicians(tobiah: Person, by: Acting, agreed: Job) -> None:
    with pytest.raises(NotAllowed, match="front desk and the owner"):
        start_supplement(agreed.work_order_id, jobs=[agreed.pk], by=by(tobiah))


@pytest.mark.parametrize("stage", [Stage.IN_LINE, Stage.IN_HAND, Stage.TEST])
def test_sending_supplement_moves_no_job(ilse: Person, by: Acting, agreed: Job, stage: Stage) -> None:
    Job.objects.update(stage=stage)
    WorkOrder.objects.update(stage=stage)
    draft = filled(start_supplement(agreed.work_order_id, jobs=[agreed.pk], by=by(ilse)), by=by(ilse))

    sent = quotes.send_quote(draft.pk, version=1, by=by(ilse))

    assert (sent.state, Job.objects.get().stage, WorkOrder.objects.get().stage) == ("sent", stage, stage)
    assert Activity.objects.latest("seq").verb == "send supplement"


def test_taking_supplement_back_moves_no_job(ilse: Person, by: Acting, agreed: Job) -> None:
    draft = filled(start_supplement(agreed.work_order_id, jobs=[agreed.pk], by=by(ilse)), by=by(ilse))
    sent = quotes.send_quote(draft.pk, version=1, by=by(ilse))

    again = quotes.revise_quote(sent.pk, by=by(ilse))

    assert (again.revision, again.quote.is_supplement) == (2, True)
    assert Job.objects.get().stage == Stage.IN_LINE


def test_supplement_of_finished_job_is_not_sent(ilse: Person, by: Acting, agreed: Job) -> None:
    draft = filled(start_supplement(agreed.work_order_id, jobs=[agreed.pk], by=by(ilse)), by=by(ilse))
    Job.objects.update(stage=Stage.READY, outcome=Outcome.DONE)

    with pytest.raises(Refused, match="Job 1 is closed"):
        quotes.send_quote(draft.pk, version=1, by=by(ilse))

    assert QuoteRevision.objects.get(pk=draft.pk).state == "draft"


def test_add_job_asks_about_one_more(ilse: Person, by: Acting, twins: list[Job]) -> None:
    draft = quotes.start_quote(twins[0].work_order_id, jobs=[twins[1].pk], by=by(ilse))

    choice = add_job(draft.pk, twins[0].pk, by=by(ilse))

    assert asked_of(draft) == twins
    assert [option.way for option in choice.options.all()] == ["mend"]


def test_add_job_twice_is_refused(ilse: Person, by: Acting, twins: list[Job]) -> None:
    draft = quotes.start_quote(twins[0].work_order_id, jobs=[twins[1].pk], by=by(ilse))
    add_job(draft.pk, twins[0].pk, by=by(ilse))

    with pytest.raises(Refused, match="Job 1 is in quote Q-00001 already"):
        add_job(draft.pk, twins[0].pk, by=by(ilse))


def test_add_job_to_sent_quote_is_refused(ilse: Person, by: Acting, twins: list[Job]) -> None:
    draft = filled(quotes.start_quote(twins[0].work_order_id, jobs=[twins[1].pk], by=by(ilse)), by=by(ilse))
    quotes.send_quote(draft.pk, version=1, by=by(ilse))

    with pytest.raises(Refused, match="it stays as the customer saw it"):
        add_job(draft.pk, twins[0].pk, by=by(ilse))


def test_leave_job_out_takes_its_question_along(
    ilse: Person, by: Acting, now: datetime, twins: list[Job]
) -> None:
    draft = draft_quote(ilse, at=now, work_order=twins[0].work_order)

    leave_job_out(draft.choices.get(job=twins[0]).pk, by=by(ilse))

    assert asked_of(draft) == [twins[1]]
    assert QuoteOption.objects.filter(choice__revision=draft).count() == 2
    assert asked_of(quotes.start_quote(draft.quote.work_order_id, jobs=[twins[0].pk], by=by(ilse))) == [
        twins[0]
    ]


def test_last_job_is_not_left_out(ilse: Person, by: Acting, now: datetime) -> None:
    draft = draft_quote(ilse, at=now)

    with pytest.raises(Refused, match="at least one job"):
        leave_job_out(draft.choices.get().pk, by=by(ilse))

    assert QuoteChoice.objects.count() == 1


def test_quote_jobs_leave_words_in_the_chain(ilse: Person, by: Acting, twins: list[Job]) -> None:
    draft = quotes.start_quote(twins[0].work_order_id, jobs=[twins[1].pk], by=by(ilse))
    choice = add_job(draft.pk, twins[0].pk, by=by(ilse))
    quote_jobs.leave_job_out(choice.pk, by=by(ilse))

    verbs = Activity.objects.order_by("seq").values_list("verb", flat=True)
    assert list(verbs) == ["start quote", "add job to quote", "leave job out of quote"]
