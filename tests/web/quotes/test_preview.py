"""The preview: the customer's page exactly, with what the desk may do."""

import re

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.actions import approvals, links
from shopapp.actions.approvals import DecisionInput
from shopapp.models import Job, Person, QuoteOption, QuoteRevision
from tests.factories.quotes import LABOUR, add_lines, answered, behind, desk, draft_quote, first_options
from tests.web.pages import text_of, values_of


def test_preview_of_draft_can_be_sent(front_desk: Client, draft: QuoteRevision) -> None:
    response = front_desk.get(f"/quotes/{draft.pk}/preview/")

    assert f'action="/quotes/{draft.pk}/send/"' in text_of(response)
    assert list(values_of(response, "version")) == ["1"]


def test_preview_shows_options_by_price(front_desk: Client, draft: QuoteRevision) -> None:
    page = text_of(front_desk.get(f"/quotes/{draft.pk}/preview/"))

    letters = re.findall(r'option-letter">(\w)</span> ([\w ]+)<', page)
    assert letters == [("A", "New seals on the old shaft"), ("B", "New shaft and seals")]


def test_preview_has_no_form_for_the_answer(front_desk: Client, draft: QuoteRevision) -> None:
    page = text_of(front_desk.get(f"/quotes/{draft.pk}/preview/"))

    assert page.count('<fieldset class="preview stack-loose wide" disabled>') == 1
    assert "/approvals/decide/" not in page


def test_preview_of_sent_can_be_handed_over(front_desk: Client, sent: QuoteRevision) -> None:
    page = text_of(front_desk.get(f"/quotes/{sent.pk}/preview/"))

    actions = re.findall(r'action="([^"]+)"', page)
    assert actions == [f"/quotes/{sent.pk}/revise/", f"/quotes/{sent.pk}/hand-over/"]


def test_preview_of_answered_has_paper_only(front_desk: Client, sent: QuoteRevision, ilse: Person) -> None:
    answered(sent, ilse, at=timezone.now())

    page = text_of(front_desk.get(f"/quotes/{sent.pk}/preview/"))

    assert re.findall(r'action="([^"]+)"', page) == []
    assert f'href="/quotes/{sent.pk}/paper/"' in page


def test_preview_serves_photos_to_the_shop(front_desk: Client, draft: QuoteRevision, tobiah: Person) -> None:
    job = Job.objects.get()
    photo = job.photos.create(
        work_order=job.work_order,
        sha256="a" * 64,
        width=1,
        height=1,
        byte_size=1,
        taken_by=tobiah,
        taken_at=timezone.now(),
    )

    page = text_of(front_desk.get(f"/quotes/{draft.pk}/preview/"))

    assert re.findall(r'<img src="([^"]+)"', page) == [f"/media/photo/{photo.pk}/"]


def test_preview_is_not_the_technicians(bench: Client, draft: QuoteRevision) -> None:
    assert bench.get(f"/quotes/{draft.pk}/preview/").status_code == 403


@pytest.mark.parametrize("lines", [1, 100])
def test_preview_takes_fourteen_queries(
    front_desk: Client, maren: Person, django_assert_num_queries: object, lines: int
) -> None:
    draft = draft_quote(maren, at=timezone.now())
    option = QuoteOption.objects.get(choice__revision=draft, position=2)
    add_lines(option, [LABOUR] * (lines - 1), by=desk(maren, at=timezone.now()))

    with django_assert_num_queries(14):
        front_desk.get(f"/quotes/{draft.pk}/preview/")


def test_preview_of_answered_shows_the_answer(
    front_desk: Client, sent: QuoteRevision, ilse: Person, django_assert_max_num_queries: object
) -> None:
    answered(sent, ilse, at=timezone.now())

    with django_assert_max_num_queries(15):
        page = text_of(front_desk.get(f"/quotes/{sent.pk}/preview/"))

    option = QuoteOption.objects.get(choice__revision=sent, position=1)
    shown = [
        "What was agreed",
        "A – New seals on the old shaft",
        "Aud Nilsen, ",
        f'value="{option.pk}" checked',
    ]
    assert [text for text in shown if text not in page] == []
    assert "Yes, do what I chose" not in page


def test_preview_of_answer_by_link_says_where_it_went(
    front_desk: Client, sent: QuoteRevision, ilse: Person, django_assert_max_num_queries: object
) -> None:
    link, _ = links.open_phone(sent.pk, "604 555 0199", by=desk(ilse, at=timezone.now()))
    signed = DecisionInput(is_declined=False, chosen=first_options(sent), signed_name="Aud Nilsen")
    approvals.decide(sent.pk, signed, by=behind(link, at=timezone.now()))

    with django_assert_max_num_queries(15):
        page = text_of(front_desk.get(f"/quotes/{sent.pk}/preview/"))

    assert [text for text in ("by link", "Link sent to", "604 555 0199") if text not in page] == []
