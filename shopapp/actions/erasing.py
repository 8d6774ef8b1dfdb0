"""Erases a customer's data: contact data goes, what the law keeps stays, every figure is as before."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from django.db import models, transaction
from django.db.models import Case, Exists, OuterRef, Q, QuerySet, Value, When
from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions import activity, search_texts
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.documents.approvals import approval_key
from shopapp.documents.papers import forget_papers
from shopapp.files.tombstones import unfinished, write_tombstone
from shopapp.models import (
    UNSENT,
    Activity,
    Approval,
    CallSlip,
    CustodyEntry,
    Customer,
    CustomerLink,
    Intake,
    Invoice,
    PaperKind,
    ParkedForm,
    PlacedHold,
    Question,
    QuoteRevision,
    StoredPaper,
    TabletEntry,
    Vessel,
    VesselOwnership,
    VisitPerson,
    WorkOrder,
)
from shopapp.queries.customers import phone_digits
from shopapp.queries.entry_texts import SIGNATURE
from shopapp.queries.erasure import obstacle_to_erasing
from shopapp.queries.personal_fields import MARK, MARKED, Fate, fields_of
from shopapp.queries.shop import local_day, the_shop

ERASED = "erase customer"
# their facts are hashes, sums and numbers of documents, which prove what stays
PROVEN = (
    "answer quote",
    "sign intake",
    "issue invoice",
    "take payment",
    "take deposit",
    "give refund",
    ERASED,
)
FEWEST_DIGITS = 5


@dataclass(frozen=True, kw_only=True)
class Theirs:
    """The rows of one model that tell of a customer; of which no bill rests on ``unbilled``."""

    rows: "QuerySet[Any]"
    unbilled: "QuerySet[Any] | None" = None


@transaction.atomic
def erase_customer(pk: int, *, by: Actor) -> Customer:
    """Erase the data of a customer for good, but for what the law keeps (``personal_fields.FATES``).

    Refused while work is open or money is owed. Locks their work orders, then the customer, so nobody opens
    a visit meanwhile, and last the chain head; facts and salts of the chain go, its hashes stay. The
    tombstone is on the disk before the commit. A second sender finds them erased and writes nothing. If the
    power fails after the tombstone and before the commit, nothing is erased yet: ``verify_shop`` says so,
    and ``finish_erasures`` (which ``restore`` runs as well) does it. Raises NotAllowed for anybody but the
    owner, Refused with the reason.
    """
    if by.person is None or not access.may_erase(by.person):
        raise NotAllowed(_("Only the owner erases a customer's data."))
    customer = _locked(pk)
    if customer.erased_at is not None:
        return customer
    if obstacle := obstacle_to_erasing(pk):
        raise Refused(obstacle)
    _remember(pk, by=by)
    return _erase(customer, by=by)


def finish_erasures(*, by: Actor) -> int:
    """Erase whoever has a tombstone and is here, since the power failed or an older backup came back.

    Each in a transaction of its own, locked as by ``erase_customer``. Nothing is asked again: it was decided,
    and in an older backup their work may be open still. Repeating does nothing. Returns how many.
    """
    if by.scope != Scope.SYSTEM:
        raise NotAllowed(_("Only the app itself finishes what was begun."))
    customers = unfinished()
    for pk in customers:
        with transaction.atomic():
            customer = _locked(pk)
            if customer.erased_at is None:
                _erase(customer, by=by)
    return len(customers)


def _remember(pk: int, *, by: Actor) -> None:
    try:
        write_tombstone(pk, day=local_day(the_shop(), by.at))
    except OSError as error:
        said = {"reason": error.strerror or str(error)}
        raise Refused(
            _("Nothing was erased, since it could not be written down for later backups: %(reason)s.") % said
        ) from error


def _locked(pk: int) -> Customer:
    # whoever books money or ends work holds the work order; whoever opens a visit holds the customer
    list(locked(WorkOrder.objects.filter(customer=pk).order_by("pk")).values_list("pk"))
    return locked(Customer.objects.filter(pk=pk)).get()


def _erase(customer: Customer, *, by: Actor) -> Customer:
    """Everything of it; the guards of the database let it through once the customer says they are erased."""
    name, digits = customer.name, phone_digits(customer.phone)
    boats = list(_boats_of_nobody_else(customer.pk))
    visits = WorkOrder.objects.filter(customer=customer.pk)
    _forget_texts(customer, boats=boats)
    customer.erased_at = by.at
    _blank_customer(customer)
    for theirs in _rows_of(customer.pk, visits=visits, boats=boats, digits=digits):
        _blank(theirs)
    _blank_signatures(visits)
    _shut_links(visits, by=by)
    _drop_parked(name=name, digits=digits, pk=customer.pk)
    _drop_papers(visits)
    search_texts.index(customer, *Vessel.objects.filter(pk__in=boats))
    entry = Entry(verb=ERASED, record=customer, facts={"is_billed": _is_billed(customer.pk)})
    activity.record([entry], by=by)
    return customer


def _blank_customer(customer: Customer) -> None:
    for name in fields_of("Customer", Fate.ERASED):
        setattr(customer, name, "")
    customer.name = _("Erased customer %s") % customer.pk
    customer.is_tax_exempt = False
    customer.version += 1
    customer.save()


def _boats_of_nobody_else(customer_pk: int) -> "QuerySet[Vessel, int]":
    others = VesselOwnership.objects.filter(vessel=OuterRef("pk")).exclude(customer=customer_pk)
    theirs = Vessel.objects.filter(ownerships__customer=customer_pk)
    return theirs.exclude(Exists(others)).distinct().values_list("pk", flat=True)


def _rows_of(pk: int, *, visits: "QuerySet[WorkOrder]", boats: list[int], digits: str) -> Iterator[Theirs]:
    """Whatever tells of the customer, from row to row."""
    of_visit, of_quote = Q(work_order__in=visits), Q(revision__quote__work_order__in=visits)
    yield Theirs(rows=visits)
    yield Theirs(rows=Vessel.objects.filter(pk__in=boats))
    yield Theirs(rows=VisitPerson.objects.filter(Q(customer=pk) | of_visit & Q(customer=None)))
    yield Theirs(rows=CustodyEntry.objects.filter(of_visit))
    yield Theirs(rows=PlacedHold.objects.filter(of_visit))
    signed = Intake.objects.filter(of_visit, signed_at__isnull=False)
    yield Theirs(rows=signed, unbilled=signed.exclude(_billed("work_order")))
    answers = Approval.objects.filter(of_quote)
    yield Theirs(rows=answers, unbilled=answers.exclude(_billed("revision__quote__work_order")))
    sent = QuoteRevision.objects.filter(quote__work_order__in=visits).exclude(state__in=UNSENT)
    yield Theirs(rows=sent, unbilled=sent.exclude(_billed("quote__work_order")))
    yield Theirs(rows=Question.objects.filter(of_quote))
    yield Theirs(rows=CustomerLink.objects.filter(of_quote | Q(intake__work_order__in=visits)))
    slips = Q(customer=pk) | of_visit | Q(pk__in=_slips_from(digits))
    yield Theirs(rows=CallSlip.objects.filter(slips))


def _billed(visit: str) -> Exists:
    """A bill was issued on the visit, so what it rests on is kept with it."""
    return Exists(Invoice.objects.filter(work_order=OuterRef(visit), issued_at__isnull=False))


def _is_billed(pk: int) -> bool:
    issued = Invoice.objects.filter(issued_at__isnull=False)
    return issued.filter(Q(customer=pk) | Q(work_order__customer=pk)).exists()


def _slips_from(digits: str) -> list[int]:
    """Calls that nobody put down to a customer, from the same number."""
    if len(digits) < FEWEST_DIGITS:
        return []
    alone = CallSlip.objects.filter(customer=None, work_order=None).values_list("pk", "phone")
    return [pk for pk, phone in alone.iterator(chunk_size=2000) if phone_digits(phone) == digits]


def _blank(theirs: Theirs) -> None:
    model = theirs.rows.model
    label = str(model.__name__)
    if always := _blanks(model, names=fields_of(label, Fate.ERASED)):
        theirs.rows.update(**always)
    if theirs.unbilled is not None:
        theirs.unbilled.update(**_blanks(model, names=fields_of(label, Fate.WHILE_BILLED)))


def _blanks(model: type[models.Model], *, names: tuple[str, ...]) -> Mapping[str, Any]:
    return {name: _blank_of(model, name) for name in names}


def _blank_of(model: type[models.Model], name: str) -> Any:
    if f"{model.__name__}.{name}" in MARKED:
        # what was empty stays so: a mark would say that something had stood there
        return Case(When(**{name: ""}, then=Value("")), default=Value(MARK))
    return None if model._meta.get_field(name).null else ""


def _forget_texts(customer: Customer, *, boats: list[int]) -> None:
    """Facts and salts of the chain together; of what is kept, the proofs stay."""
    visits = WorkOrder.objects.filter(customer=customer.pk)
    slips = CallSlip.objects.filter(customer=customer.pk).values_list("pk", flat=True)
    own = [
        activity.reference(customer),
        *(f"vessel:{pk}" for pk in boats),
        *(f"callslip:{pk}" for pk in slips),
    ]
    told = Activity.objects.filter(Q(work_order__in=visits) | Q(record__in=own), payload__isnull=False)
    told.exclude(verb__in=PROVEN).update(payload=None, salt=None)


def _blank_signatures(visits: "QuerySet[WorkOrder]") -> None:
    """What a tablet sent of a signature goes with the signature; its hash stays, so it is known if it comes
    again."""
    sent = TabletEntry.objects.filter(kind=SIGNATURE, job__work_order__in=visits)
    sent.exclude(_billed("job__work_order")).update(text=MARK)


def _shut_links(visits: "QuerySet[WorkOrder]", *, by: Actor) -> None:
    theirs = Q(revision__quote__work_order__in=visits) | Q(intake__work_order__in=visits)
    CustomerLink.objects.filter(theirs, revoked_at=None).update(revoked_at=by.at)


def _drop_parked(*, name: str, digits: str, pk: int) -> None:
    """Forms put aside that hold the name or the number, or are about the customer."""
    about = f"/customers/{pk}/"
    for row in ParkedForm.objects.iterator(chunk_size=500):
        values = [str(value) for _name, value in row.fields]
        is_theirs = any(
            value == name or (len(digits) >= FEWEST_DIGITS and phone_digits(value) == digits)
            for value in values
        )
        if (
            is_theirs
            or row.path.startswith(about)
            or f"customer={pk}" in row.path.partition("?")[2].split("&")
        ):
            row.delete()


def _drop_papers(visits: "QuerySet[WorkOrder]") -> None:
    """Papers of what is erased go, and all that can be made again from rows; their files after the commit."""
    shown = QuoteRevision.objects.filter(quote__work_order__in=visits, shown="").exclude(shown_sha256="")
    answers = Approval.objects.filter(signed_name=MARK, revision__quote__work_order__in=visits)
    signed = list(answers.values_list("signed_sha256", flat=True))
    keys = [*shown.values_list("shown_sha256", flat=True), *signed, *map(approval_key, signed)]
    kept = Intake.objects.filter(signed_at__isnull=False).exclude(shown="").values("signed_sha256")
    again = Q(document__in=(PaperKind.TAG, PaperKind.WORK_ORDER))
    unsigned = Q(document=PaperKind.INTAKE) & ~Q(content_sha256__in=kept)
    rows = StoredPaper.objects.filter(again | unsigned | Q(content_sha256__in=keys))
    names = list(rows.values_list("pdf_sha256", flat=True))
    rows.delete()
    transaction.on_commit(partial(forget_papers, names))
