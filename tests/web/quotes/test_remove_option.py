"""An option goes with its lines, once, after being asked."""

from django.test import Client
from django.utils import timezone

from shopapp.actions import quotes
from shopapp.models import Person, QuoteLine, QuoteOption, QuoteRevision
from tests.factories.quotes import SEALS, desk
from tests.web.pages import fresh_key, text_of, values_of

SEEN = {"seen_version": "2"}


def test_remove_option_leads_back(front_desk: Client, draft: QuoteRevision) -> None:
    option = QuoteOption.objects.get(position=1)

    response = front_desk.post(f"/quotes/option/{option.pk}/remove-option/", fresh_key() | SEEN)

    assert response["Location"] == f"/quotes/{draft.pk}/edit/"
    assert (QuoteOption.objects.count(), QuoteLine.objects.count()) == (1, 1)


def test_remove_option_twice_leads_back_t21(front_desk: Client, draft: QuoteRevision) -> None:
    option, key = QuoteOption.objects.get(position=1), fresh_key() | SEEN

    answers = [front_desk.post(f"/quotes/option/{option.pk}/remove-option/", key) for _ in range(2)]

    assert [answer["Location"] for answer in answers] == [f"/quotes/{draft.pk}/edit/"] * 2
    assert front_desk.post("/quotes/option/987654/remove-option/").status_code == 404


def test_remove_option_is_asked_for_once(front_desk: Client, draft: QuoteRevision) -> None:
    option = QuoteOption.objects.get(position=1)

    page = text_of(front_desk.get(f"/quotes/option/{option.pk}/edit-option/"))

    assert page.count(f'action="/quotes/option/{option.pk}/remove-option/"') == 1


def test_remove_option_that_somebody_changed_is_refused_t22(
    front_desk: Client, draft: QuoteRevision, maren: Person
) -> None:
    option = QuoteOption.objects.get(position=1)
    seen = next(values_of(front_desk.get(f"/quotes/option/{option.pk}/edit-option/"), "seen_version"))
    quotes.edit_option(option.pk, SEALS, version=2, by=desk(maren, at=timezone.now()))

    response = front_desk.post(
        f"/quotes/option/{option.pk}/remove-option/", fresh_key() | {"seen_version": seen}
    )

    assert (seen, response.status_code, QuoteOption.objects.count()) == ("2", 409, 2)


def test_remove_option_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    option = QuoteOption.objects.get(position=1)

    response = bench.post(f"/quotes/option/{option.pk}/remove-option/", fresh_key() | SEEN)

    assert (response.status_code, QuoteOption.objects.count()) == (403, 2)


def test_remove_option_of_sent_is_refused(front_desk: Client, sent: QuoteRevision) -> None:
    option = QuoteOption.objects.get(position=1)

    response = front_desk.post(f"/quotes/option/{option.pk}/remove-option/", fresh_key() | SEEN)

    assert (response.status_code, QuoteOption.objects.count()) == (409, 2)
