"""A forgotten password: the owner gives a first one, and never to herself."""

import re
from collections.abc import Callable

from django.test import Client

from shopapp.models import Activity, Person
from tests.factories import PASSWORD

SignedIn = Callable[[Person], Client]


def test_first_password_ends_the_old_one_and_all_sign_ins(
    maren: Person, ilse: Person, signed_in: SignedIn
) -> None:
    theirs = signed_in(ilse)

    response = signed_in(maren).post(f"/people/{ilse.pk}/give-password/")

    ilse.refresh_from_db()
    text = response.content.decode()
    password = re.search(r'id="first-password"><strong>([a-z0-9-]+)<', text).group(1)
    assert (ilse.check_password(password), ilse.check_password(PASSWORD)) == (True, False)
    assert theirs.get("/customers/").status_code == 302
    assert password not in str(Activity.objects.get(verb="give first password").payload)
    assert signed_in(maren).get(f"/people/{ilse.pk}/").content.decode().count(password) == 0


def test_nobody_gives_one_to_themselves(maren: Person, signed_in: SignedIn) -> None:
    response = signed_in(maren).post(f"/people/{maren.pk}/give-password/")

    maren.refresh_from_db()
    assert (response.status_code, maren.check_password(PASSWORD)) == (403, True)


def test_who_is_switched_off_gets_none(maren: Person, ilse: Person, signed_in: SignedIn) -> None:
    Person.objects.filter(pk=ilse.pk).update(is_active=False)

    response = signed_in(maren).post(f"/people/{ilse.pk}/give-password/")

    assert response.status_code == 409
    assert "Ilse Brandt is switched off." in response.content.decode()
