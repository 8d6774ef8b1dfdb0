"""One call, one step: what was agreed on the telephone is written down and the work begins."""

from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.answers import first_unfaithful_answer
from shopapp.actions.jobs import start_work
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.start_now import StartNowInput, start_now
from shopapp.calc.errors import BadInput
from shopapp.documents.quotes import verified_content
from shopapp.models import (
    Activity,
    Approval,
    Job,
    JobAssignment,
    LineKind,
    NumberSeries,
    Person,
    PriceKind,
    Quote,
    QuoteRevision,
    Stage,
)
from shopapp.queries.approvals import approved_option, approved_options, authorised
from shopapp.queries.shown import revision_rows
from tests.factories.jobs import job_at
from tests.factories.quotes import answered, sent_quote

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]
HOUR = timedelta(hours=1)


@pytest.fixture
def said(now: datetime) -> Callable[..., StartNowInput]:
    """Yes to a new impeller for at most 180.00 without tax."""
    facts = {
        "what": "New impeller",
        "at_most": Decimal("180.00"),
        "spoken_with": "Aud Nilsen",
        "number": "604 555 0199",
        "spoken_at": now,
        "relation": "owner",
    }
    return lambda **changes: StartNowInput(**facts | changes)


Said = Callable[..., StartNowInput]


@pytest.mark.parametrize("stage", [Stage.HERE, Stage.DIAGNOSIS, Stage.IN_HAND])
def test_start_now_agrees_and_begins(stage: Stage, ilse: Person, by: Acting, said: Said) -> None:
    job = job_at(stage)

    approval = start_now(job.pk, said(), by=by(ilse))

    job.refresh_from_db()
    assert (job.stage, job.work_order.stage, job.price_kind) == ("in_hand", "in_hand", PriceKind.CEILING)
    # of work a twentieth is tax
    assert (approval.without_tax_minor, approval.with_tax_minor) == (18_000, 18_900)
    assert (approval.extra_work, approval.extra_minor, approval.new_total_minor) == (
        "New impeller",
        18_000,
        18_000,
    )
    assert (approval.signed_name, approval.called_number, approval.how) == (
        "Aud Nilsen",
        "604 555 0199",
        "phone",
    )
    assert approved_option(job).title == "New impeller"
    assert authorised(job.work_order).total_minor == 18_000
    revision = revision_rows(approval.revision_id)
    shown = verified_content(revision)["facts"]["jobs"][str(job.pk)]
    assert (revision.state, revision.quote.is_supplement) == ("decided", False)
    assert shown["price_kind"] == "ceiling"
    assert first_unfaithful_answer() is None


def test_start_now_tells_it_in_the_order_of_things(ilse: Person, by: Acting, said: Said) -> None:
    start_now(job_at(Stage.DIAGNOSIS).pk, said(), by=by(ilse))

    verbs = list(Activity.objects.order_by("seq").values_list("verb", flat=True))
    assert verbs == ["send quote", "answer quote", "move job"]


def test_parts_take_the_tax_of_parts(ilse: Person, by: Acting, said: Said) -> None:
    approval = start_now(job_at(Stage.HERE).pk, said(kind=LineKind.PART), by=by(ilse))

    # 180.00 at 5 % and 7 %
    assert (approval.without_tax_minor, approval.with_tax_minor) == (18_000, 20_160)


@pytest.mark.parametrize("stage", [Stage.IN_LINE, Stage.IN_HAND, Stage.TEST])
def test_start_now_adds_to_what_was_agreed(
    stage: Stage, ilse: Person, by: Acting, said: Said, now: datetime
) -> None:
    answered(sent_quote(ilse, at=now - 2 * HOUR), ilse, at=now - 2 * HOUR)
    Job.objects.update(stage=stage)
    job = Job.objects.get()
    main = approved_option(job)

    approval = start_now(job.pk, said(), by=by(ilse))

    job.refresh_from_db()
    extra = approved_options([job])[job.pk][1]
    assert (job.stage, job.price_kind, approved_option(job)) == (Stage.IN_HAND, PriceKind.FIXED, main)
    assert (extra.title, extra.warranty_months) == ("New impeller", 3)
    assert approval.revision.quote.is_supplement
    # 354.80 agreed before
    assert (approval.extra_minor, approval.new_total_minor) == (18_000, 53_480)
    assert authorised(job.work_order).total_minor == 53_480


@pytest.mark.parametrize(
    ("stage", "sentence"),
    [
        (Stage.WITH_CUSTOMER, "has a quote that asks about this job"),
        (Stage.READY, "it is at “Ready”"),
        (Stage.IN_LINE, "it is at “In line”"),
        (Stage.GONE, "it is at “Gone”"),
        (Stage.CANCELLED, "it is at “Cancelled”"),
    ],
)
def test_start_now_refuses_where_nothing_starts(
    stage: Stage, sentence: str, ilse: Person, by: Acting, said: Said
) -> None:
    job = job_at(Stage.HERE)
    Job.objects.update(stage=stage)

    with pytest.raises(Refused, match=sentence):
        start_now(job.pk, said(), by=by(ilse))

    assert (Quote.objects.count(), NumberSeries.objects.filter(code="quote", next_value__gt=1).count()) == (
        0,
        0,
    )


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"what": " "}, "what"),
        ({"what": "x" * 81}, "what"),
        ({"at_most": Decimal(0)}, "at_most"),
        ({"at_most": Decimal(-1)}, "at_most"),
        ({"spoken_with": ""}, "spoken_with"),
        ({"number": ""}, "number"),
        ({"how": "link"}, "how"),
    ],
)
def test_start_now_refuses_input_by_field(
    change: dict[str, object], field: str, ilse: Person, by: Acting, said: Said
) -> None:
    job = job_at(Stage.HERE)

    with pytest.raises(BadInput) as refusal:
        start_now(job.pk, said(**change), by=by(ilse))

    assert (refusal.value.field, Quote.objects.count(), Approval.objects.count()) == (field, 0, 0)


def test_start_now_lies_after_the_last_answer(ilse: Person, by: Acting, said: Said, now: datetime) -> None:
    answered(sent_quote(ilse, at=now - HOUR), ilse, at=now - HOUR)
    job = Job.objects.get()

    for told_at in (now - 2 * HOUR, now + HOUR):
        with pytest.raises(BadInput) as refusal:
            start_now(job.pk, said(spoken_at=told_at), by=by(ilse))
        assert refusal.value.field == "spoken_at"

    assert Approval.objects.count() == 1


def test_start_now_is_the_desks(tobiah: Person, by: Acting, said: Said) -> None:
    job = job_at(Stage.HERE, technician=tobiah)

    with pytest.raises(NotAllowed, match="Only the front desk and the owner"):
        start_now(job.pk, said(), by=by(tobiah))


def test_work_goes_on_after_start_now(
    ilse: Person, tobiah: Person, by: Acting, said: Said, now: datetime
) -> None:
    answered(sent_quote(ilse, at=now - HOUR), ilse, at=now - HOUR)
    job = Job.objects.get()
    JobAssignment.objects.create(job=job, person=tobiah)
    start_now(job.pk, said(), by=by(ilse))

    with pytest.raises(Refused, match="In hand"):
        start_work(job.pk, by=by(tobiah))

    assert QuoteRevision.objects.filter(state="decided").count() == 2
