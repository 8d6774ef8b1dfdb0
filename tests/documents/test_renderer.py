"""PDF files from the child process: the same bytes, nothing fetched, and no harm when it hangs or dies."""

import contextlib
import io
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from shopapp.documents import renderer
from shopapp.documents.renderer import LIMIT_S, Renderer, RenderFailed, render_pdf

LINK_LOCAL = "http://169.254.169.254/latest/meta-data/"


def page(body: str, *, size: str = "a4") -> str:
    return (
        '<!doctype html><html lang="en"><head><title>A paper</title>'
        f'<link rel="stylesheet" href="css/paper.css"></head><body class="{size}">{body}</body></html>'
    )


def endless() -> str:
    """So long that no machine lays it out within a second."""
    return page("<p>Gear oil looks milky</p>" * 20_000)


def text_of(pdf: bytes) -> str:
    return "\n".join(one.extract_text() for one in PdfReader(io.BytesIO(pdf)).pages)


@pytest.fixture
def hasty() -> Iterator[Renderer]:
    """A renderer of its own that gives up after a second."""
    renderer = Renderer(limit_s=10.0)
    renderer.render(page("warm"), photos={})
    renderer._limit_s = 1.0
    yield renderer
    renderer.close()


@pytest.fixture
def listener() -> Iterator[socket.socket]:
    """A door on the loopback at which nobody may knock."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.05)
        yield server


def knocks(server: socket.socket) -> int:
    with contextlib.suppress(TimeoutError):
        server.accept()[0].close()
        return 1
    return 0


def test_render_pdf_gives_same_bytes_each_time() -> None:
    body = '<h1>Invoice</h1><p>Part <span class="id">PM-1O0</span> für 48,00 €</p>'
    fresh = Renderer()

    first, other, second = render_pdf(page(body)), render_pdf(page("<p>ﷺ ±µ</p>")), render_pdf(page(body))
    in_new_process = fresh.render(page(body), photos={})
    fresh.close()

    assert first == second == in_new_process
    assert first != other


def test_render_pdf_tags_title_and_language() -> None:
    reader = PdfReader(io.BytesIO(render_pdf(page("<h1>Invoice</h1>"))))

    assert (reader.metadata.title, reader.root_object["/Lang"]) == ("A paper", "en")
    assert reader.root_object["/MarkInfo"]["/Marked"].value is True


@pytest.mark.parametrize(
    ("size", "points"),
    # ISO 216: 210 × 297 mm; ANSI letter: 8.5 × 11 in
    [("a4", (210 / 25.4 * 72, 297 / 25.4 * 72)), ("letter", (8.5 * 72, 11 * 72))],
)
def test_render_pdf_uses_the_paper_size(size: str, points: tuple[float, float]) -> None:
    box = PdfReader(io.BytesIO(render_pdf(page("x", size=size)))).pages[0].mediabox

    assert (float(box.width), float(box.height)) == pytest.approx(points, abs=0.01)


def test_address_in_text_stays_text_t09(listener: socket.socket) -> None:
    address = f"http://127.0.0.1:{listener.getsockname()[1]}/"

    text = text_of(render_pdf(page(f"<p>{LINK_LOCAL}</p><p>{address}</p>")))

    assert (LINK_LOCAL in text, address in text, knocks(listener)) == (True, True, 0)


@pytest.mark.parametrize(
    "body",
    [
        '<img src="{url}">',
        '<img src="{file}">',
        '<img src="static/../../manage.py">',
        '<img src="../shopapp/settings.py">',
        '<img src="css/../../manage.py">',
        '<img src="data:image/png;base64,AAAA">',
        '<img src="photo:another">',
        '<img src="icons/missing.png">',
        '<link rel="stylesheet" href="{url}x.css">',
        '<link rel="stylesheet" href="{file}">',
        '<link rel="attachment" href="{file}">',
        '<link rel="attachment" href="{url}">',
        '<style>@import "{url}"</style>',
        "<style>@font-face {{ font-family: x; src: url({url}) }}</style>",
        '<style>@font-face {{ font-family: x; src: local("DejaVu Sans") }}</style>',
        '<p style="background: url({url})">x</p>',
        '<ul style="list-style-image: url({file})"><li>x</ul>',
        '<object data="{file}"></object>',
        '<embed src="{url}">',
        '<svg width="9" height="9"><image href="{url}" width="9" height="9"/></svg>',
        '<base href="{url}"><img src="x.png">',
    ],
)
def test_document_that_fetches_fails_aloud(body: str, listener: socket.socket, tmp_path: Path) -> None:
    secret = tmp_path / "secret.png"
    secret.write_text("the shop's insides")
    url = f"http://127.0.0.1:{listener.getsockname()[1]}/"

    with pytest.raises(RenderFailed, match=r"^The paper could not be made: .+\.$"):
        render_pdf(page(body.format(url=url, file=secret.as_uri())))

    assert knocks(listener) == 0


@pytest.mark.parametrize(
    "body", ['<iframe src="{url}"></iframe>', '<a href="{url}">x</a>', '<video src="{url}">']
)
def test_harmless_element_opens_no_connection(body: str, listener: socket.socket) -> None:
    url = f"http://127.0.0.1:{listener.getsockname()[1]}/"

    render_pdf(page(body.format(url=url)))

    assert knocks(listener) == 0


def test_own_photo_is_in_the_pdf(tmp_path: Path) -> None:
    photo = tmp_path / "0123.jpg"
    Image.new("RGB", (40, 30), "red").save(photo)

    pdf = render_pdf(page('<img src="photo:seal 1" alt="worn seal">'), photos={"seal 1": photo})

    image = PdfReader(io.BytesIO(pdf)).pages[0].images[0].image
    assert image is not None
    assert image.size == (40, 30)


def test_photo_that_is_no_picture_fails_aloud(tmp_path: Path) -> None:
    photo = tmp_path / "0123.jpg"
    photo.write_text("not a picture")

    with pytest.raises(RenderFailed, match="Failed to load image"):
        render_pdf(page('<img src="photo:seal" alt="">'), photos={"seal": photo})


def test_failed_document_spoils_no_later_one() -> None:
    before = render_pdf(page("<p>fine</p>"))

    with pytest.raises(RenderFailed, match="not a part of it"):
        render_pdf(page(f'<img src="{LINK_LOCAL}">'))

    assert render_pdf(page("<p>fine</p>")) == before


def test_hanging_renderer_is_ended_in_time_t31(hasty: Renderer) -> None:
    began = time.monotonic()

    with pytest.raises(RenderFailed, match="not ready after 1 seconds"):
        hasty.render(endless(), photos={})

    assert time.monotonic() - began < 3
    assert hasty.pid is None


def test_shared_renderer_gives_up_within_ten_seconds_t31() -> None:
    assert (LIMIT_S, renderer._shared._limit_s) == (10.0, 10.0)


def test_renderer_starts_anew_after_hanging_t31(hasty: Renderer) -> None:
    before = hasty.pid
    with pytest.raises(RenderFailed, match="not ready"):
        hasty.render(endless(), photos={})
    hasty._limit_s = 10.0

    pdf = hasty.render(page("fine"), photos={})

    assert text_of(pdf).split() == ["fine"]
    assert hasty.pid != before


def test_second_thread_is_told_to_wait(hasty: Renderer) -> None:
    sentences: list[str] = []

    def ask() -> None:
        try:
            hasty.render(endless(), photos={})
        except RenderFailed as failure:
            sentences.append(failure.sentence)

    threads = [threading.Thread(target=ask) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert sorted(sentences) == [
        "Other papers are being made just now. Try again in a moment.",
        "The paper was not ready after 1 seconds. Try again.",
    ]


def test_dead_renderer_is_replaced_unnoticed(hasty: Renderer) -> None:
    before = hasty.pid
    assert before is not None
    os.kill(before, signal.SIGKILL)
    time.sleep(0.1)
    hasty._limit_s = 10.0

    pdf = hasty.render(page("fine"), photos={})

    assert text_of(pdf).split() == ["fine"]
    assert hasty.pid != before


def test_renderer_dying_at_work_gives_a_sentence(hasty: Renderer) -> None:
    hasty._limit_s = 10.0
    assert hasty.pid is not None
    blow = threading.Timer(0.3, os.kill, (hasty.pid, signal.SIGKILL))
    blow.start()

    with pytest.raises(RenderFailed, match="the program that makes it stopped"):
        hasty.render(endless(), photos={})


def test_renderer_process_knows_no_secret(hasty: Renderer, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOPAPP_SECRET_KEY", "planted-secret")
    hasty.close()
    hasty._limit_s = 10.0
    hasty.render(page("fine"), photos={})

    environment = Path(f"/proc/{hasty.pid}/environ").read_text(encoding="utf-8")

    assert [part for part in environment.split("\0") if "SHOPAPP" in part or "DATABASE" in part] == []


def test_closed_renderer_leaves_no_folder(hasty: Renderer) -> None:
    folder = Path(str(hasty._folder))
    assert folder.exists()

    hasty.close()

    assert not folder.exists()


FORKING = """
import os
import django
django.setup()
from shopapp.documents import renderer
html = "<html lang=en><title>x</title><body>x"
first, parents = renderer.render_pdf(html), renderer._shared.pid
child = os.fork()
if child == 0:
    same = renderer.render_pdf(html) == first
    own = renderer._shared.pid
    renderer._shared.close()
    os._exit(0 if same and own != parents else 1)
assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
assert renderer.render_pdf(html) == first and renderer._shared.pid == parents
print("both fine")
"""


def run(script: str, tmp_path: Path) -> str:
    environment = dict(os.environ) | {
        "SHOPAPP_DATA": str(tmp_path),
        "DJANGO_SETTINGS_MODULE": "shopapp.settings",
    }
    done = subprocess.run(
        [sys.executable, "-c", script],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    return done.stdout.strip() or done.stderr


def test_forked_worker_gets_its_own_renderer(tmp_path: Path) -> None:
    said = run(FORKING, tmp_path)

    assert said == "both fine"


@pytest.mark.parametrize(
    ("module", "stranger"),
    [("shopapp.documents.render_process", "django"), ("shopapp.documents.renderer", "weasyprint")],
)
def test_each_side_loads_only_its_own(module: str, stranger: str, tmp_path: Path) -> None:
    said = run(f"import sys, {module}; print({stranger!r} in sys.modules)", tmp_path)

    assert said == "False"
