"""A line goes, once, after being asked."""

from django.test import Client
from django.utils import timezone

from shopapp.actions import quotes
from shopapp.models import Person, QuoteLine, QuoteRevision
from tests.factories.quotes import LABOUR, desk
from tests.web.pages import fresh_key, text_of, values_of

SEEN = {"seen_version": "1"}


def test_remove_line_leads_back(front_desk: Client, draft: QuoteRevision) -> None:
    line = QuoteLine.objects.get(description="Gear oil")

    response = front_desk.post(f"/quotes/line/{line.pk}/remove-line/", fresh_key() | SEEN)

    assert response["Location"] == f"/quotes/{draft.pk}/edit/#quote-lines-{line.option_id}"
    assert not QuoteLine.objects.filter(pk=line.pk).exists()


def test_remove_line_twice_answers_the_same_t21(front_desk: Client, draft: QuoteRevision) -> None:
    line, key = QuoteLine.objects.first(), fresh_key() | SEEN
    first = front_desk.post(f"/quotes/line/{line.pk}/remove-line/", key)

    again = front_desk.post(f"/quotes/line/{line.pk}/remove-line/", key)

    assert (again.status_code, again["Location"]) == (302, first["Location"])
    assert QuoteLine.objects.count() == 3


def test_remove_line_of_missing_is_404(front_desk: Client) -> None:
    answers = [
        front_desk.post("/quotes/line/987654/remove-line/", fields).status_code
        for fields in ({}, fresh_key())
    ]

    assert answers == [404, 404]


def test_remove_line_of_sent_is_refused(front_desk: Client, sent: QuoteRevision) -> None:
    line = QuoteLine.objects.first()

    response = front_desk.post(f"/quotes/line/{line.pk}/remove-line/", fresh_key() | SEEN)

    assert (response.status_code, QuoteLine.objects.count()) == (409, 4)


def test_remove_line_that_somebody_changed_is_refused_t22(
    front_desk: Client, draft: QuoteRevision, maren: Person
) -> None:
    line = QuoteLine.objects.first()
    seen = next(values_of(front_desk.get(f"/quotes/line/{line.pk}/edit-line/"), "seen_version"))
    quotes.edit_line(line.pk, LABOUR, version=1, by=desk(maren, at=timezone.now()))

    response = front_desk.post(f"/quotes/line/{line.pk}/remove-line/", fresh_key() | {"seen_version": seen})

    assert (seen, response.status_code, QuoteLine.objects.count()) == ("1", 409, 4)
    assert "Somebody changed this after you opened it." in text_of(response)


def test_remove_line_needs_the_version_seen(front_desk: Client, draft: QuoteRevision) -> None:
    line = QuoteLine.objects.first()

    answers = [
        front_desk.post(f"/quotes/line/{line.pk}/remove-line/", fresh_key() | {"seen_version": wrong})
        for wrong in ("", "x", "0", "-1", "9" * 30)
    ]

    assert [answer.status_code for answer in answers] == [422] * 5
    assert QuoteLine.objects.count() == 4


def test_remove_line_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    line = QuoteLine.objects.first()

    response = bench.post(f"/quotes/line/{line.pk}/remove-line/", fresh_key() | SEEN)

    assert (response.status_code, QuoteLine.objects.count()) == (403, 4)
