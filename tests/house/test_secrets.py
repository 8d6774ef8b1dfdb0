"""What no file may hold: paths of a machine, hosts of registries, calls to other hosts; and vague names."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.tree import REPOSITORY, Rule, every_file, plant, python_files, short, text_of

# a path that begins there, not an address of the app that has such a word in its middle
_MACHINE_PATH = re.compile(r"(?<![^\s\"'`=(:,])/(?:root|work|Users/\w+|home/\w+)/(?=[\w.])")
_REGISTRY = re.compile(
    r"pypi\.org|pythonhosted\.org|npmjs\.org|(?:deb|security|archive)\.(?:debian|ubuntu)\.(?:org|com)"
    r"|crates\.io|proxy\.golang\.org"
)
_ADDRESS = re.compile(r"https?://([^\s/\"'<>)\]`:,]+|\[::1\])")
# this machine, names that are reserved for examples, the name of a vocabulary, a value filled in later
_OWN_HOST = re.compile(
    r"(?:127\.0\.0\.1|localhost|\[::1\]|www\.w3\.org|(?:.+\.)?example(?:\.\w+)?|testserver|[{$%].*)"
)
# sources are cited in tests and reference cases; licences and other people's code stay as they came
_CITES = ("tests/", "static/vendor/")
_VAGUE = re.compile(r"(?:util|helper|common|core|base|misc|manager|service|handler)s?")


def written_texts(root: Path) -> Iterator[tuple[str, str]]:
    """Each text file's name and content."""
    for path in every_file(root):
        text = text_of(path)
        if text is not None:
            yield short(root, path), text


def machine_paths(root: Path) -> list[str]:
    """Paths that only exist on one machine."""
    return [
        f"{name}: {hit.group()} is a path of a machine"
        for name, text in written_texts(root)
        for hit in _MACHINE_PATH.finditer(text)
    ]


def registry_hosts(root: Path) -> list[str]:
    """Hosts of package registries."""
    return [
        f"{name}: {hit.group()} is a registry"
        for name, text in written_texts(root)
        for hit in _REGISTRY.finditer(text)
    ]


def other_hosts(root: Path) -> list[str]:
    """Addresses of other hosts, which a shop without a connection could not reach."""
    return [
        f"{name}: {host} is another host"
        for name, text in written_texts(root)
        if not name.startswith(_CITES) and "LICENSE" not in name
        for host in _ADDRESS.findall(text)
        if not _OWN_HOST.fullmatch(host)
    ]


def stray_locks(root: Path) -> list[str]:
    """Lock files that hold the addresses of a registry."""
    return [f"{short(root, path)}: not kept" for path in every_file(root) if path.name == "uv.lock"]


def vague_names(root: Path) -> list[str]:
    """Modules and packages whose name says nothing."""
    paths = python_files(root, "shopapp", "tests")
    names = sorted({part for path in paths for part in (path, *path.parents) if root in part.parents})
    return [
        f"{short(root, path)}: the name says nothing" for path in names if _VAGUE.fullmatch(path.stem.lower())
    ]


RULES = [machine_paths, registry_hosts, other_hosts, stray_locks, vague_names]

BREACHES = [
    (machine_paths, "shopapp/a.py", "x = '/" + "root/.pyenv'", "/" + "root/ is a path of a machine"),
    (machine_paths, "bin/demo", "cd /" + "work/main", "/" + "work/ is a path of a machine"),
    (machine_paths, "README.md", "cd /home" + "/ilse/shop", "/home" + "/ilse/ is a path of a machine"),
    (registry_hosts, "bin/test", "curl pypi" + ".org", "pypi" + ".org is a registry"),
    (other_hosts, "static/a.css", "url(https://fonts.test/a.woff2)", "fonts.test is another host"),
    (other_hosts, "templates/a.html", '<script src="http://cdn.test/a.js">', "cdn.test is another host"),
    (stray_locks, "uv.lock", "", "not kept"),
    (vague_names, "shopapp/utils.py", "", "the name says nothing"),
    (vague_names, "shopapp/web/base.py", "", "the name says nothing"),
]


@pytest.mark.parametrize("rule", RULES)
def test_project_holds_nothing_that_leaks(rule: Rule) -> None:
    assert "\n".join(rule(REPOSITORY)) == ""


@pytest.mark.parametrize(("rule", "name", "text", "complaint"), BREACHES)
def test_leak_is_caught_and_named(tmp_path: Path, rule: Rule, name: str, text: str, complaint: str) -> None:
    plant(tmp_path, name, text)

    found = rule(tmp_path)

    assert found == [f"{name}: {complaint}"]


def test_vague_package_is_caught_once(tmp_path: Path) -> None:
    plant(tmp_path, "shopapp/common/__init__.py", "")
    plant(tmp_path, "shopapp/common/money.py", "")

    found = vague_names(tmp_path)

    assert found == ["shopapp/common: the name says nothing"]


def test_own_hosts_give_no_complaint(tmp_path: Path) -> None:
    plant(tmp_path, "README.md", "http://127.0.0.1:8000/ http://localhost/ https://shop.example/")
    plant(tmp_path, "static/a.svg", '<svg xmlns="http://www.w3.org/2000/svg">')
    plant(tmp_path, "shopapp/a.py", 'f"https://{host}/"')
    plant(tmp_path, "static/vendor/a.js", "// https://author.test/")
    plant(tmp_path, "LICENSE", "https://licence.test/")

    found = other_hosts(tmp_path)

    assert found == []
