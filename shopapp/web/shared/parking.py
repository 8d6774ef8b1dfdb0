"""How a parked form finds its way back into its page, and how it is forgotten once it was sent."""

from typing import Any

from django.contrib.auth.backends import ModelBackend
from django.http import HttpRequest

from shopapp.models import Person
from shopapp.queries.parked import resumed_form, signed_in_person

# a form that was taken up again carries the number of what was parked
FIELD = "parked"
_LONGEST = 18


class ShopBackend(ModelBackend):
    """Signs people in by name and password; whoever is signed in knows what they have put aside."""

    def get_user(self, user_id: int) -> Person | None:
        person = signed_in_person(user_id)
        return person if person is not None and self.user_can_authenticate(person) else None


def parked_number(request: HttpRequest) -> int | None:
    """The parked form that a page was opened for, or that a form was; nonsense is none."""
    sent = request.POST if request.method == "POST" else request.GET
    text = sent.get(FIELD, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) <= _LONGEST else None


def resumed(request: HttpRequest) -> dict[str, Any]:
    """Context processor: ``resumed``, the parked form to bring back, of the person who asks and nobody else.

    No query where none is asked for. A form that was refused holds what was typed since, and isn't filled.
    """
    number = parked_number(request)
    person = getattr(request, "user", None)
    if number is None or not isinstance(person, Person):
        return {}
    found = resumed_form(person.pk, pk=number, is_filled=request.method != "POST")
    return {"resumed": found} if found is not None else {}
