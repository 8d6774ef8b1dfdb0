"""Guessed and altered tokens open nothing, also when each comes from a place of its own (no limit helps)."""

import random
import secrets
from collections.abc import Iterator
from hashlib import sha256
from urllib.parse import quote

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.intakes import open_intake
from shopapp.models import Activity, Approval, CustomerLink, Intake, MissCount, Person
from tests.programmes import short_and_long
from tests.web.approvals.conftest import Visitor

ROOMS = ("enter", "intake/enter")
ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
# letters that look like others: Cyrillic, Greek, full width, and what capitals and digits are mistaken for
LOOKS_LIKE = str.maketrans("aceopxyABEHKMOPTXIl01-_", "асеорхуАВЕНКМОРТХlIO1–＿")
AROUND = ["", " ", "%20", "%00", "\t", "\n", "\r\n", ".", "..", "=", "%", "*", "'", '"', ";", "\u200b"]


class Guesser:
    """Tries one token after the other, each from another place, and keeps what is not the bare page."""

    def __init__(self) -> None:
        self.pages: set[bytes] = set()
        self.let_in: list[str] = []
        self.tried = 0

    def tries(self, token: str, *, room: str = "enter") -> None:
        self.tried += 1
        place = f"10.{self.tried >> 16}.{self.tried >> 8 & 255}.{self.tried & 255}"
        browser = Client(REMOTE_ADDR=place, raise_request_exception=False)
        answer = browser.get(f"/approvals/{room}/{quote(token, safe='%')}/")
        # what is no token at all has no address, and gets the page of the shop for that
        if answer.status_code != 404 or answer.cookies:
            self.let_in.append(f"{token!r}: {answer.status_code}")
        if answer.resolver_match is not None:
            self.pages.add(answer.content)


@pytest.mark.parametrize("count", short_and_long(60, 10_000))
def test_guesses_from_everywhere_open_nothing_t06(visitor: Visitor, count: int) -> None:
    guesser, chance = Guesser(), random.Random(6)

    for turn in range(count):
        length = 43 if turn % 3 else chance.randint(1, 90)
        guesser.tries("".join(chance.choices(ALPHABET, k=length)), room=ROOMS[turn % 2])

    assert (guesser.let_in, len(guesser.pages), Approval.objects.count()) == ([], 1, 0)
    # each place has missed once: nobody was turned away, and nobody had to be told
    assert set(MissCount.objects.values_list("misses", flat=True)) == {1}
    assert (MissCount.objects.count(), Activity.objects.filter(verb="many wrong links").count()) == (count, 0)


def altered(token: str, *, chance: random.Random) -> Iterator[str]:
    """Without end, and never the token itself: what is nearly it."""
    place = chance.randrange(len(token))
    letter = token[place]
    yield token[:place]
    yield token[place + 1 :]
    yield token[:place] + token[place + 1 :]
    yield token[:place] + letter + token[place:]
    yield token[:place] + chr(ord(letter) ^ 1 << chance.randrange(7)) + token[place + 1 :]
    yield token[:place] + chance.choice(ALPHABET) + token[place + 1 :]
    yield token[:place] + letter.swapcase() + token[place + 1 :]
    yield token[:place] + letter.translate(LOOKS_LIKE) + token[place + 1 :]
    yield token[:place] + quote(f"%{ord(letter):02x}", safe="") + token[place + 1 :]
    yield token[:place] + f"%c0%{ord(letter) | 0x80:02x}" + token[place + 1 :]
    yield token[:place] + chance.choice(AROUND) + token[place:]
    yield from (token + chance.choice(AROUND), chance.choice(AROUND) + token, token + token)
    yield from (token.upper(), token.lower(), token.swapcase(), token[::-1], token.translate(LOOKS_LIKE))
    yield "".join(chance.sample(token, len(token)))


def is_nearly(token: str, right: str) -> bool:
    """Not the token itself, nor what a server or an address makes into it."""
    return token not in ("", right) and "/" not in token and "\\" not in token


@pytest.mark.parametrize("count", short_and_long(60, 5_000))
def test_altered_tokens_open_nothing_t06(visitor: Visitor, count: int) -> None:
    guesser, chance = Guesser(), random.Random(5)

    while guesser.tried < count:
        for token in altered(visitor.token, chance=chance):
            if is_nearly(token, visitor.token):
                guesser.tries(token, room=ROOMS[chance.random() < 0.1])

    assert (guesser.let_in, len(guesser.pages), Approval.objects.count()) == ([], 1, 0)
    assert Client().get(f"/approvals/enter/{visitor.token}/").status_code == 302


def test_what_the_shop_keeps_of_a_token_opens_nothing(visitor: Visitor) -> None:
    guesser = Guesser()
    kept = CustomerLink.objects.get()

    for token in (kept.token_sha256, str(kept.pk), sha256(visitor.token.encode()).hexdigest().upper()):
        for room in ROOMS:
            guesser.tries(token, room=room)

    assert (guesser.let_in, len(guesser.pages)) == ([], 1)


def test_token_of_one_purpose_is_none_of_the_other_t05(visitor: Visitor, ilse: Person) -> None:
    by = Actor(scope=Scope.DESK, person=ilse, at=timezone.now())
    intake = Intake.objects.create(work_order=visitor.revision.quote.work_order, created_at=by.at)
    token = open_intake(intake.pk, by=by)[1]
    guesser = Guesser()

    guesser.tries(token, room="enter")
    guesser.tries(visitor.token, room="intake/enter")

    assert (guesser.let_in, len(guesser.pages)) == ([], 1)
    assert Client().get(f"/approvals/intake/enter/{token}/").status_code == 302


@pytest.mark.parametrize("count", short_and_long(20, 1_000))
def test_altered_cookie_opens_nothing_t06(visitor: Visitor, count: int) -> None:
    """The cookie is signed: neither another token nor another signature passes."""
    chance, right = random.Random(7), visitor.browser.cookies["customer"].value
    let_in = []

    for _ in range(count):
        place = chance.randrange(len(right))
        other = right[:place] + chance.choice(ALPHABET.replace(right[place], "")) + right[place + 1 :]
        browser = Client()
        browser.cookies["customer"] = chance.choice([other, right[:place], secrets.token_urlsafe(32)])
        if browser.get("/approvals/decide/").status_code != 404:
            let_in.append(other)

    assert let_in == []
    assert visitor.browser.get("/approvals/decide/").status_code == 200
