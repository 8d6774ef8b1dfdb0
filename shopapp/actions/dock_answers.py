"""A customer's answer that was signed at a tablet without a connection: in force once it is received."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.approvals import name_given, printable, settle
from shopapp.actions.quote_drafts import lock_revision
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.signatures import checked_strokes
from shopapp.calc.money import to_minor
from shopapp.models import AnswerHow, Approval, DockCall, Job, Person, QuoteRevision
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shown import stored_content

LONGEST_DEVICE = 300


@dataclass(frozen=True, kw_only=True)
class DockAnswerInput:
    """What the tablet wrote down: which revision it showed and by which hash, what was chosen, who signed.

    ``total`` is the sum with tax that stood above the signature; ``None`` where everything was declined. It
    is compared and never believed. ``browser`` and ``address`` say from where it was sent; ``witness`` and
    ``tablet`` who saw it signed and on which tablet, where the desk takes it in.
    """

    call: int
    revision: int
    shown_sha256: str
    consent_version: str
    is_declined: bool
    chosen: Mapping[int, int | None]
    total: Decimal | None
    signed_name: str
    strokes: str = ""
    reason: str = ""
    wants_parts_back: bool | None = None
    address: str | None = None
    browser: str = ""
    witness: int | None = None
    tablet: str = ""


@transaction.atomic
def answer_at_dock(job_pk: int, data: DockAnswerInput, *, by: Actor) -> Approval:
    """Write the answer that a customer signed at the dock, by the same rules as one at the counter.

    It counts from when it was signed (``by.at``); when the shop received it stands beside it, and both are
    in the hash. The hash of what was shown, the consent and the total of exactly the chosen set must be those
    of the shop. Locks the work order, the revision, last the chain head: of several senders, and of a
    customer who answers by another way meanwhile, the first answers and the others are refused. If the power
    fails, either the answer is there with everything that follows from it, or the quote is still open.
    Somebody at the tablet needs a dock call that was in force when it was signed; the desk may take in what
    could not be taken by itself. Raises NotAllowed, Refused, BadInput.
    """
    witness, taker = _people(data, by=by)
    revision = _lock(job_pk, data)
    if by.scope == Scope.BENCH:
        _require_call(data.call, revision=revision, by=by)
    _require_as_shown(revision, data, by=by)
    tablet = by.device.name if by.device is not None else data.tablet
    answer = Approval(
        how=AnswerHow.DOCK,
        signed_name=name_given(data.signed_name),
        strokes=checked_strokes(data.strokes),
        reason=data.reason,
        decided_at=by.at,
        recorded_at=by.recorded_at,
        recorded_by=taker,
        witness_id=witness,
        address=data.address,
        device=printable(f"{tablet}: {data.browser}")[:LONGEST_DEVICE],
        wants_parts_back=data.wants_parts_back,
    )
    # links are shut when the shop learns of it, not when it was signed
    received = replace(by, at=by.recorded_at)
    entries = settle(revision, answer, chosen=None if data.is_declined else data.chosen, by=received)
    _require_total(answer, data)
    activity.record(entries, by=by)
    return answer


def _people(data: DockAnswerInput, *, by: Actor) -> tuple[int | None, Person | None]:
    """Who saw it signed, and who of the desk takes it in; by itself it is taken from a tablet alone."""
    if by.scope == Scope.BENCH and by.person is not None and by.device is not None:
        return by.person.pk, None
    if by.scope == Scope.DESK:
        return data.witness, desk_person(by)
    raise NotAllowed(_("Only people of the shop bring what was signed at the dock."))


def _lock(job_pk: int, data: DockAnswerInput) -> QuoteRevision:
    visit = Job.objects.filter(pk=job_pk).values("work_order")
    if not QuoteRevision.objects.filter(pk=data.revision, quote__work_order__in=visit).exists():
        raise Refused(_("The quote that was signed does not belong to this work order."))
    return lock_revision(data.revision)


def _require_call(pk: int, *, revision: QuoteRevision, by: Actor) -> None:
    """The work order was handed out to this person at this tablet at that moment."""
    calls = DockCall.objects.filter(
        pk=pk,
        work_order=revision.quote.work_order_id,
        device=by.device,
        person=by.person.pk if by.person is not None else None,
        call_date=local_day(the_shop(), by.at),
        handed_at__lte=by.at,
    )
    call = calls.first()
    if call is None or (call.taken_back_at is not None and call.taken_back_at < by.at):
        raise Refused(_("When it was signed, this work order was not handed out to this person and tablet."))


def _require_as_shown(revision: QuoteRevision, data: DockAnswerInput, *, by: Actor) -> None:
    # of an erased customer nothing is left that could be compared
    if not revision.shown or data.shown_sha256 != revision.shown_sha256:
        raise Refused(_("What the tablet showed is not what the shop sent. Let the customer answer again."))
    if str(stored_content(revision)["facts"]["consent"]["version"]) != data.consent_version:
        raise Refused(_("The words of consent on the tablet are not those of this quote."))
    if revision.sent_at is not None and by.at < revision.sent_at:
        raise Refused(_("By the tablet's clock it was signed before the quote was sent."))


def _require_total(answer: Approval, data: DockAnswerInput) -> None:
    """What stood above the signature is what the shop works out for exactly this set."""
    if data.is_declined:
        return
    shown = None if data.total is None else to_minor(data.total, currency=the_shop().currency)
    if shown != answer.with_tax_minor:
        raise Refused(
            _("The total that stood on the tablet is not what was chosen comes to. Ask the customer again.")
        )
