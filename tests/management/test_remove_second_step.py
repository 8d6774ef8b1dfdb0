"""An owner who lost telephone and paper is helped on the shop's own machine."""

from collections.abc import Callable
from datetime import UTC, datetime
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from shopapp.models import Activity, Person, SecondStep


def test_second_step_goes_and_sign_ins_end(maren: Person, signed_in: Callable[[Person], Client]) -> None:
    client, said = signed_in(maren), StringIO()
    SecondStep.objects.create(person=maren, salt="by lot", made_at=datetime(2026, 6, 1, tzinfo=UTC))

    call_command("remove_second_step", "maren", stdout=said)

    assert said.getvalue().startswith("The second step of Maren Falk is taken off.")
    assert (SecondStep.objects.count(), client.get("/today/").status_code) == (0, 302)
    assert Activity.objects.get(verb="remove second step").actor == "system"


def test_what_is_not_there_is_said(maren: Person) -> None:
    with pytest.raises(CommandError, match="Maren Falk has no second step"):
        call_command("remove_second_step", "maren")
    with pytest.raises(CommandError, match="Nobody has the sign-in name nobody"):
        call_command("remove_second_step", "nobody")
