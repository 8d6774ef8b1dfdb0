"""The people on a visit are changed as a whole."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.refusals import NotAllowed
from shopapp.actions.visit_people import PersonOnVisit, edit_people
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Person, VisitPerson, WorkOrder
from tests.factories import CustomerFactory, WorkOrderFactory

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]

CLEO = PersonOnVisit(part="approver", name="Cleo Dahl", up_to=Decimal(500))
BO = PersonOnVisit(part="collector", name="Bo Holm", phone="604 555 0199")


def people_of(order: WorkOrder) -> list[tuple[object, ...]]:
    return list(order.people.order_by("part").values_list("part", "name", "phone", "up_to_minor"))


def test_people_are_named_and_taken_off(ilse: Person, by: By) -> None:
    order = WorkOrderFactory()
    edit_people(order.pk, [CLEO, BO], purchase_order=" PO-1 ", by=by(ilse))
    first = people_of(order)

    edit_people(order.pk, [BO], purchase_order="PO-1", by=by(ilse))

    order.refresh_from_db()
    assert first == [("approver", "Cleo Dahl", "", 50_000), ("collector", "Bo Holm", "604 555 0199", None)]
    assert (people_of(order), order.purchase_order) == (
        [("collector", "Bo Holm", "604 555 0199", None)],
        "PO-1",
    )
    assert Activity.objects.filter(verb="edit people").count() == 2


def test_same_people_leave_no_trace(ilse: Person, by: By) -> None:
    order = WorkOrderFactory()
    for _ in range(2):
        edit_people(order.pk, [BO], purchase_order="", by=by(ilse))

    assert Activity.objects.count() == 1


def test_payer_is_a_known_customer(ilse: Person, by: By) -> None:
    order, payer = WorkOrderFactory(), CustomerFactory(name="Harbour Insurance")

    edit_people(order.pk, [PersonOnVisit(part="payer", customer=payer.pk)], purchase_order="", by=by(ilse))

    row = order.people.get()
    assert (row.customer, row.name, row.phone) == (payer, "Harbour Insurance", payer.phone)


@pytest.mark.parametrize(
    ("one", "field"),
    [
        (PersonOnVisit(part="captain", name="Bo"), "people"),
        (PersonOnVisit(part="bringer", name=" "), "bringer_name"),
        (PersonOnVisit(part="payer", name="Bo"), "payer"),
        (PersonOnVisit(part="payer", customer=0), "payer"),
        (PersonOnVisit(part="approver", name="Bo", up_to=Decimal(-1)), "approver_up_to"),
        (PersonOnVisit(part="approver", name="Bo", up_to=Decimal("0.005")), "approver_up_to"),
        (PersonOnVisit(part="bringer", name="Bo", up_to=Decimal(1)), "approver_up_to"),
    ],
)
def test_odd_person_changes_nothing(ilse: Person, by: By, one: PersonOnVisit, field: str) -> None:
    order = WorkOrderFactory()
    edit_people(order.pk, [BO], purchase_order="", by=by(ilse))

    with pytest.raises(BadInput) as refusal:
        edit_people(order.pk, [one], purchase_order="", by=by(ilse))

    assert (refusal.value.field, [row.name for row in VisitPerson.objects.all()]) == (field, ["Bo Holm"])


def test_technician_names_nobody(tobiah: Person, by: By) -> None:
    with pytest.raises(NotAllowed):
        edit_people(WorkOrderFactory().pk, [BO], purchase_order="", by=by(tobiah))

    assert VisitPerson.objects.count() == 0
