"""The words of a record are kept with it, replaced when it changes, and can be written anew."""

from datetime import datetime

import pytest

from shopapp.actions import search_texts
from shopapp.models import (
    Customer,
    Engine,
    Invoice,
    Part,
    Payment,
    Quote,
    SearchText,
    Vessel,
    WorkOrder,
)
from shopapp.queries.find import known_words, matching_ids
from tests.factories import CustomerFactory, EngineFactory, VesselFactory, WorkOrderFactory
from tests.models.rows import ISSUED, make
from tests.web.world import found_world

pytestmark = pytest.mark.django_db

KINDS = ("customer", "vessel", "engine", "workorder", "invoice", "quote", "payment", "part")


def a_customer() -> Customer:
    return CustomerFactory(name="Åse Lindqvist", phone="604 555-0142", email="ase@example.org")


@pytest.mark.parametrize(
    ("row", "kind", "words"),
    [
        (a_customer, "customer", "ase lindqvist 604 555 0142 example org 6045550142"),
        (
            lambda: VesselFactory(
                name="Sea-Otter", make="Skerry", model="5.2", hull_number="HIN AB 12", registration="C-77 BC"
            ),
            "vessel",
            "sea otter skerry 5 2 hin ab 12 c 77 bc 52 hinab12 c77bc",
        ),
        (
            lambda: EngineFactory(make="Norsk Tern", model="T40", serial="NT-40/00017"),
            "engine",
            "norsk tern t40 nt 40 00017 4000017 nt4000017",
        ),
        (lambda: WorkOrderFactory(number="W-00042"), "workorder", "w 00042 w00042 №w42№ №42№"),
        (lambda: make(Invoice, number="INV-00007", **ISSUED), "invoice", "inv 00007 inv00007 №inv7№ №7№"),
        (lambda: make(Quote, number="Q-00310"), "quote", "q 00310 q00310 №q310№ №310№"),
        (lambda: make(Payment, number="R-00100"), "payment", "r 00100 r00100 №r100№ №100№"),
        (
            lambda: Part.objects.create(number="SR-1188/B", description="Propeller shaft seal"),
            "part",
            "sr 1188 b sr1188b propeller shaft seal",
        ),
    ],
    ids=KINDS,
)
def test_index_keeps_the_words_of_each_kind(row: object, kind: str, words: str) -> None:
    record = row()

    search_texts.index(record)

    assert set(known_words(kind, record.pk).split()) == set(words.split())


def test_index_replaces_the_words_of_before() -> None:
    customer = a_customer()
    search_texts.index(customer)
    customer.name = "Pia Berg"

    search_texts.index(customer)

    assert SearchText.objects.count() == 1
    assert matching_ids("lindqvist", kinds=KINDS) == []
    assert matching_ids("berg", kinds=KINDS) == [("customer", customer.pk)]


def test_index_writes_several_rows_at_once(django_assert_num_queries: object) -> None:
    rows = [CustomerFactory(), VesselFactory(), EngineFactory()]

    with django_assert_num_queries(1):
        search_texts.index(*rows)

    kinds = SearchText.objects.order_by("kind").values_list("kind", flat=True)
    assert list(kinds) == ["customer", "engine", "vessel"]


def test_index_of_nothing_writes_nothing() -> None:
    search_texts.index()

    assert SearchText.objects.count() == 0


def test_index_refuses_what_nobody_searches_for() -> None:
    with pytest.raises(TypeError, match="not searched for"):
        search_texts.index(SearchText(kind="x", record_id=1, words=""))


def test_removed_words_are_found_no_more() -> None:
    customer = a_customer()
    search_texts.index(customer)

    SearchText.objects.all().delete()

    assert matching_ids("lindqvist", kinds=KINDS) == []


def test_rebuild_writes_every_record_anew() -> None:
    boats = [VesselFactory(name="Otter"), VesselFactory(name="Kelp Otter")]
    WorkOrderFactory(vessel=boats[0])
    EngineFactory(vessel=boats[0])
    SearchText.objects.create(kind="vessel", record_id=999, words="a boat that is gone")

    count = search_texts.rebuild()

    rows = sum(
        model.objects.count()
        for model in (Customer, Vessel, Engine, WorkOrder, Quote, Invoice, Payment, Part)
    )
    assert (count, SearchText.objects.count()) == (rows, rows)
    assert matching_ids("otter", kinds=["vessel"]) == [("vessel", boats[1].pk), ("vessel", boats[0].pk)]


def test_rebuild_gives_the_answers_of_before() -> None:
    customers = [
        CustomerFactory(name=f"Berg {number}", phone=f"604 555 {number:04d}") for number in range(12)
    ]
    search_texts.index(*customers)
    # on PostgreSQL a changed row moves to the end of its table
    customers[0].save()
    before = [matching_ids(question, kinds=KINDS) for question in ("berg", "555 00", "6045550007")]

    search_texts.rebuild()

    after = [matching_ids(question, kinds=KINDS) for question in ("berg", "555 00", "6045550007")]
    assert after == before
    assert [len(found) for found in after] == [12, 12, 1]


def test_rebuild_takes_few_queries_for_many_rows(django_assert_max_num_queries: object) -> None:
    for _ in range(60):
        CustomerFactory()

    with django_assert_max_num_queries(16):
        search_texts.rebuild()

    assert SearchText.objects.count() == 60


def test_papers_that_actions_wrote_are_indexed(now: datetime) -> None:
    """Rebuilding finds no quote, bill or receipt that was not found before."""
    found_world(now)
    written = SearchText.objects.filter(kind__in=["quote", "invoice", "payment"])
    # a draft of a bill has no number to be found by; the quotes of factories are written past the actions
    papers = written.exclude(words="").exclude(words__startswith="tq ").order_by("kind", "words")
    before = list(papers.values_list("kind", "words"))

    search_texts.rebuild()

    assert {kind for kind, _words in before} == {"quote", "invoice", "payment"}
    assert list(papers.values_list("kind", "words")) == before
