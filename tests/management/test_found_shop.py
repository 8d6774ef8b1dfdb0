"""A shop is founded from a file, whole or not at all."""

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from shopapp.models import Person, Shop

pytestmark = pytest.mark.django_db


def test_found_shop_prints_passwords_that_work() -> None:
    said = StringIO()

    call_command("found_shop", "fixtures/demo_shop.json", stdout=said)

    first = said.getvalue().splitlines()[0]
    username, password = first.removeprefix("Sign-in name ").split(", first password ")
    assert Person.objects.get(username=username).check_password(password)
    assert Shop.objects.get().name == "Heron Inlet Outboards"


def test_found_shop_leaves_nothing_of_a_bad_file(tmp_path: Path) -> None:
    facts = json.loads(Path("fixtures/demo_shop.json").read_text())
    facts["people"][1]["roles"] = ["captain"]
    bad = tmp_path / "shop.json"
    bad.write_text(json.dumps(facts))

    with pytest.raises(CommandError, match="roles"):
        call_command("found_shop", str(bad))

    assert (Shop.objects.count(), Person.objects.count()) == (0, 0)


def test_found_shop_says_what_is_missing(tmp_path: Path) -> None:
    bad = tmp_path / "shop.json"
    bad.write_text('{"shop": {"name": "A"}, "people": []}')

    with pytest.raises(CommandError, match="address"):
        call_command("found_shop", str(bad))
