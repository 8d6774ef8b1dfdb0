"""What takes a second to load is loaded where it is used: no page and no command pays for it beside that."""

import subprocess
import sys

SLOW = ("scipy", "pandas", "weasyprint")
SCRIPT = f"""
import os, sys
os.environ["DJANGO_SETTINGS_MODULE"] = "shopapp.settings"
import shopapp.wsgi, shopapp.urls, shopapp.tasks
print([name for name in {SLOW!r} if name in sys.modules])
"""


def test_nothing_slow_is_loaded_with_the_app() -> None:
    done = subprocess.run([sys.executable, "-c", SCRIPT], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[]"
