"""A visit that the desk handed out, and what the tablet sends of the customer's answer at the dock."""

from datetime import datetime

from shopapp.actions.dock_calls import HandOutInput, hand_out_dock_call
from shopapp.models import Device, DockCall, Person, WorkOrder
from tests.factories.quotes import desk


def handed_out(visit: WorkOrder, device: Device, person: Person, *, by: Person, at: datetime) -> DockCall:
    """The visit, handed to the person at this tablet for the day of that moment."""
    data = HandOutInput(person=person.pk, device=device.pk)
    return hand_out_dock_call(visit.pk, data, by=desk(by, at=at))
