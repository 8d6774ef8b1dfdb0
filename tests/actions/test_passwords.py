"""What a password must be, who may set it, and the first one made by lot."""

from datetime import UTC, datetime, timedelta

import pytest

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.passwords import (
    WeakPassword,
    first_password,
    give_first_password,
    refuse_weak,
    set_password,
)
from shopapp.actions.refusals import NotAllowed
from shopapp.models import Person, Shop
from tests.factories import PASSWORD, PersonFactory

pytestmark = pytest.mark.django_db
AT = datetime(2026, 6, 2, 17, 30, tzinfo=UTC)
OWN = "the tide turns at noon"


def actor(person: Person | None) -> Actor:
    return Actor(scope=Scope.DESK if person else Scope.SYSTEM, person=person, at=AT)


@pytest.mark.parametrize(
    "password",
    ["HERONS in the mud", "inlet-inlet-mud", "outboards for me", "a marina of mine", "okafor okafor"],
)
def test_words_of_shop_and_person_are_refused(shop: Shop, password: str) -> None:
    wen = PersonFactory.build(username="wen.o", name="Wen Okafor")

    with pytest.raises(WeakPassword, match="Leave out"):
        refuse_weak(password, person=wen)


@pytest.mark.parametrize(
    "password", ["passwordpassword1", "iloveyou!!!!!", "2026-football", "zzzzzzzzzzzzzzzz"]
)
def test_what_is_tried_first_is_refused(password: str) -> None:
    with pytest.raises(WeakPassword):
        refuse_weak(password, person=None)


@pytest.mark.parametrize(
    "password", [PASSWORD, OWN, "seagullmudflat", "ÆØÅ fjord og bris", "999kelp mud rope"]
)
def test_long_plain_words_are_good(shop: Shop, password: str) -> None:
    refuse_weak(password, person=None)


def test_sentence_never_holds_the_password() -> None:
    with pytest.raises(WeakPassword) as caught:
        refuse_weak("short-mud", person=None)

    assert "short-mud" not in f"{caught.value} {caught.value.sentence} {caught.value!r}"


def test_everybody_sets_their_own(maren: Person, ilse: Person) -> None:
    for by in (actor(maren), actor(None)):
        with pytest.raises(NotAllowed, match="their own password"):
            set_password(ilse.pk, OWN, by=by)

    ilse.refresh_from_db()
    assert ilse.check_password(PASSWORD)


def test_first_password_lasts_three_days(maren: Person, ilse: Person) -> None:
    password = give_first_password(ilse.pk, by=actor(maren))

    ilse.refresh_from_db()
    assert (ilse.check_password(password), ilse.first_until) == (True, AT + timedelta(hours=72))


def test_second_first_password_takes_the_place_of_the_first(maren: Person, ilse: Person) -> None:
    first, second = (give_first_password(ilse.pk, by=actor(maren)) for _ in range(2))

    ilse.refresh_from_db()
    assert (ilse.check_password(first), ilse.check_password(second)) == (False, True)


def test_only_owner_and_machine_give_a_first_password(ilse: Person, tobiah: Person) -> None:
    with pytest.raises(NotAllowed, match="Only the owner"):
        give_first_password(tobiah.pk, by=actor(ilse))

    assert give_first_password(tobiah.pk, by=actor(None))


def test_first_passwords_are_long_and_by_lot(shop: Shop) -> None:
    made = {first_password() for _ in range(300)}

    assert (len(made), {len(one) for one in made}) == (300, {23})
    # 20 letters of 29: more than 96 bits
    assert len(set("".join(made)) - {"-"}) == 29
