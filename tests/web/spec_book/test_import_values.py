"""A table is looked at row by row before anything is stored."""

from collections.abc import Callable
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.models import Activity, EngineFamily, FluidCapacity, Person
from shopapp.queries.spec_rows import MODELS
from tests.factories.spec_book import written_family
from tests.web.shared.hostile import row_counts

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]
TABLE = """point,amount,unit,product,page
Gearcase,11.8,us fl oz,=1+1,6-4
Sump,lots,l,,3-1
gearcase trim,2,psi,,3-2
Gearcase,1,l,,3-3
Tank,25,,,7-1
"""


@pytest.fixture
def family(shop: object) -> EngineFamily:
    return EngineFamily.objects.create(make="Petrel Marine", name="P60")


def brought(text: str | bytes, *, kind: str = "capacity") -> dict[str, object]:
    content = text.encode() if isinstance(text, str) else text
    return {
        "kind_of_value": kind,
        "table": SimpleUploadedFile("values.csv", content, content_type="text/csv"),
    }


def test_preview_shows_each_row_and_stores_nothing(
    family: EngineFamily, maren: Person, signed_in: SignedIn, key: Key
) -> None:
    client = signed_in(maren)
    before = row_counts()

    answer = client.post(f"/spec-book/{family.pk}/import-values/", brought(TABLE) | key())

    content = unescape(answer.content.decode())
    assert (answer.status_code, row_counts()) == (200, before)
    assert "11.8\u00a0US fl oz (349\u00a0ml)" in content
    assert 'How much: "lots" is not accepted.' in content
    assert "Unit: Select a valid choice." in content
    assert "This is in the book already, or twice in the table." in content
    # a unit that was left out is the usual one
    assert "25\u00a0ml" in content
    assert ("Store 2 rows" in content, "3 rows are left out." in content) == (True, True)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"\xff\xfe", "in UTF-8"),
        (b"colour\nred\n", "a first line with these heads"),
        (b"point,page\n" + b"x" * 250_000, "a file of at most 200 kB"),
    ],
)
def test_what_is_no_table_is_said(
    *, family: EngineFamily, maren: Person, signed_in: SignedIn, key: Key, content: bytes, sentence: str
) -> None:
    answer = signed_in(maren).post(f"/spec-book/{family.pk}/import-values/", brought(content) | key())

    assert (answer.status_code, sentence in answer.content.decode()) == (422, True)


def test_no_file_is_asked_for(family: EngineFamily, maren: Person, signed_in: SignedIn, key: Key) -> None:
    answer = signed_in(maren).post(
        f"/spec-book/{family.pk}/import-values/", {"kind_of_value": "limit"} | key()
    )

    assert (answer.status_code, "CSV file is missing." in answer.content.decode()) == (422, True)


@pytest.mark.parametrize("kind", MODELS)
def test_own_table_comes_back_as_it_was(
    *, maren: Person, signed_in: SignedIn, by: By, key: Key, kind: str
) -> None:
    """What was handed out is taken over by another family, value for value."""
    first, client = written_family(by(maren)), signed_in(maren)
    second = EngineFamily.objects.create(make="Sorrel", name="S9")
    file = b"".join(client.get(f"/spec-book/{first.pk}/table/", {"kind_of_value": kind}))

    seen = client.post(f"/spec-book/{second.pk}/import-values/", brought(file, kind=kind) | key())
    sent = {"kind_of_value": kind, "table": file.decode("utf-8-sig")} | key()
    stored = client.post(f"/spec-book/{second.pk}/confirm-import/", sent)

    assert (seen.status_code, stored.status_code) == (200, 302)
    own = {"id", "family_id", "version"}
    told = [
        [{name: value for name, value in row.items() if name not in own} for row in rows]
        for rows in (
            MODELS[kind]._default_manager.filter(family=one).order_by("pk").values()
            for one in (first, second)
        )
    ]
    assert told[0] == told[1] != []


@pytest.mark.parametrize("rows", [1, 40])
def test_preview_takes_the_same_queries(
    *,
    family: EngineFamily,
    maren: Person,
    signed_in: SignedIn,
    key: Key,
    rows: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    client = signed_in(maren)
    table = "what,hours,page\n" + "".join(f"Work {n},100,2-{n}\n" for n in range(rows))

    with django_assert_num_queries(5):
        answer = client.post(
            f"/spec-book/{family.pk}/import-values/", brought(table, kind="interval") | key()
        )

    assert answer.content.decode().count("every 100 h") == rows


@pytest.mark.parametrize("who", ["ilse", "tobiah"])
def test_only_the_owner_brings_tables(
    *, request: pytest.FixtureRequest, family: EngineFamily, signed_in: SignedIn, key: Key, who: str
) -> None:
    client = signed_in(request.getfixturevalue(who))

    answers = [
        client.get(f"/spec-book/{family.pk}/import-values/").status_code,
        client.post(f"/spec-book/{family.pk}/import-values/", brought(TABLE) | key()).status_code,
    ]

    assert (answers, FluidCapacity.objects.count(), Activity.objects.count()) == ([403, 403], 0, 0)
