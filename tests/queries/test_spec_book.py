"""The spec book as it is read: both units, and the page beside each figure."""

from collections.abc import Callable

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.models import EngineFamily, FluidCapacity, Person
from shopapp.queries.engine_families import family_of
from shopapp.queries.spec_book import families_page, family_page, offered_families
from shopapp.queries.spec_rows import value_key
from tests.factories import EngineFactory
from tests.factories.spec_book import written_family

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
NBSP = "\u00a0"


def test_family_is_read_in_both_units_with_its_pages(maren: Person, ilse: Person, by: By) -> None:
    page = family_page(written_family(by(maren)), viewer=ilse, locale="en_CA")

    told = {
        section.kind: [(row.what, row.figure, row.page) for row in section.rows] for section in page.sections
    }
    assert told["capacity"] == [("Gearcase", f"350{NBSP}ml (11.8{NBSP}US fl oz)", "6-4")]
    assert told["limit"] == [
        (
            "Compression, warm",
            f"850{NBSP}kPa (123.3{NBSP}psi) to 1,100{NBSP}kPa (159.5{NBSP}psi); cylinders at most 10 % apart",
            "4-12",
        ),
        ("Gearcase vacuum", f"at most 2{NBSP}kPa (0.3{NBSP}psi) lost in 5 min", "6-9"),
    ]
    assert told["tightening"] == [
        (
            "Cylinder head",
            f"15{NBSP}N·m (11.1{NBSP}lbf·ft), 30{NBSP}N·m (22.1{NBSP}lbf·ft), then 90°",
            "5-7",
        )
    ]
    assert told["interval"] == [("Gear oil", "every 100 h or every 12 months", "2-1")]
    assert told["bulletin"] == [("B-17", "serials PM60-01000 to PM60-01999", "B-17")]
    assert [(row.what, row.figure, row.page) for row in page.figures] == [
        ("Power", "50–60 hp", "1-2"),
        ("Full throttle", "5000 to 6000 rpm", "1-3"),
        ("Gear ratio", "1.85 : 1", "1-3"),
        ("Cylinders", "3", "1-2"),
    ]
    assert (page.may_write, page.engines) == (False, 0)


@pytest.mark.parametrize("size", [1, 60])
def test_family_takes_eight_queries(
    maren: Person, by: By, size: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    family = written_family(by(maren))
    FluidCapacity.objects.bulk_create(
        FluidCapacity(family=family, point=f"Point {n}", amount_e4=10_000, unit="ml", ml=1, page="1")
        for n in range(size)
    )

    with django_assert_num_queries(8):
        page = family_page(family, viewer=maren, locale="en_CA")

    assert len(page.sections[0].rows) == size + 1


@pytest.mark.parametrize("size", [1, 100])
def test_list_takes_two_queries(
    maren: Person, size: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    EngineFamily.objects.bulk_create(EngineFamily(make="Sorrel", name=f"S{n:03d}") for n in range(size))
    EngineFactory(family=EngineFamily.objects.get(name="S000"))

    with django_assert_num_queries(2):
        page = families_page(number=1, is_all=False, viewer=maren)

    assert (page.rows[0].words, page.rows[0].engines, page.may_write) == ("Sorrel S000", 1, True)


def test_retired_family_is_offered_only_where_it_is(maren: Person) -> None:
    EngineFamily.objects.create(make="Sorrel", name="S9")
    old = EngineFamily.objects.create(make="Sorrel", name="S4", is_active=False)

    assert [words for _pk, words in offered_families(besides=None)] == ["Sorrel S9"]
    assert [words for _pk, words in offered_families(besides=old.pk)] == ["Sorrel S4", "Sorrel S9"]
    rows = families_page(number=1, is_all=False, viewer=maren).rows
    assert [row.words for row in rows] == ["Sorrel S9"]


def test_engine_knows_its_family_and_its_bulletins(maren: Person, by: By) -> None:
    family = written_family(by(maren))
    inside, outside, odd, none = (
        EngineFactory(family=one, serial=serial)
        for one, serial in (
            (family, "PM60-01500"),
            (family, "PM60-03000"),
            (family, "X1"),
            (None, "PM60-01500"),
        )
    )

    assert [(one.number, one.is_for_a_look) for one in family_of(inside).bulletins] == [("B-17", False)]
    assert family_of(outside).bulletins == ()
    assert [(one.number, one.is_for_a_look) for one in family_of(odd).bulletins] == [("B-17", True)]
    assert family_of(none) is None


@pytest.mark.parametrize(
    "slug", ["", "limit", "limit-", "limit-x", "mood-3", "limit-1-2", "limit-" + "9" * 30]
)
def test_address_of_no_value_names_none(slug: str) -> None:
    assert value_key(slug) is None
