"""Containers of the used-oil log of the invented shop."""

from shopapp.actions.actor import Actor
from shopapp.actions.waste import ContainerInput, begin_container
from shopapp.models import WasteContainer, WasteKind


def container_of(
    by: Actor, *, name: str = "Oil drum", kind: WasteKind = WasteKind.USED_OIL, size_ml: int = 60_000
) -> WasteContainer:
    """A container that the desk took into use."""
    return begin_container(ContainerInput(name=name, kind=kind, size_ml=size_ml), by=by)
