"""The values of a family leave the shop as a table, in which no text is a formula."""

from collections.abc import Callable

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import KnownFault, Person
from tests.factories.spec_book import written_family

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]


def test_everybody_takes_the_table_of_a_family(
    maren: Person, tobiah: Person, signed_in: SignedIn, by: By
) -> None:
    family = written_family(by(maren))

    answer = signed_in(tobiah).get(f"/spec-book/{family.pk}/table/", {"kind_of_value": "tightening"})

    lines = b"".join(answer).decode("utf-8-sig").splitlines()
    assert (len(lines), lines[1].startswith('"Cylinder head","grid","4","2"')) == (2, True)


def test_formula_is_kept_from_reckoning(maren: Person, signed_in: SignedIn, by: By) -> None:
    family = written_family(by(maren))
    KnownFault.objects.update(text='=HYPERLINK("http://evil.example","x")')

    answer = signed_in(maren).get(f"/spec-book/{family.pk}/table/", {"kind_of_value": "fault"})

    assert "\"'=HYPERLINK(" in b"".join(answer).decode()
