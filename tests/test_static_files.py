"""Static files are gathered under names that change with their content."""

import json
import os
import subprocess
import sys
from pathlib import Path

PRODUCTION = {
    "SHOPAPP_PRODUCTION": "1",
    "SHOPAPP_SECRET_KEY": "a" * 50,
    "SHOPAPP_CHAIN_KEY": "b" * 50,
    "SHOPAPP_HOSTS": "shop.example",
}


def test_static_files_are_gathered_for_production(tmp_path: Path) -> None:
    environment = os.environ | PRODUCTION | {"SHOPAPP_DATA": str(tmp_path)}
    environment.pop("DATABASE_URL", None)

    subprocess.run(
        [sys.executable, "manage.py", "collectstatic", "--no-input"],
        env=environment,
        check=True,
        capture_output=True,
    )

    paths = json.loads((tmp_path / "static" / "staticfiles.json").read_text())["paths"]
    assert paths["css/base.css"].startswith("css/base.")
    assert (tmp_path / "static" / paths["css/base.css"]).read_bytes() == Path(
        "static/css/base.css"
    ).read_bytes()
