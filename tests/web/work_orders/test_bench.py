"""The page of a job at the bench: what is planned, what is logged, what may be done now."""

from collections.abc import Callable
from datetime import datetime
from decimal import Decimal

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import UsePartInput, use_part
from shopapp.models import Job, PartUsed, Person, Stage
from tests.factories.jobs import agreed_job, job_at, log_parts, plan_line
from tests.web.shared.hostile import NASTY_NAMES, row_counts

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]


def address(job: Job) -> str:
    return f"/work-orders/job/{job.pk}/bench/"


def shown(client: Client, job: Job) -> str:
    response = client.get(address(job))
    assert response.status_code == 200
    return response.content.decode()


def test_work_page_is_made_for_the_bench(tobiah: Person, signed_in: SignedIn) -> None:
    content = shown(signed_in(tobiah), agreed_job(Stage.IN_HAND, technician=tobiah))

    assert 'class="bench"' in content
    assert content.count("button-primary") == 1
    assert ">Finish the work<" in content


def test_work_page_offers_what_is_planned(tobiah: Person, by: By, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    line = plan_line(job, "part")
    use_part(job.pk, UsePartInput(quantity=Decimal("0.5"), line=line.pk), by=by(tobiah))

    content = shown(signed_in(tobiah), job)

    assert "Shaft seal SR-1188 (2\u00a0each)" in content
    assert f'value="{line.pk}" id="part_line_0" checked' in content
    # two are planned and a half is used: one and a half are left
    assert 'name="quantity" value="1.5"' in content


@pytest.mark.parametrize(("count", "told"), [(300, 0), (301, 1)])
def test_work_page_says_that_older_rows_are_missing(
    *, tobiah: Person, now: datetime, signed_in: SignedIn, count: int, told: int
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    log_parts(job, tobiah, count=count, at=now)

    content = shown(signed_in(tobiah), job)

    assert content.count("These are the newest rows. Older ones are not shown here.") == told
    assert (">part 2 " in content or ">part 2<" in content, f">part {count}<" in content) == (True, True)


PARTS_OF_PAGE = ("/use-part/", "/log-time/", "/log-fluid/", "/add-photo/", "/record-test/", "/finish-work/")


@pytest.mark.parametrize(
    ("stage", "forms"),
    [
        (Stage.HERE, ["/add-photo/"]),
        (Stage.DIAGNOSIS, ["/use-part/", "/log-time/", "/log-fluid/", "/add-photo/"]),
        (Stage.IN_LINE, ["/use-part/", "/log-time/", "/log-fluid/", "/add-photo/"]),
        (Stage.IN_HAND, ["/use-part/", "/log-time/", "/log-fluid/", "/add-photo/", "/finish-work/"]),
        (Stage.TEST, ["/use-part/", "/log-time/", "/log-fluid/", "/add-photo/", "/record-test/"]),
        (Stage.READY, ["/add-photo/"]),
        (Stage.CANCELLED, []),
    ],
)
def test_work_page_offers_what_the_stage_allows(
    tobiah: Person, signed_in: SignedIn, stage: Stage, forms: list[str]
) -> None:
    content = shown(signed_in(tobiah), agreed_job(stage, technician=tobiah))

    assert [form for form in PARTS_OF_PAGE if form in content] == forms


@pytest.mark.parametrize(
    ("stage", "caution"),
    [
        (Stage.IN_HAND, "Battery: negative lead off first."),
        (Stage.TEST, "Exhaust gas kills"),
        (Stage.DIAGNOSIS, "Used oil goes into a closed container"),
    ],
)
def test_work_page_warns_where_it_belongs(
    tobiah: Person, signed_in: SignedIn, stage: Stage, caution: str
) -> None:
    content = shown(signed_in(tobiah), agreed_job(stage, technician=tobiah))

    assert caution in content
    assert "maker&#x27;s manual" in content or "maker's manual" in content


def test_work_page_asks_costs_of_the_desk_only(ilse: Person, tobiah: Person, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    pages = [shown(signed_in(person), job) for person in (ilse, tobiah)]

    assert ['name="unit_cost"' in page for page in pages] == [True, False]
    assert ['name="person"' in page for page in pages] == [True, False]


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_work_page_shows_part_names_inert_t13(tobiah: Person, by: By, signed_in: SignedIn, name: str) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    use_part(job.pk, UsePartInput(quantity=Decimal(1), description=name), by=by(tobiah))

    assert "<script>alert" not in shown(signed_in(tobiah), job)


def test_work_page_of_another_is_missing_t01(tobiah: Person, wen: Person, signed_in: SignedIn) -> None:
    job, client = job_at(Stage.HERE, technician=tobiah), signed_in(wen)

    other, missing = client.get(address(job)), client.get("/work-orders/job/999999/bench/")

    assert (other.status_code, other.content) == (404, missing.content)


@pytest.mark.parametrize("count", [1, 100])
@pytest.mark.parametrize(("who", "queries"), [("ilse", 15), ("tobiah", 14)])
def test_work_page_takes_the_same_queries(
    *,
    request: pytest.FixtureRequest,
    signed_in: SignedIn,
    tobiah: Person,
    by: By,
    django_assert_num_queries: DjangoAssertNumQueries,
    who: str,
    queries: int,
    count: int,
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    PartUsed.objects.bulk_create(
        PartUsed(
            job=job,
            description=f"Part {place}",
            quantity_milli=1_000,
            logged_by=tobiah,
            happened_at=by(tobiah).at,
            recorded_at=by(tobiah).at,
        )
        for place in range(count)
    )
    client = signed_in(request.getfixturevalue(who))

    with django_assert_num_queries(queries):
        client.get(address(job))


def test_looking_at_the_work_changes_nothing(tobiah: Person, signed_in: SignedIn) -> None:
    job, client = agreed_job(Stage.IN_HAND, technician=tobiah), signed_in(tobiah)
    before = row_counts()

    client.get(address(job))

    assert (row_counts(), client.post(address(job)).status_code) == (before, 405)
