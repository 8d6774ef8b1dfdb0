"""Costs and wages are planted in every row that holds one, and every answer of every address is searched.

Invariant 10 of the shop's rules. The test grows by itself: a new address or a new column of costs is in it.
"""

from collections.abc import Container

import pytest

from shopapp.web.shared.tablets import BENCH_PAGES
from tests.web.answers import Table
from tests.web.planted import found_in, words_of

pytestmark = pytest.mark.django_db


def found_by(
    role: str, table: Table, *, among: Container[str] | None = None
) -> dict[tuple[str, str, str], list[str]]:
    """Where somebody in this role finds a planted amount: address, record and method → the words."""
    found = {}
    for asked, told in table.items():
        if asked.role != role or (among is not None and asked.address.name not in among):
            continue
        words = found_in(words_of(told.body) + str(told.headers))
        if words:
            found[asked.address.name, asked.record, asked.method] = words
    return found


def test_fifty_amounts_find_a_place(planted: tuple[int, ...]) -> None:
    assert len(planted) >= 50


@pytest.mark.parametrize("role", ["nobody", "front desk", "technician", "customer link"])
def test_nobody_but_the_owner_finds_a_cost_or_a_wage(role: str, table: Table) -> None:
    assert found_by(role, table) == {}


def test_owner_by_pin_finds_none_where_a_pin_leads(table: Table) -> None:
    assert found_by("owner by PIN", table, among=BENCH_PAGES) == {}


def test_owner_finds_some_so_the_search_can_find(table: Table) -> None:
    told = {"work_orders:detail", "work_orders:bench", "quotes:edit_line"}

    where = {name for name, _record, _method in found_by("owner", table, among=told)}

    assert where == told
