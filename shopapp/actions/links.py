"""Opens doors for customers: links to one revision, whose token is shown once and never kept."""

import secrets
from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import lock_work_order
from shopapp.calc.errors import BadInput
from shopapp.models import CustomerLink, LinkPurpose, QuoteRevision, RevisionState
from shopapp.queries.links import token_digest
from shopapp.queries.shop import end_of_day, local_day, the_shop

TOKEN_BYTES = 32
COUNTER_LASTS = timedelta(minutes=30)
LONGEST_ADDRESS = 120
VERBS = {LinkPurpose.COUNTER: "hand over quote", LinkPurpose.PHONE: "send link"}


@transaction.atomic
def open_counter(revision_pk: int, *, by: Actor) -> tuple[CustomerLink, str]:
    """Open a sent revision for the customer at the counter; returns the link and its token.

    The token is 32 random bytes; only its hash is stored. Locks the work order, then the revision, last the
    chain head. Counter links opened before are revoked, so a second sender gets a fresh link and the first
    stops working; one on the customer's own phone goes on. If the power fails, either the new link is there
    and the old ones are shut, or nothing is.
    """
    revision = _lock_to_open(revision_pk, by=by)
    return _open(revision, purpose=LinkPurpose.COUNTER, expires_at=by.at + COUNTER_LASTS, by=by)


@transaction.atomic
def open_phone(revision_pk: int, sent_to: str, *, by: Actor) -> tuple[CustomerLink, str]:
    """Open a sent revision for the customer's own phone, for as long as its prices hold.

    ``sent_to`` is the number or address it goes to, kept for the record of the answer. Returns the link and
    its token, of which only the hash is stored. Locks the work order, then the revision, last the chain
    head. A link sent before is revoked, so a second sender's works and the first one's does not. If the
    power fails, either the new link is there and the old one is shut, or nothing is. Raises BadInput
    (``sent_to``), Refused.
    """
    where = sent_to.strip()
    if not where or len(where) > LONGEST_ADDRESS:
        raise BadInput("sent_to", where[:40], _("the phone number or email address that it goes to"))
    revision = _lock_to_open(revision_pk, by=by)
    until = revision.valid_until_date or local_day(the_shop(), by.at)
    expires_at = end_of_day(the_shop(), until)
    return _open(revision, purpose=LinkPurpose.PHONE, expires_at=expires_at, by=by, sent_to=where)


@transaction.atomic
def revoke_phone(revision_pk: int, *, by: Actor) -> None:
    """Shut the links to a revision on customers' own phones; who opens one finds nothing.

    Locks the work order, then the revision, last the chain head. A second sender finds nothing left to shut
    and is refused. If the power fails, either all of them are shut or none is.
    """
    desk_person(by)
    work_order = lock_work_order(_work_order_of(revision_pk))
    revision = locked(QuoteRevision.objects.filter(pk=revision_pk)).get()
    if not revoke_links([revision.pk], by=by, purpose=LinkPurpose.PHONE):
        raise Refused(_("There is no link to shut: none was sent, or it is shut already."))
    entry = Entry(verb="shut link", record=revision, work_order=work_order)
    activity.record([entry], by=by)


def revoke_links(revision_pks: list[int], *, by: Actor, purpose: LinkPurpose | None = None) -> int:
    """Shut every open link to these (locked) revisions at the actor's moment; returns how many."""
    links = CustomerLink.objects.filter(revision__in=revision_pks, revoked_at__isnull=True)
    return (links if purpose is None else links.filter(purpose=purpose)).update(revoked_at=by.at)


def _lock_to_open(revision_pk: int, *, by: Actor) -> QuoteRevision:
    """The revision, locked after its work order, once a customer may be let in."""
    desk_person(by)
    work_order = lock_work_order(_work_order_of(revision_pk))
    revision = locked(QuoteRevision.objects.filter(pk=revision_pk)).get()
    if revision.state != RevisionState.SENT:
        raise Refused(_("Only a quote that was sent and not answered yet can be handed over."))
    if revision.valid_until_date is not None and local_day(the_shop(), by.at) > revision.valid_until_date:
        raise Refused(_("The prices of this quote have run out. Revise it and send it again."))
    revision.quote.work_order = work_order
    return revision


def _open(
    revision: QuoteRevision, *, purpose: LinkPurpose, expires_at: datetime, by: Actor, sent_to: str = ""
) -> tuple[CustomerLink, str]:
    revoke_links([revision.pk], by=by, purpose=purpose)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    link = CustomerLink.objects.create(
        revision=revision,
        purpose=purpose,
        sent_to=sent_to,
        token_sha256=token_digest(token),
        created_by=desk_person(by),
        created_at=by.at,
        expires_at=expires_at,
    )
    work_order = revision.quote.work_order
    entry = Entry(verb=VERBS[purpose], record=revision, facts={"link": link.pk}, work_order=work_order)
    activity.record([entry], by=by)
    return link, token


def _work_order_of(revision_pk: int) -> int:
    return QuoteRevision.objects.values_list("quote__work_order_id", flat=True).get(pk=revision_pk)
