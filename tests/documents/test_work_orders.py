"""The work order on paper: all that the shed needs, nothing that is nobody's business, the same bytes."""

import io
from datetime import date, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from shopapp.documents.work_orders import work_order_html, work_order_pdf
from shopapp.models import (
    EngineMounting,
    HourReading,
    Job,
    Outcome,
    Person,
    PlacedHold,
    Shop,
    Stage,
    StoredPaper,
    WorkOrder,
)
from shopapp.queries.work_order_papers import work_order_content
from tests.factories import JobFactory
from tests.factories.intakes import signed, unsigned
from tests.factories.invoices import Offered, Planned, approve
from tests.factories.jobs import HOURS, OIL, SEAL, agreed_job, job_at, lay_up

pytestmark = pytest.mark.django_db(transaction=True)

ADDRESS = "http://shop.example/work-orders/12/"
SIZES = {"a4": (595, 842), "letter": (612, 792)}
USED = Planned(description="Propeller shaft", number="PS-77", unit_price_e4=4_560_000, payer="shop")


def text_of(pdf: bytes) -> str:
    pages = PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).replace("\u00a0", " ").split())


def in_the_shed(tobiah: Person, at: datetime) -> WorkOrder:
    """A visit with agreed work, extra work on goodwill, a second job nobody agreed to, and a hold."""
    job = agreed_job(Stage.IN_HAND, technician=tobiah, cause="Fishing line has cut the seal")
    visit = job.work_order
    approve(job, Offered(title="Straight shaft", lines=[USED], is_supplement=True))
    HourReading.objects.create(engine=job.engine, tenths=4_125, source="meter", read_at=at)
    EngineMounting.objects.filter(engine=job.engine).update(position="port")
    JobFactory(work_order=visit, position=2, engine=None, complaint="Bilge pump hums", test_kind="none")
    visit.place, visit.keys_tag, visit.promised_date = "Yard 4", "17", date(2026, 6, 12)
    visit.save()
    visit.vessel.name = "Kittiwake"
    visit.vessel.save()
    PlacedHold.objects.create(
        work_order=visit,
        job=job,
        kind="parts",
        note="seal kit",
        chaser=tobiah,
        chase_date=date(2026, 6, 9),
        placed_at=at,
        placed_by=tobiah,
    )
    return WorkOrder.objects.select_related("vessel", "customer").get(pk=visit.pk)


@pytest.mark.parametrize("paper", list(SIZES))
def test_paper_holds_what_the_shed_needs(shop: Shop, tobiah: Person, now: datetime, paper: str) -> None:
    Shop.objects.update(paper=paper)
    visit = in_the_shed(tobiah, now)

    pages = PdfReader(io.BytesIO(pdf := work_order_pdf(visit, address=ADDRESS))).pages

    text, engine = text_of(pdf), visit.jobs.get(position=1).engine
    wanted = [
        visit.number,
        "Kittiwake",
        "Yard 4",
        "17",
        "12 Jun 2026",
        f"Port Petrel Marine P60, {engine.serial}, 412.5 h",
        "Parts (job 1): seal kit · Tobiah Reyes, 9 Jun 2026",
        "Job 1: Petrel Marine P60",
        "· Tobiah Reyes",
        "Gear oil looks milky",
        "Fishing line has cut the seal",
        "New seals; Straight shaft",
        "Shaft seal SR-1188 2 each",
        "Gear oil 1 L",
        "Fit the seals 2.5 h",
        "Propeller shaft PS-77 1 each",
        "Test: On the water",
        "Job 2",
        "Bilge pump hums",
        "nothing yet: ask before you go on",
        "No test needed",
        "Before it runs",
        "The maker's manual and the rules of your place come first.",
        "Notes, hours, and what else was used",
    ]
    assert [words for words in wanted if words not in text] == []
    assert [(round(page.mediabox.width), round(page.mediabox.height)) for page in pages] == [SIZES[paper]]


def test_paper_shows_no_price_telephone_or_address(shop: Shop, tobiah: Person, now: datetime) -> None:
    visit = in_the_shed(tobiah, now)
    customer, by = visit.customer, {"chaser": tobiah, "placed_at": now, "placed_by": tobiah}
    PlacedHold.objects.create(
        work_order=visit, kind="payment", note="owes for spring", chase_date=date(2026, 6, 9), **by
    )
    customer.address, customer.email = "9 Planted Road", "planted@example.org"
    customer.save()

    text = text_of(work_order_pdf(visit, address=ADDRESS))

    amounts = ["18.40", "36.80", "24.00", "115.00", "287.50", "348.30", "456.00", "$", "CAD", "765.43"]
    people = [customer.name, customer.phone, customer.email, "Planted Road", "4 Slip Lane", shop.phone]
    assert [words for words in (*amounts, *people, "Payment", "owes", "Fixed price") if words in text] == []


def test_prices_are_not_even_read(shop: Shop, tobiah: Person, now: datetime) -> None:
    visit = in_the_shed(tobiah, now)

    with CaptureQueriesContext(connection) as asked:
        work_order_content(visit, address=ADDRESS)

    read = " ".join(query["sql"] for query in asked.captured_queries)
    assert [column for column in ("unit_price_e4", "unit_cost_e4") if column in read] == []


@pytest.mark.parametrize("count", [1, 12])
def test_content_takes_eight_queries(shop: Shop, tobiah: Person, now: datetime, count: int) -> None:
    visit = in_the_shed(tobiah, now)
    for position in range(3, 3 + count):
        job = JobFactory(work_order=visit, position=position, technician=tobiah)
        approve(job, Offered(lines=[SEAL, OIL, HOURS] * count))

    with CaptureQueriesContext(connection) as asked:
        work_order_content(visit, address=ADDRESS)

    assert len(asked.captured_queries) == 8


def test_same_state_of_things_has_the_same_bytes(shop: Shop, tobiah: Person, now: datetime) -> None:
    visit = in_the_shed(tobiah, now)
    first = work_order_pdf(visit, address=ADDRESS)
    # made anew: nothing is left of the first
    StoredPaper.objects.all().delete()

    assert work_order_pdf(visit, address=ADDRESS) == first
    assert list(StoredPaper.objects.values_list("document", flat=True)) == ["work_order"]


def test_paper_follows_the_visit(shop: Shop, tobiah: Person, now: datetime) -> None:
    visit = in_the_shed(tobiah, now)
    work_order_pdf(visit, address=ADDRESS)
    Job.objects.filter(work_order=visit, position=1).update(correction="Seals and shaft fitted")
    PlacedHold.objects.update(released_at=now, released_by=tobiah)

    text = text_of(work_order_pdf(visit, address=ADDRESS))

    assert ("Seals and shaft fitted" in text, "Waits for" in text) == (True, False)


def test_ended_job_says_so_and_asks_for_nothing(shop: Shop, ilse: Person) -> None:
    job = job_at(Stage.READY, outcome=Outcome.DECLINED_IN_BOXES)

    text = text_of(work_order_pdf(job.work_order, address=ADDRESS))

    assert (
        "Ended: declined: goes home in boxes" in text,
        "not passed" in text,
        "Before it runs" in text,
    ) == (
        True,
        False,
        False,
    )


def test_paper_says_what_the_customer_allows(ilse: Person, now: datetime) -> None:
    job = job_at(Stage.HERE)
    before = text_of(work_order_pdf(job.work_order, address=ADDRESS))
    terms = unsigned(at=now, work_order=job.work_order)
    terms.may_launch, terms.may_run, terms.may_move, terms.wants_parts_back = False, True, True, True
    terms.save()
    signed(terms, ilse, at=now)

    after = text_of(work_order_pdf(job.work_order, address=ADDRESS))

    assert "not signed yet: ask before you run, move or launch it" in before
    assert "run the engine, move the boat" in after
    assert "launch" not in after
    assert "Keep the replaced parts: the customer wants them back." in after


def test_boat_that_is_out_stands_nowhere(shop: Shop) -> None:
    visit = job_at(Stage.IN_LINE).work_order
    visit.place, visit.is_boat_here = "Yard 4", False

    assert work_order_content(visit, address=ADDRESS)["place"] == "not here"


def test_hostile_words_are_inert(shop: Shop) -> None:
    job = job_at(Stage.HERE, complaint="<img src='http://elsewhere.example/x.png'>")

    html = work_order_html(work_order_content(job.work_order, address=ADDRESS))

    assert ("<img" in html, "&lt;img" in html) == (False, True)


def test_laid_up_engine_is_not_to_be_run(tobiah: Person, now: datetime) -> None:
    job = agreed_job(Stage.TEST, technician=tobiah)
    lay_up(job, tobiah, at=now)
    job.work_order.refresh_from_db()

    html = work_order_html(work_order_content(job.work_order, address=ADDRESS))

    assert "Fogged and laid up since 2 Jun 2026: do not run it." in html
    assert "Before it runs" not in html
