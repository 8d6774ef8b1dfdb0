"""A quote is begun from its work order."""

from django.test import Client

from shopapp.models import QuoteRevision
from tests.factories import JobFactory
from tests.web.pages import fresh_key


def test_start_leads_to_the_builder(front_desk: Client) -> None:
    visit = JobFactory().work_order

    response = front_desk.post(f"/quotes/for/{visit.pk}/start/", fresh_key())

    assert (response.status_code, response["Location"]) == (
        302,
        f"/quotes/{QuoteRevision.objects.get().pk}/edit/",
    )


def test_start_sent_twice_makes_one_t21(front_desk: Client) -> None:
    visit, key = JobFactory().work_order, fresh_key()

    first = front_desk.post(f"/quotes/for/{visit.pk}/start/", key)
    second = front_desk.post(f"/quotes/for/{visit.pk}/start/", key)

    assert (first["Location"], QuoteRevision.objects.count()) == (second["Location"], 1)


def test_start_is_refused_without_a_job(front_desk: Client) -> None:
    visit = JobFactory(stage="in_hand", work_order__stage="in_hand").work_order

    response = front_desk.post(f"/quotes/for/{visit.pk}/start/", fresh_key())

    assert (response.status_code, QuoteRevision.objects.count()) == (409, 0)


def test_start_is_not_the_technicians(bench: Client) -> None:
    visit = JobFactory().work_order

    response = bench.post(f"/quotes/for/{visit.pk}/start/", fresh_key())

    assert (response.status_code, QuoteRevision.objects.count()) == (403, 0)


def test_start_on_missing_visit_is_404(front_desk: Client) -> None:
    assert front_desk.post("/quotes/for/987654/start/", fresh_key()).status_code == 404


def test_start_is_a_post_only(front_desk: Client) -> None:
    assert front_desk.get(f"/quotes/for/{JobFactory().work_order.pk}/start/").status_code == 405
