"""What stands beside the visits on Today: calls, questions, sublets, money owed, who worked on what."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.actions.actor import Actor
from shopapp.models import CallSlip, ParkedForm, Person, Question, SubletEntry, TimeEntry
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import texts_of
from shopapp.queries.today import ROWS_SHOWN, TodayPage, today_page
from shopapp.queries.today_visits import WantedVisits
from tests.conftest import NOW
from tests.factories import JobFactory
from tests.factories.invoices import drafted, issued, paid
from tests.factories.quotes import sent_quote

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]


def page(viewer: Person) -> TodayPage:
    return today_page(WantedVisits(), viewer=viewer, now=NOW, texts=texts_of(the_shop()))


def logged(person: Person, minutes: int, **fields: object) -> TimeEntry:
    given = {"person": person, "logged_by": person, "happened_at": NOW, "recorded_at": NOW}
    return TimeEntry.objects.create(minutes=minutes, **given | fields)


def test_owed_is_what_is_not_paid_of_issued_bills(ilse: Person, by: By) -> None:
    whole, part, done = (issued(by=by(ilse)) for _ in range(3))
    drafted(by=by(ilse))
    paid(part, "20.00", by=by(ilse))
    paid(done, "72.80", by=by(ilse))

    shown = page(ilse)

    assert [(row.number, row.owed) for row in shown.owed] == [
        (whole.number, "$72.80"),
        (part.number, "$52.80"),
    ]
    assert (shown.owed_count, shown.owed_altogether) == (2, "$125.60")


def test_oldest_bill_stands_first_and_is_overdue(ilse: Person, by: By) -> None:
    young = issued(by=replace(by(ilse), at=NOW))
    old = issued(by=replace(by(ilse), at=NOW - timedelta(days=200)))

    shown = page(ilse)

    assert [(row.number, row.state.word) for row in shown.owed] == [
        (old.number, "Overdue"),
        (young.number, "To pay"),
    ]


def test_questions_wait_until_they_are_answered(ilse: Person) -> None:
    visit = JobFactory().work_order
    revision = sent_quote(ilse, at=NOW, work_order=visit)
    Question.objects.create(revision=revision, text="Can I keep the shaft?", asked_at=NOW)
    Question.objects.create(
        revision=revision, text="When?", asked_at=NOW, answer="On Monday", answered_at=NOW, answered_by=ilse
    )

    (one,) = page(ilse).asked

    assert (one.text, one.revision_pk, one.customer) == (
        "Can I keep the shaft?",
        revision.pk,
        visit.customer.name,
    )


def test_sublets_that_are_out_show_the_next_one_due_first(ilse: Person) -> None:
    job = JobFactory()
    days = {"due": date(2026, 6, 2), "later": date(2026, 6, 3), "no day": None, "back": None, "struck": None}
    for what, day in days.items():
        SubletEntry.objects.create(
            job=job,
            supplier="Quay Propeller Works",
            description=what,
            due_back_date=day,
            back_at=NOW if what == "back" else None,
            logged_by=ilse,
            happened_at=NOW,
            recorded_at=NOW,
            **({"struck_at": NOW, "struck_by": ilse, "struck_reason": "x"} if what == "struck" else {}),
        )

    shown = page(ilse).sublets

    assert [(row.description, row.is_due) for row in shown] == [
        ("due", True),
        ("later", False),
        ("no day", False),
    ]


def test_work_of_today_is_summed_by_person_and_visit(ilse: Person, tobiah: Person, wen: Person) -> None:
    one, two = JobFactory(), JobFactory()
    logged(tobiah, 50, job=one)
    logged(tobiah, 25, job=one)
    logged(tobiah, 20, job=two)
    logged(wen, 30, job=two)
    logged(wen, 600, job=one, happened_at=NOW - timedelta(days=1))
    logged(wen, 600, job=one, struck_at=NOW, struck_by=wen, struck_reason="wrong boat")

    shown = page(ilse).worked

    assert [(who.name, who.time, [(on.number, on.time) for on in who.visits]) for who in shown] == [
        (
            "Tobiah Reyes",
            "1 h 35 min",
            [(one.work_order.number, "1 h 15 min"), (two.work_order.number, "20 min")],
        ),
        ("Wen Okafor", "30 min", [(two.work_order.number, "30 min")]),
    ]


@pytest.mark.parametrize(
    ("day", "hours", "time"), [("2026-03-08", 23, "2 h 41 min"), ("2026-11-01", 25, "2 h 55 min")]
)
def test_day_of_a_changed_clock_has_all_its_minutes_t29(
    ilse: Person, tobiah: Person, day: str, hours: int, time: str
) -> None:
    texts, job = texts_of(the_shop()), JobFactory()
    begin = datetime.fromisoformat(day).replace(tzinfo=ZoneInfo(texts.time_zone)).astimezone(UTC)
    # seven minutes in each hour that passes, and in the last one of the day before
    for hour in range(-1, hours):
        logged(tobiah, 7, job=job, happened_at=begin + timedelta(hours=hour, minutes=30))

    end = begin + timedelta(hours=hours, seconds=-1)
    shown = today_page(WantedVisits(), viewer=ilse, now=end, texts=texts)

    assert (shown.today.isoformat(), [who.time for who in shown.worked]) == (day, [time])


def test_only_the_own_parked_forms_are_shown(ilse: Person, maren: Person) -> None:
    for person in (ilse, maren):
        ParkedForm.objects.create(person=person, title=person.name, path="/arrivals/new/", parked_at=NOW)

    assert [one.title for one in page(ilse).parked] == ["Ilse Brandt"]


@pytest.mark.parametrize("size", [1, 12])
def test_today_takes_ten_queries(
    ilse: Person, by: By, tobiah: Person, django_assert_num_queries: DjangoAssertNumQueries, size: int
) -> None:
    texts = texts_of(the_shop())
    revision = sent_quote(ilse, at=NOW, work_order=JobFactory().work_order)
    for number in range(size):
        issued(by=by(ilse))
        logged(tobiah, 10, job=JobFactory())
        CallSlip.objects.create(name=f"caller {number}", about="x", taken_by=ilse, taken_at=NOW)
        Question.objects.create(revision=revision, text="When?", asked_at=NOW)
        ParkedForm.objects.create(person=ilse, title="New arrival", path="/", parked_at=NOW)

    with django_assert_num_queries(10):
        shown = today_page(WantedVisits(), viewer=ilse, now=NOW, texts=texts)

    assert (len(shown.owed), shown.owed_count) == (min(size, ROWS_SHOWN), size)
    assert (len(shown.slips), shown.slip_count, len(shown.asked)) == (
        min(size, ROWS_SHOWN),
        size,
        min(size, ROWS_SHOWN),
    )
