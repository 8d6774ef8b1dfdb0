"""Compares every answer of a customer with what the activity chain says of it."""

import json
from typing import Any

from shopapp.actions.activity import reference
from shopapp.actions.approvals import ANSWERED
from shopapp.documents.quotes import signed_digest
from shopapp.models import Activity, Approval


def first_unfaithful_answer() -> str | None:
    """Walk the answers that the chain tells of; the sentence names the first that is wrong, or ``None``.

    The hash of what was signed is worked out anew from the rows (answer, choices, what was shown) and must
    be the one in the row and in the chain. Proves something only of a chain that holds
    (``activity.first_bad_link``). Of an entry whose facts were erased only the row's own hash is left.
    Nothing is locked; four queries an answer.
    """
    for entry in Activity.objects.filter(verb=ANSWERED).order_by("seq").iterator(chunk_size=1000):
        if (fault := _fault_of(entry)) is not None:
            return fault
    return _first_untold()


def _fault_of(entry: Activity) -> str | None:
    revision_pk = int(entry.record.partition(":")[2])
    answers = Approval.objects.select_related("revision__quote__work_order__customer")
    approval = answers.filter(revision=revision_pk).first()
    if approval is None:
        return f"Activity {entry.seq} tells of an answer to {entry.record}, which is not there any more."
    chosen = dict(approval.choices.values_list("choice", "option"))
    if not _is_erased(approval) and signed_digest(approval, chosen=chosen) != approval.signed_sha256:
        return f"The answer to {approval.revision} is not what was signed."
    facts: dict[str, Any] = json.loads(entry.payload) if entry.payload is not None else {}
    if facts and facts["signed_sha256"] != approval.signed_sha256:
        return f"The answer to {approval.revision} is not the one that activity {entry.seq} tells of."
    return None


def _is_erased(approval: Approval) -> bool:
    """Its texts went with the customer's data; the chain still tells of the hash of what was signed."""
    is_blank = not approval.revision.shown
    return is_blank and approval.revision.quote.work_order.customer.erased_at is not None


def _first_untold() -> str | None:
    """An answer that somebody wrote past the app; one a moment old has its entry by the time it is seen."""
    for approval in Approval.objects.select_related("revision__quote").order_by("pk").iterator():
        told = Activity.objects.filter(verb=ANSWERED, record=reference(approval.revision))
        if not told.exists():
            return f"The answer to {approval.revision} is not in the chain."
    return None
