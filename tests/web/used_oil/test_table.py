"""The log of a period leaves the shop as a table, in which no text is a formula."""

from collections.abc import Callable
from datetime import datetime

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.actions.waste import HandOverInput, hand_over
from shopapp.models import Person, WasteContainer, WastePour

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]


def lines_of(client: Client, **period: str) -> list[str]:
    answer = client.get("/used-oil/table/", period)
    return b"".join(answer).decode("utf-8-sig").splitlines()


def test_desk_takes_in_and_out_as_one_table(
    ilse: Person, tobiah: Person, signed_in: SignedIn, by: By, drum: WasteContainer
) -> None:
    taken = HandOverInput(
        volume_ml=500, collector="Inlet Oil Collection", taken_at=by(ilse).at, paper_number="C-118"
    )
    hand_over(drum.pk, taken, by=by(ilse))

    lines = lines_of(signed_in(ilse))

    # 17:30 UTC is 10:30 in the shop
    assert lines[1:] == [
        '"Oil drum","used oil","2026-06-02 10:30","in","4","Drip tray","","","","","Ilse Brandt",""',
        '"Oil drum","used oil","2026-06-02 10:30","out","0.5","","","",'
        '"Inlet Oil Collection","C-118","Ilse Brandt",""',
    ]
    assert signed_in(tobiah).get("/used-oil/table/").status_code == 403


def test_period_is_of_the_shops_days_with_both_bounds(
    ilse: Person, signed_in: SignedIn, drum: WasteContainer, now: datetime
) -> None:
    client, day = signed_in(ilse), "2026-06-02"

    inside = lines_of(client, from_date=day, to_date=day)
    before, after = lines_of(client, to_date="2026-06-01"), lines_of(client, from_date="2026-06-03")

    assert [len(lines) for lines in (inside, before, after)] == [2, 1, 1]
    assert len(lines_of(client, from_date="no day", to_date="9999-12-31")) == 2


def test_formula_is_kept_from_reckoning_t08(ilse: Person, signed_in: SignedIn, drum: WasteContainer) -> None:
    WastePour.objects.update(what='=HYPERLINK("http://evil.example","x")')

    assert "\"'=HYPERLINK(" in lines_of(signed_in(ilse))[1]
