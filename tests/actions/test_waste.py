"""The used-oil log: one kind to a container, levels from rows alone, mistakes struck and still readable."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogFluidInput, log_fluid
from shopapp.actions.corrections import strike_row
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.waste import (
    ContainerInput,
    HandOverInput,
    PutInInput,
    begin_container,
    end_container,
    hand_over,
    put_in,
    reopen_container,
    strike_hand_over,
    strike_pour,
)
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Activity,
    FluidCondition,
    FluidEntry,
    Person,
    Stage,
    WasteContainer,
    WasteHandOver,
    WasteKind,
    WastePour,
)
from shopapp.queries.used_oil import level, with_level
from tests.factories.jobs import job_at
from tests.factories.waste import container_of

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
TRAY = PutInInput(volume_ml=4_000, kind=WasteKind.USED_OIL, what="Drip tray")
OIL = LogFluidInput(
    point="Gearcase",
    product="Gear oil",
    drained_ml=820,
    filled_ml=780,
    condition=FluidCondition.CLEAN,
)


def level_of(row: WasteContainer) -> int:
    return level(with_level(WasteContainer.objects.all()).get(pk=row.pk)).ml


def taken(by: Actor, volume_ml: int = 3_000) -> HandOverInput:
    return HandOverInput(
        volume_ml=volume_ml, collector="Inlet Oil Collection", taken_at=by.at, paper_number="C-118"
    )


def test_container_is_taken_into_use_by_the_desk(ilse: Person, tobiah: Person, by: By) -> None:
    row = container_of(by(ilse), name=" Oil  drum ")

    row.refresh_from_db()
    assert (row.name, row.kind, row.size_ml, row.begun_by, row.ended_at) == (
        "Oil drum",
        "used_oil",
        60_000,
        ilse,
        None,
    )
    assert Activity.objects.latest("seq").verb == "begin container"
    with pytest.raises(NotAllowed):
        container_of(by(tobiah), name="Another")


def test_name_on_a_container_in_use_is_taken_once(ilse: Person, by: By) -> None:
    first = container_of(by(ilse))

    with pytest.raises(BadInput, match="a name that no other container in use has"):
        container_of(by(ilse))
    end_container(first.pk, by=by(ilse))
    container_of(by(ilse))
    with pytest.raises(BadInput, match="a name that no other container in use has"):
        reopen_container(first.pk, by=by(ilse))
    assert WasteContainer.objects.count() == 2


@pytest.mark.parametrize(("name", "size_ml", "field"), [(" ", 60_000, "name"), ("Drum", 0, "size")])
def test_container_without_name_or_size_is_refused(
    ilse: Person, by: By, name: str, size_ml: int, field: str
) -> None:
    with pytest.raises(BadInput) as refused:
        begin_container(ContainerInput(name=name, kind=WasteKind.OTHER, size_ml=size_ml), by=by(ilse))

    assert refused.value.field == field


def test_container_is_put_away_and_taken_into_use_again(ilse: Person, by: By) -> None:
    row = container_of(by(ilse))

    for _ in range(2):
        end_container(row.pk, by=by(ilse))
    with pytest.raises(Refused, match="was put away"):
        put_in(row.pk, TRAY, by=by(ilse))
    for _ in range(2):
        reopen_container(row.pk, by=by(ilse))
    put_in(row.pk, TRAY, by=by(ilse))

    assert list(Activity.objects.order_by("seq").values_list("verb", flat=True)) == [
        "begin container",
        "end container",
        "reopen container",
        "put in container",
    ]


def test_technician_puts_in_by_hand_and_the_desk_hands_over(ilse: Person, tobiah: Person, by: By) -> None:
    row = container_of(by(ilse))

    put_in(row.pk, TRAY, by=by(tobiah))
    with pytest.raises(NotAllowed):
        hand_over(row.pk, taken(by(tobiah)), by=by(tobiah))
    given = hand_over(row.pk, taken(by(ilse)), by=by(ilse))

    assert level_of(row) == 1_000
    assert (given.collector, given.paper_number, given.volume_ml) == ("Inlet Oil Collection", "C-118", 3_000)


def test_more_than_it_holds_and_more_than_is_in_it_are_accepted(ilse: Person, by: By) -> None:
    row = container_of(by(ilse), size_ml=3_000)

    put_in(row.pk, TRAY, by=by(ilse))
    assert level_of(row) == 4_000
    hand_over(row.pk, taken(by(ilse), 5_000), by=by(ilse))

    assert level_of(row) == -1_000


def test_hand_over_of_tomorrow_is_refused(ilse: Person, by: By) -> None:
    row, actor = container_of(by(ilse)), by(ilse)

    with pytest.raises(BadInput, match="a time that has passed"):
        hand_over(row.pk, replace(taken(actor), taken_at=actor.at + timedelta(minutes=1)), by=actor)


@pytest.mark.parametrize(
    ("kind", "data", "accepted"),
    [
        (WasteKind.USED_OIL, replace(TRAY, kind=WasteKind.OILY_FUEL), "fuel or solvent in used oil can burn"),
        (WasteKind.USED_OIL, replace(TRAY, kind=WasteKind.SOLVENT), "fuel or solvent in used oil can burn"),
        (WasteKind.USED_OIL, replace(TRAY, what="Old petrol"), "fuel or solvent in used oil can burn"),
        (WasteKind.USED_OIL, replace(TRAY, what="Parts washer"), "a container for solvent"),
        (WasteKind.USED_OIL, replace(TRAY, kind=WasteKind.OILY_WATER), "kinds are kept apart"),
        (WasteKind.OILY_WATER, TRAY, "a container for used oil: kinds are kept apart"),
        (WasteKind.OILY_FUEL, TRAY, "a container for used oil"),
    ],
)
def test_another_kind_is_never_put_in(
    ilse: Person, by: By, kind: WasteKind, data: PutInInput, accepted: str
) -> None:
    row = container_of(by(ilse), kind=kind)

    with pytest.raises(BadInput, match=re.escape(accepted)):
        put_in(row.pk, data, by=by(ilse))

    assert level_of(row) == 0


@pytest.mark.parametrize("data", [replace(TRAY, volume_ml=0), replace(TRAY, what=" ")])
def test_nothing_is_not_put_in(ilse: Person, by: By, data: PutInInput) -> None:
    row = container_of(by(ilse))

    with pytest.raises(BadInput):
        put_in(row.pk, data, by=by(ilse))


def test_drained_fluid_goes_into_its_container_with_it(ilse: Person, tobiah: Person, by: By) -> None:
    row, job = container_of(by(ilse)), job_at(Stage.IN_HAND, technician=tobiah)

    entry = log_fluid(job.pk, replace(OIL, container=row.pk), by=by(tobiah))

    pour = WastePour.objects.get()
    assert (pour.fluid_entry, pour.volume_ml, pour.condition, pour.logged_by) == (entry, 820, "clean", tobiah)
    assert level_of(row) == 820
    assert '"container": "Oil drum"' in Activity.objects.latest("seq").payload


def test_fluid_entry_that_is_struck_takes_its_part_back(ilse: Person, tobiah: Person, by: By) -> None:
    row, job = container_of(by(ilse)), job_at(Stage.IN_HAND, technician=tobiah)
    entry = log_fluid(job.pk, replace(OIL, container=row.pk), by=by(tobiah))
    log_fluid(job.pk, replace(OIL, drained_ml=100, container=row.pk), by=by(tobiah))

    strike_row(("fluid_entry", entry.pk), reason="wrong boat", by=by(tobiah))

    assert level_of(row) == 100


@pytest.mark.parametrize(
    ("kind", "changes", "field"),
    [
        (WasteKind.USED_OIL, {"condition": FluidCondition.FUEL}, "container"),
        (WasteKind.USED_OIL, {"condition": FluidCondition.MILKY}, "container"),
        (WasteKind.USED_OIL, {"point": "Fuel tank", "product": "Petrol"}, "container"),
        (WasteKind.OILY_WATER, {}, "container"),
        (WasteKind.SOLVENT, {}, "container"),
        (WasteKind.USED_OIL, {"drained_ml": 0, "condition": FluidCondition.NOT_DRAINED}, "drained"),
    ],
)
def test_fluid_that_does_not_belong_there_is_refused_whole(
    ilse: Person, tobiah: Person, by: By, kind: WasteKind, changes: dict[str, object], field: str
) -> None:
    row, job = container_of(by(ilse), kind=kind), job_at(Stage.IN_HAND, technician=tobiah)

    with pytest.raises(BadInput) as refused:
        log_fluid(job.pk, replace(OIL, container=row.pk, **changes), by=by(tobiah))

    assert refused.value.field == field
    assert (FluidEntry.objects.count(), WastePour.objects.count()) == (0, 0)


def test_container_that_was_put_away_takes_only_what_a_tablet_brings_late(
    ilse: Person, tobiah: Person, by: By
) -> None:
    row, job, actor = container_of(by(ilse)), job_at(Stage.IN_HAND, technician=tobiah), by(tobiah)
    end_container(row.pk, by=by(ilse))

    with pytest.raises(BadInput, match="a container that is in use"):
        log_fluid(job.pk, replace(OIL, container=row.pk), by=actor)
    late = replace(actor, received_at=actor.at + timedelta(hours=3))
    log_fluid(job.pk, replace(OIL, container=row.pk), by=late)
    with pytest.raises(BadInput, match="a container that is in use"):
        log_fluid(job.pk, replace(OIL, container=999_999), by=late)

    assert level_of(row) == 820


def test_people_strike_their_own_pours_and_the_desk_anybodys(
    ilse: Person, tobiah: Person, wen: Person, by: By
) -> None:
    row = container_of(by(ilse))
    pour = put_in(row.pk, TRAY, by=by(tobiah))

    with pytest.raises(NotAllowed, match="what you logged yourself"):
        strike_pour(pour.pk, reason="wrong", by=by(wen))
    with pytest.raises(BadInput, match="the reason, in a few words"):
        strike_pour(pour.pk, reason=" ", by=by(tobiah))
    strike_pour(pour.pk, reason="poured twice", by=by(ilse))
    again = strike_pour(pour.pk, reason="other words", by=by(tobiah))

    assert (again.struck_by, again.struck_reason, level_of(row)) == (ilse, "poured twice", 0)
    assert Activity.objects.filter(verb="strike waste").count() == 1


def test_hand_over_is_struck_by_the_desk_alone(ilse: Person, tobiah: Person, by: By) -> None:
    row = container_of(by(ilse))
    put_in(row.pk, TRAY, by=by(tobiah))
    given = hand_over(row.pk, taken(by(ilse)), by=by(ilse))

    with pytest.raises(NotAllowed):
        strike_hand_over(given.pk, reason="wrong", by=by(tobiah))
    for _ in range(2):
        strike_hand_over(given.pk, reason="other container", by=by(ilse))

    assert (level_of(row), WasteHandOver.objects.get().struck_reason) == (4_000, "other container")
    assert Activity.objects.filter(verb="strike waste").count() == 1
