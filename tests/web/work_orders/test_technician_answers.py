"""Fifty planted costs, wages and prices are looked for in every answer a technician can get: none is there.

Invariant 10 of the shop's rules: a technician sees no wages, margins and buying prices, nor what is charged.
"""

from collections.abc import Callable, Iterator
from datetime import date, datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from shopapp.actions import jobs, quotes
from shopapp.actions.actor import Actor
from shopapp.actions.photos import PhotoInput, add_photo
from shopapp.calc.money import from_e4, from_minor
from shopapp.models import (
    Approval,
    FluidEntry,
    Job,
    PartUsed,
    Person,
    QuoteLine,
    QuoteRevision,
    RequestKey,
    Stage,
    TimeEntry,
)
from tests.factories import WageFactory
from tests.factories.jobs import job_at, picture, stored
from tests.factories.quotes import answered, desk, draft_quote
from tests.web.planted import PLANTED, plain, ways_to_write

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
By = Callable[[Person], Actor]


def money(left: Iterator[int]) -> dict[str, object]:
    cost, price = next(left), next(left)
    return {"unit_cost_e4": cost, "unit_price_e4": price, "price_rule": f"Cost {from_e4(cost)}."}


def plan_and_agree(job: Job, person: Person, left: Iterator[int], *, at: datetime) -> QuoteRevision:
    """A quote whose every line has a planted cost and price, agreed to."""
    draft = draft_quote(person, at=at, work_order=job.work_order)
    for line in QuoteLine.objects.order_by("pk"):
        line.unit_cost_e4, line.unit_price_e4 = next(left), next(left)
        line.save()
    sent = quotes.send_quote(draft.pk, version=1, by=desk(person, at=at))
    answered(sent, person, at=at)
    return sent


@pytest.fixture
def job(tobiah: Person, ilse: Person, by: By) -> Job:
    """A job in hand on which all fifty are planted."""
    left, at = iter(PLANTED[:50]), by(tobiah).at
    job = job_at(Stage.DIAGNOSIS, technician=tobiah, cause="Seal cut")
    for month in range(1, 7):
        WageFactory(person=tobiah, hourly_e4=next(left), from_date=date(2026, month, 1))
    plan_and_agree(job, ilse, left, at=at)
    shared = {"job": job, "logged_by": tobiah, "happened_at": at, "recorded_at": at}
    for place in range(6):
        PartUsed.objects.create(description=f"Part {place}", quantity_milli=1_000, **money(left), **shared)
        TimeEntry.objects.create(person=tobiah, minutes=30 + place, **money(left), **shared)
        FluidEntry.objects.create(point="gearcase", product="Oil", filled_ml=700, **money(left), **shared)
    assert list(left) == []
    add_photo(job.pk, PhotoInput(stored=stored()), by=by(tobiah))
    jobs.start_work(job.pk, by=by(tobiah))
    return job


def found_in(text: str) -> list[str]:
    approval = Approval.objects.get()
    charged = {
        str(from_minor(minor, currency="CAD"))
        for minor in (approval.with_tax_minor, approval.without_tax_minor)
    }
    planted = set().union(*map(ways_to_write, PLANTED[:50])) | charged
    return sorted(words for words in planted if words in text)


def every_get(job: Job) -> list[str]:
    revision = QuoteRevision.objects.get()
    at_job = f"/work-orders/job/{job.pk}"
    return [
        "/work-orders/",
        "/work-orders/?stage=in_hand",
        f"/work-orders/{job.work_order_id}/",
        f"{at_job}/bench/",
        f"{at_job}/findings/",
        f"/quotes/{revision.pk}/edit/",
        f"/quotes/{revision.pk}/preview/",
        f"/quotes/{revision.pk}/paper/",
        "/invoices/",
        "/customers/",
        f"/customers/{job.work_order.customer_id}/",
        f"/arrivals/find/?q={job.work_order.number}",
    ]


def every_post(job: Job) -> list[tuple[str, dict[str, object]]]:
    """Forms that are right, forms that are not, conflicts and refusals."""
    at_job = f"/work-orders/job/{job.pk}"
    texts = {"complaint": "c", "cause": "d", "correction": "e", "test_kind": "water"}
    part = {"line": "", "description": "Gasket", "quantity": "1", "unit": "each"}
    oil = {"line": "", "point": "gearcase", "product": "Oil", "filled_ml": "5", "condition": ""}
    return [
        (f"{at_job}/findings/", texts | {"version": "1"}),
        (f"{at_job}/findings/", texts | {"version": "1", "cause": "other"}),
        (f"{at_job}/findings/", texts | {"version": "x"}),
        (f"{at_job}/use-part/", part),
        (f"{at_job}/use-part/", part | {"quantity": "x"}),
        (f"{at_job}/use-part/", part | {"line": QuoteLine.objects.earliest("pk").pk}),
        (f"{at_job}/log-time/", {"line": "", "kind": "repair", "hours": "1"}),
        (f"{at_job}/log-time/", {"line": "", "kind": "repair", "hours": "x"}),
        (f"{at_job}/log-fluid/", oil),
        (f"{at_job}/log-fluid/", oil | {"filled_ml": "x"}),
        (f"{at_job}/add-photo/", {"photo": SimpleUploadedFile("a.jpg", picture(colour="red"))}),
        (f"{at_job}/add-photo/", {"photo": SimpleUploadedFile("a.jpg", b"no picture")}),
        (f"{at_job}/start-diagnosis/", {}),
        (f"{at_job}/assign/", {"person": "1"}),
        (f"/work-orders/{job.work_order_id}/hand-back/", {"gone_to": "me"}),
        (f"{at_job}/finish-work/", {}),
        (f"{at_job}/record-test/", {"verdict": "failed"}),
        (f"{at_job}/record-test/", {"verdict": "passed"}),
    ]


def test_planted_money_is_there_for_the_owner(maren: Person, job: Job, signed_in: SignedIn) -> None:
    content = signed_in(maren).get(f"/work-orders/{job.work_order_id}/").content.decode()

    shown = [planted for planted in PLANTED[14:50] if plain(planted) in content.replace(",", "")]
    assert shown == list(PLANTED[14:50])


def test_front_desk_sees_prices_and_no_costs(ilse: Person, job: Job, signed_in: SignedIn) -> None:
    content = signed_in(ilse).get(f"/work-orders/{job.work_order_id}/").content.decode().replace(",", "")

    costs, prices = PLANTED[14:50:2], PLANTED[15:50:2]
    assert [planted for planted in costs if plain(planted) in content] == []
    assert [planted for planted in prices if plain(planted) in content] == list(prices)


def test_no_page_shows_a_technician_money(tobiah: Person, job: Job, signed_in: SignedIn) -> None:
    client = signed_in(tobiah)

    found = {address: found_in(client.get(address).content.decode()) for address in every_get(job)}

    assert [address for address, words in found.items() if words] == []


def test_no_answer_tells_a_technician_money(tobiah: Person, job: Job, signed_in: SignedIn, key: Key) -> None:
    client, statuses = signed_in(tobiah), []

    for address, data in every_post(job):
        response = client.post(address, data | key())
        statuses.append(response.status_code)
        seen = response.content.decode() + str(response.headers) + str(client.cookies)
        assert (address, found_in(seen)) == (address, [])

    assert statuses == [
        302,
        409,
        422,
        302,
        422,
        422,
        302,
        422,
        302,
        422,
        302,
        422,
        409,
        403,
        403,
        302,
        422,
        302,
    ]
    outcomes = "".join(map(str, RequestKey.objects.values_list("location", "route")))
    assert found_in(outcomes) == []
    for address in every_get(job):
        assert (address, found_in(client.get(address).content.decode())) == (address, [])
