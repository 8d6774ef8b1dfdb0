"""Where drained fluids went: no drop is lost, and a wrong or full container is asked about."""

from hypothesis import given
from hypothesis import strategies as st

from shopapp.calc.fluids import Seen
from shopapp.calc.waste import Container, Pour, Waste, disposed, waste_of

USED = Container(name="Drum 1", waste=Waste.USED_OIL, capacity_ml=200_000, content_ml=150_000)
WATER = Container(name="Tote 2", waste=Waste.OILY_WATER, capacity_ml=20_000)


def test_drained_oil_goes_where_its_kind_belongs() -> None:
    assert {seen: waste_of(seen) for seen in Seen if seen != Seen.NOT_DRAINED} == {
        Seen.CLEAN: Waste.USED_OIL,
        Seen.METAL: Waste.USED_OIL,
        Seen.MILKY: Waste.OILY_WATER,
        Seen.FUEL: Waste.OILY_FUEL,
    }


def test_old_fluid_is_accounted_for_by_container() -> None:
    pours = [
        Pour(container="Drum 1", waste=Waste.USED_OIL, amount_ml=4000),
        Pour(container="Tote 2", waste=Waste.OILY_WATER, amount_ml=500),
        Pour(container="Drum 1", waste=Waste.USED_OIL, amount_ml=300),
    ]

    found = disposed(pours, containers=[USED, WATER], drained_ml=5000)

    assert [(one.name, one.added_ml, one.content_ml, one.questions) for one in found.containers] == [
        ("Drum 1", {Waste.USED_OIL: 4300}, 154_300, ()),
        ("Tote 2", {Waste.OILY_WATER: 500}, 500, ()),
    ]
    assert found.unaccounted_ml == 200


def test_wrong_or_full_container_is_asked_about() -> None:
    pours = [Pour(container="Drum 1", waste=Waste.OILY_FUEL, amount_ml=60_000)]

    found = disposed(pours, containers=[USED], drained_ml=4000)

    assert found.containers[0].questions == (
        "Drum 1 is for used oil; 60000 ml of oily fuel went in. Tell the collector.",
        "Drum 1 holds 200000 ml and would have 210000 ml in it.",
    )
    assert found.unaccounted_ml == -56_000


@given(
    st.lists(st.tuples(st.sampled_from(("Drum 1", "Tote 2")), st.sampled_from(Waste), st.integers(1, 9000)))
)
def test_no_drop_is_lost_between_containers(rows: list[tuple[str, Waste, int]]) -> None:
    pours = [Pour(container=name, waste=waste, amount_ml=amount) for name, waste, amount in rows]
    poured = sum(amount for _, _, amount in rows)

    found = disposed(pours, containers=[USED, WATER], drained_ml=poured + 7)

    assert sum(sum(one.added_ml.values()) for one in found.containers) == poured
    assert found.unaccounted_ml == 7
