"""The command that restores; tests/faults has it do so, here it refuses."""

from pathlib import Path

import pytest
from django.core.management import CommandError, call_command


def test_restore_refuses_a_foreign_file_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "letter.pdf").write_bytes(b"%PDF-1.7" + b" " * 80)

    with pytest.raises(CommandError, match=r"letter\.pdf is not a backup of a shop\."):
        call_command("restore", tmp_path / "letter.pdf")
