"""A new list is written, with its steps in their order."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Person, StepList
from tests.factories.steps import step_list

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
LOWER_UNIT = {
    "title": "Lower unit off",
    "is_active": "on",
    "line_1_text": "Tilt locked",
    "line_1_required": "on",
    "line_1_caution": "work",
    "line_3_text": "Carrier on",
    "line_3_joint": "Carrier",
}


def test_list_is_written_without_its_empty_rows(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    answer = signed_in(ilse).post("/step-lists/new/", key() | LOWER_UNIT)

    assert answer.url == "/step-lists/"
    lines = StepList.objects.get().lines.order_by("position")
    assert list(lines.values_list("position", "text", "is_required", "joint", "caution")) == [
        (1, "Tilt locked", True, "", "work"),
        (2, "Carrier on", False, "Carrier", ""),
    ]


def test_title_that_is_taken_and_a_list_of_nothing_are_asked_about(
    ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    step_list("Lower unit off")
    browser = signed_in(ilse)

    taken = browser.post("/step-lists/new/", key() | LOWER_UNIT)
    empty = browser.post("/step-lists/new/", key() | {"title": "Nothing"})

    assert (taken.status_code, empty.status_code) == (422, 422)
    assert "a title that no other list has" in taken.content.decode()
    assert "1 to 16 steps below it" in empty.content.decode()
    assert "Tilt locked" in taken.content.decode()
