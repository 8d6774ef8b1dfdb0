"""A value is written with the page it came from; a doubtful torque is asked about, not blocked."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import EngineFamily, FluidCapacity, Person, TighteningSpec
from shopapp.queries.spec_rows import MODELS
from shopapp.web.spec_book.kinds import FORMS
from tests.web.shared.bad_values import tried_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
TYPED = {
    "capacity": {"point": "Gearcase", "amount": "11.8", "unit": "us_fl_oz", "page": "6-4"},
    "limit": {"kind": "compression", "warmth": "warm", "minimum": "850", "unit": "kpa", "page": "4-12"},
    "tightening": {
        "joint": "Cover",
        "pattern": "line",
        "columns_count": "4",
        "rows_count": "1",
        "unit": "n_m",
        "stage_1_kind": "torque",
        "stage_1_value": "250",
        "diameter": "8",
        "pitch": "1.25",
        "property_class": "8.8",
        "is_looked_up": "on",
        "page": "5-1",
    },
    "interval": {"what": "Gear oil", "hours": "100", "page": "2-1"},
    "fault": {"text": "The thermostat sticks.", "page": "own experience"},
    "bulletin": {"number": "B-17", "text": "Replace the thermostat.", "page": "B-17"},
}


@pytest.fixture
def family(shop: object) -> EngineFamily:
    return EngineFamily.objects.create(make="Petrel Marine", name="P60")


@pytest.mark.parametrize("kind", TYPED)
def test_value_is_written_once(
    family: EngineFamily, maren: Person, signed_in: SignedIn, key: Key, kind: str
) -> None:
    client, sent = signed_in(maren), TYPED[kind] | {"kind_of_value": kind} | key()
    address = f"/spec-book/{family.pk}/new-value/"

    opened = client.get(address, {"kind_of_value": kind})
    answers = [client.post(address, sent) for _ in range(2)]

    assert (opened.status_code, MODELS[kind]._default_manager.count()) == (200, 1)
    assert [one.headers["Location"] for one in answers] == [f"/spec-book/{family.pk}/#{kind}"] * 2


def test_torque_out_of_proportion_is_asked_about(
    family: EngineFamily, maren: Person, signed_in: SignedIn, key: Key
) -> None:
    address, client = f"/spec-book/{family.pk}/new-value/", signed_in(maren)
    doubtful = TYPED["tightening"] | {"kind_of_value": "tightening"}
    del doubtful["is_looked_up"]

    asked = client.post(address, doubtful | key())

    content = asked.content.decode()
    assert (asked.status_code, TighteningSpec.objects.count()) == (422, 0)
    assert ("is more than an M8 of class 8.8 usually gets" in content, 'value="250"' in content) == (
        True,
        True,
    )
    assert client.post(address, doubtful | {"is_looked_up": "on"} | key()).status_code == 302
    assert TighteningSpec.objects.get().is_looked_up


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"stage_2_kind": "angle"}, "Give the torque or the degrees."),
        ({"stage_2_value": "30"}, "Say what is done in this stage."),
        ({"stage_3_kind": "check", "stage_3_value": "30"}, "Leave no stage empty between others."),
        ({"pitch": ""}, "Diameter, pitch and class go together"),
        ({"pitch": "4"}, "a pitch above 0 mm and under half of the diameter"),
        ({"sequence": "1, 4, 4, 3"}, "each number from 1 to 4 once"),
        ({"sequence": "first the middle"}, "Write the numbers of the fasteners"),
        ({"columns_count": "60", "rows_count": "2", "pattern": "grid"}, "a number from 1 to 60"),
    ],
    ids=lambda value: "" if isinstance(value, str) else "-".join(value),
)
def test_joint_that_makes_no_sense_is_said(
    *,
    family: EngineFamily,
    maren: Person,
    signed_in: SignedIn,
    key: Key,
    change: dict[str, str],
    sentence: str,
) -> None:
    sent = TYPED["tightening"] | {"kind_of_value": "tightening"} | change | key()

    answer = signed_in(maren).post(f"/spec-book/{family.pk}/new-value/", sent)

    assert (answer.status_code, sentence in answer.content.decode()) == (422, True)


def test_unit_of_something_else_is_said_at_its_field(
    family: EngineFamily, maren: Person, signed_in: SignedIn, key: Key
) -> None:
    sent = TYPED["limit"] | {"kind_of_value": "limit", "unit": "l"} | key()

    answer = signed_in(maren).post(f"/spec-book/{family.pk}/new-value/", sent)

    assert answer.status_code == 422
    assert "Unit: &quot;l&quot; is not accepted. Give one of kPa, psi, bar, inHg." in answer.content.decode()


def test_nonsense_kind_opens_the_first(family: EngineFamily, maren: Person, signed_in: SignedIn) -> None:
    answer = signed_in(maren).get(f"/spec-book/{family.pk}/new-value/", {"kind_of_value": "mood"})

    assert (answer.status_code, 'name="point"' in answer.content.decode()) == (200, True)


def test_desk_may_not_write(family: EngineFamily, ilse: Person, signed_in: SignedIn, key: Key) -> None:
    sent = TYPED["capacity"] | {"kind_of_value": "capacity"} | key()

    answer = signed_in(ilse).post(f"/spec-book/{family.pk}/new-value/", sent)

    assert (answer.status_code, FluidCapacity.objects.count()) == (403, 0)


@pytest.mark.parametrize("kind", TYPED)
def test_forms_stand_every_bad_value(kind: str) -> None:
    names = list(FORMS[kind](locale="en_CA").fields)
    for place, value in enumerate(tried_values()):
        form = FORMS[kind](TYPED[kind] | {names[place % len(names)]: value}, locale="en_CA")

        assert (form.is_valid() and form.as_input()) or form.errors
