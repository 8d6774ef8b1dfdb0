"""Keys are tried at every address that takes one: nobody finds what is not theirs, whatever they write.

What a person may find is reckoned here from the technicians put on the jobs, and not by the shop's own rules.
"""

import random
import re
from collections.abc import Iterator, Sequence
from itertools import islice
from urllib.parse import quote, unquote

import pytest
from django.db.models import Model

from shopapp.models import CallSlip, Job, JobAssignment, ParkedForm, PartUsed, Photo, PlacedHold
from tests.web.addresses import MISSING, MISSING_PK, Address, addresses
from tests.web.answers import Told, browser, rolled_back, told
from tests.web.test_access_table import OPEN_BY_KEY
from tests.web.world import ROLES, World

# what people, scripts and attackers write where a number stands
ODD = [
    "0", "-1", "-9223372036854775808", "2147483647", "2147483648", "9223372036854775807",
    "9223372036854775808", "99999999999999999999999999", "1e3", "1.0", "1,2", "0x1", "0b1", "1_0", "+1", " 1",
    "1 ", "½", "①", "١", "１", "NaN", "null", "None", "undefined", "true", "me", "own", "new", "*", "%", "_",
    "..", ".", "1;2", "1'", '1"', "1 OR 1=1", "1)--", "1\x00", "\x00", "1\r\nSet-Cookie: a=b", "<b>1</b>",
    "{{1}}", "${1}", "1?", "1#", "😀", "part_used", "part_used-", "part_used--1", "part_used-1-1", "person-1",
    "shop-1", "time_entry-1", "a" * 300,
]  # fmt: skip
NUMBER = re.compile(r"[0-9]+")
ROW = re.compile(r"[a-z_]+-([0-9]+)")
BOOKS = ("part_used", "time_entry", "fluid_entry", "sublet_entry", "fee_entry")


def with_key() -> list[Address]:
    """The addresses that take a key, but for those at which the key itself is what lets people in."""
    return [one for one in addresses() if one.kind and one.name not in OPEN_BY_KEY]


def keys(address: Address, *, chance: random.Random) -> Iterator[str]:
    """Without end: the first numbers, odd ones, and numbers by lot, as this address would take them."""
    for number in range(1, 41):
        yield _shaped(str(number), address)
    yield from ODD
    while True:
        yield _shaped(str(chance.choice([chance.randrange(41, 400), chance.randrange(10**19)])), address)


def _shaped(number: str, address: Address) -> str:
    if address.kind == "row":
        return f"{BOOKS[int(number) % len(BOOKS)]}-{number}"
    if address.kind == "sha256":
        return f"{int(number):064x}"[-64:]
    return number


def own_visits(role: str) -> set[int]:
    """The visits on whose jobs the person of this role is."""
    name = {"technician": "tobiah", "owner by PIN": "maren"}.get(role, "")
    mine = JobAssignment.objects.filter(person__username=name)
    return set(mine.values_list("job__work_order", flat=True))


def theirs(role: str) -> dict[str, set[int]]:
    """Kind of record → the numbers that somebody of this role may find. Desk and owner may find all."""
    visits = own_visits(role)

    def of(rows: type[Model], way: str) -> set[int]:
        return set(rows._default_manager.filter(**{f"{way}__in": visits}).values_list("pk", flat=True))

    return {
        "work order": visits,
        "job": of(Job, "work_order"),
        "photo": of(Photo, "work_order"),
        "hold": of(PlacedHold, "work_order") | of(PlacedHold, "job__work_order"),
        "row": of(PartUsed, "job__work_order"),
        "call slip": of(CallSlip, "work_order") if role == "technician" else set(),
        "parked form": set(ParkedForm.objects.filter(person__username="tobiah").values_list("pk", flat=True)),
    }


class Prober:
    """Somebody of a role who tries keys at one address."""

    def __init__(self, address: Address, role: str, *, world: World) -> None:
        self.address, self.role, self.world = address, role, world
        self.method = "GET"
        missing = address.path(MISSING.get(address.kind, MISSING_PK))
        if self.asks(missing).status == 405:
            self.method = "POST"
        self.of_missing = self.asks(missing)

    def asks(self, path: str) -> Told:
        client = browser(self.role, self.world)
        with rolled_back():
            response = client.get(path) if self.method == "GET" else client.post(path, {})
        return told(response, unquote(path))

    def trouble(self, key: str, *, may_find: dict[str, set[int]] | None) -> str:
        """What is wrong with the answer to a key; nothing, as a rule."""
        answer = self.asks(self.address.path(quote(key, safe="")))
        what = f"{self.method} {self.address.name} {key[:40]!r} by {self.role}: {answer.cell}"
        if answer.status >= 500:
            return what
        shaped = (ROW if self.address.kind == "row" else NUMBER).fullmatch(key)
        if answer.status == 404 and (shaped is None or self.address.kind == "sha256"):
            return ""
        if answer == self.of_missing or may_find is None:
            return ""
        pk = int(shaped[shaped.re.groups]) if shaped else -1
        return "" if pk in may_find.get(self.address.kind, set()) else what


def troubles(role: str, *, count: int, world: World) -> list[str]:
    """What goes wrong when somebody of a role tries as many keys, at each address the same share of them."""
    chance = random.Random(f"{role}{count}")
    places = with_key()
    chance.shuffle(places)
    each = -(-count // len(places))
    may_find = None if role in ("front desk", "owner") else theirs(role)
    found = []
    for address in places[:count]:
        prober = Prober(address, role, world=world)
        tried = list(islice(keys(address, chance=chance), max(each, 100)))
        for key in tried[:each] if each > 1 else chance.sample(tried, each):
            found.append(prober.trouble(key, may_find=may_find))
    assert len(found) >= count
    return [trouble for trouble in found if trouble]


@pytest.mark.parametrize(
    ("roles", "count"),
    [(ROLES, 15), *(pytest.param([role], 10_000, marks=pytest.mark.soak) for role in ROLES)],
)
def test_keys_at_every_address_find_nothing_of_others_t01_t05(
    world: World, roles: Sequence[str], count: int
) -> None:
    assert [trouble for role in roles for trouble in troubles(role, count=count, world=world)] == []
    assert finds_what_is_reckoned(world)


def finds_what_is_reckoned(world: World) -> bool:
    """Whether a technician finds his own job, and whether that is told of where it is not reckoned with.

    Otherwise the probing would also pass in a shop where nothing is found at all.
    """
    (place,) = [one for one in with_key() if one.name == "work_orders:bench"]
    prober, key = Prober(place, "technician", world=world), str(world.own["job"])
    told_of = [prober.trouble(key, may_find=may) for may in (theirs("technician"), {})]
    return told_of == ["", f"GET work_orders:bench '{key}' by technician: 200"]
