"""A line goes, once, after being asked."""

from django.test import Client

from shopapp.models import QuoteLine, QuoteRevision
from tests.web.pages import fresh_key


def test_remove_line_leads_back(front_desk: Client, draft: QuoteRevision) -> None:
    line = QuoteLine.objects.get(description="Gear oil")

    response = front_desk.post(f"/quotes/line/{line.pk}/remove-line/", fresh_key())

    assert response["Location"] == f"/quotes/{draft.pk}/edit/#quote-lines-{line.option_id}"
    assert not QuoteLine.objects.filter(pk=line.pk).exists()


def test_remove_line_twice_answers_the_same_t21(front_desk: Client, draft: QuoteRevision) -> None:
    line, key = QuoteLine.objects.first(), fresh_key()
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

    response = front_desk.post(f"/quotes/line/{line.pk}/remove-line/", fresh_key())

    assert (response.status_code, QuoteLine.objects.count()) == (409, 4)


def test_remove_line_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    line = QuoteLine.objects.first()

    response = bench.post(f"/quotes/line/{line.pk}/remove-line/", fresh_key())

    assert (response.status_code, QuoteLine.objects.count()) == (403, 4)
