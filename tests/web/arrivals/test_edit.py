"""The desk moves the promise and puts right what was written down at the arrival."""

from collections.abc import Callable
from datetime import timedelta

from django.test import Client
from django.utils import timezone

from shopapp.models import Intake, Person, Stage, WorkOrder
from tests.factories.intakes import signed
from tests.web.pages import fields_of
from tests.web.shared.hostile import troubles_with_bad_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(visit: WorkOrder) -> str:
    return f"/arrivals/{visit.pk}/edit/"


def in_days(days: int) -> str:
    return f"{timezone.localdate() + timedelta(days=days):%Y-%m-%d}"


def test_promise_is_moved_and_the_rest_stays(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key
) -> None:
    client = signed_in(ilse)
    written = dict(fields_of(client.get(address(visit))))
    later = in_days(9)

    response = client.post(address(visit), {**written, "fuel": "half", "promised_date": later} | key())

    visit.refresh_from_db()
    assert response["Location"] == f"/work-orders/{visit.pk}/"
    assert (f"{visit.promised_date}", visit.keys_tag, visit.fuel, visit.place) == (
        later,
        "17",
        "half",
        "Yard 4",
    )


def test_day_in_the_past_is_answered_at_the_field(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key
) -> None:
    typed = {"version": "1", "promised_date": in_days(-9), "keys_tag": "99"}

    response = signed_in(ilse).post(address(visit), typed | key())

    content = response.content.decode()
    assert (response.status_code, 'value="99"' in content) == (422, True)
    assert 'id="id_promised_date_error"' in content


def test_second_desk_sees_both_t22(
    ilse: Person, maren: Person, signed_in: SignedIn, visit: WorkOrder, key: Key
) -> None:
    signed_in(maren).post(address(visit), {"version": "1", "keys_tag": "18"} | key())

    response = signed_in(ilse).post(address(visit), {"version": "1", "keys_tag": "19"} | key())

    content = response.content.decode()
    visit.refresh_from_db()
    assert (response.status_code, visit.keys_tag) == (409, "18")
    assert ("Maren Falk" in content, 'value="19"' in content, 'name="version" value="2"' in content) == (
        True,
        True,
        True,
    )


def test_signed_sheet_is_spoken_of(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake
) -> None:
    signed(terms, ilse, at=timezone.now())

    content = signed_in(ilse).get(address(visit)).content.decode()

    assert "The customer has signed the intake sheet." in content


def test_only_an_open_visit_offers_it(ilse: Person, signed_in: SignedIn, visit: WorkOrder) -> None:
    client = signed_in(ilse)
    open_page = client.get(f"/work-orders/{visit.pk}/").content.decode()
    WorkOrder.objects.update(stage=Stage.CANCELLED, cancelled_reason="Sold")

    closed_page = client.get(f"/work-orders/{visit.pk}/").content.decode()

    assert (address(visit) in open_page, address(visit) in closed_page) == (True, False)


def test_bad_values_are_answered(ilse: Person, signed_in: SignedIn, visit: WorkOrder, key: Key) -> None:
    found = troubles_with_bad_values(
        signed_in(ilse),
        address(visit),
        good=lambda: {"version": str(WorkOrder.objects.get().version)} | key(),
        fields=["promised_date", "fuel", "keys_tag", "trailer", "loose_gear", "arrival_state", "version"],
        hidden=["version"],
    )

    assert found == []
