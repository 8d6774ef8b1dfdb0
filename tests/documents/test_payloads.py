"""Three hundred harmful texts in every printed field: a paper comes, and nothing is fetched, read or obeyed.

In each everyday run every field holds one of them, others in each paper; the soak run puts each into each.
"""

import io
import json
import socket
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import fields, replace
from datetime import datetime
from itertools import batched
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from shopapp.actions.actor import Actor
from shopapp.actions.credit_notes import credit_invoice
from shopapp.documents import renderer
from shopapp.documents.approvals import approval_html
from shopapp.documents.intakes import intake_html
from shopapp.documents.invoices import invoice_html
from shopapp.documents.labels import part_label_html
from shopapp.documents.quotes import quote_html
from shopapp.documents.receipts import receipt_html
from shopapp.documents.renderer import Renderer
from shopapp.documents.tags import Tag, tag_html
from shopapp.documents.work_orders import work_order_html
from shopapp.models import Approval, Part, Person
from shopapp.queries.intakes import signature_of
from shopapp.queries.parts import label_of
from shopapp.queries.receipts import receipt_content
from shopapp.queries.signed_answers import signed_answer
from shopapp.queries.work_order_papers import work_order_content
from tests.documents.payloads import DOOR, FILE, PAYLOADS
from tests.documents.test_intakes import taken_in
from tests.documents.test_tags import TAG
from tests.factories.intakes import signed
from tests.factories.invoices import issued, paid
from tests.factories.quotes import answered, sent_quote

pytestmark = pytest.mark.django_db

type Content = Any
type Papers = dict[str, tuple[Content, Callable[[Content], str]]]
# where a text stands in a content: keys and places
type Spot = tuple[str | int, ...]
GUARDED = """
import json, sys
out = open({log!r}, "a", buffering=1)
def hook(event, args):
    if event in ("open", "os.exec", "os.system") or event.startswith(("socket.", "subprocess.")):
        out.write(json.dumps([event, str(args[0])]) + chr(10))
sys.addaudithook(hook)
from shopapp.documents.render_process import main
main()
"""
AT_ONCE = 12
STATIC = Path(renderer.__file__).resolve().parents[2] / "static"
SIGNS = "<>{}[]=#$@|\\^~`_*+;"
SECRET = "planted-in-the-file"


def spots(content: Content, at: Spot = ()) -> Iterator[Spot]:
    """Every text of a content."""
    if isinstance(content, str):
        yield at
    elif isinstance(content, Mapping):
        for key, value in content.items():
            yield from spots(value, (*at, key))
    elif isinstance(content, list | tuple):
        for place, value in enumerate(content):
            yield from spots(value, (*at, place))


def put(content: Content, spot: Spot, text: str) -> None:
    """Write a text where it stands."""
    for step in spot[:-1]:
        content = content[step]
    content[spot[-1]] = text


def planted(content: Content, texts: Mapping[Spot, str]) -> Content:
    """A copy in which these texts stand."""
    copy = json.loads(json.dumps(content))
    for spot, text in texts.items():
        put(copy, spot, text)
    return copy


def printed_spots(content: Content, html: Callable[[Content], str]) -> tuple[Spot, ...]:
    """Where whatever somebody writes is printed: elsewhere a text is a code, a number or a day."""
    found: list[Spot] = []
    for some in batched(spots(content), AT_ONCE):
        # most go well together; where one is no free text, each is tried alone
        together = _printed(content, some, html=html)
        found += together if together is not None else _alone(content, some, html=html)
    return tuple(found)


def _printed(content: Content, some: Sequence[Spot], *, html: Callable[[Content], str]) -> list[Spot] | None:
    probes = {spot: f"Qx{number:02d}probe" for number, spot in enumerate(some)}
    try:
        # the words between the tags: a size of paper stands in an attribute
        page = html(planted(content, probes)).partition("<body")[2].partition(">")[2]
    except (KeyError, ValueError, TypeError, ArithmeticError, LookupError):
        return None
    return [spot for spot, probe in probes.items() if probe in page]


def _alone(content: Content, some: Sequence[Spot], *, html: Callable[[Content], str]) -> list[Spot]:
    return [spot for one in some for spot in _printed(content, [one], html=html) or ()]


@pytest.fixture
def watched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], bytes]]:
    """Makes papers in a child that writes down what it opens and where it connects; nothing else may."""
    log = tmp_path / "log"
    log.touch()
    Path(FILE.removeprefix("file://")).write_text(SECRET, encoding="utf-8")
    monkeypatch.setattr(renderer, "_COMMAND", (sys.executable, "-c", GUARDED.format(log=str(log))))
    monkeypatch.setattr(socket.socket, "connect", _no_door)
    own = Renderer()
    own.render("<html lang=en><title>warm</title><p>warm", photos={})

    def make(html: str) -> bytes:
        begun = log.stat().st_size
        pdf = own.render(html, photos={})
        assert strange_events(log.read_text(encoding="utf-8")[begun:]) == []
        return pdf

    yield make
    own.close()


def _no_door(*_args: object) -> None:
    raise AssertionError("something asks for a connection")


def strange_events(log: str) -> list[list[str]]:
    """Whatever the child did but read its own program and the packaged files."""
    own = (
        str(STATIC),
        sys.prefix,
        sys.base_prefix,
        str(STATIC.parent / "shopapp"),
        "/usr/share/",
        "/proc/self",
    )
    events = [json.loads(line) for line in log.splitlines()]
    return [one for one in events if not (one[0] == "open" and one[1].startswith(own))]


def written(pdf: bytes) -> str:
    """The words of a paper without any gap, so that line ends don't count."""
    pages = PdfReader(io.BytesIO(pdf)).pages
    return "".join("".join(page.extract_text() for page in pages).split())


def harm_done(pdf: bytes) -> list[str]:
    """What must not be in a paper: files, scripts, links elsewhere, the planted secret."""
    reader = PdfReader(io.BytesIO(pdf))
    raw = [
        mark for mark in ("/EmbeddedFile", "/JavaScript", "/Launch", "/SubmitForm") if mark.encode() in pdf
    ]
    links = [
        str(note.get_object().get("/A", {}).get("/URI", ""))
        for page in reader.pages
        for note in page.get("/Annots", [])
    ]
    return [*raw, *(link for link in links if link), *([SECRET] if SECRET in written(pdf) else [])]


def is_plain(text: str) -> bool:
    """Written with keys of a keyboard, so that it can be read back letter by letter."""
    return text.isascii() and text.isprintable() and len(text) < 100


@pytest.fixture
def papers(ilse: Person, by: Callable[[Person], Actor], now: datetime) -> Papers:
    """Each paper: what stands in it, and what makes its page of that alone."""
    answer = answered(sent_quote(ilse, at=now), ilse, at=now)
    answer = Approval.objects.select_related("revision__quote__work_order__vessel").get(pk=answer.pk)
    shown = json.loads(answer.revision.shown)
    intake = signed(taken_in(now), ilse, at=now)
    terms = json.loads(intake.shown)
    bill = issued(by=by(ilse))
    money = paid(bill, "10.00", by=by(ilse))
    note = credit_invoice(issued(by=by(ilse)).pk, "The wrong name", by=by(ilse))
    label = label_of(Part.objects.create(number="SR-1188", description="Shaft seal", condition="used"))
    sheet = work_order_content(intake.work_order, address="http://shop.example/work-orders/1/")
    return {
        "quote": (
            shown,
            lambda one: quote_html(one, paper_size="a4", answer=signed_answer(answer, content=one)),
        ),
        "approval": (shown, lambda one: approval_html(answer, content=one, paper_size="a4")),
        "intake": (
            terms,
            lambda one: intake_html(one, paper_size="a4", signature=signature_of(intake, content=one)),
        ),
        "invoice": (json.loads(bill.shown), invoice_html),
        "credit note": (json.loads(note.shown), invoice_html),
        "receipt": (json.loads(json.dumps(receipt_content(money))), receipt_html),
        "work order": (json.loads(json.dumps(sheet)), work_order_html),
        "tag": ({one.name: getattr(TAG, one.name) for one in fields(Tag)}, lambda one: tag_html(Tag(**one))),
        "label": (
            {name: str(value) for name, value in vars(label).items() if isinstance(value, str)},
            lambda one: part_label_html(replace(label, **one), address="http://shop.example/parts/1/"),
        ),
    }


# the fewest printed texts of each paper; what a tag or label has no room for is cut
FEWEST = {
    "quote": 30, "approval": 20, "intake": 20, "invoice": 15, "credit note": 15, "receipt": 8,
    "work order": 12, "tag": 4, "label": 3,
}  # fmt: skip
CUT = ("tag", "label")
NAMES = tuple(FEWEST)


def try_round(
    *, content: Content, html: Callable[[Content], str], places: Sequence[Spot], shift: int,
    make: Callable[[str], bytes], is_cut: bool,
) -> None:  # fmt: skip
    """One paper with a payload in every printed place."""
    texts = {spot: PAYLOADS[(shift + number) % len(PAYLOADS)] for number, spot in enumerate(places)}
    page = html(planted(content, texts))
    pdf = make(page)
    assert harm_done(pdf) == []
    # nowhere does a text with such signs stand as it was written
    assert [text for text in texts.values() if set(text) & set("<>\"'") and text in page] == []
    if not is_cut:
        lacking = lacking_signs(pdf, texts)
        # beside a text from right to left the reader loses signs of the line: those are read again alone
        for spot, text in texts.items():
            if is_plain(text) and set(text) & set(lacking):
                assert lacking_signs(make(html(planted(content, {spot: text}))), {spot: text}) == {}


def lacking_signs(pdf: bytes, texts: Mapping[Spot, str]) -> dict[str, tuple[int, int]]:
    """Signs of which fewer can be read than were written.

    Cells stand beside one another, so letters are counted: markup that was obeyed would lack its signs.
    """
    wanted = Counter("".join(text for text in texts.values() if is_plain(text)))
    there = Counter(written(pdf))
    return {sign: (wanted[sign], there[sign]) for sign in SIGNS if wanted[sign] > there[sign]}


def test_there_are_three_hundred() -> None:
    assert len(PAYLOADS) >= 300
    assert {DOOR, FILE} <= {target for target in (DOOR, FILE) if any(target in one for one in PAYLOADS)}


def test_papers_print_text_as_text_t09_t13(papers: Papers, watched: Callable[[str], bytes]) -> None:
    for number, (name, (content, html)) in enumerate(papers.items()):
        places = printed_spots(content, html)
        assert len(places) >= FEWEST[name], name
        start = number * len(PAYLOADS) // len(papers)
        try_round(content=content, html=html, places=places, shift=start, make=watched, is_cut=name in CUT)


@pytest.mark.soak
@pytest.mark.parametrize("name", NAMES)
def test_every_text_in_every_place_t09_t13(
    name: str,
    papers: Papers,
    watched: Callable[[str], bytes],
) -> None:
    content, html = papers[name]
    places = printed_spots(content, html)

    for shift in range(len(PAYLOADS)):
        try_round(content=content, html=html, places=places, shift=shift, make=watched, is_cut=name in CUT)


def test_guard_would_notice(watched: Callable[[str], bytes]) -> None:
    """What is watched for is seen: a packaged file passes, any other path or a connection does not."""
    events = [["open", str(STATIC / "css/paper.css")], ["open", "/etc/hostname"], ["socket.connect", "x"]]

    found = strange_events("\n".join(map(json.dumps, events)))

    assert found == events[1:]
    assert harm_done(watched('<html lang=en><title>x</title><a href="http://192.0.2.1/">x</a>')) == [
        "http://192.0.2.1/"
    ]
