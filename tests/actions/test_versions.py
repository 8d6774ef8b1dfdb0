"""Two people edit one record: the first wins, the second is told and nothing is lost."""

import pytest
from django.db import transaction

from shopapp.actions.refusals import Refused, Stale
from shopapp.actions.versions import save_edit
from shopapp.models import Customer, Engine
from tests.factories import CustomerFactory, EngineFactory
from tests.side_by_side import outcomes


@pytest.mark.django_db
def test_save_edit_writes_and_counts_one_edit() -> None:
    customer = CustomerFactory(name="Pia Lindqvist", note="old")

    saved = save_edit(customer, version=1, changes={"note": "new"})

    row = Customer.objects.get()
    assert (saved.note, saved.version) == ("new", 2)
    assert (row.name, row.note, row.version) == ("Pia Lindqvist", "new", 2)


@pytest.mark.django_db
def test_save_edit_touches_only_its_own_row() -> None:
    first, second = CustomerFactory(note="old"), CustomerFactory(note="old")

    save_edit(first, version=1, changes={"note": "new"})

    other = Customer.objects.get(pk=second.pk)
    assert (other.note, other.version) == ("old", 1)


@pytest.mark.django_db
def test_second_editor_is_told_with_the_row_as_it_is_t22() -> None:
    customer = CustomerFactory(note="old")
    save_edit(customer, version=1, changes={"note": "Ilse's"})

    with pytest.raises(Stale) as caught:
        save_edit(customer, version=1, changes={"note": "Maren's"})

    assert (caught.value.record.note, caught.value.record.version) == ("Ilse's", 2)
    assert Customer.objects.get().note == "Ilse's"


@pytest.mark.django_db
def test_second_editor_may_save_again_deliberately_t22() -> None:
    customer = CustomerFactory(note="old")
    save_edit(customer, version=1, changes={"note": "Ilse's"})
    with pytest.raises(Stale) as caught:
        save_edit(customer, version=1, changes={"note": "Maren's"})

    save_edit(customer, version=caught.value.record.version, changes={"note": "Ilse's and Maren's"})

    row = Customer.objects.get()
    assert (row.note, row.version) == ("Ilse's and Maren's", 3)


@pytest.mark.django_db
def test_version_from_the_future_is_stale() -> None:
    customer = CustomerFactory(note="old")

    with pytest.raises(Stale):
        save_edit(customer, version=2, changes={"note": "new"})

    assert Customer.objects.get().note == "old"


@pytest.mark.django_db
def test_record_removed_meanwhile_is_said_in_a_sentence() -> None:
    engine = EngineFactory()
    Engine.objects.filter(pk=engine.pk).delete()

    with pytest.raises(Refused) as caught:
        save_edit(engine, version=1, changes={"make": "Sorrel"})

    assert caught.value.sentence == "Somebody removed this while you were writing."


@pytest.mark.django_db(transaction=True)
def test_of_editors_at_once_exactly_one_wins_t22() -> None:
    customer = CustomerFactory(note="old")

    def edit(note: str) -> str:
        with transaction.atomic():
            return save_edit(customer, version=1, changes={"note": note}).note

    ends = outcomes([lambda note=note: edit(note) for note in ("a", "b", "c", "d")])

    won = [end for end in ends if isinstance(end, str)]
    told = [end.record.note for end in ends if isinstance(end, Stale)]
    row = Customer.objects.get()
    assert (len(won), told) == (1, won * 3)
    assert (row.note, row.version) == (won[0], 2)
