"""The form of a test, as the desk and the bench send it, and how its row reads afterwards."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client

from shopapp.calc.units import Unit
from shopapp.models import JobTest, Person, Stage
from shopapp.web.shared.test_forms import RunForm
from tests.factories.jobs import agreed_job
from tests.web.shared.bad_values import tried_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
SENT = {"verdict": "passed"}
WHOLE = SENT | {
    "conditions": "20 minutes, calm",
    "rpm": "5200",
    "pitch": "17",
    "there": "31",
    "back": "29",
    "speed_unit": "kn",
    "idle_temperature": "65",
    "full_temperature": "72.5",
    "temperature_unit": "deg_c",
    "temperature_point": "Thermostat housing",
    "load": "two people, half a tank",
    "warnings": "oil lamp, once",
    "fluid_seen": "milky",
    "remarks": "Pulls to port",
}
# what each of these says on a row
SAID = (
    *("20 minutes, calm", "30\u00a0kn as the mean of both ways", "5200 rpm: no range known"),
    *("Thermostat housing: 65\u00a0°C (149\u00a0°F) at idle: no limit known",),
    *("72.5\u00a0°C (163\u00a0°F) at full throttle: no limit known", "two people, half a tank"),
    *("warnings: oil lamp, once", "gear oil afterwards: milky (water)", "Pulls to port"),
)


def test_run_without_figures_is_enough() -> None:
    form = RunForm(SENT, locale="en")

    assert form.is_valid()
    data = form.as_input()
    assert (data.has_passed, data.rpm, data.idle_temperature) == (True, None, None)
    assert (data.unit, data.temperature_unit) == (Unit.KNOT, Unit.CELSIUS)


def test_temperatures_are_read_in_the_locale_of_the_shop() -> None:
    form = RunForm(SENT | {"idle_temperature": "71,5", "temperature_unit": "deg_f"}, locale="de")

    assert form.is_valid()
    data = form.as_input()
    assert (data.idle_temperature, data.temperature_unit) == (Decimal("71.5"), Unit.FAHRENHEIT)


@pytest.mark.parametrize("name", ["idle_temperature", "full_temperature"])
@pytest.mark.parametrize("value", ["warm", "2001", "-2001", "NaN", "1e400", "71.55"])
def test_temperature_that_is_none_is_refused_at_its_field(name: str, value: str) -> None:
    assert list(RunForm(SENT | {name: value}, locale="en").errors) == [name]


def test_unit_of_something_else_is_refused() -> None:
    form = RunForm(SENT | {"idle_temperature": "71", "temperature_unit": "kpa"}, locale="en")

    assert list(form.errors) == ["temperature_unit"]


def test_form_survives_every_bad_value() -> None:
    for name in RunForm.base_fields:
        for value in tried_values():
            form = RunForm(WHOLE | {name: value}, locale="en_CA")

            assert (form.is_valid() and form.as_input()) or form.errors


@pytest.mark.django_db
def test_all_that_was_read_and_seen_stands_on_the_rows_of_desk_and_bench(
    tobiah: Person, ilse: Person, signed_in: SignedIn, key: Key
) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)
    sent = signed_in(tobiah).post(f"/work-orders/job/{job.pk}/record-test/", WHOLE | key())
    assert (sent.status_code, JobTest.objects.count()) == (302, 1)

    for person, path in (
        (tobiah, f"/bench/job/{job.pk}/"),
        (tobiah, f"/work-orders/job/{job.pk}/bench/"),
        (ilse, f"/work-orders/{job.work_order_id}/"),
    ):
        content = signed_in(person).get(path).content.decode()
        assert [words for words in SAID if words not in content] == [], path
