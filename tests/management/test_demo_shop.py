"""The demo shop is filled once, through the real actions, with a forward-running story."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from shopapp.actions.activity import first_bad_link
from shopapp.models import Activity, Invoice, Person, Stage, WorkOrder
from tests.factories import found_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_data(settings: object, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path


def test_demo_shop_fills_every_promised_stage() -> None:
    call_command("demo_shop", stdout=StringIO())

    stages = sorted(WorkOrder.objects.values_list("stage", flat=True))
    assert stages == sorted(
        [Stage.HERE, Stage.DIAGNOSIS, Stage.WITH_CUSTOMER, Stage.IN_HAND, Stage.READY, Stage.GONE]
    )
    assert Invoice.objects.get().number == "INV-00001"
    assert first_bad_link() is None
    assert not Activity.objects.filter(payload__contains="clock_went_back").exists()


def test_demo_shop_keeps_the_data_of_a_second_run() -> None:
    call_command("demo_shop", stdout=StringIO())
    before = list(WorkOrder.objects.order_by("pk").values())
    said = StringIO()

    call_command("demo_shop", stdout=said)

    assert list(WorkOrder.objects.order_by("pk").values()) == before
    assert "Ilse Brandt" in said.getvalue()


def test_demo_shop_tells_sign_ins_that_work(tmp_path: Path) -> None:
    said = StringIO()
    call_command("demo_shop", stdout=StringIO())

    call_command("demo_shop", "--sign-ins", stdout=said)

    line = next(line for line in said.getvalue().splitlines() if line.startswith("Maren"))
    assert Person.objects.get(username="maren").check_password(line.split()[-1])
    assert (tmp_path / "sign-ins.txt").stat().st_mode & 0o077 == 0


def test_demo_shop_leaves_another_shop_alone() -> None:
    found_shop()

    with pytest.raises(CommandError, match="left alone"):
        call_command("demo_shop", stdout=StringIO())

    assert Person.objects.count() == 0
