"""What was taken out of a draft is put back by one button on the builder."""

from django.test import Client

from shopapp.models import QuoteLine, QuoteRevision, Removed
from tests.web.pages import fresh_key, text_of


def taken_line(browser: Client, draft: QuoteRevision) -> QuoteLine:
    """The oil, taken out as a person would."""
    line = QuoteLine.objects.get(option__choice__revision=draft, description="Gear oil")
    browser.post(f"/quotes/line/{line.pk}/remove-line/", fresh_key() | {"seen_version": "1"})
    return line


def test_put_back_is_offered_and_works(front_desk: Client, draft: QuoteRevision) -> None:
    line = taken_line(front_desk, draft)
    page = text_of(front_desk.get(f"/quotes/{draft.pk}/edit/"))
    address = f"/quotes/removed/{Removed.objects.get().pk}/put-back/"
    assert ("Taken out: “Gear oil”" in page, address in page) == (True, True)

    response = front_desk.post(address, fresh_key())

    assert response["Location"] == f"/quotes/{draft.pk}/edit/"
    assert QuoteLine.objects.filter(pk=line.pk, description="Gear oil").exists()
    assert "Taken out" not in text_of(front_desk.get(response["Location"]))


def test_put_back_sent_twice_is_one_t21(front_desk: Client, draft: QuoteRevision) -> None:
    taken_line(front_desk, draft)
    address, key = f"/quotes/removed/{Removed.objects.get().pk}/put-back/", fresh_key()

    answers = [front_desk.post(address, key).status_code for _ in range(2)]

    assert answers == [302, 404]
    assert QuoteLine.objects.filter(description="Gear oil").count() == 1


def test_put_back_is_not_the_technicians(front_desk: Client, bench: Client, draft: QuoteRevision) -> None:
    taken_line(front_desk, draft)

    response = bench.post(f"/quotes/removed/{Removed.objects.get().pk}/put-back/", fresh_key())

    assert (response.status_code, Removed.objects.count()) == (403, 1)


def test_put_back_of_missing_is_404(front_desk: Client) -> None:
    assert front_desk.post("/quotes/removed/987654/put-back/", fresh_key()).status_code == 404
