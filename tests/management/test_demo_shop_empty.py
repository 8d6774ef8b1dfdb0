"""Where the demo shop is not made: beside another shop, or when an empty one is asked for."""

from collections.abc import Iterator
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.test import override_settings

from shopapp.models import Person, Shop, WorkOrder
from shopapp.queries.first_day import first_steps
from tests.factories import found_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_data(tmp_path: Path) -> Iterator[None]:
    with override_settings(DATA_DIR=tmp_path):
        yield


def test_demo_leaves_another_shop_alone() -> None:
    found_shop()

    with pytest.raises(CommandError, match="left alone"):
        call_command("demo_shop", stdout=StringIO())

    assert Person.objects.count() == 0


def test_empty_demo_has_people_who_can_sign_in_and_no_work() -> None:
    said = StringIO()

    call_command("demo_shop", "--empty", stdout=said)

    assert Shop.objects.get().name == "Heron Inlet Outboards"
    assert not WorkOrder.objects.exists()
    to_do = {step.code for step in first_steps(open_visits=0) if not step.is_done}
    assert to_do == {"terms", "fees", "parts", "arrival"}
    line = next(line for line in said.getvalue().splitlines() if line.startswith("Ilse"))
    assert Person.objects.get(username="ilse").check_password(line.split()[-1])
