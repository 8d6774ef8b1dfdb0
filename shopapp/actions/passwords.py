"""What a password must be, who sets it, and the first one that an owner gives to somebody."""

import secrets
from datetime import timedelta
from typing import Any

from django.contrib.auth.password_validation import CommonPasswordValidator, validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.sessions import forget_sessions
from shopapp.calc.errors import BadInput
from shopapp.models import Person, Shop

SHORTEST, ADVISED, LONGEST = 12, 15, 200
# words that somebody who knows what this is would try first; the shop's and the person's own come on top
GUESSED_FIRST = ("shopapp", "outboard", "password", "workshop", "marina")
_SHORTEST_WORD, _FEWEST_SIGNS, _SHORTEST_STEM = 4, 5, 6
# what fingers run along without a thought, forwards and backwards
_RUNS = ("1234567890", "abcdefghijklmnopqrstuvwxyz", "qwertyuiopasdfghjklzxcvbnm")
FIRST_LASTS = timedelta(hours=72)
# no letter that is taken for another on paper or over the telephone; 20 of them are 97 bits
_LETTERS = "abcdefghjkmnpqrtuvwxyz2346789"


class WeakPassword(BadInput):
    """A password that would be guessed. The sentence never repeats it."""

    @property
    def sentence(self) -> str:
        """What would be accepted, and nothing else."""
        return self.accepted


class ShopPasswords:
    """The rule for Django's settings: long, not among those tried first, without the shop's own words."""

    def validate(self, password: str, user: Person | None = None) -> None:
        """Raise ValidationError with a sentence; nothing is asked of kinds of signs."""
        for sentence in (_too_short(password), _too_common(password), _too_near(password, person=user)):
            if sentence:
                raise ValidationError(sentence, code="weak")

    def get_help_text(self) -> str:
        """What to tell before somebody chooses."""
        return _(
            "At least %(shortest)d characters, better %(advised)d or more: some words in a row are easy to"
            " remember. No name of yours or of the shop."
        ) % {"shortest": SHORTEST, "advised": ADVISED}


def _too_short(password: str) -> str:
    if len(password) > LONGEST:
        return _("This is too long. Give at most %d characters.") % LONGEST
    if len(password) >= SHORTEST:
        return ""
    return _("This is too short. Give at least %d characters, such as some words in a row.") % SHORTEST


def _too_common(password: str) -> str:
    tried_first = CommonPasswordValidator().passwords
    plain = password.lower().strip()
    stem = "".join(char for char in plain if char.isalpha())
    # a common word does not get better by digits and signs around it
    is_common = plain in tried_first or (len(stem) >= _SHORTEST_STEM and stem in tried_first)
    is_run = any(side in run * LONGEST for run in _RUNS for side in (plain, plain[::-1]))
    if not is_common and not is_run and len(set(plain)) >= _FEWEST_SIGNS:
        return ""
    return _("This is among the passwords that are tried first. Give another, such as some words in a row.")


def _too_near(password: str, *, person: Person | None) -> str:
    folded = password.casefold()
    word = next((word for word in _own_words(person) if word in folded), None)
    if word is None:
        return ""
    return _("Leave out “%s”: whoever knows the shop would try it first.") % word


def _own_words(person: Person | None) -> list[str]:
    shop = Shop.objects.filter(pk=1).values_list("name", flat=True).first() or ""
    texts = [shop] + ([person.name, person.username] if person is not None else [])
    words = [word.casefold() for text in texts for word in text.split()]
    return [*GUESSED_FIRST, *(word for word in words if len(word) >= _SHORTEST_WORD)]


def refuse_weak(password: str, *, person: Person | None, field: str = "password") -> None:
    """Raise WeakPassword unless the password may be used. One query, for the shop's name."""
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise WeakPassword(field, "", " ".join(error.messages)) from None


@transaction.atomic
def set_password(person_pk: int, password: str, *, by: Actor, keep: str = "") -> Person:
    """A person gives themselves a password; the first one that was given to them ends with it.

    All other sign-ins of the person end; ``keep`` is the code of the session that stays. Locks the person,
    then their sessions, last the chain head. A second sender just sets it again. If the power fails the old
    password counts.
    """
    if by.person is None or by.person.pk != person_pk:
        raise NotAllowed(_("Everybody sets their own password."))
    person = locked(Person.objects.filter(pk=person_pk)).get()
    if person.check_password(password):
        raise WeakPassword("new_password", "", _("This is the password you have. Give another one."))
    refuse_weak(password, person=person, field="new_password")
    was_first = person.first_until is not None
    person.set_password(password)
    person.first_until = None
    person.save(update_fields=["password", "first_until"])
    ended = forget_sessions(person.pk, keep=keep)
    facts = {"was_first": was_first, "ended": ended}
    activity.record([Entry(verb="set password", record=person, facts=facts)], by=by)
    return person


def first_password() -> str:
    """A password made by lot, in four groups, to be told to one person."""
    return "-".join("".join(secrets.choice(_LETTERS) for _ in range(5)) for _ in range(4))


@transaction.atomic
def give_first_password(person_pk: int, *, by: Actor) -> str:
    """A password that lets a person in once, to set their own; returned here and kept nowhere.

    For somebody new, or who forgot theirs; a second step stays what it is. The old password and all sign-ins
    end. Only an owner (or the machine's own command) gives one, and nobody gives it to themselves. Locks the
    person, their sessions, last the chain head; a second sender's password takes the place of the first's.
    """
    if by.person is not None and (not by.person.is_owner or by.person.pk == person_pk):
        raise NotAllowed(_("Only the owner gives other people a first password."))
    person = locked(Person.objects.filter(pk=person_pk)).get()
    if not person.is_active:
        raise Refused(_("%s is switched off. Switch the person on first.") % person.name)
    password = first_password()
    person.set_password(password)
    person.first_until = by.at + FIRST_LASTS
    person.save(update_fields=["password", "first_until"])
    forget_sessions(person.pk)
    facts: dict[str, Any] = {"until": person.first_until.isoformat()}
    activity.record([Entry(verb="give first password", record=person, facts=facts)], by=by)
    return password
