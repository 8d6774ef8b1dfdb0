"""A tablet asks what time it is at the server, and gets a token for its next send."""

from datetime import datetime

import pytest
from django.test import Client
from django.utils import timezone

from shopapp.actions.dock_calls import take_back_dock_call
from shopapp.models import Person
from tests.factories.devices import PIN, browser_of
from tests.factories.dock_calls import at_dock
from tests.factories.entries import tablet_of
from tests.factories.quotes import desk, sent_quote

pytestmark = pytest.mark.django_db


def test_state_tells_time_token_and_who_is_there(maren: Person, tobiah: Person) -> None:
    began = timezone.now()
    tablet = tablet_of(maren, tobiah, at=began)
    client = browser_of(tablet.token)

    before = client.get("/bench/state/").json()
    client.post(f"/devices/worker/{tobiah.pk}/pin/", {"secret": PIN})
    after = client.get("/bench/state/").json()
    tablet.take(tablet.write("note", None, tobiah, {"text": "of no job"}, after=0))
    counted = client.get("/bench/state/").json()

    assert (before["device"], before["device_name"]) == (tablet.device.pk, "Bench tablet 1")
    assert (before["sequence"], counted["sequence"]) == (0, 1)
    assert (before["open_person"], after["open_person"]) == (None, {"pk": tobiah.pk, "name": "Tobiah Reyes"})
    assert began <= datetime.fromisoformat(before["now"]) <= timezone.now()


def test_token_of_state_lets_an_entry_through(maren: Person) -> None:
    tablet = tablet_of(maren, at=timezone.now())
    client = Client(enforce_csrf_checks=True)
    client.cookies["tablet"] = tablet.token

    token = client.get("/bench/state/").json()["csrf"]
    answer = client.post(
        "/bench/entries/", "{}", content_type="application/json", headers={"X-CSRFToken": token}
    )

    assert answer.status_code == 422


def test_other_browsers_are_told_that_they_are_no_tablet(ilse: Person) -> None:
    client = Client()
    client.force_login(ilse)

    answers = [client.get("/bench/state/"), Client().get("/bench/state/")]

    assert [(one.status_code, one.json()) for one in answers] == [
        (401, {"sentence": "This browser is not an enrolled tablet."})
    ] * 2


def test_state_names_what_is_handed_out_to_this_tablet_today(
    ilse: Person, maren: Person, tobiah: Person
) -> None:
    moment = timezone.now()
    tablet, other = (tablet_of(maren, tobiah, at=moment, name=name) for name in ("one", "two"))
    dock = at_dock(sent_quote(ilse, at=moment), tablet, tobiah, by=ilse)

    told = [browser_of(one.token).get("/bench/state/").json()["dock_call"] for one in (tablet, other)]
    take_back_dock_call(dock.call.pk, by=desk(ilse, at=moment))
    after = browser_of(tablet.token).get("/bench/state/").json()["dock_call"]

    assert (told, after) == ([dock.call.pk, None], None)
