"""What was taken out of a draft comes back whole, while the draft lasts."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

import pytest

from shopapp.actions import quote_jobs, quotes
from shopapp.actions.actor import Actor
from shopapp.actions.quote_undo import put_back
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.models import Job, Person, QuoteChoice, QuoteLine, QuoteOption, QuoteRevision, Removed, Way
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.quotes import OIL, SEAL, SEALS, SHAFT, draft_quote

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]


@pytest.fixture
def draft(maren: Person, now: datetime) -> QuoteRevision:
    visit = WorkOrderFactory()
    for position in (1, 2):
        JobFactory(work_order=visit, position=position)
    return draft_quote(maren, at=now, work_order=visit)


def rows_of(draft: QuoteRevision) -> list[dict[str, object]]:
    """Every row of a draft, as it is."""
    return [
        *QuoteChoice.objects.filter(revision=draft).order_by("pk").values(),
        *QuoteOption.objects.filter(choice__revision=draft).order_by("pk").values(),
        *QuoteLine.objects.filter(option__choice__revision=draft).order_by("pk").values(),
    ]


def first_option(draft: QuoteRevision) -> QuoteOption:
    return QuoteOption.objects.filter(choice__revision=draft).earliest("pk")


def take_line(draft: QuoteRevision, by: Actor) -> None:
    line = first_option(draft).lines.earliest("position")
    quotes.remove_line(line.pk, version=line.version, by=by)


def take_option(draft: QuoteRevision, by: Actor) -> None:
    option = first_option(draft)
    quotes.remove_option(option.pk, version=option.version, by=by)


def take_job(draft: QuoteRevision, by: Actor) -> None:
    quote_jobs.leave_job_out(draft.choices.earliest("pk").pk, by=by)


@pytest.mark.parametrize(
    ("take", "what"),
    [
        (take_line, "Take apart, fit seals, put together"),
        (take_option, "New seals on the old shaft"),
        (take_job, "Gear oil looks milky"),
    ],
)
def test_put_back_restores_every_row(
    maren: Person, ilse: Person, by: Acting, draft: QuoteRevision, take: object, what: str
) -> None:
    line = first_option(draft).lines.earliest("position")
    costed = replace(SEAL, description=line.description, unit_cost=Decimal(7))
    quotes.edit_line(line.pk, costed, version=1, by=by(maren))
    before = rows_of(draft)
    take(draft, by(ilse))
    assert rows_of(draft) != before

    removed = Removed.objects.get()
    put_back(removed.pk, by=by(ilse))

    assert (removed.what, rows_of(draft)) == (what, before)
    assert Removed.objects.count() == 0


def test_put_back_twice_is_refused(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    take_line(draft, by(ilse))
    removed = Removed.objects.get()
    put_back(removed.pk, by=by(ilse))

    with pytest.raises(Refused, match="removed this a moment ago"):
        put_back(removed.pk, by=by(ilse))


def test_put_back_line_goes_behind_whoever_took_its_place(
    ilse: Person, by: Acting, draft: QuoteRevision
) -> None:
    option = first_option(draft)
    last = option.lines.latest("position")
    quotes.remove_line(last.pk, version=1, by=by(ilse))
    quotes.add_line(option.pk, replace(OIL, description="Grease"), by=by(ilse))

    put_back(Removed.objects.get().pk, by=by(ilse))

    lines = option.lines.order_by("position").values_list("position", "description")
    assert list(lines)[2:] == [(3, "Grease"), (4, "Gear oil")]


def test_put_back_option_needs_a_place(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    choice = first_option(draft).choice
    take_option(draft, by(ilse))
    for way in (Way.USED, Way.EXCHANGE):
        quotes.add_option(choice.pk, replace(SHAFT, way=way), by=by(ilse))

    with pytest.raises(Refused, match="at most three options"):
        put_back(Removed.objects.get().pk, by=by(ilse))

    assert Removed.objects.count() == 1


def test_put_back_line_needs_its_option(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    take_line(draft, by(ilse))
    take_option(draft, by(ilse))
    line, option = Removed.objects.order_by("pk")

    with pytest.raises(Refused, match="Put that back first"):
        put_back(line.pk, by=by(ilse))

    for one in (option, line):
        put_back(one.pk, by=by(ilse))
    assert first_option(draft).lines.count() == 3


def test_put_back_job_that_went_elsewhere_is_refused(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    take_job(draft, by(ilse))
    job = Job.objects.get(position=1)
    quotes.start_quote(job.work_order_id, jobs=[job.pk], by=by(ilse))

    with pytest.raises(Refused, match="Job 1 is in quote Q-00002 already"):
        put_back(Removed.objects.get().pk, by=by(ilse))


def test_put_back_into_sent_quote_is_refused(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    take_line(draft, by(ilse))
    quotes.send_quote(draft.pk, version=1, by=by(ilse))

    with pytest.raises(Refused, match="it stays as the customer saw it"):
        put_back(Removed.objects.get().pk, by=by(ilse))


def test_put_back_is_not_the_technicians(
    ilse: Person, tobiah: Person, by: Acting, draft: QuoteRevision
) -> None:
    take_line(draft, by(ilse))

    with pytest.raises(NotAllowed, match="front desk and the owner"):
        put_back(Removed.objects.get().pk, by=by(tobiah))


def test_leave_it_stands_once_beside_three(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    choice = draft.choices.earliest("pk")
    leave = replace(SEALS, way=Way.LEAVE, title="Leave it")
    quotes.add_option(choice.pk, replace(SHAFT, way=Way.USED), by=by(ilse))
    quotes.add_option(choice.pk, leave, by=by(ilse))

    with pytest.raises(Refused, match="stands below the options already"):
        quotes.add_option(choice.pk, leave, by=by(ilse))
    with pytest.raises(Refused, match="stands below the options already"):
        quotes.edit_option(first_option(draft).pk, leave, version=2, by=by(ilse))

    assert choice.options.count() == 4
