"""What was drained and what was filled is logged."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import Activity, FluidEntry, Person, Stage, WasteKind, WastePour
from tests.factories.jobs import agreed_job, plan_line
from tests.factories.waste import container_of
from tests.web.shared.hostile import troubles_with_bad_values
from tests.web.work_orders.posts import answer_to_get, looks_missing, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
By = Callable[[Person], Actor]
OIL = {
    "line": "",
    "point": "gearcase",
    "product": "Gear oil",
    "drained_ml": "690",
    "condition": "milky",
    "filled_ml": "750",
}


def address(pk: int) -> str:
    return f"/work-orders/job/{pk}/log-fluid/"


def test_fluid_sent_twice_is_logged_once(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    answers = sent_twice(signed_in(tobiah), address(job.pk), OIL | key())

    row = FluidEntry.objects.get()
    assert answers == [(302, f"/work-orders/job/{job.pk}/bench/")] * 2
    assert (row.drained_ml, row.filled_ml, row.condition, row.unit_price_e4) == (690, 750, "milky", None)
    assert Activity.objects.count() == 1


def test_fluid_as_planned_takes_the_agreed_price(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    line = plan_line(job, "fluid")

    signed_in(tobiah).post(address(job.pk), OIL | {"line": line.pk, "product": ""} | key())

    row = FluidEntry.objects.get()
    assert (row.plan_line, row.product, row.unit_price_e4) == (line, "Gear oil", 240_000)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"drained_ml": "", "filled_ml": ""}, "filled_ml"),
        ({"condition": ""}, "condition"),
        ({"condition": "not_drained"}, "condition"),
        ({"product": ""}, "product"),
        ({"point": ""}, "point"),
        ({"filled_ml": "0.5"}, "filled_ml"),
        ({"drained_ml": "-1"}, "drained_ml"),
    ],
)
def test_fluid_that_is_not_right_keeps_the_page(
    *, tobiah: Person, signed_in: SignedIn, key: Key, changes: dict[str, str], field: str
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), OIL | changes | key())

    assert (response.status_code, FluidEntry.objects.count()) == (422, 0)
    assert f'id="fluid_{field}_error"' in response.content.decode()


def test_fluid_ignores_hidden_fields_t02(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    signed_in(tobiah).post(
        address(job.pk), OIL | {"unit_cost": "9", "cost": "9", "unit_price_e4": "9"} | key()
    )

    assert (FluidEntry.objects.get().unit_cost_e4, FluidEntry.objects.get().unit_price_e4) == (None, None)


def test_fluid_on_a_ready_job_is_refused(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.READY, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), OIL | key())

    assert (response.status_code, FluidEntry.objects.count()) == (409, 0)


def test_fluid_by_get_does_nothing(tobiah: Person, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    assert answer_to_get(signed_in(tobiah), address(job.pk)) == (405, True)


def test_fluid_of_another_is_missing_t01(tobiah: Person, wen: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    assert looks_missing(signed_in(wen), address(job.pk), pk=job.pk, data=OIL | key()) == (404, True, True)


def test_fluid_withstands_odd_values(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND)

    def good() -> dict[str, object]:
        # what was accepted goes, so that the page stays short
        FluidEntry.objects.all().delete()
        return OIL | key()

    found = troubles_with_bad_values(
        signed_in(ilse),
        address(job.pk),
        good=good,
        fields=["point", "product", "drained_ml", "filled_ml", "condition", "unit_cost", "line"],
        hidden=["condition", "line"],
    )

    assert found == []


def test_drained_fluid_goes_into_the_container_that_was_picked(
    ilse: Person, tobiah: Person, signed_in: SignedIn, key: Key, by: By
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    drum = container_of(by(ilse))
    can = container_of(by(ilse), name="Water can", kind=WasteKind.OILY_WATER)
    client = signed_in(tobiah)

    offered = client.get(f"/work-orders/job/{job.pk}/bench/").content.decode()
    refused = client.post(address(job.pk), OIL | {"container": f"{drum.pk}: Oil drum"} | key())
    client.post(address(job.pk), OIL | {"container": f"{can.pk}: Water can"} | key())
    shown = client.get(f"/work-orders/job/{job.pk}/bench/").content.decode()

    assert f'<option value="{can.pk}: Water can">Water can (oily water, empty)</option>' in offered
    assert refused.status_code == 422
    assert "Give a container for oily water: kinds are kept apart" in refused.content.decode()
    assert WastePour.objects.values_list("container", "volume_ml").get() == (can.pk, 690)
    # 750 - 690
    assert "60\xa0ml (2\xa0US fl oz) were missing. Where did they go?" in shown
