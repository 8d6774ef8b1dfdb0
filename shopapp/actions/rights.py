"""Asks an actor for the right to act, and says no in a sentence."""

from django.utils.translation import gettext as _

from shopapp import access
from shopapp.actions.actor import Actor
from shopapp.actions.refusals import NotAllowed
from shopapp.models import Person


def desk_person(by: Actor) -> Person:
    """The person behind an actor who may work at the desk; raises NotAllowed for everybody else."""
    if by.person is None or not access.may_use_desk(by.person):
        raise NotAllowed(_("Only the front desk and the owner may do this."))
    return by.person


def book_keeper(by: Actor) -> Person:
    """The person behind an actor who may write in the spec book; raises NotAllowed for everybody else."""
    if by.person is None or not access.may_write_spec_book(by.person):
        raise NotAllowed(_("Only the owner writes in the spec book."))
    return by.person
