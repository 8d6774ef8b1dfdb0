"""A line is changed; of two who write at once the second is told; its cost is the owner's."""

from dataclasses import replace
from decimal import Decimal
from itertools import cycle

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.actions import quotes
from shopapp.models import Person, QuoteLine, QuoteOption, QuoteRevision
from tests.factories.quotes import SEAL, desk
from tests.web.pages import fresh_key, text_of, values_of
from tests.web.shared.bad_values import tried_values

TYPED = {
    "kind": "part",
    "description": "Shaft seal",
    "quantity": "3",
    "unit": "each",
    "unit_price": "18.40",
    "number": "SR-1188",
    "discount": "12.5",
    "payer": "maker",
    "version": "1",
}


@pytest.fixture
def line(draft: QuoteRevision, maren: Person) -> QuoteLine:
    option = QuoteOption.objects.get(choice__revision=draft, position=1)
    data = replace(SEAL, unit_cost=Decimal("9.1234"))
    return quotes.add_line(option.pk, data, by=desk(maren, at=timezone.now()))


def address(line: QuoteLine) -> str:
    return f"/quotes/line/{line.pk}/edit-line/"


def test_edit_line_saves_exact_figures(front_desk: Client, line: QuoteLine) -> None:
    response = front_desk.post(address(line), fresh_key() | TYPED)

    line.refresh_from_db()
    assert response["Location"].endswith(f"/edit/#quote-lines-{line.option_id}")
    assert (line.quantity_milli, line.discount_e4, line.payer, line.version) == (3000, 1250, "maker", 2)


def test_edit_line_by_desk_keeps_cost_t02(front_desk: Client, line: QuoteLine) -> None:
    front_desk.post(address(line), fresh_key() | TYPED | {"unit_cost": "0.01", "cost": "0.01"})

    line.refresh_from_db()
    assert (line.quantity_milli, line.unit_cost_e4) == (3000, 91_234)


def test_edit_line_by_owner_sets_cost(owner: Client, line: QuoteLine) -> None:
    owner.post(address(line), fresh_key() | TYPED | {"unit_cost": "8.8"})

    line.refresh_from_db()
    assert line.unit_cost_e4 == 88_000


def test_edit_line_shows_cost_to_owner_alone(front_desk: Client, owner: Client, line: QuoteLine) -> None:
    shown = [list(values_of(browser.get(address(line)), "unit_cost")) for browser in (owner, front_desk)]

    assert shown == [["9.1234"], []]


def test_edit_line_keeps_both_versions_t22(front_desk: Client, owner: Client, line: QuoteLine) -> None:
    owner.post(address(line), fresh_key() | TYPED | {"description": "Seal by Maren", "unit_cost": "7.7123"})

    response = front_desk.post(address(line), fresh_key() | TYPED | {"description": "Seal by Ilse"})

    page = text_of(response)
    line.refresh_from_db()
    assert (response.status_code, line.description) == (409, "Seal by Maren")
    assert [text for text in ("Maren Falk", "Seal by Maren") if text not in page] == []
    assert list(values_of(response, "description")) == ["Seal by Ilse"]
    assert "7.7123" not in page
    assert list(values_of(response, "version")) == ["2"]


FIELDS = ("quantity", "description", "unit_price", "version", "discount")


def test_edit_line_answers_every_bad_value(owner: Client, line: QuoteLine) -> None:
    # each value goes into one field, so that each field gets numbers and texts of every sort
    for text, field in zip(tried_values(), cycle(FIELDS), strict=False):
        line.refresh_from_db()
        typed = TYPED | {"version": str(line.version), field: text}
        response = owner.post(address(line), fresh_key() | typed)

        assert response.status_code in (302, 409, 422), f"{field}: {text[:40]!r}"
        if response.status_code == 422:
            assert 'id="error-summary"' in text_of(response), f"{field}: {text[:40]!r}"
            assert list(values_of(response, field)) == [text], f"{field}: {text[:40]!r}"


def test_edit_line_of_sent_stays_as_shown(front_desk: Client, sent: QuoteRevision) -> None:
    line = QuoteLine.objects.first()

    opened = front_desk.get(address(line))
    saved = front_desk.post(address(line), fresh_key() | TYPED)

    assert (opened["Location"], saved.status_code) == (f"/quotes/{sent.pk}/preview/", 409)


def test_edit_line_is_not_the_technicians(bench: Client, line: QuoteLine) -> None:
    answers = [bench.get(address(line)).status_code, bench.post(address(line), TYPED).status_code]

    assert answers == [403, 403]


def test_edit_line_of_missing_is_404(front_desk: Client) -> None:
    assert front_desk.get("/quotes/line/987654/edit-line/").status_code == 404
