"""Customers are edited at the desk."""

import json
from collections.abc import Callable
from dataclasses import replace

import pytest

from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor
from shopapp.actions.customers import CustomerInput, add_customer, edit_customer
from shopapp.actions.refusals import NotAllowed, Stale
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Customer, Person
from shopapp.queries.find import matching_ids
from tests.factories import CustomerFactory

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]

ANNA = CustomerInput(name="Anna Berg", phone="604 555 0142")


def test_add_customer_writes_what_was_given(shop: object) -> None:
    row, entry = add_customer(replace(ANNA, email="anna@shop.example"))

    row.refresh_from_db()
    assert (row.name, row.phone, row.email, row.version) == (
        "Anna Berg",
        "604 555 0142",
        "anna@shop.example",
        1,
    )
    assert (entry.verb, entry.facts) == ("add customer", {"name": "Anna Berg", "phone": "604 555 0142"})


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "  "}, "name"),
        ({"phone": ""}, "phone"),
        ({"phone": "none"}, "phone"),
        ({"phone": "555-0"}, "phone"),
        ({"is_tax_exempt": True}, "exemption_reason"),
        ({"is_tax_exempt": True, "exemption_reason": " ", "exemption_number": "77"}, "exemption_reason"),
    ],
)
def test_customer_lacking_something_is_refused(
    ilse: Person, by: By, change: dict[str, object], field: str
) -> None:
    row = CustomerFactory(name="Bo Lindqvist")

    with pytest.raises(BadInput) as adding:
        add_customer(replace(ANNA, **change))
    with pytest.raises(BadInput) as editing:
        edit_customer(row.pk, replace(ANNA, **change), version=1, by=by(ilse))

    assert (adding.value.field, editing.value.field) == (field, field)
    assert list(Customer.objects.values_list("name", "version")) == [("Bo Lindqvist", 1)]


def test_edit_customer_saves_indexes_and_remembers(ilse: Person, by: By) -> None:
    row = CustomerFactory(name="Bo Lindqvist", phone="604 555 0111")

    saved = edit_customer(row.pk, replace(ANNA, phone="604 555 0111"), version=1, by=by(ilse))

    entry = Activity.objects.get()
    assert (saved.name, saved.phone, saved.version) == ("Anna Berg", "604 555 0111", 2)
    assert (entry.verb, entry.record, entry.actor) == (
        "edit customer",
        f"customer:{row.pk}",
        f"person:{ilse.pk}",
    )
    assert json.loads(entry.payload) == {"name": "Bo Lindqvist → Anna Berg"}
    assert matching_ids("anna berg", kinds=["customer"]) == [("customer", row.pk)]
    assert matching_ids("lindqvist", kinds=["customer"]) == []
    assert first_bad_link() is None


def test_edit_customer_without_change_leaves_no_trace(ilse: Person, by: By) -> None:
    row = CustomerFactory(name="Anna Berg", phone="604 555 0142")

    saved = edit_customer(row.pk, ANNA, version=1, by=by(ilse))

    assert (saved.version, Activity.objects.count()) == (1, 0)


def test_second_edit_of_customer_is_stale_t22(ilse: Person, maren: Person, by: By) -> None:
    row = CustomerFactory(name="Anna Berg", phone="604 555 0142")
    edit_customer(row.pk, replace(ANNA, phone="604 555 0199"), version=1, by=by(ilse))

    with pytest.raises(Stale) as refusal:
        edit_customer(row.pk, replace(ANNA, name="Anna Holm"), version=1, by=by(maren))

    assert (refusal.value.record.phone, refusal.value.record.version) == ("604 555 0199", 2)
    assert Customer.objects.get().name == "Anna Berg"
    assert Activity.objects.count() == 1


def test_technician_may_not_edit_customer(tobiah: Person, by: By) -> None:
    row = CustomerFactory(name="Bo Lindqvist")

    with pytest.raises(NotAllowed):
        edit_customer(row.pk, ANNA, version=1, by=by(tobiah))

    assert Customer.objects.get().name == "Bo Lindqvist"
