"""The tag on paper: small, complete, the same bytes each time, and a code that leads to the work order."""

import io

import pytest
from pypdf import PdfReader

from shopapp.documents.qr_codes import qr_code
from shopapp.documents.tags import Tag, tag_html, tag_of, tag_pdf
from shopapp.models import Shop, StoredPaper
from tests.factories import VesselFactory, WorkOrderFactory

pytestmark = pytest.mark.django_db(transaction=True)

ADDRESS = "http://shop.example/work-orders/12/"
TAG = Tag(
    shop="Heron Inlet Outboards",
    number="W-00012",
    boat="Kittiwake",
    place="Yard 4",
    keys_tag="17",
    address=ADDRESS,
)
MM = 72 / 25.4


def test_tag_says_what_is_needed_and_no_more(shop: Shop) -> None:
    order = WorkOrderFactory(
        vessel=VesselFactory(name="Kittiwake"), number="W-00012", place="Yard 4", keys_tag="17"
    )

    assert tag_of(order, address=ADDRESS) == TAG


def test_tag_is_one_small_page(shop: Shop) -> None:
    pages = PdfReader(io.BytesIO(tag_pdf(TAG))).pages
    words = " ".join(pages[0].extract_text().split())

    assert (len(pages), round(pages[0].mediabox.width / MM), round(pages[0].mediabox.height / MM)) == (
        1,
        100,
        62,
    )
    assert [text in words for text in ("W-00012", "Kittiwake", "Yard 4", "17", shop.name)] == [True] * 5


def test_tag_of_the_longest_words_stays_one_page(shop: Shop) -> None:
    longest = Tag(
        shop="S" * 100,
        number="W-00012",
        boat="Boat " * 16,
        place="P" * 80,
        keys_tag="k" * 40,
        address=ADDRESS,
    )

    assert len(PdfReader(io.BytesIO(tag_pdf(longest))).pages) == 1


def test_same_tag_has_the_same_bytes(shop: Shop) -> None:
    first = tag_pdf(TAG)
    StoredPaper.objects.all().delete()

    assert tag_pdf(TAG) == first


def test_tag_holds_the_code_of_the_address(shop: Shop) -> None:
    assert f'd="{qr_code(ADDRESS).path}"' in tag_html(TAG)
