"""The desk writes down what a customer said on the telephone: options, total, who, when, which number."""

import re
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from shopapp.actions import quotes
from shopapp.models import Approval, Job, Person, QuoteOption, QuoteRevision, Shop
from tests.factories.quotes import (
    LABOUR,
    add_lines,
    answered,
    desk,
    draft_quote,
    first_options,
    sent_quote,
    sent_supplement,
)
from tests.web.pages import fields_of, fresh_key, text_of, values_of
from tests.web.quotes.conftest import SignIn

VANCOUVER = ZoneInfo("America/Vancouver")


def picks(revision: QuoteRevision) -> dict[str, str]:
    return {f"choice-{choice}": str(option) for choice, option in first_options(revision).items()}


def says(browser: Client, revision: QuoteRevision, **typed: str) -> HttpResponse:
    """Looks at the total of the first options, then writes a yes down, unless told otherwise."""
    address = f"/quotes/{revision.pk}/answer-by-phone/"
    shown = browser.post(address, picks(revision) | {"answer": "total"})
    fields = dict(fields_of(shown)) | picks(revision) | fresh_key() | {"how": "phone", "answer": "approve"}
    return browser.post(address, fields | typed)


def test_answer_by_phone_knows_whom_to_call(front_desk: Client, sent: QuoteRevision) -> None:
    page = front_desk.get(f"/quotes/{sent.pk}/answer-by-phone/")

    customer = sent.quote.work_order.customer
    fields = dict(fields_of(page))
    assert (fields["spoken_with"], fields["number"]) == (customer.name, customer.phone)
    # the clock on the shop's wall
    assert fields["spoken_at"][:13] == timezone.now().astimezone(VANCOUVER).strftime("%Y-%m-%dT%H")
    assert "New seals on the old shaft" in text_of(page)


def test_answer_by_phone_shows_what_it_comes_to_first(
    front_desk: Client, sent: QuoteRevision, ilse: Person
) -> None:
    answered(sent, ilse, at=timezone.now())
    extra = sent_supplement(Job.objects.get(), ilse, at=timezone.now())

    page = front_desk.post(
        f"/quotes/{extra.pk}/answer-by-phone/", picks(extra), headers={"HX-Request": "true"}
    )

    assert text_of(page).strip().startswith('<div class="stack" id="call-total">')
    sums = re.findall(r'class="num">([^<]+)</td>', text_of(page))[-3:]
    assert sums == ["$354.80", "$36.80", "$391.60"]


def test_answer_by_phone_writes_the_yes_down(front_desk: Client, sent: QuoteRevision, ilse: Person) -> None:
    response = says(front_desk, sent, relation="owner", number="604 555 0199")

    approval = Approval.objects.get()
    assert (response.status_code, response["Location"]) == (302, f"/quotes/{sent.pk}/preview/")
    assert (approval.how, approval.recorded_by, approval.called_number) == ("phone", ilse, "604 555 0199")
    assert (approval.extra_minor, approval.new_total_minor) == (35_480, 35_480)
    assert (approval.extra_work, Job.objects.get().stage) == ("New seals on the old shaft", "in_line")


def test_answer_by_phone_reads_the_shops_clock(ilse: Person, signed_in: SignIn) -> None:
    sent = sent_quote(ilse, at=timezone.now() - timedelta(hours=3))
    told = (timezone.now() - timedelta(hours=2)).replace(second=0, microsecond=0)

    says(signed_in(ilse), sent, spoken_at=told.astimezone(VANCOUVER).strftime("%Y-%m-%dT%H:%M"))

    assert Approval.objects.get().decided_at == told


def test_answer_by_phone_writes_the_no_down(front_desk: Client, sent: QuoteRevision) -> None:
    says(front_desk, sent, answer="decline", how="email", number="aud@inlet.test", reason="Selling the boat")

    approval = Approval.objects.get()
    assert (approval.decision, approval.how, approval.reason) == ("declined", "email", "Selling the boat")


def test_answer_by_phone_wants_the_total_seen(front_desk: Client, sent: QuoteRevision) -> None:
    other = QuoteOption.objects.get(position=2)

    response = says(front_desk, sent, **{f"choice-{other.choice_id}": str(other.pk)})

    assert (response.status_code, Approval.objects.count()) == (422, 0)
    assert "Please look at it, then press again." in text_of(response)


def test_answer_by_phone_takes_no_money_from_the_form_t02(front_desk: Client, sent: QuoteRevision) -> None:
    says(front_desk, sent, extra_minor="1", new_total_minor="1", with_tax_minor="1", recorded_by="99")

    approval = Approval.objects.get()
    assert (approval.extra_minor, approval.new_total_minor, approval.with_tax_minor) == (
        35_480,
        35_480,
        37_638,
    )


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"spoken_with": ""}, "Who said it? is missing"),
        ({"number": ""}, "Number called, or email address is missing"),
        ({"spoken_at": ""}, "When was it said? is missing"),
        ({"spoken_at": "yesterday"}, "This is not a day and a time. Write it like 2026-06-30 14:30."),
        ({"spoken_at": "2020-01-01T10:00"}, "a time after this quote was sent"),
        ({"spoken_at": "2090-01-01T10:00"}, "a time that has passed"),
        ({"how": "here"}, "here"),
    ],
)
def test_answer_by_phone_says_what_is_missing(
    front_desk: Client, sent: QuoteRevision, typed: dict[str, str], words: str
) -> None:
    response = says(front_desk, sent, **typed)

    page = text_of(response)
    assert (response.status_code, Approval.objects.count()) == (422, 0)
    assert words in page.replace("&#x27;", "'")
    assert "error-summary" in page


def test_answer_by_phone_twice_with_one_key_is_one_answer(front_desk: Client, sent: QuoteRevision) -> None:
    key = fresh_key()
    answers = [says(front_desk, sent, **key)]

    fields = picks(sent) | {"answer": "approve"}
    answers.append(front_desk.post(f"/quotes/{sent.pk}/answer-by-phone/", fields | key))

    assert [answer["Location"] for answer in answers] == [f"/quotes/{sent.pk}/preview/"] * 2
    assert Approval.objects.count() == 1


def test_answer_by_phone_asks_for_the_parts(front_desk: Client, sent: QuoteRevision) -> None:
    assert "wants_parts_back" in text_of(front_desk.get(f"/quotes/{sent.pk}/answer-by-phone/"))

    says(front_desk, sent, wants_parts_back="on")

    assert Approval.objects.get().wants_parts_back is True


def test_answer_by_phone_leaves_parts_alone(front_desk: Client, sent: QuoteRevision) -> None:
    Shop.objects.update(offers_parts_back=False)
    assert "wants_parts_back" not in text_of(front_desk.get(f"/quotes/{sent.pk}/answer-by-phone/"))

    says(front_desk, sent, wants_parts_back="on")

    assert Approval.objects.get().wants_parts_back is None


def test_answer_by_phone_leads_on_once_answered(front_desk: Client, sent: QuoteRevision) -> None:
    says(front_desk, sent)

    response = front_desk.get(f"/quotes/{sent.pk}/answer-by-phone/")

    assert (response.status_code, response["Location"]) == (302, f"/quotes/{sent.pk}/preview/")


def test_answer_by_phone_keeps_what_was_typed(front_desk: Client, sent: QuoteRevision) -> None:
    response = front_desk.post(
        f"/quotes/{sent.pk}/answer-by-phone/", {"spoken_with": "Aud", "answer": "total"}
    )

    assert (response.status_code, list(values_of(response, "spoken_with"))) == (200, ["Aud"])
    assert "error-summary" not in text_of(response)


def test_answer_by_phone_is_not_the_technicians(bench: Client, sent: QuoteRevision) -> None:
    for method in (bench.get, bench.post):
        assert method(f"/quotes/{sent.pk}/answer-by-phone/").status_code == 403


@pytest.mark.parametrize("lines", [1, 40])
def test_answer_by_phone_takes_few_queries(
    front_desk: Client, ilse: Person, django_assert_num_queries: object, lines: int
) -> None:
    draft = draft_quote(ilse, at=timezone.now())
    option = QuoteOption.objects.get(position=1)
    add_lines(option, [LABOUR] * lines, by=desk(ilse, at=timezone.now()))
    sent = quotes.send_quote(draft.pk, version=1, by=desk(ilse, at=timezone.now()))

    with django_assert_num_queries(12):
        front_desk.get(f"/quotes/{sent.pk}/answer-by-phone/")
