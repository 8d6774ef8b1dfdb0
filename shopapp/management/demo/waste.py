"""The used-oil log of the demo: two containers, what goes in besides the jobs, and a collector."""

from shopapp.actions import waste
from shopapp.actions.actor import Actor
from shopapp.management.demo.world import Facts, World
from shopapp.models import WasteContainer, WasteKind


def begin_container(*, facts: Facts, world: World, by: Actor) -> None:
    """A container is taken into use."""
    data = waste.ContainerInput(name=facts["name"], kind=WasteKind(facts["kind"]), size_ml=facts["ml"])
    waste.begin_container(data, by=by)


def put_in(*, facts: Facts, world: World, by: Actor) -> None:
    """Something is poured in that no job tells of."""
    row = container_named(facts["into"])
    data = waste.PutInInput(volume_ml=facts["ml"], kind=WasteKind(row.kind), what=facts["what"])
    waste.put_in(row.pk, data, by=by)


def hand_over(*, facts: Facts, world: World, by: Actor) -> None:
    """A collector takes it away."""
    data = waste.HandOverInput(
        volume_ml=facts["ml"],
        collector=facts["collector"],
        taken_at=by.at,
        paper_number=facts["paper"],
    )
    waste.hand_over(container_named(facts["from"]).pk, data, by=by)


def container_named(name: str) -> WasteContainer:
    """The container in use that bears this name."""
    return WasteContainer.objects.get(name=name, ended_at=None)
