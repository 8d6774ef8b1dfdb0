"""The builder: options side by side, margins for the owner, the same few queries whatever its size."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import Person, QuoteOption, QuoteRevision
from tests.factories.quotes import LABOUR, add_lines, desk, draft_quote
from tests.web.pages import text_of, values_of


def test_edit_shows_options_lines_and_totals(front_desk: Client, draft: QuoteRevision) -> None:
    page = text_of(front_desk.get(f"/quotes/{draft.pk}/edit/"))

    wanted = [
        "New seals on the old shaft",
        "New shaft and seals",
        "Propeller shaft seal",
        "0.75\u00a0L × $24.00",
        "Provincial 7\u00a0%",
        "$376.38",
        "$756.00",
    ]
    assert [text for text in wanted if text not in page] == []


def test_edit_shows_margins_to_the_owner(owner: Client, draft: QuoteRevision) -> None:
    assert '<th scope="col" class="num">Margin</th>' in text_of(owner.get(f"/quotes/{draft.pk}/edit/"))


def test_edit_shows_no_margins_to_the_desk(front_desk: Client, draft: QuoteRevision) -> None:
    response = front_desk.get(f"/quotes/{draft.pk}/edit/")

    assert "Margin" not in text_of(response)
    assert list(values_of(response, "unit_cost")) == []


def test_edit_of_sent_leads_to_preview(front_desk: Client, sent: QuoteRevision) -> None:
    response = front_desk.get(f"/quotes/{sent.pk}/edit/")

    assert (response.status_code, response["Location"]) == (302, f"/quotes/{sent.pk}/preview/")


def test_edit_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    assert bench.get(f"/quotes/{draft.pk}/edit/").status_code == 403


def test_edit_of_missing_is_404(front_desk: Client) -> None:
    assert front_desk.get("/quotes/987654/edit/").status_code == 404


def test_edit_shows_script_as_letters_t13(front_desk: Client, draft: QuoteRevision) -> None:
    QuoteOption.objects.update(title="<script>alert(1)</script>", warranty_covers='"><img src=x>')

    page = text_of(front_desk.get(f"/quotes/{draft.pk}/edit/"))

    assert "<script>alert(1)" not in page
    assert "<img" not in page


@pytest.mark.parametrize("lines", [1, 100])
@pytest.mark.parametrize("who", ["ilse", "maren"])
def test_edit_takes_fourteen_queries(
    request: pytest.FixtureRequest,
    signed_in: Callable[[Person], Client],
    django_assert_num_queries: object,
    lines: int,
    who: str,
) -> None:
    person: Person = request.getfixturevalue(who)
    draft = draft_quote(request.getfixturevalue("maren"), at=timezone.now())
    option = QuoteOption.objects.get(choice__revision=draft, position=2)
    maren = request.getfixturevalue("maren")
    add_lines(option, [LABOUR] * (lines - 1), by=desk(maren, at=timezone.now()))
    browser = signed_in(person)

    with django_assert_num_queries(14):
        browser.get(f"/quotes/{draft.pk}/edit/")
