"""Opens doors for customers: links to one revision, whose token is shown once and never kept."""

import secrets
from datetime import timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.stages import lock_work_order
from shopapp.models import CustomerLink, QuoteRevision, RevisionState
from shopapp.queries.links import token_digest
from shopapp.queries.shop import local_day, the_shop

TOKEN_BYTES = 32
COUNTER_LASTS = timedelta(minutes=30)


@transaction.atomic
def open_counter(revision_pk: int, *, by: Actor) -> tuple[CustomerLink, str]:
    """Open a sent revision for the customer at the counter; returns the link and its token.

    The token is 32 random bytes; only its hash is stored. Locks the work order, then the revision, last the
    chain head. Links opened before are revoked, so a second sender gets a fresh link and the first stops
    working. If the power fails, either the new link is there and the old ones are shut, or nothing is.
    """
    person = desk_person(by)
    work_order = lock_work_order(_work_order_of(revision_pk))
    revision = QuoteRevision.objects.select_for_update().get(pk=revision_pk)
    if revision.state != RevisionState.SENT:
        raise Refused(_("Only a quote that was sent and not answered yet can be handed over."))
    if revision.valid_until_date is not None and local_day(the_shop(), by.at) > revision.valid_until_date:
        raise Refused(_("The prices of this quote have run out. Revise it and send it again."))
    revoke_links([revision.pk], by=by)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    link = CustomerLink.objects.create(
        revision=revision,
        token_sha256=token_digest(token),
        created_by=person,
        created_at=by.at,
        expires_at=by.at + COUNTER_LASTS,
    )
    entry = Entry(verb="hand over quote", record=revision, facts={"link": link.pk}, work_order=work_order)
    activity.record([entry], by=by)
    return link, token


def revoke_links(revision_pks: list[int], *, by: Actor) -> None:
    """Shut every open link to these (locked) revisions at the actor's moment."""
    links = CustomerLink.objects.filter(revision__in=revision_pks, revoked_at__isnull=True)
    links.update(revoked_at=by.at)


def _work_order_of(revision_pk: int) -> int:
    return QuoteRevision.objects.values_list("quote__work_order_id", flat=True).get(pk=revision_pk)
