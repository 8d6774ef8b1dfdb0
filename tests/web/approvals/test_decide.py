"""The customer reads, chooses, sees the total, signs; the form carries no money."""

import json
import re
from datetime import timedelta
from itertools import cycle

import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone

from shopapp.actions import quotes
from shopapp.models import Approval, ApprovedChoice, Job, Person, QuoteOption, QuoteRevision, Stage
from shopapp.triggers import apply_triggers, remove_triggers
from tests.factories.quotes import LABOUR, add_lines, desk, draft_quote, opened_link
from tests.web.approvals.conftest import Visitor
from tests.web.pages import fresh_key, text_of, values_of
from tests.web.shared.bad_values import tried_values

DRAWING = json.dumps(
    {
        "width": 600,
        "height": 240,
        "strokes": [{"points": [{"x": 9.5, "y": 20, "time": 1, "pressure": 0.5}]}],
    }
)


def test_decide_shows_what_was_shown(visitor: Visitor) -> None:
    page = text_of(visitor.browser.get("/approvals/decide/"))

    wanted = [
        "$376.38",
        "$756.00",
        "The propeller, which is nicked.",
        "Not now",
        "Fixed price",
        "Tax at today",
    ]
    assert [text for text in wanted if text not in page] == []


def test_decide_picks_nothing_beforehand(visitor: Visitor) -> None:
    page = text_of(visitor.browser.get("/approvals/decide/"))

    assert (page.count('type="radio"'), page.count("checked")) == (3, 0)


def test_decide_shows_total_without_script(visitor: Visitor) -> None:
    response = visitor.browser.post("/approvals/decide/", visitor.picks() | {"signed_name": "Aud"})

    assert response.status_code == 200
    assert re.findall(r'class="sum"><span>[^<]+</span><span>([^<]+)<', text_of(response)) == ["$376.38"]
    assert list(values_of(response, "signed_name")) == ["Aud"]
    assert "field-error" not in text_of(response)


def test_decide_answers_htmx_with_the_total(visitor: Visitor) -> None:
    response = visitor.browser.post("/approvals/decide/", visitor.picks(), headers={"HX-Request": "true"})

    assert text_of(response).strip().startswith('<div class="stack" id="decision-total">')
    assert "$376.38" in text_of(response)


def test_decide_approves_and_leads_to_done(visitor: Visitor) -> None:
    response = visitor.answers(strokes=DRAWING)

    approval = Approval.objects.get()
    assert (response.status_code, response["Location"]) == (302, "/approvals/done/")
    assert (approval.with_tax_minor, approval.signed_name, approval.strokes) == (
        37_638,
        "Aud Nilsen",
        DRAWING.replace(" ", ""),
    )
    assert (approval.address, Job.objects.get().stage) == ("127.0.0.1", Stage.IN_LINE)


def test_decide_takes_no_money_from_the_form_t02(visitor: Visitor) -> None:
    forged = {
        "cost": "0",
        "price": "1",
        "total": "0.01",
        "with_tax_minor": "1",
        "role": "owner",
        "decision": "approved",
        "revision": "99",
        "decided_at": "2020-01-01",
    }

    visitor.answers(**forged)

    approval = Approval.objects.get()
    assert (approval.with_tax_minor, approval.revision) == (37_638, visitor.revision)
    assert approval.decided_at > timezone.now() - timedelta(minutes=1)


def test_decide_wants_the_total_seen_first(visitor: Visitor) -> None:
    other = QuoteOption.objects.get(position=2)

    first = visitor.answers(**visitor.picks(other.pk))
    seen = next(values_of(first, "seen"))
    second = visitor.answers(**visitor.picks(other.pk), seen=seen)

    assert (first.status_code, second.status_code) == (422, 302)
    assert "This is the total of what you chose." in text_of(first)
    assert re.findall(r'class="sum"><span>[^<]+</span><span>([^<]+)<', text_of(first)) == ["$756.00"]
    assert Approval.objects.get().with_tax_minor == 75_600


def test_decide_declines_with_a_reason(visitor: Visitor) -> None:
    visitor.answers(answer="decline", reason="Selling her")

    approval = Approval.objects.get()
    assert (approval.decision, approval.reason, approval.with_tax_minor) == ("declined", "Selling her", 0)
    assert Job.objects.get().stage == Stage.READY


@pytest.mark.parametrize("answer", ["approve", "decline"])
def test_decide_always_wants_a_name(visitor: Visitor, answer: str) -> None:
    response = visitor.answers(answer=answer, signed_name=" ")

    assert (response.status_code, Approval.objects.count()) == (422, 0)
    assert "Your name is missing." in text_of(response)


def test_decide_wants_each_choice_made(visitor: Visitor) -> None:
    fields = fresh_key() | {"answer": "approve", "signed_name": "Aud Nilsen"}

    response = visitor.browser.post("/approvals/decide/", fields)

    name = next(iter(visitor.picks()))
    assert (response.status_code, Approval.objects.count()) == (422, 0)
    assert f'href="#id_{name}"' in text_of(response)
    assert f'id="id_{name}_error"' in text_of(response)


def test_decide_sent_twice_answers_the_same_t21(visitor: Visitor) -> None:
    fields = visitor.sees(visitor.picks()) | {"signed_name": "Aud Nilsen", "answer": "approve"}

    answers = [visitor.browser.post("/approvals/decide/", fields) for _ in range(2)]

    assert [answer["Location"] for answer in answers] == ["/approvals/done/"] * 2
    assert Approval.objects.count() == 1


def test_decide_refuses_other_content_t20(visitor: Visitor) -> None:
    fields = visitor.sees(visitor.picks()) | {"signed_name": "Aud Nilsen", "answer": "approve"}
    visitor.browser.post("/approvals/decide/", fields)

    response = visitor.browser.post("/approvals/decide/", fields | {"signed_name": "Somebody Else"})

    assert (response.status_code, Approval.objects.get().signed_name) == (422, "Aud Nilsen")


def test_decide_twice_is_refused(visitor: Visitor) -> None:
    fields = visitor.sees(visitor.picks()) | {"signed_name": "Aud Nilsen", "answer": "approve"}
    visitor.browser.post("/approvals/decide/", fields)

    response = visitor.browser.post("/approvals/decide/", fields | fresh_key())

    assert (response.status_code, Approval.objects.count()) == (409, 1)
    assert "answered already" in text_of(response)


def test_decide_on_replaced_is_refused_t04(visitor: Visitor, ilse: Person) -> None:
    fields = visitor.sees(visitor.picks()) | {"signed_name": "Aud Nilsen", "answer": "approve"}
    new = quotes.revise_quote(visitor.revision.pk, by=desk(ilse, at=timezone.now()))
    quotes.send_quote(new.pk, version=1, by=desk(ilse, at=timezone.now()))

    opened = visitor.browser.get("/approvals/decide/")
    answered = visitor.browser.post("/approvals/decide/", fields)

    assert (opened.status_code, answered.status_code, Approval.objects.count()) == (200, 409, 0)
    assert "replaced by a newer one" in text_of(opened)
    assert "sign-h" not in text_of(opened)
    assert "replaced by a newer one" in text_of(answered)


def test_decide_on_changed_rows_is_refused_t35(visitor: Visitor) -> None:
    fields = visitor.sees(visitor.picks()) | {"signed_name": "Aud Nilsen", "answer": "approve"}
    remove_triggers(connection)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE shopapp_quoteline SET unit_price_e4 = 1")
    apply_triggers(connection)

    response = visitor.browser.post("/approvals/decide/", fields)

    assert (response.status_code, Approval.objects.count()) == (409, 0)
    assert "send it again" in text_of(response)


def test_decide_after_the_answer_leads_to_done(visitor: Visitor) -> None:
    visitor.answers()

    assert visitor.browser.get("/approvals/decide/")["Location"] == "/approvals/done/"


def test_decide_with_prices_run_out_has_no_form(visitor: Visitor) -> None:
    remove_triggers(connection)
    yesterday = timezone.now().date() - timedelta(days=2)
    QuoteRevision.objects.update(valid_until_date=yesterday)
    apply_triggers(connection)

    page = text_of(visitor.browser.get("/approvals/decide/"))

    assert "prices of this quote have run out" in page
    assert "sign-h" not in page


def test_decide_reaches_one_quote_only(visitor: Visitor, ilse: Person) -> None:
    draft = draft_quote(ilse, at=timezone.now())
    other = quotes.send_quote(draft.pk, version=1, by=desk(ilse, at=timezone.now()))
    foreign = QuoteOption.objects.filter(choice__revision=other).first()

    response = visitor.answers(**{f"choice-{foreign.choice_id}": str(foreign.pk)})

    assert response.status_code == 302
    assert ApprovedChoice.objects.get().choice.revision == visitor.revision


def test_decide_page_calls_nobody_else_t07(visitor: Visitor) -> None:
    response = visitor.browser.get("/approvals/decide/")

    assert re.findall(r"(?:https?:)?//[\w.-]+", text_of(response)) == []
    told = [response[name] for name in ("Referrer-Policy", "Cache-Control", "X-Robots-Tag")]
    assert told == ["no-referrer", "no-store", "noindex"]
    # the page's own word for forms: same origin, or the browser would hide from where they come
    assert '<meta name="referrer" content="same-origin">' in text_of(response)


def test_decide_shows_nothing_of_the_shop_inside(visitor: Visitor, ilse: Person) -> None:
    visitor.browser.force_login(ilse)

    page = text_of(visitor.browser.get("/approvals/decide/"))

    assert [
        text for text in (ilse.name, "/people/sign-out/", "/work-orders/", "Margin") if text in page
    ] == []


def test_decide_by_signed_in_staff_is_the_customers(visitor: Visitor, maren: Person) -> None:
    visitor.browser.force_login(maren)

    visitor.answers()

    approval = Approval.objects.get()
    assert approval.witness.name == "Ilse Brandt"


def test_decide_shows_script_as_letters_t13(ilse: Person) -> None:
    draft = draft_quote(ilse, at=timezone.now())
    QuoteOption.objects.update(title="<script>alert(1)</script>", explanation="<img src=x onerror=alert(1)>")
    Job.objects.update(complaint="<script>alert(2)</script>", cause="</textarea><script>alert(3)</script>")
    sent = quotes.send_quote(draft.pk, version=1, by=desk(ilse, at=timezone.now()))
    link, token = opened_link(sent, ilse, at=timezone.now())
    guest = Visitor(revision=sent, link=link, token=token)
    guest.browser.get(f"/approvals/enter/{token}/")

    pages = [guest.browser.get("/approvals/decide/"), guest.answers(), guest.browser.get("/approvals/done/")]

    assert [page.status_code for page in pages] == [200, 302, 200]
    assert re.findall(r"<script>|<img src=x", "".join(text_of(page) for page in pages)) == []


FIELDS = ("signed_name", "strokes", "reason", "choice", "seen", "once_key")


def test_decide_answers_every_bad_value(visitor: Visitor) -> None:
    choice = next(iter(visitor.picks()))
    fields = visitor.sees(visitor.picks()) | {"signed_name": "Aud Nilsen", "answer": "decline", "reason": "x"}
    for text, name in zip(tried_values(), cycle(FIELDS), strict=False):
        field = choice if name == "choice" else name
        # a bad value in one field only, beside a missing name: so nothing is ever decided
        typed = fields | {"answer": "approve", "signed_name": ""} | {field: text}
        if name == "signed_name":
            typed[choice] = "0"
        response = visitor.browser.post("/approvals/decide/", typed)

        assert response.status_code == 422, f"{field}: {text[:40]!r}"
        assert 'id="error-summary"' in text_of(response), f"{field}: {text[:40]!r}"
        if name in ("signed_name", "strokes", "reason"):
            assert list(values_of(response, field)) == [text], f"{field}: {text[:40]!r}"
    assert Approval.objects.count() == 0


@pytest.mark.parametrize("lines", [1, 100])
def test_decide_takes_few_queries(ilse: Person, django_assert_num_queries: object, lines: int) -> None:
    draft = draft_quote(ilse, at=timezone.now())
    by = desk(ilse, at=timezone.now())
    add_lines(QuoteOption.objects.get(position=2), [LABOUR] * (lines - 1), by=by)
    sent = quotes.send_quote(draft.pk, version=1, by=by)
    _, token = opened_link(sent, ilse, at=timezone.now())
    browser = Client()
    browser.get(f"/approvals/enter/{token}/")

    with django_assert_num_queries(5):
        browser.get("/approvals/decide/")
