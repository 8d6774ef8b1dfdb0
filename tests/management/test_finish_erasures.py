"""The command that finishes what was begun, and the other that says it has to be."""

import io
from collections.abc import Callable
from datetime import date

import pytest
from django.core.management import CommandError, call_command

from shopapp.actions.actor import Actor
from shopapp.files.tombstones import write_tombstone
from shopapp.models import Activity, Customer, Person
from tests.factories import CustomerFactory
from tests.factories.persons import somebody

pytestmark = pytest.mark.django_db


def test_command_finishes_and_may_be_repeated(maren: Person, by: Callable[[Person], Actor]) -> None:
    customer = somebody(by=by(maren), is_billed=True)
    write_tombstone(customer.pk, day=date(2026, 6, 2))
    said = io.StringIO()

    call_command("finish_erasures", stdout=said)
    call_command("finish_erasures", stdout=said)

    first, second = said.getvalue().splitlines()
    assert (first[:24], second[:24]) == ("1 customers were erased,", "0 customers were erased,")
    assert Activity.objects.get(verb="erase customer").actor == "system"
    assert Customer.objects.get(pk=customer.pk).phone == ""


@pytest.mark.usefixtures("shop")
def test_verify_shop_says_that_somebody_is_still_here() -> None:
    customer = CustomerFactory.create()
    write_tombstone(customer.pk, day=date(2026, 6, 2))

    with pytest.raises(CommandError, match="1 customers whose data was erased are here"):
        call_command("verify_shop", stdout=io.StringIO())
