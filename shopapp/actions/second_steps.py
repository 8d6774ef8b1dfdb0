"""The second step of a sign-in: six digits from an app (RFC 6238), or a code from paper; each works once."""

import secrets
from base64 import b32encode
from datetime import datetime

import pyotp
from django.db import transaction
from django.utils.crypto import constant_time_compare, salted_hmac
from django.utils.translation import gettext as _

from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.models import Person, RecoveryCode, SecondStep

CODES = 8
# no letter that is taken for another on paper; 24 of 30 are 117 bits, so that a plain keyed hash is enough
_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ234679"
_GROUPS, _GROUP = 4, 6
_DIGITS = 6
# this half minute, and the one before: the digits are typed, and a telephone's clock is a little late
_STEPS_BACK = (0, 1)


def new_salt(session_key: str) -> str:
    """What the seed is made from that a person is shown while setting up: one for each sign-in.

    The session's key was drawn by lot, so nothing has to be kept until the digits prove that the app has it.
    """
    return salted_hmac("shopapp.second-step.salt", session_key, algorithm="sha256").hexdigest()


def seed_of(salt: str) -> str:
    """The seed (160 bits, base 32) for the app on the telephone: of the salt and the app's own secret.

    With another secret there are other seeds: all second steps are then set up anew.
    """
    digest = salted_hmac("shopapp.second-step", salt, algorithm="sha256").digest()
    return b32encode(digest[:20]).decode()


def seed_in_groups(salt: str) -> str:
    """The seed as it is typed where no camera reads the picture."""
    seed = seed_of(salt)
    return " ".join(seed[start : start + 4] for start in range(0, len(seed), 4))


def app_address(person: Person, *, salt: str, shop: str) -> str:
    """The ``otpauth:`` address that the telephone's app reads from the picture."""
    return pyotp.TOTP(seed_of(salt)).provisioning_uri(name=person.username, issuer_name=shop)


def fitting_step(salt: str, code: str, *, at: datetime, after: int = 0) -> int | None:
    """The half minute whose digits these are, or ``None``; one at or before ``after`` fits no more."""
    app = pyotp.TOTP(seed_of(salt), digits=_DIGITS)
    now = app.timecode(at)
    fitting = [
        now - back for back in _STEPS_BACK if constant_time_compare(app.generate_otp(now - back), code)
    ]
    return next((step for step in fitting if step > after), None)


@transaction.atomic
def set_up(person_pk: int, *, salt: str, code: str, by: Actor) -> tuple[str, ...] | None:
    """Give oneself a second step; returns the codes for paper, kept nowhere. ``None``: wrong digits.

    The page has asked for the password before. Locks the person, last the chain head; of two senders the
    second gets a sentence. If the power fails there is no second step.
    """
    _only_oneself(person_pk, by=by)
    person = locked(Person.objects.filter(pk=person_pk)).get()
    if SecondStep.objects.filter(person=person).exists():
        raise Refused(_("You have a second step already. Remove it before you set up another telephone."))
    step = fitting_step(salt, code, at=by.at)
    if step is None:
        return None
    row = SecondStep.objects.create(person=person, salt=salt, last_step=step, made_at=by.at)
    codes = _write_codes(row)
    activity.record([Entry(verb="set up second step", record=person)], by=by)
    return codes


@transaction.atomic
def take_code(person_pk: int, code: str, *, by: Actor) -> bool:
    """Whether the digits, or the code from paper, are this person's and were not used before; uses them up.

    Locks the second step's row, so of two senders with the same digits one gets in; a code from paper is
    told in the chain.
    """
    row = locked(SecondStep.objects.filter(person=person_pk)).first()
    if row is None:
        return False
    plain = "".join(char for char in code.upper() if char.isalnum())
    step = fitting_step(row.salt, plain, at=by.at, after=row.last_step)
    if step is not None:
        row.last_step = step
        row.save(update_fields=["last_step"])
        return True
    return _take_from_paper(row, plain, by=by)


def _take_from_paper(row: SecondStep, code: str, *, by: Actor) -> bool:
    used = RecoveryCode.objects.filter(second_step=row, digest=_digest(code), used_at=None)
    if not used.update(used_at=by.at):
        return False
    left = RecoveryCode.objects.filter(second_step=row, used_at=None).count()
    person = Person.objects.get(pk=row.person_id)
    activity.record([Entry(verb="use recovery code", record=person, facts={"left": left})], by=by)
    return True


@transaction.atomic
def renew_codes(person_pk: int, *, by: Actor) -> tuple[str, ...]:
    """New codes for paper; the old ones end. Locks the second step's row, last the chain head."""
    _only_oneself(person_pk, by=by)
    row = locked(SecondStep.objects.filter(person=person_pk)).first()
    if row is None:
        raise Refused(_("There is no second step to make codes for."))
    row.codes.all().delete()
    codes = _write_codes(row)
    person = Person.objects.get(pk=person_pk)
    activity.record([Entry(verb="renew recovery codes", record=person)], by=by)
    return codes


@transaction.atomic
def remove(person_pk: int, *, by: Actor) -> bool:
    """Take a second step off: by oneself (the page has asked for password and code), or on the machine.

    Nobody takes off somebody else's, not even an owner in the browser. Locks the row, last the chain head.
    """
    if by.person is not None:
        _only_oneself(person_pk, by=by)
    row = locked(SecondStep.objects.filter(person=person_pk)).first()
    if row is None:
        return False
    row.delete()
    person = Person.objects.get(pk=person_pk)
    activity.record([Entry(verb="remove second step", record=person)], by=by)
    return True


def _only_oneself(person_pk: int, *, by: Actor) -> None:
    if by.person is None or by.person.pk != person_pk:
        raise NotAllowed(_("Everybody sets up their own second step."))


def _write_codes(row: SecondStep) -> tuple[str, ...]:
    codes = tuple("".join(secrets.choice(_LETTERS) for _ in range(_GROUPS * _GROUP)) for _ in range(CODES))
    RecoveryCode.objects.bulk_create(RecoveryCode(second_step=row, digest=_digest(one)) for one in codes)
    return tuple(_grouped(code) for code in codes)


def _digest(code: str) -> str:
    return salted_hmac("shopapp.recovery-code", code, algorithm="sha256").hexdigest()


def _grouped(code: str) -> str:
    return "-".join(code[start : start + _GROUP] for start in range(0, len(code), _GROUP))
