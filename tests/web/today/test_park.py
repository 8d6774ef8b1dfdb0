"""A form is put aside and one stands on Today; it is forgotten once it was sent."""

import json
from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import CallSlip, ParkedForm, Person
from tests.web.shared.bad_values import BAD_TEXTS

ADDRESS = "/today/park/"
SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
SLIP = {"name": "Aud Nilsen", "about": "When is it ready?"}
SENT = {
    "title": "New call slip",
    "path": "/calls/new/?parked=7",
    "form": "call-slip",
    "fields_json": json.dumps([["name", "Aud"], ["once_key", "k"], ["csrfmiddlewaretoken", "t"]]),
}


def parked(ilse: Person, signed_in: SignedIn, key: Key) -> ParkedForm:
    signed_in(ilse).post(ADDRESS, SENT | key())
    return ParkedForm.objects.get()


def test_park_leaves_one_on_today_with_the_form_in_the_list(
    ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    client = signed_in(ilse)

    response = client.post(ADDRESS, SENT | key(), follow=True)

    row = ParkedForm.objects.get()
    content = response.content.decode()
    assert response.redirect_chain == [("/today/", 302)]
    assert (row.path, row.fields) == ("/calls/new/", [["name", "Aud"]])
    assert content.count(f'href="/calls/new/?parked={row.pk}"') == 2
    assert content.count("Parked: New call slip") == 1
    # the count in the header
    assert (
        content.count(
            'href="/today/parked/"><span class="parked-word">Parked</span> <span class="count">1</span>'
        )
        == 1
    )


def test_park_sent_twice_is_parked_once(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    client, sent = signed_in(ilse), SENT | key()

    for _ in range(2):
        client.post(ADDRESS, sent)

    assert ParkedForm.objects.count() == 1


def test_park_may_lead_to_a_new_call_slip(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    response = signed_in(ilse).post(ADDRESS, SENT | {"then": "call"} | key())

    assert response.headers["Location"] == "/calls/new/"


def test_page_brings_back_what_was_parked(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    row = parked(ilse, signed_in, key)

    content = signed_in(ilse).get(f"/calls/new/?parked={row.pk}").content.decode()

    island = content.partition('<script id="resumed-form" type="application/json">')[2].partition("<")[0]
    assert json.loads(island) == {"pk": row.pk, "form": "call-slip", "fields": [["name", "Aud"]]}


def test_page_brings_nothing_of_another_person(
    ilse: Person, maren: Person, tobiah: Person, signed_in: SignedIn, key: Key
) -> None:
    row = parked(ilse, signed_in, key)

    answers = [
        signed_in(person).get(f"{path}?parked={row.pk}").content.decode()
        for person, path in ((maren, "/calls/new/"), (tobiah, "/work-orders/"))
    ]

    assert [("resumed-form" in text, "Aud" in text) for text in answers] == [(False, False)] * 2


@pytest.mark.parametrize("number", ["", "x", "-1", "٣", "9" * 60, "999999"])
def test_number_of_nothing_brings_nothing(ilse: Person, signed_in: SignedIn, number: str) -> None:
    response = signed_in(ilse).get("/calls/new/", {"parked": number})

    assert (response.status_code, b"resumed-form" in response.content) == (200, False)


def test_sent_form_is_no_longer_parked(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    row = parked(ilse, signed_in, key)

    response = signed_in(ilse).post("/calls/new/", SLIP | {"parked": str(row.pk)} | key())

    assert (response.status_code, CallSlip.objects.count(), ParkedForm.objects.count()) == (302, 1, 0)


def test_refused_form_stays_parked_and_is_not_filled_anew(
    ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    row = parked(ilse, signed_in, key)

    response = signed_in(ilse).post("/calls/new/", {"name": "Aud N", "parked": str(row.pk)} | key())

    content = response.content.decode()
    assert (response.status_code, ParkedForm.objects.count()) == (422, 1)
    assert f'{{"pk": {row.pk}, "form": "call-slip", "fields": null}}' in content


def test_another_persons_number_forgets_nothing(
    ilse: Person, maren: Person, signed_in: SignedIn, key: Key
) -> None:
    row = parked(ilse, signed_in, key)

    signed_in(maren).post("/calls/new/", SLIP | {"parked": str(row.pk)} | key())

    assert (CallSlip.objects.count(), ParkedForm.objects.count()) == (1, 1)


@pytest.mark.parametrize(
    "change",
    [
        {"path": "https://elsewhere.example/calls/new/"},
        {"path": "//elsewhere.example/calls/new/"},
        {"path": "/nowhere/"},
        {"path": "javascript:alert(1)"},
        {"fields_json": "no json"},
        {"fields_json": "[" * 100_000},
        {"fields_json": '{"name": "Aud"}'},
        {"fields_json": '[["name"]]'},
        {"fields_json": '[["name", 3]]'},
        {"fields_json": '[["name", "\\u0000"]]'},
        {"fields_json": '[["name", "\\ud800"]]'},
        {"title": ""},
    ],
)
def test_what_is_no_form_of_ours_is_refused(
    ilse: Person, signed_in: SignedIn, key: Key, change: dict[str, str]
) -> None:
    response = signed_in(ilse).post(ADDRESS, SENT | change | key())

    assert (response.status_code, ParkedForm.objects.count()) == (422, 0)


def test_parked_text_comes_back_as_text_only_t13(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    texts = [text for text in BAD_TEXTS if "\x00" not in text and len(text) < 5_000]
    texts = [text for text in texts if text.encode("utf-8", "ignore").decode() == text]
    fields = [["name", text] for text in ["</script><script>alert(1)</script>", *texts]]

    signed_in(ilse).post(ADDRESS, SENT | {"fields_json": json.dumps(fields)} | key())
    row = ParkedForm.objects.get()
    content = signed_in(ilse).get(f"/calls/new/?parked={row.pk}").content.decode()

    island = content.partition('<script id="resumed-form" type="application/json">')[2]
    assert json.loads(island.partition("</script>")[0])["fields"] == fields
    assert "<script>alert(1)" not in content


def test_technician_may_not_park(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    assert signed_in(tobiah).post(ADDRESS, SENT | key()).status_code == 403
