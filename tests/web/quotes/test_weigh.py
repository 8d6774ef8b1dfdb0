"""What comes of assumptions as they are typed: told at once, and written nowhere."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.models import Activity, QuoteLine, QuoteOption, QuoteRevision, RequestKey
from tests.factories.repairs import boat, repaired
from tests.web.pages import text_of
from tests.web.quotes.test_compare import options_of, typed

Counting = Callable[[int], AbstractContextManager[Any]]
ASKED = {"HX-Request": "true"}


def address(draft: QuoteRevision) -> str:
    return f"/quotes/choice/{draft.choices.get().pk}/weigh/"


def test_typed_assumptions_are_weighed_and_written_nowhere(front_desk: Client, draft: QuoteRevision) -> None:
    before = (Activity.objects.count(), RequestKey.objects.count())

    response = front_desk.post(address(draft), typed(draft), headers=ASKED)

    assert response.status_code == 200
    assert "1 in 10 each season; our judgement, not a warranty" in text_of(response)
    assert [option.chance_e4 for option in options_of(draft)] == [None, None]
    assert (Activity.objects.count(), RequestKey.objects.count()) == before


def test_another_chance_moves_the_average(front_desk: Client, draft: QuoteRevision) -> None:
    pages = [
        text_of(front_desk.post(address(draft), typed(draft, chance=chance), headers=ASKED))
        for chance in ("few", "most")
    ]

    assert pages[0] != pages[1]


def test_record_that_is_picked_is_told_and_asked_once(
    front_desk: Client, draft: QuoteRevision, django_assert_num_queries: Counting
) -> None:
    handed_over = timezone.now().date() - timedelta(days=800)
    for _place in range(10):
        repaired(boat(), on=handed_over)
    path, form = address(draft), typed(draft, chance="record")

    with django_assert_num_queries(13):
        page = text_of(front_desk.post(path, form, headers=ASKED))

    assert "0 of 10 here since" in page


def test_what_cannot_be_weighed_is_said_in_a_sentence(front_desk: Client, draft: QuoteRevision) -> None:
    for changed, sentence in (
        ({"damage": "x"}, "What else breaks with it"),
        ({"chance": "number", "number": ""}, "How many of 100 is missing"),
        ({"chance": "number", "number": "99.9", "fails_how": "early"}, "Give a chance at which"),
    ):
        response = front_desk.post(address(draft), typed(draft, **changed), headers=ASKED)
        assert (response.status_code, sentence in text_of(response)) == (422, True), changed


def test_margin_and_exposure_are_the_owners(front_desk: Client, owner: Client, draft: QuoteRevision) -> None:
    QuoteLine.objects.update(unit_cost_e4=10_0000)

    pages = {
        name: text_of(client.post(address(draft), typed(draft), headers=ASKED))
        for name, client in (("owner", owner), ("desk", front_desk))
    }

    # 720.00 for six hours that cost 10.00 each
    assert "$660" in pages["owner"]
    assert "$660" not in pages["desk"]
    assert "Margin today" not in pages["desk"]


def test_weighing_has_the_same_queries_at_any_size(
    front_desk: Client, draft: QuoteRevision, django_assert_num_queries: Counting
) -> None:
    path, form = address(draft), typed(draft)
    with django_assert_num_queries(11):
        front_desk.post(path, form, headers=ASKED)
    line = QuoteOption.objects.get(pk=options_of(draft)[0].pk).lines.first()
    assert line is not None
    for position in range(10, 30):
        line.pk, line.position = None, position
        line.save(force_insert=True)

    with django_assert_num_queries(11):
        front_desk.post(path, form, headers=ASKED)


@pytest.mark.parametrize("method", ["get", "put", "delete"])
def test_only_a_post_weighs(front_desk: Client, draft: QuoteRevision, method: str) -> None:
    assert getattr(front_desk, method)(address(draft)).status_code == 405


def test_it_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    assert bench.post(address(draft), typed(draft), headers=ASKED).status_code == 403
