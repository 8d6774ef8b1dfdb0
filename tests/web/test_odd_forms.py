"""What odd browsers send in a form: a field twice, a field in the address, another kind of content."""

import pytest

from shopapp.models import Activity, CallSlip, Person

pytestmark = pytest.mark.django_db


def test_field_sent_twice_counts_once_and_addresses_fill_none(
    ilse: Person, signed_in: object, key: object
) -> None:
    """Of two values the last counts, everywhere; what stands in the address of a form is no field of it."""
    body = "name=First&name=Aud+Nilsen&about=When%3F&phone=&once_key=" + key()["once_key"]

    answer = signed_in(ilse).post(
        "/calls/new/?name=Other&about=Other", body, content_type="application/x-www-form-urlencoded"
    )

    assert answer.status_code == 302
    assert list(CallSlip.objects.values_list("name", "about")) == [("Aud Nilsen", "When?")]


@pytest.mark.parametrize("kind", ["application/json", "text/xml", "text/plain", "application/octet-stream"])
def test_form_of_another_kind_of_content_is_an_empty_form(ilse: Person, signed_in: object, kind: str) -> None:
    answer = signed_in(ilse).post("/calls/new/", '{"name": "Aud", "about": "x"}', content_type=kind)

    assert (answer.status_code, CallSlip.objects.count(), Activity.objects.count()) == (422, 0, 0)
