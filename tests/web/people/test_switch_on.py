"""Who comes back signs in with the password from before."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Activity, Person
from tests.factories import PASSWORD


def test_switched_on_person_may_sign_in_again(
    maren: Person, ilse: Person, signed_in: Callable[[Person], Client], key: Callable[[], dict[str, str]]
) -> None:
    Person.objects.filter(pk=ilse.pk).update(is_active=False)

    response = signed_in(maren).post(f"/people/{ilse.pk}/switch-on/", key())

    back = Client().post("/people/sign-in/", {"username": "ilse", "password": PASSWORD})
    assert (response.status_code, back.status_code) == (302, 302)
    assert Activity.objects.filter(verb="switch person on").count() == 1
