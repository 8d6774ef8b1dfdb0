"""Finding by what people say at the counter: one table of questions, the same answers on both databases."""

from collections.abc import Callable

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shopapp.actions import search_texts
from shopapp.models import Customer, Engine, Vessel
from shopapp.queries.find import (
    known_words,
    matching_ids,
    normalise,
    number_words,
    numbered_ids,
    search_words,
)
from tests.factories import CustomerFactory, EngineFactory, VesselFactory, WorkOrderFactory

pytestmark = pytest.mark.django_db

KINDS = ("customer", "vessel", "engine")
# name, phone, email address of each
CUSTOMERS = [
    ("Åse Lindqvist", "(604) 555-0142", "ase@example.org"),
    ("Björn O'Malley", "6045550188", ""),
    ("Strauß & Söhne ℡ service", "+49 40 555 0177", ""),
    ("Ζωή Παππά", "604.555.0199", ""),
    ("İpek Öztürk", "604 555 0155", ""),
    ("100% Kelp_Farm \\ Ltd", "604 555 0161", 'a"b@example.org'),
    ("Đặng Văn Ánh", "604 555 0133", ""),
    ("李小龍", "604 555 0123", ""),
]
VESSELS = [("Sea-Otter", "CA-HIN 12345 A626"), ("Otter II", "")]
ENGINES = [
    ("Petrel Marine", "P90", "PM60-00012"),
    ("Norsk Tern", "T40", "NT 40/77123"),
    ("Sorrel", "", "ab12cd34"),
]


@pytest.fixture(autouse=True)
def _records(db: None) -> None:
    for name, phone, email in CUSTOMERS:
        search_texts.index(CustomerFactory(name=name, phone=phone, email=email))
    owner = Customer.objects.first()
    for name, hull in VESSELS:
        search_texts.index(VesselFactory(name=name, hull_number=hull, owner=owner))
    for make, model, serial in ENGINES:
        search_texts.index(EngineFactory(make=make, model=model, serial=serial))


def named(kind: str, pk: int) -> str:
    """What a person calls the record: the first word of its name."""
    if kind == "engine":
        return Engine.objects.get(pk=pk).make.split()[0]
    row = Customer.objects.get(pk=pk) if kind == "customer" else Vessel.objects.get(pk=pk)
    return row.name.split()[0]


def found(question: str, **options: object) -> list[str]:
    return [named(kind, pk) for kind, pk in matching_ids(question, kinds=KINDS, **options)]


@pytest.mark.parametrize(
    ("question", "names"),
    [
        # names: any part of three letters, in any order, with or without accents, any case
        ("lindqvist", ["Åse"]),
        ("dqvi", ["Åse"]),
        ("LINDQVIST ase", ["Åse"]),
        ("Åse", ["Åse"]),
        ("bjorn", ["Björn"]),
        ("BJÖRN", ["Björn"]),
        ("bjo\u0308rn", ["Björn"]),
        ("o'malley", ["Björn"]),
        ("omalley", []),
        ("STRAUSS", ["Strauß"]),
        ("strauß", ["Strauß"]),
        ("tel", ["Strauß"]),
        ("ζωη", ["Ζωή"]),
        ("ΠΑΠΠΆ", ["Ζωή"]),
        ("ipek", ["İpek"]),
        ("IPEK", ["İpek"]),
        ("ozturk", ["İpek"]),
        ("van anh", ["Đặng"]),
        ("李小龍", ["李小龍"]),
        ("lindqvist bjorn", []),
        # two letters and fewer: the beginning of a word
        ("as", ["Åse"]),
        ("li", ["Åse"]),
        ("qv", []),
        ("a", ["Sorrel", "Sea-Otter", "Đặng", "100%", "Åse"]),
        ("ot", ["Otter", "Sea-Otter"]),
        ("ii", ["Otter"]),
        ("李小", ["李小龍"]),
        # telephone numbers: digits as typed, with or without gaps, from the middle
        ("604 555 0142", ["Åse"]),
        ("604-555-0142", ["Åse"]),
        ("(604) 555.0142", ["Åse"]),
        ("6045550142", ["Åse"]),
        ("5550142", ["Åse"]),
        ("0142", ["Åse"]),
        ("555 01 42", ["Åse"]),
        ("604 555 0188", ["Björn"]),
        ("604-555-01-88", ["Björn"]),
        ("604 555 018", ["Björn"]),
        ("604 555 0 1 88", ["Björn"]),
        ("+49 40 5550177", ["Strauß"]),
        ("lindqvist 604 555", ["Åse"]),
        # hull and serial numbers: the middle, dashes, spaces, slashes
        ("PM60-00012", ["Petrel"]),
        ("pm6000012", ["Petrel"]),
        ("pm60 00012", ["Petrel"]),
        ("m60000", ["Petrel"]),
        ("00012", ["Petrel"]),
        ("NT40/77123", ["Norsk"]),
        ("nt4077123", ["Norsk"]),
        ("t40 77123", ["Norsk"]),
        ("77123 t40", ["Norsk"]),
        ("40 77123", ["Norsk"]),
        ("p90 00012", ["Petrel"]),
        ("90 00012", []),
        ("12cd", ["Sorrel"]),
        ("AB-12-CD-34", []),
        ("ca hin 12345", ["Sea-Otter"]),
        ("cahin12345a626", ["Sea-Otter"]),
        ("n12345a", ["Sea-Otter"]),
        ("345 a626", ["Sea-Otter"]),
        # nothing asked, nothing found
        ("", []),
        ("   ", []),
        ("- . / ,", []),
        ("\x00", []),
        # what another language would take for a command is only a word
        ("%", []),
        ("_", []),
        ("%%%", []),
        ("___", []),
        ("100%", ["100%"]),
        ("kelp_farm", ["100%"]),
        ("kelp%farm", ["100%"]),
        ("kelp farm \\ ltd", ["100%"]),
        ("l%t", []),
        ("l_d", []),
        ("ltd*", ["100%"]),
        ('"ltd"', ["100%"]),
        ('ltd" OR "ase', []),
        ("ase OR bjorn", []),
        ("ase NOT lindqvist", []),
        ("NEAR(ase lindqvist)", []),
        ("words:ase", []),
        ("ase AND lindqvist", []),
        ("^ase", ["Åse"]),
        ("{ase lindqvist}", ["Åse"]),
        ("ase -lindqvist", ["Åse"]),
        ("'; DROP TABLE shopapp_searchtext; --", []),
        ("' OR '9'='9", []),
        ("ase%' --", ["Åse"]),
        ("x" * 5_000, []),
        ("ase " * 300, ["Åse"]),
        (" ".join(f"word{n}" for n in range(3_000)), []),
        (" ".join(["ase"] + ["lin"] * 30 + ["nobody"]), []),
    ],
)
def test_question_finds_the_same_on_both(question: str, names: list[str]) -> None:
    assert found(question) == names


def test_newest_is_first_and_the_list_ends() -> None:
    assert found("555", limit=3) == ["李小龍", "Đặng", "100%"]


def test_only_the_kinds_asked_for_are_found() -> None:
    kinds = [kind for kind, _ in matching_ids("otter", kinds=["customer", "vessel"])]

    assert kinds == ["vessel", "vessel"]
    assert matching_ids("otter", kinds=["customer"]) == []


def test_no_kinds_asked_for_find_nothing() -> None:
    assert matching_ids("otter", kinds=[]) == []


def test_question_takes_one_query(django_assert_num_queries: object) -> None:
    with django_assert_num_queries(1):
        matching_ids("lindqvist 604 555 as", kinds=KINDS)


@pytest.mark.parametrize(
    ("text", "normal"),
    [
        ("Æsa-Marie  (604) 555-0142", "æsa marie 604 555 0142 6045550142"),
        ("ＦＵＬＬ ｗｉｄｔｈ", "full width"),
        ("ﬁsh", "fish"),
        ("℡ ㎏", "tel kg"),
        ("", ""),
    ],
)
def test_normalise_folds_what_looks_alike(text: str, normal: str) -> None:
    assert normalise(text) == normal


def test_words_after_the_twentieth_are_not_looked_at() -> None:
    twenty = (
        "ase lindqvist 604 555 0142 6045550142 example org lin ind ndq dqv qvi vis ist 014 142 045 exa amp"
    )

    assert found(f"{twenty} nobody") == ["Åse"]
    assert found(f"nobody {twenty}") == []


def test_normalise_twice_changes_nothing() -> None:
    for name, phone, email in CUSTOMERS:
        once = normalise(f"{name} {phone} {email}")
        assert normalise(once).split()[: len(once.split())] == once.split()


def test_search_words_repeat_no_number() -> None:
    assert (
        search_words("Pia", "604 555 0142", "PM60-00012")
        == "pia 604 555 0142 6045550142 pm60 00012 pm6000012"
    )


NUMBERS = ("W-00003", "W-00030", "W-00300", "W-03003", "W-30000")


def numbered(question: str) -> list[str]:
    orders = {(row := WorkOrderFactory(number=number)).pk: row for number in NUMBERS}
    search_texts.index(*orders.values())
    found = numbered_ids(question, kinds=["workorder", "invoice"])
    return [f"{kind} {orders[pk].number}" for kind, pk in found]


@pytest.mark.parametrize(
    "question", ["W-3", "w3", "W-00003", "w 3", "w00003", " W-3 ", "W–3", "3", "003", "00003", "w#3", "Ｗ-３"]
)
def test_number_is_found_without_noughts_and_dashes(question: str) -> None:
    assert numbered(question) == ["workorder W-00003"]


@pytest.mark.parametrize(
    ("question", "orders"),
    [
        ("w30000", ["workorder W-30000"]),
        ("3000", []),
        ("q3", []),
        ("3w", []),
        ("w3 x", []),
        ("", []),
        ("w-", []),
        ("№w3№", []),
        ("3" * 40, []),
    ],
)
def test_another_number_is_not_found(question: str, orders: list[str]) -> None:
    assert numbered(question) == orders


@pytest.mark.parametrize(
    ("number", "words"),
    [
        ("W-00042", "№w42№ №42№"),
        ("INV-10000", "№inv10000№ №10000№"),
        ("00007", "№7№"),
        ("2026/W-1", ""),
        ("", ""),
    ],
)
def test_number_words_drop_noughts_and_gaps(number: str, words: str) -> None:
    assert number_words(number) == words


def test_numbers_of_no_kind_ask_nothing(django_assert_num_queries: object) -> None:
    with django_assert_num_queries(0):
        assert (numbered_ids("w3", kinds=[]), numbered_ids("kelp", kinds=KINDS)) == ([], [])


def test_known_words_of_nothing_are_empty() -> None:
    assert known_words("customer", 0) == ""


def plan_of(question: str, ask: Callable[..., object] = matching_ids) -> str:
    """How the database means to answer the question."""
    with CaptureQueriesContext(connection) as captured:
        ask(question, kinds=KINDS)
    explain = "EXPLAIN QUERY PLAN" if connection.vendor == "sqlite" else "EXPLAIN"
    with connection.cursor() as cursor:
        cursor.execute(f"{explain} {captured.captured_queries[-1]['sql']}")
        return "\n".join(str(row[-1]) for row in cursor.fetchall())


ASKED = (
    ("lindqvist", matching_ids),
    ("PM60-00012", matching_ids),
    ("604 555 0142", matching_ids),
    ("as lindqvist", matching_ids),
    ("604 555 01", matching_ids),
    ("anderson 555", matching_ids),
    ("w3", numbered_ids),
    ("3", numbered_ids),
)


def test_index_answers_at_five_thousand_rows() -> None:
    rows = [Customer(name=f"Customer {n} Somebody", phone=f"604 {n:07d}") for n in range(5_000)]
    Customer.objects.bulk_create(rows)
    search_texts.index(*rows)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE shopapp_searchtext")
    used, scanned = {
        "sqlite": ("VIRTUAL TABLE INDEX", "SCAN shopapp_searchtext"),
        "postgresql": ("searchtext_trigrams", "Seq Scan"),
    }[connection.vendor]

    plans = {question: plan_of(question, ask=ask) for question, ask in ASKED}

    others = {asked: plan for asked, plan in plans.items() if used not in plan or scanned in plan}
    assert others == {}
