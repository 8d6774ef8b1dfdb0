"""The command that signs everybody out."""

from io import StringIO

import pytest
from django.core.management import call_command
from django.test import Client

from shopapp.models import Device, Person
from tests.models.rows import make


@pytest.mark.django_db
def test_command_signs_everybody_out_and_may_be_repeated(ilse: Person) -> None:
    client, out = Client(), StringIO()
    client.force_login(ilse)
    make(Device)

    call_command("end_sign_ins", stdout=out)
    call_command("end_sign_ins", stdout=out)

    assert out.getvalue().splitlines() == [
        "1 sign-ins and 1 tablets have ended.",
        "0 sign-ins and 0 tablets have ended.",
    ]
    assert client.get("/today/").headers["Location"].startswith("/people/sign-in/")
