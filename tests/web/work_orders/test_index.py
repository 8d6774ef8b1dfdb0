"""The start page of everybody: the newest boats first, and only one's own for a technician."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.actions.holds import HoldInput, place_hold, release_hold
from shopapp.models import Hold, Job, JobAssignment, Person, Stage, WorkOrder
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.jobs import job_at
from tests.web.shared.bad_values import tried_values
from tests.web.shared.hostile import NASTY_NAMES

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]
ADDRESS = "/work-orders/"


def numbers(content: str) -> list[str]:
    """The numbers of the listed work orders, from the top."""
    return [part.partition("</a>")[0].rpartition(">")[2] for part in content.split('class="row-link"')[1:]]


def visits(count: int, *, technician: Person) -> None:
    """Work orders a day apart, the last one the oldest."""
    for place in range(count):
        work_order = WorkOrderFactory(
            number=f"W-{place:05d}", opened_at=datetime(2026, 6, 1, tzinfo=UTC) - timedelta(days=place)
        )
        JobFactory(work_order=work_order, technician=technician)


def test_index_lists_the_newest_first(ilse: Person, tobiah: Person, signed_in: SignedIn) -> None:
    visits(3, technician=tobiah)

    response = signed_in(ilse).get(ADDRESS)

    assert response.status_code == 200
    assert numbers(response.content.decode()) == ["W-00000", "W-00001", "W-00002"]


def test_index_shows_what_a_row_is_about(ilse: Person, tobiah: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.WITH_CUSTOMER, technician=tobiah)
    type(job.work_order).objects.update(promised_date=date(2020, 1, 2))

    content = signed_in(ilse).get(ADDRESS).content.decode()

    for words in (
        'class="chip stage-with-customer"',
        "With customer",
        job.work_order.customer.name,
        job.work_order.vessel.name,
        "Petrel Marine P60",
        "2 Jan 2020",
        "late",
        "Tobiah Reyes",
    ):
        assert words in content, words


def test_index_of_a_technician_holds_own_boats(tobiah: Person, wen: Person, signed_in: SignedIn) -> None:
    own, other = job_at(Stage.HERE, technician=tobiah), job_at(Stage.HERE, technician=wen)

    content = signed_in(tobiah).get(ADDRESS).content.decode()

    assert numbers(content) == [own.work_order.number]
    assert other.work_order.customer.name not in content


def test_index_names_a_boat_once(tobiah: Person, signed_in: SignedIn) -> None:
    job = job_at(Stage.HERE, technician=tobiah)
    second = Job.objects.create(work_order=job.work_order, position=2, complaint="x")
    JobAssignment.objects.create(job=second, person=tobiah)

    assert numbers(signed_in(tobiah).get(ADDRESS).content.decode()) == [job.work_order.number]


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("", ["H", "T"]),
        ("?stage=test", ["T"]),
        ("?stage=here", ["H"]),
        ("?stage=in_line", []),
        ("?closed=1", ["C"]),
        ("?closed=1&stage=cancelled", ["C"]),
        ("?closed=0", ["H", "T"]),
    ],
)
def test_index_filters_by_stage(ilse: Person, signed_in: SignedIn, query: str, found: list[str]) -> None:
    for number, stage in (("T", Stage.TEST), ("H", Stage.HERE), ("C", Stage.CANCELLED)):
        WorkOrderFactory(number=number, stage=stage)

    response = signed_in(ilse).get(ADDRESS + query)

    assert (response.status_code, sorted(numbers(response.content.decode()))) == (200, found)


def test_index_is_cut_into_pages_of_fifty(ilse: Person, tobiah: Person, signed_in: SignedIn) -> None:
    visits(51, technician=tobiah)
    client = signed_in(ilse)

    pages = [numbers(client.get(f"{ADDRESS}?page={page}").content.decode()) for page in ("1", "2", "9", "x")]

    assert [len(page) for page in pages] == [50, 1, 1, 50]
    assert pages[1] == ["W-00050"]


def test_index_answers_htmx_with_its_part(ilse: Person, signed_in: SignedIn) -> None:
    WorkOrderFactory(number="W-1")

    response = signed_in(ilse).get(ADDRESS, headers={"HX-Request": "true"})

    content = response.content.decode().strip()
    assert content.startswith('<section id="work-order-rows"')
    assert ("<html" in content, response.headers["Vary"]) == (False, "HX-Request, Cookie")


@pytest.mark.parametrize(
    ("who", "words"),
    [
        ("ilse", "No boat is here. When one arrives, open its work order."),
        ("tobiah", "No job is yours at the moment. The desk puts your name on a job, then it shows here."),
    ],
)
def test_empty_index_says_what_to_do(
    request: pytest.FixtureRequest, signed_in: SignedIn, who: str, words: str
) -> None:
    content = signed_in(request.getfixturevalue(who)).get(ADDRESS).content.decode()

    assert words in content
    assert ("/arrivals/new/" in content.partition("<main")[2]) == (who == "ilse")


@pytest.mark.parametrize("count", [1, 100])
@pytest.mark.parametrize("who", ["ilse", "tobiah"])
def test_index_takes_the_same_queries(
    request: pytest.FixtureRequest,
    signed_in: SignedIn,
    tobiah: Person,
    django_assert_num_queries: DjangoAssertNumQueries,
    who: str,
    count: int,
) -> None:
    visits(count, technician=tobiah)
    client = signed_in(request.getfixturevalue(who))

    # the desk may choose a person, which takes one more
    with django_assert_num_queries(9 if who == "ilse" else 8):
        client.get(ADDRESS)


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("?hold=parts", ["A"]),
        ("?hold=weather", ["B"]),
        ("?hold=sublet", []),
        ("?person=ilse", ["A"]),
        ("?person=tobiah", ["A", "C"]),
        ("?person=wen", ["B"]),
        ("?person=wen&hold=parts", []),
        ("?person=nobody", ["A", "B", "C"]),
    ],
)
def test_index_is_narrowed_by_hold_and_person(
    *, ilse: Person, tobiah: Person, wen: Person, by: By, signed_in: SignedIn, query: str, found: list[str]
) -> None:
    for number, technician in (("A", tobiah), ("B", None), ("C", tobiah)):
        JobFactory(work_order=WorkOrderFactory(number=number), technician=technician)
    for number, kind, chaser in (("A", Hold.PARTS, ilse), ("B", Hold.WEATHER, wen)):
        visit = WorkOrder.objects.get(number=number).pk
        data = HoldInput(kind=kind, chase_date=by(ilse).at.date(), chaser=chaser.pk)
        place_hold(visit, data, by=by(ilse))
    over = place_hold(WorkOrder.objects.get(number="C").pk, data, by=by(ilse))
    release_hold(over.pk, by=by(ilse))
    for person in (ilse, tobiah, wen):
        query = query.replace(f"person={person.username}", f"person={person.pk}")

    content = signed_in(ilse).get(ADDRESS + query).content.decode()

    assert sorted(numbers(content)) == found


def test_index_shows_what_a_visit_waits_for(ilse: Person, by: By, signed_in: SignedIn) -> None:
    job = job_at(Stage.IN_LINE)
    data = HoldInput(kind=Hold.LIFT, chase_date=by(ilse).at.date(), chaser=ilse.pk)
    place_hold(job.work_order_id, data, by=by(ilse))

    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert 'class="chip chip-hold hold-lift"' in content


def test_index_of_an_unknown_hold_is_422(ilse: Person, signed_in: SignedIn) -> None:
    assert signed_in(ilse).get(f"{ADDRESS}?hold=moon").status_code == 422


def test_index_of_an_unknown_stage_is_422(ilse: Person, signed_in: SignedIn) -> None:
    response = signed_in(ilse).get(f"{ADDRESS}?stage=launched")

    assert response.status_code == 422
    assert "stage: &quot;launched&quot; is not accepted. Give booked, here," in response.content.decode()


def test_index_withstands_odd_questions(ilse: Person, signed_in: SignedIn) -> None:
    client = signed_in(ilse)

    statuses = {
        client.get(ADDRESS, {name: value}).status_code
        for place, value in enumerate(tried_values())
        for name in (("stage", "page", "closed", "hold", "person")[place % 5],)
    }

    assert statuses <= {200, 422}


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_index_shows_names_inert_t13(ilse: Person, signed_in: SignedIn, name: str) -> None:
    job = job_at(Stage.HERE, complaint=name)
    type(job.work_order).objects.update(complaint=name)
    type(job.work_order.customer).objects.update(name=name)
    type(job.work_order.vessel).objects.update(name=name)

    content = signed_in(ilse).get(ADDRESS).content.decode()

    assert "<script>alert" not in content


def test_index_needs_a_role(shop: object, signed_in: SignedIn, ilse: Person) -> None:
    ilse.is_front_desk = False
    ilse.save()

    assert signed_in(ilse).get(ADDRESS).status_code == 403


def test_index_changes_nothing(ilse: Person, signed_in: SignedIn) -> None:
    assert signed_in(ilse).post(ADDRESS).status_code == 405
