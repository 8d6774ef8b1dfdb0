"""The invoice on paper: the fields that the law asks for, sums by exact fractions, one look on any paper.

Fields: EN 16931 (BT numbers), directive 2006/112/EC art. 226, Canadian GST/HST table of invoice fields.
"""

import copy
import io
import json
import re
import socket
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import UTC, datetime
from fractions import Fraction
from typing import Any

import pytest
from pypdf import PdfReader

from shopapp.actions.actor import Actor
from shopapp.actions.invoices import draft_invoice, issue_invoice
from shopapp.documents.invoices import invoice_html, invoice_pdf
from shopapp.documents.renderer import RenderFailed, render_pdf
from shopapp.models import Invoice, PartUsed, Person, Shop, Stage, StoredPaper, Vessel
from tests.calc.oracle import Item, Tax, line_coins, rows_on_top, tax_within
from tests.factories import WorkOrderFactory
from tests.factories.invoices import Planned, finished_job, issued
from tests.web.shared.bad_values import share_of_today

pytestmark = pytest.mark.django_db

ByPerson = Callable[[Person], Actor]

FEDERAL: Tax = ("Federal", Fraction(5, 100), False)
PROVINCIAL: Tax = ("Provincial", Fraction(7, 100), False)
LINES = (
    Planned(),
    Planned(
        kind="labour",
        description="Fit it",
        number="",
        quantity_milli=2_333,
        unit="h",
        unit_price_e4=1_187_500,
    ),
    Planned(kind="fluid", description="Gear oil", quantity_milli=755, unit="L", unit_price_e4=284_555),
    Planned(kind="fee", description="Shop supplies", number="", unit_price_e4=93_333, discount_e4=1_250),
    Planned(kind="sublet", description="Straighten the shaft", number="", unit_price_e4=2_100_050),
)


def text_of(pdf: bytes) -> str:
    """All text with no-break spaces made plain."""
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).replace("\u00a0", " ")


def squeezed(text: str) -> str:
    """Without spaces: line breaks fall anywhere."""
    return re.sub(r"\s+", "", text)


def squeezed_words(text: str) -> str:
    return " ".join(text.split())


def coins(line: Planned) -> int:
    exact = {
        "quantity": Fraction(line.quantity_milli, 1_000),
        "price": Fraction(line.unit_price_e4, 10_000),
        "base": Fraction(1),
        "discount": Fraction(line.discount_e4, 10_000),
    }
    return line_coins(exact, coins=100, even=False)


def items_of(lines: tuple[Planned, ...]) -> list[Item]:
    """What the invented shop takes on each line: 5 % on labour, 5 % and 7 % on the rest."""
    return [
        (coins(line), ("S", (FEDERAL,) if line.kind == "labour" else (FEDERAL, PROVINCIAL))) for line in lines
    ]


def dollars(minor: int) -> str:
    return f"${minor // 100:,}.{minor % 100:02d}"


@pytest.mark.parametrize("length", [1, 5, 20, 60])
def test_paper_totals_agree_with_exact_fractions(length: int, ilse: Person, by: ByPerson) -> None:
    lines = (LINES * 12)[:length]
    net = sum(coins(line) for line in lines)
    rows = rows_on_top(items_of(lines), even=False)
    due = net + sum(tax for _, tax in rows.values())

    text = text_of(invoice_pdf(issued(lines, by=by(ilse))))

    expected = [
        f"Without tax {dollars(net)}",
        *(
            f"{name} {rate * 100} % on {dollars(taxable)} {dollars(tax)}"
            for (_, name, rate), (taxable, tax) in rows.items()
        ),
        f"Total {dollars(due)}",
        "Already paid $0.00",
        f"To pay {dollars(due)}",
    ]
    sums = text[text.index("Without tax") :].splitlines()[: len(expected)]
    assert sorted(sums) == sorted(expected)
    assert [text.count(f" {dollars(coins(line))}\n") >= 1 for line in lines] == [True] * length


def test_paper_of_prices_with_tax_agrees_with_fractions(ilse: Person, by: ByPerson) -> None:
    Shop.objects.update(prices_include_tax=True)
    gross = sum(coins(line) for line in LINES)
    taxes = tax_within(items_of(LINES), even=False)

    text = text_of(invoice_pdf(issued(LINES, by=by(ilse))))

    sums = text[text.index("Without tax") :]
    assert f"Without tax {dollars(gross - sum(taxes.values()))}\n" in sums
    assert re.findall(r"% on \$\S+ (\$\S+)\n", sums) == [dollars(tax) for tax in taxes.values()]
    assert f"To pay {dollars(gross)}" in sums
    assert "Unit price with tax" in squeezed_words(text)


def test_paper_names_what_the_law_asks_for(ilse: Person, tobiah: Person, by: ByPerson) -> None:
    visit = WorkOrderFactory.create(stage=Stage.READY)
    Vessel.objects.filter(pk=visit.vessel_id).update(
        make="Norsk Tern", model="19", hull_number="XXX12345A626", registration="BC 1234"
    )
    customer = visit.customer
    customer.name, customer.address = "Anna Sund", "12 Pier Road\nHeron Inlet"
    customer.save()
    job = finished_job(LINES, work_order=visit)
    worked = datetime(2026, 5, 29, 20, 0, tzinfo=UTC)
    PartUsed.objects.create(
        job=job, description="x", quantity_milli=1, logged_by=tobiah, happened_at=worked, recorded_at=worked
    )

    text = squeezed_words(
        text_of(invoice_pdf(issue_invoice(draft_invoice(visit.pk, by=by(ilse)).pk, by=by(ilse))))
    )

    missing = [
        words
        for words in (
            "Invoice INV-00001",  # BT-1; art. 226 (2)
            "Issued",
            "2 Jun 2026",  # BT-2; art. 226 (1)
            "29 May 2026",  # BT-7; art. 226 (7)
            "16 Jun 2026",  # BT-9
            "Please pay within 14 days, by 16 Jun 2026.",  # BT-20; GST/HST from 500
            "Heron Inlet Outboards 4 Slip Lane Heron Inlet",  # BT-27; art. 226 (5)
            "Tax number TEST-0001",  # BT-31; art. 226 (3); GST/HST from 100
            "Anna Sund 12 Pier Road Heron Inlet",  # BT-44; art. 226 (5); GST/HST from 500
            "Fit it 2.333 h $118.75 5 % $277.04",  # BG-25; art. 226 (6), (8), (9)
            "Gear oil PM-2214 0.755 L $28.4555 5 % + 7 % $21.48",
            "less 12.5 %",  # art. 226 (8)
            "(Norsk Tern 19)",
            "XXX12345A626",
            "BC 1234",
            f"serial {job.engine.serial}",
            "Gear oil looks milky",
            "Worn impeller",
            "Fitted a new impeller, ran it on the hose",
            "12 months: pump and labour",
            "Warranty on parts and labour as stated for each option.",
            "Agreed by Sam Rivers on 1 Jun 2026",
            visit.number,
        )
        if words not in text
    ]
    assert missing == []


def test_paper_of_exempt_customer_says_why(ilse: Person, by: ByPerson) -> None:
    job = finished_job(LINES)
    customer = job.work_order.customer
    customer.is_tax_exempt, customer.exemption_number, customer.exemption_reason = True, "X-77", "Coast guard"
    customer.save()

    text = text_of(invoice_pdf(issue_invoice(draft_invoice(job.work_order_id, by=by(ilse)).pk, by=by(ilse))))

    net = dollars(sum(coins(line) for line in LINES))
    assert f"No tax on {net} Coast guard X-77 $0.00" in squeezed_words(text)
    assert f"To pay {net}" in text
    assert "Exemption number X-77" in text


@pytest.mark.parametrize(("length", "pages"), [(1, 1), (20, 2), (60, 3)])
@pytest.mark.parametrize(("size", "points"), [("a4", (595.28, 841.89)), ("letter", (612, 792))])
def test_paper_has_its_size_and_pages(
    size: str, points: tuple[float, float], length: int, pages: int, ilse: Person, by: ByPerson
) -> None:
    Shop.objects.update(paper=size)

    reader = PdfReader(io.BytesIO(invoice_pdf(issued((LINES * 12)[:length], by=by(ilse)))))

    sizes = {(float(page.mediabox.width), float(page.mediabox.height)) for page in reader.pages}
    assert [size == pytest.approx(points, abs=0.01) for size in sizes] == [True]
    feet = [f"page {number} of {pages}" for number in range(1, pages + 1)]
    texts = [squeezed_words(page.extract_text().replace("\u00a0", " ")) for page in reader.pages]
    assert [feet[place] in text for place, text in enumerate(texts)] == [True] * pages
    assert ["Invoice INV-00001 ·" in text for text in texts] == [True] * pages
    assert ["Without tax" in text for text in texts] == ["To pay $" in text for text in texts]


def test_paper_is_the_same_each_time(ilse: Person, by: ByPerson) -> None:
    invoice = issued(LINES, by=by(ilse))

    first = invoice_pdf(invoice)
    again = render_pdf(invoice_html(json.loads(invoice.shown)))

    assert first == again
    assert StoredPaper.objects.get().content_sha256 == invoice.shown_sha256


def test_paper_shows_what_was_frozen(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))
    Shop.objects.update(name="Another shop", currency="EUR", locale="de_DE", paper="letter")

    text = text_of(invoice_pdf(invoice))

    assert ("Heron Inlet Outboards" in text, "Another shop" in text, "$72.80" in text) == (True, False, True)


def test_paper_holds_no_cost_of_the_shop(ilse: Person, by: ByPerson) -> None:
    invoice = issued(LINES, by=by(ilse))

    text = text_of(invoice_pdf(invoice)) + invoice.shown

    assert [cost for cost in ("7654321", "765.43", "cost") if cost in text] == []


def test_draft_has_no_paper(ilse: Person, by: ByPerson) -> None:
    draft = draft_invoice(finished_job().work_order_id, by=by(ilse))

    with pytest.raises(ValueError, match="no paper before it is issued"):
        invoice_pdf(draft)


def test_content_changed_behind_the_app_is_not_printed(ilse: Person, by: ByPerson) -> None:
    invoice = issued(by=by(ilse))
    forged = Invoice.objects.get(pk=invoice.pk)
    forged.shown = forged.shown.replace("7280", "1280")

    with pytest.raises(RenderFailed, match="INV-00001 was changed in the database, so it is not printed"):
        invoice_pdf(forged)

    assert StoredPaper.objects.count() == 0


HOSTILE = [
    "<script>alert(1)</script>", "<img src='http://127.0.0.1:{port}/a'>", '<img src="file:///etc/passwd">',
    "<link rel=stylesheet href=http://127.0.0.1:{port}/b>", "<style>@import 'http://127.0.0.1:{port}/c'</style>",
    "<iframe src=//127.0.0.1:{port}/d>", '"><svg onload=alert(1)>', "<base href=http://127.0.0.1:{port}/>",
    "<svg><image href='http://127.0.0.1:{port}/e'/></svg>", "<object data=file:///etc/passwd>", "]]>",
    "<embed src=http://127.0.0.1:{port}/f>", "<a href=javascript:alert(1)>x</a>", "<![CDATA[x]]>",
    "</td></tr></table><h1>Paid", "<!-- -->", "<?php x ?>", "&lt;b&gt;", "&#x3c;b&#x3e;", "&amp;amp;",
    "{{ 7*7 }}", "{% include 'x' %}", "${7*7}", "#{7*7}", "%(label)s", "%s%n", "photo:another", "`id`",
    "http://169.254.169.254/latest/meta-data/", "http://127.0.0.1:{port}/g", "file:///etc/passwd", "$(id)",
    "url(http://127.0.0.1:{port}/h)", "expression(alert(1))", "@import url(http://127.0.0.1:{port}/i);",
    "data:text/html,x", "../../etc/passwd", "\\\\127.0.0.1\\x", "' OR '1'='1", "| id",
    "; DROP TABLE shopapp_invoice; --",
    '=HYPERLINK("http://127.0.0.1:{port}/j")', "(a) Tj ET Q", "/JS (app.alert(1))", "endstream endobj",
    "%PDF-1.7 %%EOF", "name\r\nBcc: a@b.example", "\x01\x1b[31m", "ﷺ\u200b\ufeff", "x" * 400, "ab " * 100,
]  # fmt: skip


@pytest.fixture
def listener() -> Iterator[socket.socket]:
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.01)
        yield server


def flooded(content: Any, text: str) -> Any:
    """The content with this text in every printable field."""
    if isinstance(content, dict):
        return {key: flooded(value, text) for key, value in content.items()}
    if isinstance(content, list):
        return [flooded(value, text) for value in content]
    return text if isinstance(content, str) else content


def readable(text: str) -> str:
    return squeezed("".join(char for char in text if char.isascii() and char.isprintable()))


def doors_in(reader: PdfReader) -> list[str]:
    """What in a PDF could act, lead elsewhere or hold another file."""
    names = [name for name in ("/OpenAction", "/AA", "/Names", "/AcroForm") if name in reader.root_object]
    return names + [name for page in reader.pages for name in ("/Annots", "/AA") if name in page]


def test_turned_around_name_turns_nothing_else(ilse: Person, by: ByPerson) -> None:
    content = json.loads(issued(by=by(ilse)).shown)
    content["buyer"]["name"] = "\u202eevil \u2067x"

    text = text_of(render_pdf(invoice_html(content)))

    assert ("To pay $72.80" in text, "Gasket set PM-2214 1 each $65.00" in squeezed_words(text)) == (
        True,
        True,
    )


def test_hostile_texts_stay_text_on_paper(listener: socket.socket, ilse: Person, by: ByPerson) -> None:
    content = json.loads(issued(by=by(ilse)).shown)
    port, inert, scripted = listener.getsockname()[1], [], []

    texts = share_of_today(HOSTILE)
    for raw in texts:
        text = raw.replace("{port}", str(port))
        page = flooded(copy.deepcopy(content), text) | {"paper_size": "a4"}
        pdf = render_pdf(invoice_html(page))
        inert.append(readable(text) in readable(text_of(pdf)))
        scripted += doors_in(PdfReader(io.BytesIO(pdf)))

    assert len(HOSTILE) > 50
    assert [text for text, is_text in zip(texts, inert, strict=True) if not is_text] == []
    assert scripted == []
    with suppress(TimeoutError):
        listener.accept()
        raise AssertionError("somebody knocked")
