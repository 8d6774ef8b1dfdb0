"""Who gets which answer where: address × method × role × own, other's or missing record.

Generated from the list of addresses and held against access_table.csv, which people read and agree to.
SHOPAPP_WRITE_GOLDEN=1 writes the table anew.
"""

import csv
import io
import os
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

from shopapp.web.shared.tablets import BENCH_PAGES
from tests.web.addresses import Address, addresses
from tests.web.answers import METHODS, Asked, Table, ask, every_possible_question, is_anybodys, records
from tests.web.world import ROLES, World

# without the mark there would be no test database, and the answers would come from the developer's own
pytestmark = pytest.mark.django_db

GOLDEN = Path(__file__).with_name("access_table.csv")
# pages without anybody signed in: the door, the watchdog, and the customer's own pages behind a link
PUBLIC = (
    *("health:index", "people:sign_in", "people:prove"),
    # of a browser's own: a script and a name, the same for everybody
    *("service_worker:service_worker", "service_worker:manifest"),
)
CUSTOMERS_ROOM = "approvals:"
# an enrolled tablet's own pages, before and beside a PIN; every other browser is led to the sign-in
PICKED = "devices:pin"
# what a tablet asks and sends by itself: there is nobody to lead to a sign-in
TABLET_ALONE = ("bench:state", "bench:entries", "bench:photo")
TABLETS_OWN = (
    *TABLET_ALONE,
    # the key of who is there: nobody else has a tablet
    "bench:key",
    PICKED,
    "devices:who",
    "devices:unlock",
    "devices:lock",
    "devices:touch",
    "devices:leave",
)
# the link itself is the key: whoever holds another's is let in as that customer
KEYS_THEMSELVES = ("approvals:enter", "approvals:enter_intake")
# everybody who works here may be chosen at a tablet, and reads what makers' manuals say of any engine
OPEN_BY_KEY = (
    *(*KEYS_THEMSELVES, PICKED, "spec_book:detail", "spec_book:table"),
    # the shop's containers, and what stands in their log
    *("used_oil:detail", "used_oil:put_in", "used_oil:strike"),
)


def as_text(table: Table) -> str:
    """The table as it lies in the file: a row for an address and a record, a column for a role and method."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    columns = list(product(ROLES, METHODS))
    writer.writerow(["address", "record", *(f"{role} {method}" for role, method in columns)])
    for address in addresses():
        for record in records(address):
            cells = [
                cell_of(Asked(address=address, record=record, role=role, method=method), table)
                for role, method in columns
            ]
            writer.writerow([address.name, record, *cells])
    return out.getvalue()


def cell_of(asked: Asked, table: Table) -> str:
    """The answer; of what is anybody's the everyday run asks for one record of a kind."""
    return table[asked if asked in table else replace(asked, record="own")].cell


def is_public(address: Address) -> bool:
    return address.name in PUBLIC or address.name.startswith(CUSTOMERS_ROOM)


def named(asked: Asked) -> str:
    return f"{asked.method} {asked.address.name} ({asked.record}) by {asked.role}"


def test_answers_are_those_of_the_golden_table(table: Table) -> None:
    text = as_text(table)
    if os.environ.get("SHOPAPP_WRITE_GOLDEN"):
        GOLDEN.write_text(text, encoding="utf-8")

    assert text.splitlines() == GOLDEN.read_text(encoding="utf-8").splitlines()


def test_no_question_ends_in_a_breakdown(table: Table) -> None:
    broken = [named(asked) for asked, answer in table.items() if answer.status >= 500]

    assert broken == []


def test_nobody_is_led_to_the_sign_in(table: Table) -> None:
    cells = {
        asked.address.name: answer.cell
        for asked, answer in table.items()
        if asked.role == "nobody" and not is_public(asked.address)
    }

    assert cells == dict.fromkeys(cells, "302 people:sign_in") | dict.fromkeys(TABLET_ALONE, "401")


def test_nobody_finds_nothing_in_the_customers_room(table: Table) -> None:
    rooms = {
        (asked.address.name, asked.record): answer.status
        for asked, answer in table.items()
        if asked.role == "nobody" and asked.method == "GET" and asked.address.name.startswith(CUSTOMERS_ROOM)
        # where only forms are sent, there is nothing to look at for anybody
        if answer.status != 405
    }
    doors = {asked: 302 for asked in rooms if asked[0] in KEYS_THEMSELVES and asked[1] != "missing"}

    assert rooms == dict.fromkeys(rooms, 404) | doors


@pytest.mark.parametrize("role", ["nobody", "technician", "customer link", "owner by PIN"])
def test_others_and_missing_look_alike_t01(table: Table, role: str) -> None:
    """Same status, same destination, same bytes: nobody learns which records there are."""
    differing = []
    for asked, answer in table.items():
        if (asked.role, asked.record) != (role, "other's") or asked.address.name in OPEN_BY_KEY:
            continue
        missing = Asked(address=asked.address, record="missing", role=role, method=asked.method)
        if table[missing] != answer:
            differing.append(f"{named(asked)}: {answer.cell}, missing: {table[missing].cell}")

    assert differing == []


def test_technician_finds_what_is_his_own(table: Table) -> None:
    """Otherwise the test above would also pass in a shop where nothing is found at all."""
    pages = ("work_orders:detail", "work_orders:bench", "work_orders:findings", "media:photo")
    found = {
        asked.address.name: answer.status
        for asked, answer in table.items()
        if (asked.role, asked.record, asked.method) == ("technician", "own", "GET")
        if asked.address.name in pages
    }

    assert found == dict.fromkeys(pages, 200)


@pytest.mark.soak
def test_desk_and_owner_see_what_is_anybodys(world: World) -> None:
    asked = [one for one in every_possible_question() if is_anybodys(one)]

    differing = []
    for one in asked:
        answer, own = ask(one, world), ask(replace(one, record="own"), world)
        if answer.cell != own.cell:
            differing.append(f"{named(one)}: {answer.cell}, own: {own.cell}")

    assert len(asked) >= 100
    assert differing == []


def test_customer_link_opens_nothing_of_the_shop(table: Table) -> None:
    differing = []
    for asked, answer in table.items():
        if asked.role != "customer link" or asked.address.name.startswith(CUSTOMERS_ROOM):
            continue
        nobody = Asked(address=asked.address, record=asked.record, role="nobody", method=asked.method)
        if table[nobody].cell != answer.cell:
            differing.append(f"{named(asked)}: {answer.cell}, nobody: {table[nobody].cell}")

    assert differing == []


def test_staff_session_opens_no_customers_page(table: Table) -> None:
    """The two are never merged: a person of the shop signs nothing in a customer's place."""
    opened = [
        named(asked)
        for asked, answer in table.items()
        if asked.role in ("front desk", "technician", "owner")
        if asked.address.name.startswith(CUSTOMERS_ROOM) and asked.address.name not in KEYS_THEMSELVES
        if answer.status not in (404, 405)
    ]

    assert opened == []


def test_pin_opens_the_bench_and_nothing_else(table: Table) -> None:
    """Whoever a person is: by PIN there is the technician's answer on the bench, and a no everywhere else.

    Only the day begins elsewhere: at the bench.
    """
    differing = []
    for asked, answer in table.items():
        name = asked.address.name
        if asked.role != "owner by PIN" or is_public(asked.address) or name in TABLETS_OWN:
            continue
        technician = Asked(address=asked.address, record=asked.record, role="technician", method=asked.method)
        expected = table[technician].cell if name in BENCH_PAGES else "403"
        if (name, asked.method) == ("start", "GET"):
            expected = "302 bench:index"
        if answer.cell != expected:
            differing.append(f"{named(asked)}: {answer.cell}, not {expected}")

    assert differing == []


def test_pages_of_the_bench_are_addresses_of_the_shop() -> None:
    assert BENCH_PAGES - {address.name for address in addresses()} == set()
