"""Customers: written down when they first arrive, edited at the desk."""

from dataclasses import asdict, dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity, search_texts, versions
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.changes import changed, told
from shopapp.actions.locks import locked
from shopapp.actions.refusals import Refused
from shopapp.actions.rights import desk_person
from shopapp.calc.errors import BadInput
from shopapp.models import Customer
from shopapp.queries.customers import phone_digits

FEWEST_DIGITS = 5
MOST_DAYS = 365


@dataclass(frozen=True, kw_only=True)
class CustomerInput:
    """A person or a firm; name and telephone are needed, an exemption from tax needs its reason.

    ``is_account``: the boat goes home before the bill is paid. ``payment_days`` None: as the shop says.
    """

    name: str
    phone: str
    email: str = ""
    address: str = ""
    is_tax_exempt: bool = False
    exemption_number: str = ""
    exemption_reason: str = ""
    note: str = ""
    is_account: bool = False
    payment_days: int | None = None
    needs_purchase_order: bool = False


def add_customer(data: CustomerInput) -> tuple[Customer, Entry]:
    """Write a new customer inside the caller's transaction.

    The caller has asked for the right, indexes the row and records the entry last. Raises BadInput.
    """
    _check(data)
    row = Customer.objects.create(**asdict(data))
    return row, Entry(verb="add customer", record=row, facts={"name": row.name, "phone": row.phone})


@transaction.atomic
def edit_customer(pk: int, data: CustomerInput, *, version: int, by: Actor) -> Customer:
    """Save what the desk changed of a customer.

    Locks the customer, then the chain head. A second sender with the same version gets Stale and writes
    nothing; an edit that changes nothing leaves no trace. If the power fails before the commit the customer
    is as before. Raises BadInput for a missing name, telephone or reason of exemption, Refused once their
    data was erased.
    """
    row = locked(Customer.objects.filter(pk=pk)).get()
    desk_person(by)
    require_known(row)
    _check(data)
    changes = changed(row, asdict(data))
    if not changes:
        return row
    saved = versions.save_edit(row, version=version, changes=changes)
    search_texts.index(saved)
    activity.record([Entry(verb="edit customer", record=saved, facts=told(row, changes))], by=by)
    return saved


def require_known(row: Customer) -> None:
    """Refuse to write anything new of somebody whose data was erased."""
    if row.erased_at is not None:
        raise Refused(_("The data of this customer was erased. Write them down as somebody new."))


def _check(data: CustomerInput) -> None:
    if not data.name.strip():
        raise BadInput("name", data.name, _("the name of a person or a firm"))
    if len(phone_digits(data.phone)) < FEWEST_DIGITS:
        accepted = _("a telephone number with %s digits or more") % FEWEST_DIGITS
        raise BadInput("phone", data.phone, accepted)
    if data.is_tax_exempt and not data.exemption_reason.strip():
        accepted = _("the reason why this customer pays no tax")
        raise BadInput("exemption_reason", data.exemption_reason, accepted)
    if data.payment_days is not None and not 0 <= data.payment_days <= MOST_DAYS:
        raise BadInput("payment_days", data.payment_days, _("0 to %s days, or nothing") % MOST_DAYS)
