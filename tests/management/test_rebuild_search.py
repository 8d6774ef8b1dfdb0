"""The command that writes the search words anew."""

from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection

from shopapp.models import SearchText
from shopapp.queries.find import matching_ids
from tests.factories import CustomerFactory

pytestmark = pytest.mark.django_db


def test_rebuild_search_finds_what_was_lost() -> None:
    customer = CustomerFactory(name="Pia Lindqvist")
    SearchText.objects.create(kind="customer", record_id=999, words="somebody who is gone")
    out = StringIO()

    call_command("rebuild_search", stdout=out)

    assert out.getvalue() == "1 records can be found.\n"
    assert matching_ids("lindqvist", kinds=["customer"]) == [("customer", customer.pk)]
    assert matching_ids("somebody", kinds=["customer"]) == []


def test_rebuild_search_mends_an_index_gone_astray() -> None:
    customer = CustomerFactory(name="Pia Lindqvist")
    call_command("rebuild_search", stdout=StringIO())
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("INSERT INTO shopapp_search(shopapp_search) VALUES ('delete-all')")

    call_command("rebuild_search", stdout=StringIO())

    assert matching_ids("lindqvist", kinds=["customer"]) == [("customer", customer.pk)]
