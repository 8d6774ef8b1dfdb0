"""Fifty planted costs and their margins are found by nobody but the owner: not on a page, part or paper."""

import io
import re
from dataclasses import replace
from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone
from pypdf import PdfReader

from shopapp.actions import quotes
from shopapp.models import (
    Activity,
    Person,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    RequestKey,
    SearchText,
)
from shopapp.queries.shown import stored_content
from tests.factories.quotes import LABOUR, add_lines, desk, draft_quote, opened_link
from tests.web.pages import fields_of, fresh_key

pytestmark = pytest.mark.django_db(transaction=True)

# seven hundred and some, so that neither cost nor margin looks like any price of the quote
COSTS = [Decimal("701.1337") + 3 * n for n in range(50)]
PRICE = Decimal(2000)


def traces() -> list[str]:
    """Every way in which a cost, or what is left of the price after it, could be written."""
    left = [PRICE - cost for cost in COSTS]
    shares = [f"{(PRICE - cost) / PRICE * 100:.2f}" for cost in COSTS]
    exact = [str(cost) for cost in COSTS] + [str(cost).replace(".", "") for cost in COSTS]
    rounded = [f"{value:.2f}" for value in [*COSTS, *left]] + [f"{value:,.2f}" for value in left]
    return [*exact, *rounded, *(f"{share}\u00a0%" for share in shares)]


def found_in(text: str) -> list[str]:
    return [trace for trace in traces() if trace in text]


def words_of(content: bytes) -> str:
    """A page as text, a PDF as its text."""
    if content.startswith(b"%PDF"):
        return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    return content.decode(errors="replace")


@pytest.fixture
def planted(maren: Person) -> QuoteRevision:
    draft = draft_quote(maren, at=timezone.now())
    option = QuoteOption.objects.get(choice__revision=draft, position=2)
    lines = [replace(LABOUR, quantity=Decimal(1), unit_price=PRICE, unit_cost=cost) for cost in COSTS]
    add_lines(option, lines, by=desk(maren, at=timezone.now()))
    return draft


def pages_of(draft: QuoteRevision) -> list[str]:
    """Every address of the room that shows something of a draft."""
    lines = QuoteLine.objects.filter(option__choice__revision=draft)
    options = QuoteOption.objects.filter(choice__revision=draft)
    return [
        f"/quotes/{draft.pk}/edit/",
        f"/quotes/{draft.pk}/preview/",
        *(f"/quotes/option/{option.pk}/edit-option/" for option in options),
        *(f"/quotes/line/{line.pk}/edit-line/" for line in lines),
    ]


def test_owner_finds_the_planted_costs(owner: Client, planted: QuoteRevision) -> None:
    page = words_of(owner.get(f"/quotes/{planted.pk}/edit/").content)

    assert len({trace for trace in found_in(page) if re.fullmatch(r"[\d,]+\.\d\d", trace)}) == 100


def test_front_desk_finds_no_planted_cost(front_desk: Client, planted: QuoteRevision) -> None:
    answers = [front_desk.get(address) for address in pages_of(planted)]
    option = QuoteOption.objects.get(choice__revision=planted, position=2)
    line = option.lines.get(unit_cost_e4=int(COSTS[0] * 10_000))
    typed = {"kind": "part", "description": "x", "quantity": "1", "unit_price": "2", "version": "9"}
    posts = [
        (f"/quotes/option/{option.pk}/add-line/", typed, {"HX-Request": "true"}),
        (f"/quotes/option/{option.pk}/add-line/", typed | {"quantity": "x"}, {}),
        (f"/quotes/line/{line.pk}/edit-line/", typed, {}),
        (f"/quotes/line/{line.pk}/edit-line/", typed | {"quantity": "x"}, {}),
    ]
    answers += [front_desk.post(to, fresh_key() | data, headers=headers) for to, data, headers in posts]

    assert [answer.status_code for answer in answers[-4:]] == [200, 422, 409, 422]
    assert [found for answer in answers for found in found_in(words_of(answer.content))] == []


def test_technician_is_shown_none_of_it(bench: Client, planted: QuoteRevision) -> None:
    answers = [bench.get(address) for address in pages_of(planted)]

    assert {answer.status_code for answer in answers} == {403}
    assert [found for answer in answers for found in found_in(words_of(answer.content))] == []


def test_customer_finds_no_planted_cost(
    planted: QuoteRevision, maren: Person, client: Client, front_desk: Client
) -> None:
    sent = quotes.send_quote(planted.pk, version=1, by=desk(maren, at=timezone.now()))
    _, token = opened_link(sent, maren, at=timezone.now())
    option = QuoteOption.objects.get(choice__revision=sent, position=2)
    pick = {f"choice-{option.choice_id}": str(option.pk)}
    client.get(f"/approvals/enter/{token}/")
    answers = [client.get("/approvals/decide/"), client.post("/approvals/decide/", pick)]
    answers.append(client.get("/approvals/paper/"))
    fields = dict(fields_of(answers[1])) | pick | {"signed_name": "Aud Nilsen", "answer": "approve"}
    answers.append(client.post("/approvals/decide/", fields))
    answers += [client.get("/approvals/done/"), client.get("/approvals/paper/")]
    answers += [front_desk.get(f"/quotes/{sent.pk}/{page}/") for page in ("preview", "paper")]

    assert [answer.status_code for answer in answers] == [200, 200, 200, 302, 200, 200, 200, 200]
    assert [found for answer in answers for found in found_in(words_of(answer.content))] == []
    assert found_in(str(stored_content(sent))) == []


def test_nothing_kept_holds_a_planted_cost(owner: Client, planted: QuoteRevision) -> None:
    option = QuoteOption.objects.get(choice__revision=planted, position=2)
    typed = {"kind": "part", "description": "x", "quantity": "1", "unit_cost": str(COSTS[0])}
    owner.post(f"/quotes/option/{option.pk}/add-line/", fresh_key() | typed)

    kept = [
        *Activity.objects.values_list("payload", flat=True),
        *RequestKey.objects.values_list("location", flat=True),
        *SearchText.objects.values_list("words", flat=True),
    ]

    assert [found for text in kept for found in found_in(text or "")] == []
