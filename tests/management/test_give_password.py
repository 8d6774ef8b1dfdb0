"""A first password from the shop's own machine."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from shopapp.models import Activity, Person
from tests.factories import PASSWORD


def test_first_password_is_printed_once_and_works(maren: Person) -> None:
    said = StringIO()

    call_command("give_password", "maren", stdout=said)

    maren.refresh_from_db()
    password = said.getvalue().strip().removeprefix("Sign-in name maren, first password ")
    assert (maren.check_password(password), maren.check_password(PASSWORD)) == (True, False)
    row = Activity.objects.get(verb="give first password")
    assert (row.actor, row.record, password in str(row.payload)) == ("system", f"person:{maren.pk}", False)


def test_unknown_and_switched_off_are_refused_in_words(maren: Person) -> None:
    Person.objects.filter(pk=maren.pk).update(is_active=False)

    with pytest.raises(CommandError, match="Nobody has the sign-in name nobody"):
        call_command("give_password", "nobody")
    with pytest.raises(CommandError, match="Maren Falk is switched off"):
        call_command("give_password", "maren")
