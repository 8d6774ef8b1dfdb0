"""A form is put aside for the one who writes it, and for nobody else."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.parking import ParkInput, discard_parked, park_form
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, ParkedForm, Person
from shopapp.queries.parked import parked_of, resumed_form
from tests.conftest import NOW

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]

ARRIVAL = ParkInput(
    title="New arrival: Kittiwake",
    path="/arrivals/new/?vessel=3",
    form="arrival",
    fields=[("complaint", "Hums\nfrom 3000"), ("technicians", "4"), ("technicians", "5")],
)


def test_parked_form_keeps_what_stood_in_it_in_order(ilse: Person, by: By) -> None:
    row = park_form(ARRIVAL, by=by(ilse))

    assert resumed_form(ilse.pk, pk=row.pk, is_filled=True) == {
        "pk": row.pk,
        "form": "arrival",
        "fields": [["complaint", "Hums\nfrom 3000"], ["technicians", "4"], ["technicians", "5"]],
    }
    assert [(one.title, one.address, one.parked_at) for one in parked_of(ilse.pk)] == [
        ("New arrival: Kittiwake", f"/arrivals/new/?vessel=3&parked={row.pk}", NOW)
    ]


def test_parking_leaves_no_trace_in_the_chain(ilse: Person, by: By) -> None:
    discard_parked(park_form(ARRIVAL, by=by(ilse)).pk, by=by(ilse))

    assert (ParkedForm.objects.count(), Activity.objects.count()) == (0, 0)


def test_form_parked_again_stays_one(ilse: Person, by: By) -> None:
    first = park_form(ARRIVAL, by=by(ilse))

    again = park_form(replace(ARRIVAL, title="Later", fields=[("a", "b")], replaces=first.pk), by=by(ilse))

    assert again.pk == first.pk
    assert list(ParkedForm.objects.values_list("title", "fields")) == [("Later", [["a", "b"]])]


def test_nobody_reaches_what_another_put_aside(ilse: Person, maren: Person, by: By) -> None:
    row = park_form(ARRIVAL, by=by(ilse))

    discard_parked(row.pk, by=by(maren))
    park_form(replace(ARRIVAL, title="Maren's", replaces=row.pk), by=by(maren))

    row.refresh_from_db()
    assert (row.person, row.title) == (ilse, "New arrival: Kittiwake")
    assert resumed_form(maren.pk, pk=row.pk, is_filled=True) is None
    assert [one.title for one in parked_of(maren.pk)] == ["Maren's"]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"path": "https://elsewhere.example/"}, "path"),
        ({"path": "//elsewhere.example/"}, "path"),
        ({"path": "/" + "x" * 500}, "path"),
        ({"title": " "}, "title"),
        ({"form": "x" * 61}, "title"),
        ({"fields": [("a", "")] * 501}, "fields"),
        ({"fields": [("a", "x" * 200_000)]}, "fields"),
    ],
)
def test_what_is_no_form_is_refused(ilse: Person, by: By, change: dict[str, object], field: str) -> None:
    with pytest.raises(BadInput) as refused:
        park_form(replace(ARRIVAL, **change), by=by(ilse))

    assert (refused.value.field, ParkedForm.objects.count()) == (field, 0)


def test_heap_of_parked_forms_has_an_end_for_each_person(
    ilse: Person, maren: Person, by: By, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shopapp.actions.parking.MOST_PARKED", 1)
    first = park_form(ARRIVAL, by=by(ilse))

    with pytest.raises(Refused, match="You have put aside 1 forms already"):
        park_form(ARRIVAL, by=by(ilse))
    park_form(replace(ARRIVAL, replaces=first.pk), by=by(ilse))
    park_form(ARRIVAL, by=by(maren))

    assert ParkedForm.objects.count() == 2


def test_technician_parks_nothing(tobiah: Person, by: By) -> None:
    with pytest.raises(NotAllowed):
        park_form(ARRIVAL, by=by(tobiah))
