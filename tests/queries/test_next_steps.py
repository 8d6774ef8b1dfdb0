"""What comes next, for whom."""

import pytest

from shopapp.models import Job, Outcome, Person, Stage, WorkOrder
from shopapp.queries.next_steps import Bill, Next, Offer, Step, next_of_job, next_of_visit

NOBODY_ASKED = Offer()


def told(step: Next) -> tuple[str, str, str]:
    """Button, address and sentence."""
    if step.step is None:
        return "", "", step.sentence
    return step.step.word, step.step.url_name, step.sentence


TECHNICIAN = Person(is_technician=True)
DESK = Person(is_front_desk=True)


@pytest.mark.parametrize("viewer", [TECHNICIAN, DESK])
@pytest.mark.parametrize(
    ("stage", "word", "url_name"),
    [
        (Stage.HERE, "Start the diagnosis", "work_orders:start_diagnosis"),
        (Stage.DIAGNOSIS, "Write the findings", "work_orders:findings"),
        (Stage.IN_LINE, "Start the work", "work_orders:start_work"),
        (Stage.IN_HAND, "Go to the work", "work_orders:bench"),
        (Stage.TEST, "Record the test", "work_orders:bench"),
    ],
)
def test_job_has_one_step_for_everybody(viewer: Person, stage: Stage, word: str, url_name: str) -> None:
    step = next_of_job(Job(pk=7, stage=stage), viewer=viewer, offer=NOBODY_ASKED)

    assert told(step) == (word, url_name, "")


@pytest.mark.parametrize(
    ("viewer", "offer", "expected"),
    [
        (TECHNICIAN, Offer(), ("", "", "The findings are written. The desk writes the quote now.")),
        (DESK, Offer(), ("Write the quote", "quotes:start", "")),
        (DESK, Offer(draft=3), ("Go on with the quote", "quotes:edit", "")),
        (DESK, Offer(is_other_draft=True), ("Write the quote", "quotes:choose", "")),
    ],
)
def test_findings_lead_to_the_quote(viewer: Person, offer: Offer, expected: tuple[str, str, str]) -> None:
    job = Job(pk=7, work_order_id=2, stage=Stage.DIAGNOSIS, cause="Seal cut")

    assert told(next_of_job(job, viewer=viewer, offer=offer)) == expected


@pytest.mark.parametrize(
    ("viewer", "offer", "word"),
    [(TECHNICIAN, Offer(sent=3), ""), (DESK, Offer(), ""), (DESK, Offer(sent=3), "Open the quote")],
)
def test_job_waits_for_the_customer(viewer: Person, offer: Offer, word: str) -> None:
    step = next_of_job(Job(pk=7, stage=Stage.WITH_CUSTOMER), viewer=viewer, offer=offer)

    assert (told(step)[0], step.sentence) == (
        word,
        "The customer has the quote. The work waits for the answer.",
    )


@pytest.mark.parametrize(
    ("stage", "outcome", "sentence"),
    [
        (Stage.BOOKED, Outcome.OPEN, "Booked. The work begins when the boat is here."),
        (Stage.READY, Outcome.DONE, "The work on this job is finished."),
        (
            Stage.READY,
            Outcome.DECLINED,
            "The customer declined. The boat goes home put back together.",
        ),
        (Stage.READY, Outcome.DECLINED_IN_BOXES, "The customer declined. It goes home in boxes."),
        (Stage.READY, Outcome.DECLINED_AS_SCRAP, "The customer declined and leaves it here for scrap."),
        (Stage.READY, Outcome.LATER, "Put off to another visit."),
        (Stage.READY, Outcome.NO_FAULT, "No fault was found. There is nothing to put right."),
        (Stage.CANCELLED, Outcome.OPEN, ""),
    ],
)
def test_job_without_a_step_says_why(stage: Stage, outcome: Outcome, sentence: str) -> None:
    step = next_of_job(Job(pk=7, stage=stage, outcome=outcome), viewer=DESK, offer=NOBODY_ASKED)

    assert told(step) == ("", "", sentence)


@pytest.mark.parametrize(
    ("is_told", "bill", "expected"),
    [
        (False, Bill(is_needed=True), ("", "", "Every job is ready. Tell the customer.")),
        (
            True,
            Bill(is_needed=True),
            ("Write the invoice", "invoices:draft", "The customer knows. Now the invoice."),
        ),
        (
            True,
            Bill(is_needed=True, draft=5),
            ("Go on with the invoice", "invoices:detail", "The invoice is not issued yet."),
        ),
        (
            True,
            Bill(unpaid=5),
            ("Take the payment", "invoices:detail", "The invoice is issued and not paid in full."),
        ),
        (
            True,
            Bill(is_needed=True, unpaid=5),
            ("Write the invoice", "invoices:draft", "The customer knows. Now the invoice."),
        ),
        (True, Bill(), ("", "", "Nothing is owed. The boat may go home.")),
    ],
)
def test_ready_visit_goes_home_step_by_step(
    now: object, is_told: bool, bill: Bill, expected: tuple[str, str, str]
) -> None:
    work_order = WorkOrder(pk=2, stage=Stage.READY, told_at=now if is_told else None)

    assert told(next_of_visit(work_order, bill=bill)) == expected


def test_declined_visit_is_not_called_ready() -> None:
    work_order = WorkOrder(pk=2, stage=Stage.READY)

    sentence = next_of_visit(work_order, bill=Bill(), is_all_declined=True).sentence

    assert sentence == "The customer wants nothing done now. Put the boat back together, then tell them."


def test_visit_that_is_not_ready_has_no_step() -> None:
    assert next_of_visit(WorkOrder(pk=2, stage=Stage.TEST), bill=Bill()) == Next()


def test_step_to_the_test_leads_to_its_place() -> None:
    step = next_of_job(Job(pk=7, stage=Stage.TEST), viewer=DESK, offer=NOBODY_ASKED).step

    assert step == Step(word="Record the test", url_name="work_orders:bench", pk=7, anchor="job-test")
