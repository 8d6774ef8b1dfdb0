"""The command that makes a backup."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from shopapp.models import Person
from shopapp.queries.backups import backups_in


@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("real_migrations")
def test_back_up_makes_one_file_where_it_is_told(ilse: Person, tmp_path: Path) -> None:
    out = StringIO()

    call_command("back_up", to=tmp_path / "stick", stdout=out)

    made = backups_in(tmp_path / "stick")[0].path
    assert out.getvalue().startswith(f"{made} (")


def test_back_up_without_a_place_to_write_says_so(tmp_path: Path) -> None:
    (tmp_path / "stick").write_bytes(b"")

    with pytest.raises(CommandError, match="The backup could not be written: "):
        call_command("back_up", to=tmp_path / "stick")
