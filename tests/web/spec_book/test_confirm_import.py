"""What was looked at is stored at once and once."""

from collections.abc import Callable

from django.test import Client

from shopapp.models import EngineFamily, FluidCapacity, Person
from tests.web.shared.bad_values import tried_values
from tests.web.spec_book.test_import_values import TABLE, family

__all__ = ["family"]
SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def test_right_rows_are_stored_once(
    family: EngineFamily, maren: Person, signed_in: SignedIn, key: Key
) -> None:
    client, sent = signed_in(maren), {"kind_of_value": "capacity", "table": TABLE} | key()
    address = f"/spec-book/{family.pk}/confirm-import/"

    answers = [client.post(address, sent) for _ in range(2)]

    place = f"/spec-book/{family.pk}/#capacity"
    assert [one.headers["Location"] for one in answers] == [place, place]
    assert [(row.point, row.ml, row.product) for row in FluidCapacity.objects.order_by("pk")] == [
        ("Gearcase", 349, "=1+1"),
        ("Tank", 25, ""),
    ]
    assert "2 values are taken over." in client.get(f"/spec-book/{family.pk}/").content.decode()


def test_same_table_again_stores_nothing(
    family: EngineFamily, maren: Person, signed_in: SignedIn, key: Key
) -> None:
    client, sent = signed_in(maren), {"kind_of_value": "capacity", "table": TABLE}
    client.post(f"/spec-book/{family.pk}/confirm-import/", sent | key())

    again = client.post(f"/spec-book/{family.pk}/confirm-import/", sent | key())

    assert (again.status_code, FluidCapacity.objects.count()) == (422, 2)
    assert "a table with at least one row that can be stored" in again.content.decode()


def test_formula_goes_out_as_text(family: EngineFamily, maren: Person, signed_in: SignedIn, key: Key) -> None:
    client = signed_in(maren)
    client.post(
        f"/spec-book/{family.pk}/confirm-import/", {"kind_of_value": "capacity", "table": TABLE} | key()
    )

    file = b"".join(client.get(f"/spec-book/{family.pk}/table/", {"kind_of_value": "capacity"}))

    assert b'"\'=1+1"' in file


def test_desk_may_not_store(family: EngineFamily, ilse: Person, signed_in: SignedIn, key: Key) -> None:
    sent = {"kind_of_value": "capacity", "table": TABLE} | key()

    answer = signed_in(ilse).post(f"/spec-book/{family.pk}/confirm-import/", sent)

    assert (answer.status_code, FluidCapacity.objects.count()) == (403, 0)


def test_odd_tables_are_answered(family: EngineFamily, maren: Person, signed_in: SignedIn, key: Key) -> None:
    client, heads = signed_in(maren), ("point,amount,unit,page\n", "")
    answers = {
        client.post(
            f"/spec-book/{family.pk}/confirm-import/",
            {"kind_of_value": "capacity", "table": f"{heads[place % 2]}{value},{value},ml,{value}"} | key(),
        ).status_code
        for place, value in enumerate(tried_values())
    }

    assert answers <= {302, 422}
