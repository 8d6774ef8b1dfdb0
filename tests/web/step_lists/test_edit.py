"""A list is changed; the second of two sees both."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import Activity, Person, StepList
from tests.factories.steps import step_list

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def sent(row: StepList, **changes: str) -> dict[str, str]:
    """The form as the page shows it, with some of it changed."""
    told = {"title": row.title, "is_active": "on", "version": str(row.version)}
    for line in row.lines.order_by("position"):
        told |= {f"line_{line.position}_text": line.text}
        told |= {f"line_{line.position}_required": "on"} if line.is_required else {}
    return told | changes


def test_page_shows_the_steps_and_some_spare_rows(ilse: Person, signed_in: SignedIn) -> None:
    row = step_list()

    content = signed_in(ilse).get(f"/step-lists/{row.pk}/edit/").content.decode()

    assert "Old oil looked at" in content
    assert "line_6_text" in content
    assert "line_7_text" not in content


def test_changed_step_is_saved_and_an_unchanged_form_leaves_no_trace(
    ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    row, browser = step_list(), signed_in(ilse)
    address = f"/step-lists/{row.pk}/edit/"

    browser.post(address, key() | sent(row))
    assert not Activity.objects.exists()
    answer = browser.post(address, key() | sent(row, line_2_text="Old oil looked at and photographed"))

    assert answer.url == "/step-lists/"
    assert row.lines.get(position=2).text == "Old oil looked at and photographed"
    assert Activity.objects.values_list("verb", flat=True).get() == "edit step list"


def test_second_of_two_sees_both_and_keeps_what_was_typed(
    ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    row, browser = step_list(), signed_in(ilse)
    address = f"/step-lists/{row.pk}/edit/"
    mine = sent(row, line_1_text="Gaskets, both")
    browser.post(address, key() | sent(row, line_1_text="New gaskets, all three"))

    answer = browser.post(address, key() | mine)

    content = answer.content.decode()
    assert answer.status_code == 409
    assert "New gaskets, all three" in content
    assert "Gaskets, both" in content
    assert row.lines.get(position=1).text == "New gaskets, all three"
