"""The command that plans the nightly backup."""

from io import StringIO

import pytest
from django.core.management import call_command

from shopapp.models import Shop


@pytest.mark.django_db
def test_plan_backups_plans_one_and_says_so(shop: Shop) -> None:
    out = StringIO()

    call_command("plan_backups", stdout=out)
    call_command("plan_backups", stdout=out)

    first, second = out.getvalue().splitlines()
    assert first.startswith("The next backup is planned for ")
    assert second == "A backup is planned already."
