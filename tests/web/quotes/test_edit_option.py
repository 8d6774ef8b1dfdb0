"""The words of an option; of two who write at once the second is told."""

from itertools import cycle

import pytest
from django.test import Client

from shopapp.models import Person, QuoteOption, QuoteRevision
from tests.web.pages import fresh_key, text_of, values_of
from tests.web.shared.bad_values import tried_values

WORDS = {
    "way": "mend",
    "title": "New seals",
    "explanation": "They keep water out.\r\nAnd oil in.",
    "left_out": "The groove",
    "days": "3",
    "warranty_months": "6",
    "warranty_covers": "seals",
    "version": "2",
}


@pytest.fixture
def option(draft: QuoteRevision) -> QuoteOption:
    return QuoteOption.objects.get(choice__revision=draft, position=1)


def address(option: QuoteOption) -> str:
    return f"/quotes/option/{option.pk}/edit-option/"


def test_edit_option_saves_the_words(front_desk: Client, option: QuoteOption) -> None:
    response = front_desk.post(address(option), fresh_key() | WORDS)

    option.refresh_from_db()
    assert response["Location"] == f"/quotes/{option.choice.revision_id}/edit/#quote-lines-{option.pk}"
    assert (option.title, option.explanation, option.days, option.version) == (
        "New seals",
        "They keep water out.\nAnd oil in.",
        3,
        3,
    )


def test_edit_option_shows_what_is_there(front_desk: Client, option: QuoteOption) -> None:
    response = front_desk.get(address(option))

    shown = [next(values_of(response, name)) for name in ("title", "days", "warranty_months", "version")]
    assert shown == ["New seals on the old shaft", "2", "3", "2"]


def test_edit_option_keeps_both_texts_t22(front_desk: Client, owner: Client, option: QuoteOption) -> None:
    owner.post(address(option), fresh_key() | WORDS | {"title": "Seals by Maren", "left_out": ""})

    response = front_desk.post(address(option), fresh_key() | WORDS | {"title": "Seals by Ilse"})

    page = text_of(response)
    option.refresh_from_db()
    assert (response.status_code, option.title) == (409, "Seals by Maren")
    assert [text for text in ("Maren Falk", "Seals by Maren", "Seals by Ilse") if text not in page] == []
    assert list(values_of(response, "title")) == ["Seals by Ilse"]
    assert list(values_of(response, "left_out")) == ["The groove"]


def test_edit_option_again_on_purpose_saves_t22(
    front_desk: Client, owner: Client, option: QuoteOption
) -> None:
    owner.post(address(option), fresh_key() | WORDS | {"title": "Seals by Maren"})
    conflict = front_desk.post(address(option), fresh_key() | WORDS | {"title": "Seals by Ilse"})

    version = next(values_of(conflict, "version"))
    front_desk.post(address(option), fresh_key() | WORDS | {"title": "Seals by Ilse", "version": version})

    option.refresh_from_db()
    assert (option.title, option.version) == ("Seals by Ilse", 4)


def test_edit_option_takes_no_hidden_fields_t02(front_desk: Client, option: QuoteOption) -> None:
    forged = {"cost": "1", "role": "owner", "position": "3", "choice": "99", "unit_cost": "5"}

    front_desk.post(address(option), fresh_key() | WORDS | forged)

    before = (option.position, option.choice_id)
    option.refresh_from_db()
    assert (option.position, option.choice_id) == before
    assert not Person.objects.get(username="ilse").is_owner


FIELDS = ("days", "title", "warranty_months", "explanation", "way", "left_out")


def test_edit_option_answers_every_bad_value(front_desk: Client, option: QuoteOption) -> None:
    # each value goes into one field, so that each field gets numbers and texts of every sort
    for text, field in zip(tried_values(), cycle(FIELDS), strict=False):
        option.refresh_from_db()
        typed = WORDS | {"version": str(option.version), field: text}
        response = front_desk.post(address(option), fresh_key() | typed)

        assert response.status_code in (302, 422), f"{field}: {text[:40]!r}"
        if response.status_code == 422:
            assert 'class="field-error"' in text_of(response), f"{field}: {text[:40]!r}"
            # a select comes back without a value that is not among its own
            assert list(values_of(response, field)) in ([text], []), f"{field}: {text[:40]!r}"


def test_edit_option_keeps_what_was_typed(front_desk: Client, option: QuoteOption) -> None:
    response = front_desk.post(
        address(option), fresh_key() | WORDS | {"days": "<b>two</b>", "warranty_months": "-1"}
    )

    assert response.status_code == 422
    assert [next(values_of(response, name)) for name in ("title", "days", "warranty_months")] == [
        "New seals",
        "<b>two</b>",
        "-1",
    ]


def test_edit_option_of_sent_leads_to_preview(front_desk: Client, sent: QuoteRevision) -> None:
    option = QuoteOption.objects.get(choice__revision=sent, position=1)

    opened = front_desk.get(address(option))
    saved = front_desk.post(address(option), fresh_key() | WORDS)

    assert (opened["Location"], saved.status_code) == (f"/quotes/{sent.pk}/preview/", 409)


def test_edit_option_is_not_the_technicians(bench: Client, option: QuoteOption) -> None:
    assert [bench.get(address(option)).status_code, bench.post(address(option), WORDS).status_code] == [
        403,
        403,
    ]


def test_edit_option_of_missing_is_404(front_desk: Client) -> None:
    assert front_desk.get("/quotes/option/987654/edit-option/").status_code == 404
