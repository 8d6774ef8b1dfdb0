"""Another way of putting it right."""

import re

from django.test import Client

from shopapp.models import QuoteOption, QuoteRevision
from tests.web.pages import fresh_key, text_of
from tests.web.shared.bad_values import tried_values


def test_add_option_leads_to_its_words(front_desk: Client, draft: QuoteRevision) -> None:
    choice = draft.choices.get()

    response = front_desk.post(f"/quotes/choice/{choice.pk}/add-option/", fresh_key() | {"way": "exchange"})

    option = QuoteOption.objects.get(position=3)
    assert response["Location"] == f"/quotes/option/{option.pk}/edit-option/"
    assert (option.way, option.title) == ("exchange", "Exchange unit")


def test_add_option_refuses_the_fourth(front_desk: Client, draft: QuoteRevision) -> None:
    address = f"/quotes/choice/{draft.choices.get().pk}/add-option/"
    front_desk.post(address, fresh_key() | {"way": "used"})

    response = front_desk.post(address, fresh_key() | {"way": "exchange"})

    assert (response.status_code, QuoteOption.objects.count()) == (409, 3)
    assert "at most three options" in text_of(response)


def test_add_option_offers_what_has_a_place(front_desk: Client, draft: QuoteRevision) -> None:
    address = f"/quotes/choice/{draft.choices.get().pk}/add-option/"
    offered = []
    for way in ("used", "leave"):
        front_desk.post(address, fresh_key() | {"way": way})
        page = text_of(front_desk.get(f"/quotes/{draft.pk}/edit/"))
        form = page.partition(address)[2].partition("</form>")[0]
        offered.append(re.findall(r'<option value="(\w+)"', form))

    # three stand side by side; below them there is room for leaving it, once
    assert offered == [["leave"], []]


def test_add_option_refuses_strange_ways(front_desk: Client, draft: QuoteRevision) -> None:
    address = f"/quotes/choice/{draft.choices.get().pk}/add-option/"

    answers = {front_desk.post(address, fresh_key() | {"way": text}).status_code for text in tried_values()}

    assert (answers, QuoteOption.objects.count()) == ({422}, 2)


def test_add_option_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    address = f"/quotes/choice/{draft.choices.get().pk}/add-option/"

    assert bench.post(address, fresh_key() | {"way": "used"}).status_code == 403


def test_add_option_to_missing_is_404(front_desk: Client) -> None:
    assert front_desk.post("/quotes/choice/987654/add-option/", fresh_key()).status_code == 404
