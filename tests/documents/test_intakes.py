"""The intake sheet: all that was shown, on both sizes of paper, the same bytes each time."""

import io
from datetime import datetime

import pytest
from pypdf import PdfReader

from shopapp.documents.intakes import intake_pdf, shown_intake
from shopapp.models import Customer, Intake, Person, Shop, StoredPaper, VisitPerson, WorkOrder
from tests.factories import EngineFactory, JobFactory, VesselFactory, WorkOrderFactory
from tests.factories.intakes import signed, unsigned

pytestmark = pytest.mark.django_db(transaction=True)
MM = 72 / 25.4


def taken_in(at: datetime) -> Intake:
    vessel = VesselFactory(name="Kittiwake", hull_number="ABC12345D494")
    order = WorkOrderFactory(
        vessel=vessel,
        number="W-00012",
        keys_tag="17",
        fuel="half",
        loose_gear="Anchor\nTwo vests",
        trailer="Grey",
        arrival_state="Scratch to port",
        purchase_order="PO-9",
    )
    JobFactory(
        work_order=order, engine=EngineFactory(vessel=vessel, serial="PM60-00042"), complaint="Milky oil"
    )
    VisitPerson.objects.create(work_order=order, part="approver", name="Cleo Dahl", up_to_minor=50_000)
    return unsigned(at=at, work_order=order)


def words_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def test_sheet_holds_everything(ilse: Person, now: datetime) -> None:
    intake = taken_in(now)

    words = words_of(intake_pdf(intake, at=now))

    wanted = [
        "Heron Inlet Outboards",
        "Intake W-00012",
        "Kittiwake",
        "ABC12345D494",
        "PM60-00042",
        "Cleo Dahl, up to $500.00 without tax",
        "PO-9",
        "Milky oil",
        "about half",
        "Anchor Two vests",
        "Scratch to port",
        "Finding the fault costs $80.00 without tax. It is credited when the repair goes ahead.",
        "Up to $250.00 without tax, until I have agreed to a quote; then the quote counts.",
        "run the engine",
        "12.00 a day. 7 days are free once I was told that the boat is ready.",
        "An engine taken apart may stay in boxes.",
        "I leave my boat on these terms.",
        "Name and signature",
        "not signed yet",
    ]
    assert [text for text in wanted if text not in words] == []
    assert "comeback" not in words.lower()


@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("letter", (216, 279))])
def test_sheet_fits_one_page_of_either_size(
    ilse: Person, now: datetime, paper: str, size: tuple[int, int]
) -> None:
    Shop.objects.update(paper=paper)
    kept = signed(taken_in(now), ilse, at=now)

    pages = PdfReader(io.BytesIO(intake_pdf(kept, at=now))).pages

    assert [(round(page.mediabox.width / MM), round(page.mediabox.height / MM)) for page in pages] == [size]


def test_same_sheet_has_the_same_bytes(ilse: Person, now: datetime) -> None:
    intake = taken_in(now)
    first = intake_pdf(intake, at=now)
    # made anew: nothing is left of the first
    StoredPaper.objects.all().delete()

    assert intake_pdf(intake, at=now) == first


def test_signed_sheet_stays_as_it_was(ilse: Person, now: datetime) -> None:
    kept = signed(taken_in(now), ilse, at=now)
    before = intake_pdf(kept, at=now)
    Customer.objects.update(name="Renamed")
    WorkOrder.objects.update(keys_tag="99")
    Shop.objects.update(name="Another Shop", storage_terms="99.00 a day.", locale="fr_CA")

    after = intake_pdf(Intake.objects.get(), at=now)

    assert before == after
    assert shown_intake(Intake.objects.get(), at=now)["facts"]["shop"]["name"] == "Heron Inlet Outboards"
