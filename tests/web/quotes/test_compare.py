"""How long each option will hold: a form in a mechanic's words, saved once, with what comes of it."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import ChanceFrom, FailsHow, QuoteChoice, QuoteOption, QuoteRevision, Way
from tests.factories.repairs import boat, came, repaired
from tests.web.pages import fresh_key, text_of

Counting = Callable[[int], AbstractContextManager[Any]]
TERMS = {"version": "1", "look_months": "36", "season_first_month": "5", "season_months": "5"}


def options_of(draft: QuoteRevision) -> list[QuoteOption]:
    return list(QuoteOption.objects.filter(choice__revision=draft).order_by("position"))


def typed(draft: QuoteRevision, **changed: str) -> dict[str, str]:
    """The seals as one of ten, then the shaft; the shaft as a new part; ``changed`` is of the seals."""
    seals, shaft = options_of(draft)[:2]
    fields = {"chance": "one", "fails_how": "by_chance", "wears_by": "use", "laid_up_counts": "on"}
    first = fields | {"follows": str(shaft.pk), "covers_labour": "on"} | changed
    second = fields | {"chance": "new_part", "covers_labour": "on", "covers_supplies": "on"}
    named = {f"option-{seals.pk}-{name}": text for name, text in first.items()}
    return fresh_key() | TERMS | named | {f"option-{shaft.pk}-{name}": text for name, text in second.items()}


def address(draft: QuoteRevision) -> str:
    return f"/quotes/choice/{draft.choices.get().pk}/compare/"


def test_saved_comparison_leads_back_and_is_shown(front_desk: Client, draft: QuoteRevision) -> None:
    response = front_desk.post(address(draft), typed(draft))

    choice = draft.choices.get()
    assert response["Location"] == f"/quotes/{draft.pk}/edit/#quote-comparison-{choice.pk}"
    seals, shaft = options_of(draft)
    assert (seals.chance_e4, seals.chance_from, seals.follows_id) == (1_000, ChanceFrom.JUDGEMENT, shaft.pk)
    assert (shaft.chance_e4, shaft.chance_from) == (500, ChanceFrom.COMMON)
    page = text_of(front_desk.get(f"/quotes/{draft.pk}/edit/"))
    assert "1 in 20 each season; usual in the trade, not our own record" in page


def test_form_opens_with_what_the_trade_reckons_with(front_desk: Client, draft: QuoteRevision) -> None:
    page = text_of(front_desk.get(address(draft)))

    assert 'value="sound_surface" selected' in page
    assert 'value="new_part" selected' in page


def test_form_opens_with_what_was_saved(front_desk: Client, draft: QuoteRevision) -> None:
    front_desk.post(address(draft), typed(draft, chance="number", number="33.5", damage="80"))

    page = text_of(front_desk.get(address(draft)))

    assert options_of(draft)[0].chance_e4 == 3_350
    assert 'value="33.5"' in page
    assert 'value="number" selected' in page
    assert 'value="80"' in page


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ({"chance": "gossip"}, "chance"),
        ({"chance": "number", "number": ""}, "number"),
        ({"chance": "number", "number": "0"}, "number"),
        ({"chance": "number", "number": "100"}, "number"),
        ({"chance": "number", "number": "x"}, "number"),
        ({"fails_how": "never"}, "fails_how"),
        ({"follows": "999999"}, "follows"),
        ({"damage": "-1"}, "damage"),
        ({"damage": "NaN"}, "damage"),
        ({"damage": "1.005"}, "damage"),
    ],
)
def test_odd_value_is_told_at_its_field(
    front_desk: Client, draft: QuoteRevision, changed: dict[str, str], name: str
) -> None:
    seals = options_of(draft)[0]

    response = front_desk.post(address(draft), typed(draft, **changed))

    assert (response.status_code, options_of(draft)[0].chance_e4) == (422, None)
    assert f'id="id_option-{seals.pk}-{name}_error"' in text_of(response)


@pytest.mark.parametrize("months", ["0", "121", "x", "3.5", ""])
def test_odd_horizon_is_told_at_its_field(front_desk: Client, draft: QuoteRevision, months: str) -> None:
    response = front_desk.post(address(draft), typed(draft) | {"look_months": months})

    assert response.status_code == 422
    assert 'id="id_look_months_error"' in text_of(response)


def test_elder_version_shows_both_t22(front_desk: Client, draft: QuoteRevision) -> None:
    front_desk.post(address(draft), typed(draft))

    response = front_desk.post(address(draft), typed(draft, chance="half"))

    assert response.status_code == 409
    assert "Somebody else saved this" in text_of(response)
    assert options_of(draft)[0].chance_e4 == 1_000


def test_sent_quote_leads_to_its_preview(front_desk: Client, sent: QuoteRevision) -> None:
    assert front_desk.get(address(sent))["Location"] == f"/quotes/{sent.pk}/preview/"


def test_it_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    assert bench.get(address(draft)).status_code == 403


def test_page_has_the_same_queries_at_any_size(
    front_desk: Client, draft: QuoteRevision, django_assert_num_queries: Counting
) -> None:
    QuoteOption.objects.update(chance_e4=1_000)
    path = address(draft)
    with django_assert_num_queries(13):
        front_desk.get(path)
    for option in options_of(draft):
        line = option.lines.first()
        assert line is not None
        for position in range(10, 30):
            line.pk, line.position = None, position
            line.save(force_insert=True)

    with django_assert_num_queries(13):
        front_desk.get(path)


def test_owner_sees_what_the_warranty_costs_and_the_desk_does_not(
    front_desk: Client, owner: Client, draft: QuoteRevision
) -> None:
    QuoteOption.objects.update(chance_e4=1_000)

    pages = [text_of(client.get(address(draft))) for client in (owner, front_desk)]

    assert [page.count("Warranty costs you") > 0 for page in pages] == [True, False]


def test_engine_that_is_replaced_has_its_trade_in_on_the_customers_page(
    front_desk: Client, draft: QuoteRevision
) -> None:
    shaft = options_of(draft)[1]
    QuoteOption.objects.filter(pk=shaft.pk).update(way=Way.REPLACE)
    more = {f"option-{shaft.pk}-trade_in": "250", f"option-{shaft.pk}-resale": "300"}

    front_desk.post(address(draft), typed(draft) | more)

    page = text_of(front_desk.get(f"/quotes/{draft.pk}/preview/"))
    assert "We give for your old engine" in page
    assert "$250.00" in page
    # 756.00 less the trade-in
    assert "$506" in page


def test_reason_for_a_way_that_is_not_offered_is_read_by_the_customer(
    front_desk: Client, draft: QuoteRevision
) -> None:
    front_desk.post(
        address(draft), typed(draft) | {"not_offered-used": "none is to be had", "own_word": "Take B."}
    )

    page = text_of(front_desk.get(f"/quotes/{draft.pk}/preview/"))

    assert "Not offered: Used part, because none is to be had" in page
    assert "“Take B.” – Ilse Brandt" in page
    assert QuoteChoice.objects.get().own_word_by is not None


def test_own_record_that_speaks_is_offered_and_told(front_desk: Client, draft: QuoteRevision) -> None:
    handed_over = timezone.now().date() - timedelta(days=800)
    for place in range(12):
        one = boat()
        job = repaired(one, on=handed_over)
        if place < 3:
            came(one, on=handed_over + timedelta(days=90), cause=job)

    front_desk.post(address(draft), typed(draft, chance="record"))

    seals = options_of(draft)[0]
    assert (seals.chance_from, seals.fails_how) == (ChanceFrom.RECORD, FailsHow.BY_CHANCE)
    assert 1_250 < (seals.chance_e4 or 0) < 2_500
    assert seals.chance_weight > 8
    page = text_of(front_desk.get(f"/quotes/{draft.pk}/preview/"))
    assert "3 of 12 here since" in page
