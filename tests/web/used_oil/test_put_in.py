"""What goes in by hand: of the container's kind, by anybody of the shop."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Person, WasteContainer, WastePour
from shopapp.web.used_oil.forms import PutInForm
from tests.web.shared.hostile import troubles_with_bad_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
TYPED = {"what": "Filters, drained", "kind": "oily_water", "volume": "1.5", "measure": "us_gal"}


def address(row: WasteContainer) -> str:
    return f"/used-oil/{row.pk}/put-in/"


def test_technician_puts_in_once(
    tobiah: Person, signed_in: SignedIn, key: Key, water: WasteContainer
) -> None:
    client, sent = signed_in(tobiah), TYPED | key()

    answers = [client.post(address(water), sent).headers["Location"] for _ in range(2)]

    assert answers == [f"/used-oil/{water.pk}/"] * 2
    # 1.5 US gallons of 3785.412 ml (NIST SP 811)
    assert WastePour.objects.values_list("volume_ml", "what").get() == (5_678, "Filters, drained")


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"kind": "oily_fuel"}, "fuel or solvent in used oil can burn"),
        ({"kind": "used_oil", "what": "Old petrol"}, "fuel or solvent in used oil can burn"),
        ({"kind": ""}, "What is it? is missing."),
        ({"kind": "used_oil", "volume": "0"}, "0.001"),
    ],
)
def test_what_does_not_belong_in_is_refused_with_the_caution(
    *,
    tobiah: Person,
    signed_in: SignedIn,
    key: Key,
    drum: WasteContainer,
    changes: dict[str, str],
    sentence: str,
) -> None:
    answer = signed_in(tobiah).post(address(drum), TYPED | changes | key())

    assert (answer.status_code, sentence in answer.content.decode()) == (422, True)
    assert WastePour.objects.count() == 1


def test_bad_values_are_answered(ilse: Person, signed_in: SignedIn, key: Key, water: WasteContainer) -> None:
    found = troubles_with_bad_values(
        signed_in(ilse),
        address(water),
        good=lambda: TYPED | key(),
        fields=PutInForm.base_fields,
        hidden=("kind", "measure"),
    )

    assert found == []
