"""The second step: digits as RFC 6238 makes them, each used once; the database alone gives none away."""

from base64 import b32encode
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pyotp
import pytest

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.second_steps import (
    app_address,
    fitting_step,
    remove,
    renew_codes,
    seed_of,
    set_up,
    take_code,
)
from shopapp.models import Person, RecoveryCode, SecondStep
from tests.factories import PersonFactory
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db
AT = datetime(2026, 6, 2, 17, 30, 10, tzinfo=UTC)
STEP = timedelta(seconds=30)
SALT = "by lot"


def digits(at: datetime, salt: str = SALT) -> str:
    return pyotp.TOTP(seed_of(salt)).at(at)


def actor(person: Person, at: datetime = AT) -> Actor:
    return Actor(scope=Scope.DESK, person=person, at=at)


@pytest.fixture
def person() -> Person:
    return PersonFactory.create(username="maren", is_owner=True)


@pytest.fixture
def stepped(person: Person) -> Person:
    SecondStep.objects.create(person=person, salt=SALT, made_at=AT - timedelta(days=1))
    return person


# RFC 6238, appendix B: the seed of SHA-1, and the eight digits at each second
@pytest.mark.parametrize(
    ("second", "eight"),
    [
        (59, "94287082"),
        (1111111109, "07081804"),
        (1111111111, "14050471"),
        (1234567890, "89005924"),
        (2000000000, "69279037"),
        (20000000000, "65353130"),
    ],
)
def test_digits_are_those_of_the_standard(second: int, eight: str) -> None:
    seed = b32encode(b"12345678901234567890").decode()

    assert (pyotp.TOTP(seed, digits=8).at(second), pyotp.TOTP(seed).at(second)) == (eight, eight[2:])


@pytest.mark.parametrize(("steps", "fits"), [(-2, False), (-1, True), (0, True), (1, False), (100, False)])
def test_digits_last_for_their_half_minute_and_one_more(steps: int, fits: bool) -> None:
    code = digits(AT + steps * STEP)

    assert (fitting_step(SALT, code, at=AT) is not None) == fits


@pytest.mark.parametrize("code", ["", "12345", "1234567", "abcdef", "１２３４５６", "\x00" * 6, "0" * 5000])
def test_nonsense_fits_nobody(stepped: Person, code: str) -> None:
    assert take_code(stepped.pk, code, by=actor(stepped)) is False


def test_seed_comes_from_the_secret_and_not_from_the_database_alone(settings: object) -> None:
    before = seed_of(SALT)
    settings.SECRET_KEY = "another-secret-" + "1" * 40

    assert (len(before), seed_of(SALT) == before, seed_of("another salt") == before) == (32, False, False)


def test_address_for_the_app_names_shop_and_person(person: Person) -> None:
    address = app_address(person, salt=SALT, shop="Heron Inlet Outboards")

    assert address.startswith("otpauth://totp/Heron%20Inlet%20Outboards:maren?secret=")
    assert address.endswith("&issuer=Heron%20Inlet%20Outboards")


def test_same_digits_are_taken_once(stepped: Person) -> None:
    code = digits(AT)

    assert [take_code(stepped.pk, code, by=actor(stepped)) for _ in range(2)] == [True, False]
    assert take_code(stepped.pk, digits(AT + STEP), by=actor(stepped, AT + STEP)) is True


def test_digits_before_the_last_used_ones_fit_no_more(stepped: Person) -> None:
    take_code(stepped.pk, digits(AT), by=actor(stepped))

    assert take_code(stepped.pk, digits(AT - STEP), by=actor(stepped)) is False


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("kind", ["digits", "paper"])
def test_of_two_with_the_same_code_one_gets_in(kind: str) -> None:
    person = PersonFactory.create()
    SecondStep.objects.create(person=person, salt=SALT, made_at=AT)
    by = actor(person)
    code = digits(AT) if kind == "digits" else renew_codes(person.pk, by=by)[0]

    ends = outcomes([lambda: take_code(person.pk, code, by=by)] * 4)

    assert sorted(ends) == [False, False, False, True]


def test_code_from_paper_is_read_however_it_is_typed(stepped: Person) -> None:
    codes = renew_codes(stepped.pk, by=actor(stepped))
    typed = (codes[0].lower(), codes[1].replace("-", " "), f" {codes[2].replace('-', '')} ")

    assert [take_code(stepped.pk, code, by=actor(stepped)) for code in typed] == [True] * 3
    assert RecoveryCode.objects.filter(used_at=AT).count() == 3


def test_code_of_another_person_is_no_use(stepped: Person) -> None:
    other = PersonFactory.create()
    SecondStep.objects.create(person=other, salt="other", made_at=AT)
    (code, *_rest) = renew_codes(other.pk, by=actor(other))

    assert take_code(stepped.pk, code, by=actor(stepped)) is False


def test_set_up_needs_the_right_digits(person: Person) -> None:
    code = digits(AT + 5 * STEP)

    assert set_up(person.pk, salt=SALT, code=code, by=actor(person)) is None
    assert SecondStep.objects.count() == 0


def test_second_sender_of_setting_up_gets_a_sentence(person: Person) -> None:
    set_up(person.pk, salt=SALT, code=digits(AT), by=actor(person))

    with pytest.raises(Refused, match="You have a second step already"):
        set_up(person.pk, salt="other", code=digits(AT, "other"), by=actor(person))


def test_nobody_touches_somebody_elses(stepped: Person) -> None:
    other = PersonFactory.create(is_owner=True)

    for deed in (
        lambda: set_up(stepped.pk, salt=SALT, code=digits(AT), by=actor(other)),
        lambda: renew_codes(stepped.pk, by=actor(other)),
        lambda: remove(stepped.pk, by=actor(other)),
    ):
        with pytest.raises(NotAllowed, match="their own second step"):
            deed()
    assert SecondStep.objects.count() == 1


def test_machine_takes_it_off_once(stepped: Person) -> None:
    machine = replace(actor(stepped), scope=Scope.SYSTEM, person=None)

    assert [remove(stepped.pk, by=machine) for _ in range(2)] == [True, False]


def test_codes_without_a_second_step_are_refused(person: Person) -> None:
    with pytest.raises(Refused, match="no second step"):
        renew_codes(person.pk, by=actor(person))
