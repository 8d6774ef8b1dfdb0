"""Step lists are the desk's to write, and hold no more than people read."""

from collections.abc import Callable

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.refusals import NotAllowed, Stale
from shopapp.actions.step_lists import MOST_LINES, LineInput, ListInput, edit_step_list, write_step_list
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Person, StepList

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def list_of(count: int, *, is_required: bool = False, title: str = "Gear oil change") -> ListInput:
    lines = tuple(LineInput(text=f"Step {n}", is_required=is_required) for n in range(count))
    return ListInput(title=title, lines=lines)


def test_list_is_written_with_its_lines(ilse: Person, by: By) -> None:
    row = write_step_list(list_of(3), by=by(ilse))

    assert list(row.lines.order_by("position").values_list("text", flat=True)) == [
        "Step 0",
        "Step 1",
        "Step 2",
    ]
    assert Activity.objects.values_list("verb", flat=True).get() == "write step list"


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (list_of(0), "1 to 16 steps below it"),
        (list_of(MOST_LINES + 1), "1 to 16 steps below it"),
        (list_of(1, title=" "), "the kind of job it is for"),
        (list_of(9, is_required=True), "at most about 8 required steps, which 9 are not"),
        (ListInput(title="Odd", lines=(LineInput(text=" "),)), "what is to be done"),
    ],
)
def test_list_that_nobody_would_read_is_refused(ilse: Person, by: By, data: ListInput, sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        write_step_list(data, by=by(ilse))


def test_titles_are_told_apart(ilse: Person, by: By) -> None:
    write_step_list(list_of(1), by=by(ilse))
    other = write_step_list(list_of(1, title="Lower unit off"), by=by(ilse))

    with pytest.raises(BadInput, match="no other list has"):
        write_step_list(list_of(2), by=by(ilse))
    with pytest.raises(BadInput, match="no other list has"):
        edit_step_list(other.pk, list_of(2), version=1, by=by(ilse))


def test_edit_needs_the_version_it_began_with(ilse: Person, tobiah: Person, by: By) -> None:
    row = write_step_list(list_of(1), by=by(ilse))

    with pytest.raises(NotAllowed):
        edit_step_list(row.pk, list_of(2), version=1, by=by(tobiah))
    edit_step_list(row.pk, list_of(2), version=1, by=by(ilse))
    with pytest.raises(Stale):
        edit_step_list(row.pk, list_of(3), version=1, by=by(ilse))

    assert StepList.objects.get().lines.count() == 2
