"""The invoice as a PDF in the browser."""

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.documents.renderer import Renderer, RenderFailed
from shopapp.models import Invoice, Person, Shop, StoredPaper
from tests.factories.invoices import drafted, issued

SignedIn = Callable[[Person], Client]
ByPerson = Callable[[Person], Actor]


def address(invoice: Invoice) -> str:
    return f"/invoices/{invoice.pk}/paper/"


def test_paper_is_a_pdf_with_a_clean_name(ilse: Person, by: ByPerson, signed_in: SignedIn) -> None:
    response = signed_in(ilse).get(address(issued(by=by(ilse))))

    assert (response.status_code, response.content[:5]) == (200, b"%PDF-")
    assert response.headers["Content-Type"] == "application/pdf"
    assert response.headers["Content-Disposition"] == 'inline; filename="INV-00001.pdf"'
    assert response.headers["Cache-Control"] == "no-store"


def test_paper_is_made_once_for_all(ilse: Person, maren: Person, by: ByPerson, signed_in: SignedIn) -> None:
    invoice = issued(by=by(ilse))

    answers = [signed_in(person).get(address(invoice)).content for person in (ilse, maren)]

    assert answers[0] == answers[1]
    assert StoredPaper.objects.count() == 1


def test_paper_that_fails_offers_to_try_again_t31(
    ilse: Person, by: ByPerson, signed_in: SignedIn, settings: Any, tmp_path: Path
) -> None:
    invoice, client = issued(by=by(ilse)), signed_in(ilse)
    room = settings.PAPER_DIR
    settings.PAPER_DIR = tmp_path / "full"
    settings.PAPER_DIR.write_text("a file where the folder should be")

    failed = client.get(address(invoice))
    settings.PAPER_DIR = room
    again = client.get(address(invoice))

    content = failed.content.decode()
    assert (failed.status_code, again.status_code) == (503, 200)
    assert content.count("could not be kept") == 1
    assert content.count(f'href="{address(invoice)}">Try again</a>') == 1


def test_hanging_paper_keeps_nobody_waiting_t31(client: Client, shop: Shop) -> None:
    renderer = Renderer(limit_s=10.0)
    endless = f'<html lang="en"><title>x</title><body>{"<p>Gear oil looks milky</p>" * 20_000}'
    with ThreadPoolExecutor(1) as pool:
        hanging = pool.submit(renderer.render, endless, photos={})
        time.sleep(0.5)
        began = time.monotonic()
        answers = [client.get("/health/").content for _ in range(20)]
        took, was_running = time.monotonic() - began, hanging.running()
        renderer.close()

    assert (answers, was_running) == ([b"afloat"] * 20, True)
    assert took < 2
    assert isinstance(hanging.exception(), RenderFailed)


def test_draft_and_missing_invoice_have_no_paper(ilse: Person, by: ByPerson, signed_in: SignedIn) -> None:
    draft, client = drafted(by=by(ilse)), signed_in(ilse)

    statuses = [client.get(where).status_code for where in (address(draft), "/invoices/999/paper/")]

    assert statuses == [404, 404]


def test_technician_gets_no_paper(ilse: Person, tobiah: Person, by: ByPerson, signed_in: SignedIn) -> None:
    invoice, client = issued(by=by(ilse)), signed_in(tobiah)

    statuses = [client.get(where).status_code for where in (address(invoice), "/invoices/999/paper/")]

    assert (statuses, StoredPaper.objects.count()) == ([403, 403], 0)


def test_paper_address_takes_no_post(ilse: Person, by: ByPerson, signed_in: SignedIn) -> None:
    assert signed_in(ilse).post(address(issued(by=by(ilse)))).status_code == 405
