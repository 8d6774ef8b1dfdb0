"""What the shop's own code never does: run what was sent, trust it, or fetch from elsewhere."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.tree import REPOSITORY, Rule, parsed, plant, python_files, short, templates

# dotted names that are never called
_NEVER = re.compile(
    r"eval|exec|compile|__import__|input|breakpoint|os\.(?:system|popen|exec\w*|spawn\w*)"
    r"|subprocess\.(?:getoutput|getstatusoutput)|(?:pickle|marshal|shelve|dill|jsonpickle)\.\w+"
    r"|yaml\.(?:load|unsafe_load|full_load)|\w*\.?mark_safe|(?:\w+\.)*(?:raw|extra|RawSQL)|hashlib\.(?:md5|sha1)"
    r"|(?:Engine|engines\[.+\])\.from_string|(?:\w+\.)?Template|ssl\._create_unverified_context"
    r"|(?:requests|httpx|aiohttp|urllib3)\.\w+|(?:urllib\.request\.)?urlopen|urllib\.request\.\w+|socket\.\w+"
    r"|(?:smtplib|ftplib|telnetlib)\.\w+|xml\.\w+(?:\.\w+)*|(?:lxml\.)?etree\.\w+|uuid\.uuid1|str\.format"
)
# modules whose mere import is too much; random is for drawings, futures and the demo, never for secrets
_NEVER_IMPORTED = re.compile(
    r"(?:pickle|marshal|shelve|ctypes|telnetlib|ftplib|smtplib|xml|lxml|yaml|requests|httpx)"
)
_MAY_DRAW = re.compile(r"shopapp/(?:files/drawn|management/demo/.+|calc/.+)\.py")
_SCRIPT = re.compile(
    r"\.(?:innerHTML|outerHTML)\s*=|insertAdjacentHTML|document\.write|\beval\(|new Function|__proto__"
    r"|setTimeout\(\s*[\"'`]|postMessage|localStorage\.setItem\(\s*[\"'`](?:token|session|password)"
    r"|importScripts|https?://(?!www\.w3\.org)"
)
_TEMPLATE = re.compile(r"\|\s*safe\b|autoescape off|\|\s*safeseq|hx-vals=[\"']js:|hx-on|javascript:")


def calls(root: Path) -> Iterator[tuple[Path, ast.Call, str]]:
    for path in python_files(root, "shopapp"):
        for node in ast.walk(parsed(path)):
            if isinstance(node, ast.Call):
                yield path, node, ast.unparse(node.func)


def dangerous_calls(root: Path) -> list[str]:
    """Calls that run text, unpack foreign objects, fetch, or hash weakly."""
    return [
        f"{short(root, path)}: calls {name}"
        for path, _, name in calls(root)
        if _NEVER.fullmatch(name) and (short(root, path), name) != _OWN_MARKUP
    ]


def dangerous_imports(root: Path) -> list[str]:
    """Modules that have no place here."""
    found = []
    for path in python_files(root, "shopapp"):
        for node in ast.walk(parsed(path)):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            for name in (name.partition(".")[0] for name in names):
                is_lot = name == "random" and not _MAY_DRAW.fullmatch(short(root, path))
                if is_lot or _NEVER_IMPORTED.fullmatch(name):
                    found.append(f"{short(root, path)}: imports {name}")
    return found


def shells(root: Path) -> list[str]:
    """Programs are started with a list of words, never through a shell."""
    found = []
    for path, call, name in calls(root):
        given = {word.arg: ast.unparse(word.value) for word in call.keywords}
        is_program = name.startswith("subprocess.")
        is_text = (
            is_program and call.args and isinstance(call.args[0], ast.Constant | ast.JoinedStr | ast.BinOp)
        )
        if given.get("shell", "False") != "False" or is_text:
            found.append(f"{short(root, path)}: starts a shell by {name}")
    return found


def loose_sql(root: Path) -> list[str]:
    """SQL made from variables: only names that stand in the code may be put into it, and numbers."""
    return [
        f"{short(root, path)}: puts a variable into SQL"
        for path, call, name in calls(root)
        if name.endswith(".execute") and call.args and not isinstance(call.args[0], ast.Constant)
        if short(root, path) not in _OWN_SQL
    ]


# the squares of a code, drawn from numbers
_OWN_MARKUP = ("shopapp/documents/qr_codes.py", "mark_safe")
# names of tables, guards and programs of the shop's own, never a value that was sent
_OWN_SQL = {
    "shopapp/triggers.py",
    "shopapp/actions/once.py",
    "shopapp/queries/find.py",
    "shopapp/sqlite_library.py",
    "shopapp/files/restoring.py",
    "shopapp/files/backup_copies.py",
}


def loose_fields(root: Path) -> list[str]:
    """Forms that take whatever the row has: each field of a form is written down."""
    texts = ((path, path.read_text(encoding="utf-8")) for path in python_files(root, "shopapp"))
    return [f"{short(root, path)}: takes all fields" for path, text in texts if '"__all__"' in text]


def scripts(root: Path) -> list[str]:
    """Scripts that write markup, run text, or talk to other windows and hosts."""
    folders = [path for path in sorted((root / "static").rglob("*.js")) if "vendor" not in path.parts]
    return [
        f"{short(root, path)}: {hit.group()}"
        for path in folders
        for hit in _SCRIPT.finditer(path.read_text(encoding="utf-8"))
    ]


def unescaped(root: Path) -> list[str]:
    """Templates that let markup through."""
    return [
        f"{short(root, path)}: {hit.group()}"
        for path in templates(root)
        for hit in _TEMPLATE.finditer(path.read_text(encoding="utf-8"))
    ]


RULES = [dangerous_calls, dangerous_imports, shells, loose_sql, loose_fields, scripts, unescaped]
BREACHES = [
    (dangerous_calls, "shopapp/a.py", "eval(text)", "calls eval"),
    (dangerous_calls, "shopapp/a.py", "pickle.loads(data)", "calls pickle.loads"),
    (dangerous_calls, "shopapp/a.py", "hashlib.md5(data)", "calls hashlib.md5"),
    (dangerous_calls, "shopapp/a.py", "Person.objects.raw(sql)", "calls Person.objects.raw"),
    (dangerous_calls, "shopapp/a.py", "urllib.request.urlopen(url)", "calls urllib.request.urlopen"),
    (dangerous_imports, "shopapp/a.py", "from random import choice", "imports random"),
    (dangerous_imports, "shopapp/a.py", "import xml.etree", "imports xml"),
    (shells, "shopapp/a.py", "subprocess.run(['ls'], shell=True)", "starts a shell by subprocess.run"),
    (shells, "shopapp/a.py", "subprocess.run(f'ls {name}')", "starts a shell by subprocess.run"),
    (loose_sql, "shopapp/a.py", "cursor.execute(f'SELECT {name}')", "puts a variable into SQL"),
    (loose_fields, "shopapp/a.py", 'fields = "__all__"', "takes all fields"),
    (scripts, "static/a.js", "box.innerHTML = text", ".innerHTML ="),
    (scripts, "static/a.js", "a.__proto__", "__proto__"),
    (unescaped, "templates/a.html", "{{ text|safe }}", "|safe"),
]


@pytest.mark.parametrize("rule", RULES)
def test_code_never_does_what_lets_others_in(rule: Rule) -> None:
    assert "\n".join(rule(REPOSITORY)) == ""


@pytest.mark.parametrize(("rule", "name", "text", "complaint"), BREACHES)
def test_dangerous_line_is_caught_and_named(
    tmp_path: Path, rule: Rule, name: str, text: str, complaint: str
) -> None:
    plant(tmp_path, name, text)

    assert rule(tmp_path) == [f"{name}: {complaint}"]
