"""The terms on which a boat is taken in: written, shown, signed once; afterwards only new terms."""

import secrets
from dataclasses import asdict, dataclass
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, versions
from shopapp.actions.activity import Entry, Payload
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.changes import changed, told
from shopapp.actions.links import COUNTER_LASTS, TOKEN_BYTES
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.rights import desk_person
from shopapp.actions.signatures import checked_strokes
from shopapp.actions.stages import lock_work_order
from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_minor
from shopapp.documents.canonical import canonical, digest
from shopapp.documents.intakes import signed_digest
from shopapp.models import CLOSED_STAGES, CustomerLink, Intake, Person, SignedHow, WorkOrder
from shopapp.queries.intakes import intake_content, usual_terms
from shopapp.queries.links import token_digest
from shopapp.queries.shop import the_shop

LONGEST_NAME = 120
SIGNED = "sign intake"


@dataclass(frozen=True, kw_only=True)
class TermsInput:
    """What the shop may do and ask; amounts in the shop's currency, without tax."""

    diagnosis_fee: Decimal = Decimal(0)
    spending_limit: Decimal = Decimal(0)
    limit_comes_on_top: bool = False
    may_run: bool = False
    may_move: bool = False
    may_launch: bool = False
    wants_parts_back: bool = False


@dataclass(frozen=True, kw_only=True)
class SignInput:
    """A signature: the name, maybe a drawing, and the hash of exactly what was read (``seen_sha256``)."""

    signed_name: str
    seen_sha256: str
    strokes: str = ""
    address: str | None = None
    device: str = ""


def usual_terms_input() -> TermsInput:
    """The shop's usual figures, for a boat that nobody wrote terms for. One query."""
    return TermsInput(**asdict(usual_terms(the_shop())))


def begin_intake(work_order: WorkOrder, terms: TermsInput, *, by: Actor) -> Intake:
    """The unsigned terms of a visit that was just opened, inside the caller's transaction. BadInput."""
    return Intake.objects.create(work_order=work_order, created_at=by.at, **_values(terms))


@transaction.atomic
def write_terms(work_order_pk: int, terms: TermsInput, *, version: int, by: Actor) -> Intake:
    """Change the terms that nobody signed yet; after a signature, begin new ones beside the signed ones.

    ``version`` is that of the unsigned terms, 0 where there are none. Locks the work order, last the chain
    head. Of two writers the second gets Stale with the row as it is; the same terms again leave no trace.
    If the power fails, the terms are as before. A signed intake stays in force until the new one is signed.
    Raises BadInput, Refused once the visit is over.
    """
    desk_person(by)
    work_order = lock_work_order(work_order_pk)
    _require_open(work_order)
    values = _values(terms)
    unsigned = Intake.objects.filter(work_order=work_order, signed_at__isnull=True).first()
    if unsigned is None:
        row = Intake.objects.create(work_order=work_order, created_at=by.at, **values)
        activity.record([Entry(verb="begin terms", record=row, facts=values, work_order=work_order)], by=by)
        return row
    changes = changed(unsigned, values)
    if not changes:
        return unsigned
    facts = told(unsigned, changes)
    saved = versions.save_edit(unsigned, version=version, changes=changes)
    activity.record([Entry(verb="edit terms", record=saved, facts=facts, work_order=work_order)], by=by)
    return saved


@transaction.atomic
def open_intake(intake_pk: int, *, by: Actor) -> tuple[CustomerLink, str]:
    """Open unsigned terms for the customer at the counter; returns the link and its token, shown once.

    Only the token's hash is stored. Locks the work order, last the chain head. Links opened before are shut,
    so a second sender gets a fresh one. If the power fails, the new link is there or the old one holds.
    """
    person = desk_person(by)
    work_order = lock_work_order(_work_order_of(intake_pk))
    intake = Intake.objects.get(pk=intake_pk)
    if intake.signed_at is not None:
        raise Refused(_("These terms are signed already."))
    _require_open(work_order)
    CustomerLink.objects.filter(intake=intake, revoked_at__isnull=True).update(revoked_at=by.at)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    link = CustomerLink.objects.create(
        intake=intake,
        token_sha256=token_digest(token),
        created_by=person,
        created_at=by.at,
        expires_at=by.at + COUNTER_LASTS,
    )
    facts: Payload = {"link": link.pk}
    entry = Entry(verb="hand over intake", record=intake, facts=facts, work_order=work_order)
    activity.record([entry], by=by)
    return link, token


@transaction.atomic
def sign_intake(intake_pk: int, data: SignInput, *, by: Actor) -> Intake:
    """Put a signature under the terms: by the customer behind a link, or by the desk from a signed paper.

    What is signed is what was read: the text is rebuilt from the rows under the lock and must have the hash
    that the page carried. The chain gets the hash of the signature. Locks the work order, the intake, last
    the chain head: of two signers the first signs, the other is refused. If the power fails, the signature
    is there with its evidence, or the terms are still open. Raises NotAllowed, Refused, BadInput.
    """
    work_order = lock_work_order(_work_order_of(intake_pk))
    intake = locked(Intake.objects.filter(pk=intake_pk)).get()
    witness = _witness(intake, by=by)
    if intake.signed_at is not None:
        raise Refused(_("These terms are signed already."))
    _require_open(work_order)
    text = canonical(intake_content(intake, at=by.at))
    if digest(text) != data.seen_sha256:
        raise Refused(_("Something on this sheet has changed since it was opened. Please read it once more."))
    _put_signature(intake, data, witness=witness, text=text, by=by)
    links = CustomerLink.objects.filter(intake=intake, revoked_at__isnull=True)
    links.update(revoked_at=by.at)
    facts: Payload = {
        "how": intake.signed_how,
        "signed_sha256": intake.signed_sha256,
        "strokes_sha256": digest(intake.strokes),
    }
    activity.record([Entry(verb=SIGNED, record=intake, facts=facts, work_order=work_order)], by=by)
    return intake


def _put_signature(intake: Intake, data: SignInput, *, witness: Person, text: str, by: Actor) -> None:
    is_by_link = by.scope == Scope.LINK
    intake.signed_at = by.at
    intake.signed_how = SignedHow.TABLET if is_by_link else SignedHow.PAPER
    intake.signed_name = _signed_name(data)
    intake.strokes = checked_strokes(data.strokes) if is_by_link else ""
    intake.witness = witness
    intake.address = data.address if is_by_link else None
    intake.device = "".join(char for char in data.device if char.isprintable())[:300] if is_by_link else ""
    intake.shown, intake.shown_sha256 = text, digest(text)
    intake.signed_sha256 = signed_digest(intake)
    intake.version += 1
    intake.save()


def _witness(intake: Intake, *, by: Actor) -> Person:
    """Who handed the tablet over, or who took the signed paper. Raises NotAllowed, Refused."""
    if by.scope != Scope.LINK:
        return desk_person(by)
    links = CustomerLink.objects.select_related("created_by")
    link = links.filter(pk=by.link.pk).first() if by.link is not None else None
    if link is None or link.intake_id != intake.pk:
        raise NotAllowed(_("This link does not lead to these terms."))
    if intake.signed_at is None and (link.revoked_at is not None or link.expires_at <= by.at):
        raise Refused(_("This link is no longer in force. Please ask the shop for a new one."))
    return link.created_by


def _signed_name(data: SignInput) -> str:
    name = data.signed_name.strip()
    if not name or len(name) > LONGEST_NAME:
        raise BadInput("signed_name", name, _("your name, in at most 120 letters"))
    return name


def _require_open(work_order: WorkOrder) -> None:
    if work_order.stage in CLOSED_STAGES:
        raise Refused(_("This visit is over; its terms stay as they are."))


def _work_order_of(intake_pk: int) -> int:
    return Intake.objects.values_list("work_order_id", flat=True).get(pk=intake_pk)


def _values(terms: TermsInput) -> dict[str, int | bool]:
    currency = the_shop().currency
    amounts = {name: getattr(terms, name) for name in ("diagnosis_fee", "spending_limit")}
    for name, amount in amounts.items():
        if amount < 0:
            raise BadInput(name, amount, _("an amount from 0 on"))
    minor = {
        f"{name}_minor": to_minor(amount, currency=currency, field=name) for name, amount in amounts.items()
    }
    return {**minor, **{name: value for name, value in asdict(terms).items() if name not in amounts}}
