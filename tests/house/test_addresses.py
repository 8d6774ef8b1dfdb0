"""One chain of names: address, URL name, view and test are called the same."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.tree import REPOSITORY, Rule, functions, parsed, plant, python_files, short

ROOM = "shopapp.web."


def paths_of(path: Path) -> Iterator[ast.Call]:
    """Every ``path(...)`` of a list of addresses."""
    for node in ast.walk(parsed(path)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "path":
            yield node


def view_and_name(call: ast.Call) -> tuple[str, str]:
    """``views.hold`` with ``name="hold"`` gives ("hold", "hold")."""
    name = next((ast.literal_eval(word.value) for word in call.keywords if word.arg == "name"), "no name")
    return ast.unparse(call.args[1]).rpartition(".")[2], name


def misnamed_views(root: Path) -> list[str]:
    """Addresses whose name is not their view's."""
    return [
        f"{short(root, urls)}: the view {view} is named {name}"
        for urls in sorted(root.glob("shopapp/web/*/urls.py"))
        for view, name in map(view_and_name, paths_of(urls))
        if view != name
    ]


def misnamed_addresses(root: Path) -> list[str]:
    """Addresses whose last word is not their name; one that ends in a record's key is named freely."""
    found = []
    for urls in sorted(root.glob("shopapp/web/*/urls.py")):
        for call in paths_of(urls):
            route = ast.literal_eval(call.args[0])
            # "service-worker.js" is called so by browsers; the kind of file is no part of the name
            last = route.rstrip("/").rpartition("/")[2].partition(".")[0]
            wanted = view_and_name(call)[1].replace("_", "-")
            if last and "<" not in last and last != wanted:
                found.append(f"{short(root, urls)}: {route} should end in {wanted}/")
    return found


def misnamed_rooms(root: Path) -> list[str]:
    """Rooms whose address or namespace is not their package's name; a front door ("") leads to none."""
    found = []
    for call in paths_of(root / "shopapp/urls.py"):
        route = ast.literal_eval(call.args[0])
        wanted = ast.unparse(call.args[1])
        room = route.partition("/")[0].replace("-", "_")
        if route and wanted != f"include('{ROOM}{room}.urls')":
            found.append(f"shopapp/urls.py: {route} leads to {wanted}")
    for urls in sorted(root.glob("shopapp/web/*/urls.py")):
        if f'app_name = "{urls.parent.name}"' not in urls.read_text(encoding="utf-8"):
            found.append(f"{short(root, urls)}: app_name is not {urls.parent.name}")
    return found


def shut_rooms(root: Path) -> list[str]:
    """Rooms that no address leads to."""
    led_to = {ast.unparse(call.args[1]) for call in paths_of(root / "shopapp/urls.py")}
    rooms = [urls.parent.name for urls in sorted(root.glob("shopapp/web/*/urls.py"))]
    return [
        f"shopapp/web/{room}: no address leads here"
        for room in rooms
        if f"include('{ROOM}{room}.urls')" not in led_to
    ]


def untested_views(root: Path) -> list[str]:
    """Views without a test module of their own name."""
    return [
        f"{short(root, path)}: tests/web/{path.parent.name}/test_{view.name}.py is missing"
        for path in python_files(root, "shopapp/web")
        if path.name.startswith("views")
        for view in functions(path)
        if not view.name.startswith("_") and view.args.args and view.args.args[0].arg == "request"
        if not (root / "tests/web" / path.parent.name / f"test_{view.name}.py").exists()
    ]


@pytest.mark.parametrize(
    "rule", [misnamed_views, misnamed_addresses, misnamed_rooms, shut_rooms, untested_views]
)
def test_names_form_one_chain(rule: Rule) -> None:
    assert "\n".join(rule(REPOSITORY)) == ""


def test_misnamed_view_is_named(tmp_path: Path) -> None:
    text = 'urlpatterns = [path("", views.index, name="index"), path("x/", views.hold, name="pause")]\n'
    plant(tmp_path, "shopapp/web/work_orders/urls.py", text)

    found = misnamed_views(tmp_path)

    assert found == ["shopapp/web/work_orders/urls.py: the view hold is named pause"]


def test_misnamed_address_is_named(tmp_path: Path) -> None:
    text = """urlpatterns = [
        path("", views.index, name="index"),
        path("<int:pk>/", views.detail, name="detail"),
        path("<int:pk>/hand-back/", views.hand_back, name="hand_back"),
        path("<int:pk>/pause/", views.hold, name="hold"),
    ]
"""
    plant(tmp_path, "shopapp/web/work_orders/urls.py", text)

    found = misnamed_addresses(tmp_path)

    assert found == ["shopapp/web/work_orders/urls.py: <int:pk>/pause/ should end in hold/"]


def test_misnamed_room_is_named(tmp_path: Path) -> None:
    text = """urlpatterns = [
        path("", start),
        path("work-orders/", include("shopapp.web.work_orders.urls")),
        path("bills/", include("shopapp.web.invoices.urls")),
    ]
"""
    plant(tmp_path, "shopapp/urls.py", text)
    plant(tmp_path, "shopapp/web/invoices/urls.py", 'app_name = "bills"\n')

    found = misnamed_rooms(tmp_path)

    assert found == [
        "shopapp/urls.py: bills/ leads to include('shopapp.web.invoices.urls')",
        "shopapp/web/invoices/urls.py: app_name is not invoices",
    ]


def test_shut_room_is_named(tmp_path: Path) -> None:
    plant(tmp_path, "shopapp/urls.py", "urlpatterns = []\n")
    plant(tmp_path, "shopapp/web/quotes/urls.py", "")

    found = shut_rooms(tmp_path)

    assert found == ["shopapp/web/quotes: no address leads here"]


def test_untested_view_is_named(tmp_path: Path) -> None:
    text = "def send(request): ...\n\n\ndef edit(request): ...\n\n\ndef _next(request): ...\n"
    plant(tmp_path, "shopapp/web/quotes/views.py", text)
    plant(tmp_path, "tests/web/quotes/test_edit.py", "")

    found = untested_views(tmp_path)

    assert found == ["shopapp/web/quotes/views.py: tests/web/quotes/test_send.py is missing"]
