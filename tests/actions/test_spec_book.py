"""The spec book is written by the owner, each value with its page; what work rests on stays."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.actions.spec_book import (
    FamilyInput,
    add_family,
    add_value,
    edit_family,
    edit_value,
    remove_family,
    remove_value,
)
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Bulletin, EngineFamily, FluidCapacity, Person, TighteningSpec
from tests.factories import EngineFactory
from tests.factories.spec_book import FAULT, GEARCASE, HEAD, P60, VALUES, written_family

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def test_family_is_written_with_its_pages(maren: Person, by: By) -> None:
    row = add_family(P60, by=by(maren))

    assert (row.power_from_tenths_hp, row.throttle_to_rpm, row.gear_ratio_e4) == (500, 6_000, 18_500)
    assert (row.gear_page, Activity.objects.get().verb) == ("1-3", "add family")


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"make": " "}, "make"),
        ({"name": ""}, "name"),
        ({"power_to": None}, "power_to"),
        ({"power_to": Decimal(40)}, "power_to"),
        ({"throttle_from": 0}, "throttle_to"),
        ({"gear_page": " "}, "gear_page"),
        ({"throttle_page": ""}, "throttle_page"),
        ({"gear_ratio": Decimal(0)}, "gear_ratio"),
        ({"cylinders": 17}, "cylinders"),
    ],
)
def test_family_needs_name_whole_ranges_and_pages(
    maren: Person, by: By, change: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as error:
        add_family(replace(P60, **change), by=by(maren))

    assert (error.value.field, EngineFamily.objects.count()) == (field, 0)


def test_family_of_a_name_is_there_once(maren: Person, by: By) -> None:
    add_family(P60, by=by(maren))
    other = add_family(FamilyInput(make="Sorrel", name="S9"), by=by(maren))

    with pytest.raises(BadInput, match=r"^name"):
        add_family(P60, by=by(maren))
    with pytest.raises(BadInput, match=r"^name"):
        edit_family(other.pk, P60, version=1, by=by(maren))

    assert EngineFamily.objects.count() == 2


def test_only_the_owner_writes(ilse: Person, tobiah: Person, maren: Person, by: By) -> None:
    family = written_family(by(maren))
    key = ("capacity", FluidCapacity.objects.get().pk)
    for person in (ilse, tobiah):
        for deed in (
            lambda actor: add_family(replace(P60, name="P90"), by=actor),
            lambda actor: edit_family(family.pk, P60, version=1, by=actor),
            lambda actor: remove_family(family.pk, by=actor),
            lambda actor: add_value(family.pk, replace(GEARCASE, point="Sump"), by=actor),
            lambda actor: edit_value(key, GEARCASE, version=1, by=actor),
            lambda actor: remove_value(key, by=actor),
        ):
            with pytest.raises(NotAllowed):
                deed(by(person))


def test_second_editor_of_a_family_is_told_t22(maren: Person, by: By) -> None:
    row = add_family(P60, by=by(maren))
    edit_family(row.pk, replace(P60, covers="2015 to 2026"), version=1, by=by(maren))

    with pytest.raises(Stale) as stale:
        edit_family(row.pk, replace(P60, covers="2015 to 2030"), version=1, by=by(maren))

    assert stale.value.record.covers == "2015 to 2026"
    assert edit_family(row.pk, replace(P60, covers="2015 to 2026"), version=2, by=by(maren)).version == 2
    assert [one.verb for one in Activity.objects.order_by("seq")] == ["add family", "edit family"]


def test_family_of_an_engine_is_retired_not_removed(maren: Person, by: By) -> None:
    row = written_family(by(maren))
    EngineFactory(family=row)

    with pytest.raises(Refused, match="not offered any more"):
        remove_family(row.pk, by=by(maren))

    assert not edit_family(row.pk, replace(P60, is_active=False), version=1, by=by(maren)).is_active


def test_unused_family_goes_with_its_values_once(maren: Person, by: By) -> None:
    row = written_family(by(maren))

    remove_family(row.pk, by=by(maren))
    remove_family(row.pk, by=by(maren))

    assert (EngineFamily.objects.count(), TighteningSpec.objects.count()) == (0, 0)
    assert Activity.objects.filter(verb="remove family").count() == 1


@pytest.mark.parametrize("data", VALUES, ids=lambda data: type(data).__name__)
def test_value_is_written_once_with_its_page(maren: Person, by: By, data: object) -> None:
    family = add_family(P60, by=by(maren))

    row = add_value(family.pk, data, by=by(maren))

    assert (row.family_id, row.page, row.version) == (family.pk, data.page, 1)
    if data.once_by:
        with pytest.raises(BadInput) as error:
            add_value(family.pk, data, by=by(maren))
        assert error.value.field == data.once_by[0]
    assert Activity.objects.filter(verb="add value").count() == 1


@pytest.mark.parametrize("data", VALUES, ids=lambda data: type(data).__name__)
def test_value_without_its_page_is_refused(maren: Person, by: By, data: object) -> None:
    family = add_family(P60, by=by(maren))

    with pytest.raises(BadInput, match=r"^page"):
        add_value(family.pk, replace(data, page=" "), by=by(maren))


def test_joint_keeps_its_stages_and_edits_put_new_ones_in_their_place(maren: Person, by: By) -> None:
    family = add_family(P60, by=by(maren))
    row = add_value(family.pk, HEAD, by=by(maren))
    shorter = replace(HEAD, stages=HEAD.stages[:2])

    same = edit_value(("tightening", row.pk), HEAD, version=1, by=by(maren))
    saved = edit_value(("tightening", row.pk), shorter, version=1, by=by(maren))

    assert (same.version, saved.version) == (1, 2)
    kept = TighteningSpec.objects.get().stages.order_by("position")
    assert [(one.kind, one.value_e4, one.unit) for one in kept] == [
        ("torque", 150_000, "n_m"),
        ("torque", 300_000, "n_m"),
    ]
    with pytest.raises(Stale):
        edit_value(("tightening", row.pk), HEAD, version=1, by=by(maren))
    assert TighteningSpec.objects.get().stages.count() == 2


def test_edit_to_a_point_that_is_there_is_refused(maren: Person, by: By) -> None:
    family = add_family(P60, by=by(maren))
    add_value(family.pk, GEARCASE, by=by(maren))
    sump = add_value(family.pk, replace(GEARCASE, point="Sump"), by=by(maren))

    with pytest.raises(BadInput, match=r"^point"):
        edit_value(("capacity", sump.pk), GEARCASE, version=1, by=by(maren))

    edited = edit_value(
        ("capacity", sump.pk), replace(GEARCASE, point="Sump", amount=Decimal(2_600)), version=1, by=by(maren)
    )
    assert (edited.ml, edited.amount_e4) == (2_600, 26_000_000)


def test_value_is_taken_out_once(maren: Person, by: By) -> None:
    family = add_family(P60, by=by(maren))
    row = add_value(family.pk, FAULT, by=by(maren))

    remove_value(("fault", row.pk), by=by(maren))
    remove_value(("fault", row.pk), by=by(maren))

    assert Activity.objects.filter(verb="remove value").count() == 1
    assert Bulletin.objects.count() == 0
