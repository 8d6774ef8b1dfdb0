"""The customer's page: what was shown, and the total of exactly what is picked."""

from datetime import datetime

import pytest

from shopapp.models import Person
from shopapp.queries.customer_quotes import customer_page, page_jobs, seen_text, shown_photos
from shopapp.queries.shown import Content, stored_content
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.quotes import first_options, sent_quote

pytestmark = pytest.mark.django_db


@pytest.fixture
def content(ilse: Person, now: datetime) -> Content:
    visit = WorkOrderFactory()
    JobFactory(work_order=visit)
    JobFactory(work_order=visit, position=2, complaint="Tilt does not hold")
    sent = sent_quote(ilse, at=now, work_order=visit)
    return stored_content(sent) | {"picks": first_options(sent)}


def test_page_marks_what_is_picked(content: Content) -> None:
    first, second = sorted(content["picks"])

    page = customer_page(content, photo_url=str, picked={first: content["picks"][first], second: None})

    marks = [([one.is_picked for one in job.options], job.is_not_now) for job in page.jobs]
    assert marks == [([True, False], False), ([False, False], True)]


def test_page_totals_the_picks_anew(content: Content) -> None:
    page = customer_page(content, photo_url=str, picked=content["picks"])

    # twice 354.80; 5 % of 709.60 and 7 % of 109.60 (worked out by hand)
    assert page.picked is not None
    assert page.picked.totals["with_tax"] == "752.75"
    assert page.picked.words == (
        "Gear oil looks milky: A – New seals on the old shaft",
        "Tilt does not hold: A – New seals on the old shaft",
    )
    assert page.picked.is_whole


def test_half_a_pick_is_not_whole(content: Content) -> None:
    first = min(content["picks"])

    page = customer_page(content, photo_url=str, picked={first: None})

    assert page.picked is not None
    assert (page.picked.is_whole, page.picked.totals["with_tax"]) == (False, "0.00")
    assert page.picked.words == ("Gear oil looks milky: not now",)


def test_page_without_picks_has_no_total(content: Content) -> None:
    assert customer_page(content, photo_url=str).picked is None


def test_seen_text_names_the_set() -> None:
    assert seen_text({6: None, 5: 9}) == "5:9 6:none"


def test_photos_are_those_of_the_content(content: Content) -> None:
    job = str(content["jobs"][0]["job"])
    photo = {"sha256": "a" * 64, "caption": "the seal"}
    content["facts"]["jobs"][job]["photos"] = [photo, photo]

    pictured = page_jobs(content, photo_url=lambda sha256: f"/p/{sha256[:2]}/")

    assert shown_photos(content) == ("a" * 64,)
    assert [one.url for one in pictured[0].photos] == ["/p/aa/", "/p/aa/"]
