"""What comes next on a job and on a visit: one step for the viewer, or a sentence why there is none."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shopapp import access
from shopapp.models import CLOSED_STAGES, Job, Outcome, Person, Stage, WorkOrder
from shopapp.queries.job_rules import endings, may_start_now, may_waive_test, ways_back

# what is left to say of a job that has ended
ENDED: Mapping[str, Any] = {
    Outcome.DONE: gettext_lazy("The work on this job is finished."),
    Outcome.NO_FAULT: gettext_lazy("No fault was found. There is nothing to put right."),
    Outcome.DECLINED: gettext_lazy("The customer declined. The boat goes home put back together."),
    Outcome.DECLINED_IN_BOXES: gettext_lazy("The customer declined. It goes home in boxes."),
    Outcome.DECLINED_AS_SCRAP: gettext_lazy("The customer declined and leaves it here for scrap."),
    Outcome.LATER: gettext_lazy("Put off to another visit."),
}


@dataclass(frozen=True, kw_only=True)
class Step:
    """A thing to do: what the button says, the page or the POST it leads to."""

    word: str
    url_name: str
    pk: int
    is_post: bool = False
    anchor: str = ""


@dataclass(frozen=True, kw_only=True)
class Next:
    """The step, if there is one for this viewer; and a sentence for everybody."""

    step: Step | None = None
    sentence: str = ""


@dataclass(frozen=True, kw_only=True)
class Door:
    """A page where something less usual is done with a job."""

    word: str
    url_name: str


@dataclass(frozen=True, kw_only=True)
class Offer:
    """Where the quotes stand with a job: the draft that asks about it, the one that the customer has.

    ``is_other_draft`` when a draft is being written that asks about other jobs only; ``is_agreed`` when an
    approval in force covers the job already.
    """

    draft: int | None = None
    sent: int | None = None
    is_other_draft: bool = False
    is_agreed: bool = False


@dataclass(frozen=True, kw_only=True)
class Bill:
    """Where the bill of a visit stands; it is needed while something may be billed that is not."""

    draft: int | None = None
    unpaid: int | None = None
    is_needed: bool = False


def next_of_job(job: Job, *, viewer: Person, offer: Offer) -> Next:
    """The next step of a job by its stage; the quote's steps are the desk's. No query."""
    if job.stage == Stage.DIAGNOSIS:
        return _after_diagnosis(job, viewer=viewer, offer=offer)
    if job.stage == Stage.WITH_CUSTOMER:
        return _with_customer(viewer, offer)
    return Next(step=_step_at(job), sentence=_sentence_at(job))


def _step_at(job: Job) -> Step | None:
    match job.stage:
        case Stage.HERE:
            return _step(job, _("Start the diagnosis"), "start_diagnosis", is_post=True)
        case Stage.IN_LINE:
            return _step(job, _("Start the work"), "start_work", is_post=True)
        case Stage.IN_HAND:
            return _step(job, _("Go to the work"), "bench")
        case Stage.TEST:
            return _step(job, _("Record the test"), "bench", anchor="job-test")
    return None


def _step(job: Job, word: str, name: str, *, is_post: bool = False, anchor: str = "") -> Step:
    return Step(word=word, url_name=f"work_orders:{name}", pk=job.pk, is_post=is_post, anchor=anchor)


def _sentence_at(job: Job) -> str:
    if job.stage == Stage.BOOKED:
        return _("Booked. The work begins when the boat is here.")
    return str(ENDED.get(job.outcome, ""))


def _after_diagnosis(job: Job, *, viewer: Person, offer: Offer) -> Next:
    if not job.cause:
        return Next(step=_step(job, _("Write the findings"), "findings"))
    if offer.is_agreed:
        step = _step(job, _("Start the work"), "start_work", is_post=True)
        return Next(step=step, sentence=_("The customer has agreed already. More to do? Write a supplement."))
    if not access.may_price(viewer):
        return Next(sentence=_("The findings are written. The desk writes the quote now."))
    if offer.draft is not None:
        step = Step(word=_("Go on with the quote"), url_name="quotes:edit", pk=offer.draft)
        return Next(step=step)
    if offer.is_other_draft:
        # one click would open the other draft, in which this job is not
        return Next(step=Step(word=_("Write the quote"), url_name="quotes:choose", pk=job.work_order_id))
    return Next(
        step=Step(word=_("Write the quote"), url_name="quotes:start", pk=job.work_order_id, is_post=True)
    )


def _with_customer(viewer: Person, offer: Offer) -> Next:
    sentence = _("The customer has the quote. The work waits for the answer.")
    if not access.may_price(viewer) or offer.sent is None:
        return Next(sentence=sentence)
    step = Step(word=_("Open the quote"), url_name="quotes:preview", pk=offer.sent)
    return Next(step=step, sentence=sentence)


def doors_of_job(job: Job, *, viewer: Person, is_agreed: bool) -> tuple[Door, ...]:
    """What else this viewer may do with an open job where it stands. No query."""
    is_desk = access.may_use_desk(viewer)
    is_callable = is_desk and may_start_now(job, is_agreed=is_agreed)
    is_early = job.stage in (Stage.HERE, Stage.DIAGNOSIS)
    doors = (
        (is_desk, _("How the job is set"), "work_orders:settings"),
        (is_callable, _("Start now, by phone yes"), "quotes:start_now"),
        (is_desk and is_early, _("Small work under the limit"), "work_orders:small_work"),
        (bool(endings(job, viewer=viewer)), _("End it without doing it"), "work_orders:ending"),
        (bool(ways_back(job, viewer=viewer, is_agreed=is_agreed)), _("Send it back"), "work_orders:way_back"),
        (may_waive_test(job, viewer=viewer), _("Let it go without the test"), "work_orders:waiver"),
        (access.may_see_costs(viewer), _("Where it comes from"), "work_orders:cause"),
    )
    if job.stage in CLOSED_STAGES:
        return ()
    return tuple(Door(word=word, url_name=name) for is_open, word, name in doors if is_open)


def next_of_visit(work_order: WorkOrder, *, bill: Bill, is_all_declined: bool = False) -> Next:
    """What the desk does once every job is ready: tell, bill, take the payment, hand back."""
    if work_order.stage != Stage.READY:
        return Next()
    if work_order.told_at is None:
        declined = _("The customer wants nothing done now. Put the boat back together, then tell them.")
        return Next(sentence=declined if is_all_declined else _("Every job is ready. Tell the customer."))
    if bill.draft is not None:
        step = Step(word=_("Go on with the invoice"), url_name="invoices:detail", pk=bill.draft)
        return Next(step=step, sentence=_("The invoice is not issued yet."))
    if bill.is_needed:
        step = Step(word=_("Write the invoice"), url_name="invoices:draft", pk=work_order.pk, is_post=True)
        return Next(step=step, sentence=_("The customer knows. Now the invoice."))
    if bill.unpaid is not None:
        step = Step(word=_("Take the payment"), url_name="invoices:detail", pk=bill.unpaid)
        return Next(step=step, sentence=_("The invoice is issued and not paid in full."))
    return Next(sentence=_("Nothing is owed. The boat may go home."))
