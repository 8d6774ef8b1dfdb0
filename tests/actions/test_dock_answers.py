"""What a customer signs at the dock counts once it is received, by the rules of the counter."""

import json
from collections.abc import Callable
from datetime import datetime, timedelta
from itertools import permutations

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.answers import first_unfaithful_answer
from shopapp.actions.dock_answers import DockAnswerInput, answer_at_dock
from shopapp.actions.dock_calls import take_back_dock_call
from shopapp.actions.refusals import NotAllowed
from shopapp.documents.approvals import approval_pdf
from shopapp.documents.quotes import signed_digest, verified_approval
from shopapp.models import (
    Activity,
    AnswerHow,
    Approval,
    ApprovedChoice,
    CustomerLink,
    EntryState,
    Person,
    QuoteRevision,
    RevisionState,
    Shop,
    Stage,
    TabletEntry,
)
from shopapp.queries.approvals import in_force
from shopapp.queries.shown import revision_rows, stored_content
from shopapp.queries.signed_answers import signed_answer
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.dock_calls import AtDock, at_dock, taken_in
from tests.factories.entries import tablet_of
from tests.factories.quotes import answered, behind, desk, first_options, opened_link, sent_quote

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
POINT = {"x": 1.5, "y": 2, "time": 1, "pressure": 0.5}
DRAWN = json.dumps({"width": 600, "height": 240, "strokes": [{"points": [POINT]}]})


@pytest.fixture
def dock(ilse: Person, maren: Person, tobiah: Person, now: datetime) -> AtDock:
    return at_dock(sent_quote(ilse, at=now), tablet_of(maren, tobiah, at=now), tobiah, by=ilse)


def test_answer_is_in_force_once_received(dock: AtDock, tobiah: Person) -> None:
    entry = dock.sign(after=30, strokes=DRAWN)

    approval = Approval.objects.get()
    # 300.00 labour at 5 %, 54.80 goods at 5 % and 7 %: as at the counter (worked out by hand)
    assert (approval.without_tax_minor, approval.with_tax_minor) == (35_480, 37_638)
    assert (entry.state, entry.row) == (EntryState.STORED, f"answer-{approval.pk}")
    assert (approval.how, approval.witness, approval.recorded_by) == (AnswerHow.DOCK, tobiah, None)
    assert approval.decided_at == dock.tablet.at + timedelta(minutes=30)
    assert approval.recorded_at == dock.tablet.received_at
    assert approval.device == "Bench tablet 1: "
    assert dict(approval.choices.values_list("choice", "option")) == first_options(dock.sent)
    dock.sent.refresh_from_db()
    assert (dock.sent.state, dock.job.stage) == (RevisionState.DECIDED, Stage.IN_LINE)


def test_answer_is_the_same_as_at_the_counter(dock: AtDock, ilse: Person, now: datetime) -> None:
    other = sent_quote(ilse, at=now)
    answered(other, ilse, at=now)
    dock.sign()

    here, there = Approval.objects.get(revision=dock.sent), Approval.objects.get(revision=other)
    told = ("decision", "without_tax_minor", "with_tax_minor", "signed_name", "strokes", "reason")
    assert [getattr(here, name) for name in told] == [getattr(there, name) for name in told]
    verbs = [
        [entry.verb for entry in one.quote.work_order.activity.order_by("seq")] for one in (dock.sent, other)
    ]
    assert [some[-2:] for some in verbs] == [["answer quote", "move job"]] * 2


def test_both_times_are_signed_with_it(dock: AtDock) -> None:
    dock.sign()

    approval = verified_approval(revision_rows(dock.sent.pk))
    assert approval is not None
    assert first_unfaithful_answer() is None
    told = signed_answer(approval, content=stored_content(dock.sent))
    assert [(fact.label, fact.value) for fact in told.facts] == [
        ("Received by the shop", "2 Jun 2026, 13:30 PDT")
    ]
    approval.recorded_at = dock.tablet.received_at + timedelta(seconds=1)
    assert signed_digest(approval, chosen=first_options(dock.sent)) != approval.signed_sha256


def test_copy_of_the_customer_is_made_afterwards(dock: AtDock) -> None:
    dock.sign(strokes=DRAWN)

    assert approval_pdf(revision_rows(dock.sent.pk)).startswith(b"%PDF-")


def test_long_drawing_is_kept_whole(dock: AtDock) -> None:
    """Far more than any other entry may be long."""
    points = [POINT | {"x": number % 600, "time": number} for number in range(2_000)]
    drawn = json.dumps({"width": 600, "height": 240, "strokes": [{"points": points}]})

    dock.sign(strokes=drawn)

    assert len(drawn) > 100_000
    assert json.loads(Approval.objects.get().strokes) == json.loads(drawn)


def test_sent_twice_counts_once(dock: AtDock) -> None:
    entry = dock.write()

    first, second = dock.tablet.take(entry), dock.tablet.take(entry)

    assert (first.pk, first.state) == (second.pk, EntryState.STORED)
    assert Approval.objects.count() == 1


def test_customer_who_wants_none_of_it_declines(dock: AtDock) -> None:
    dock.sign(answer="decline", seen="", total="", reason="Too dear")

    approval = Approval.objects.get()
    assert (approval.decision, approval.reason, approval.with_tax_minor) == ("declined", "Too dear", 0)
    assert set(ApprovedChoice.objects.values_list("option", flat=True)) == {None}
    assert dock.job.stage == Stage.READY


def test_not_now_for_everything_declines(dock: AtDock) -> None:
    dock.sign(chosen=dict.fromkeys(first_options(dock.sent)))

    assert Approval.objects.get().decision == "declined"


@pytest.mark.parametrize(
    ("told", "wish"),
    [
        ({"offers_parts_back": "on", "wants_parts_back": "on"}, True),
        ({"offers_parts_back": "on"}, False),
        ({}, None),
    ],
    ids=["wanted", "not wanted", "not asked"],
)
def test_wish_for_replaced_parts_is_kept(dock: AtDock, told: dict[str, str], *, wish: bool | None) -> None:
    dock.sign(**told)

    assert Approval.objects.get().wants_parts_back is wish


def test_links_are_shut_when_the_shop_learns_of_it(dock: AtDock, ilse: Person, now: datetime) -> None:
    opened_link(dock.sent, ilse, at=now)

    dock.sign()

    assert CustomerLink.objects.get().revoked_at == dock.tablet.received_at


def test_prices_that_held_when_it_was_signed_count_the_day_after(
    ilse: Person, maren: Person, tobiah: Person, now: datetime
) -> None:
    """Signed at half past eleven at night, received the next day: the validity ended in between."""
    Shop.objects.update(quote_valid_days=0)
    evening = now + timedelta(hours=12)
    dock = at_dock(sent_quote(ilse, at=now), tablet_of(maren, tobiah, at=evening), tobiah, by=ilse)

    entry = dock.sign(after=60)

    assert (entry.reason, entry.state) == ("", EntryState.STORED)
    assert dock.sent.valid_until_date == dock.call.call_date


def test_call_that_was_taken_back_after_it_was_signed_counts(
    dock: AtDock, ilse: Person, now: datetime
) -> None:
    take_back_dock_call(dock.call.pk, by=desk(ilse, at=now + timedelta(minutes=31)))

    assert dock.sign(after=30).state == EntryState.STORED


def test_each_question_of_a_quote_gets_its_own_answer(
    ilse: Person, maren: Person, tobiah: Person, now: datetime
) -> None:
    visit = WorkOrderFactory()
    for position in (1, 2, 3):
        JobFactory(work_order=visit, position=position)
    sent = sent_quote(ilse, at=now, work_order=visit)
    dock = at_dock(sent, tablet_of(maren, tobiah, at=now), tobiah, by=ilse)
    chosen = first_options(sent)
    chosen[min(chosen)] = None

    dock.sign(chosen=chosen)

    # twice 354.80; tax 35.48 and 7 % of 109.60 = 7.672, not twice 3.84 (worked out by hand)
    assert Approval.objects.get().with_tax_minor == 75_275
    assert dict(ApprovedChoice.objects.values_list("choice", "option")) == chosen


def test_desk_takes_in_what_only_lacked_a_pin(dock: AtDock, ilse: Person) -> None:
    by_name = unproven(dock, said_name="Kai")
    at = dock.tablet.received_at + timedelta(hours=1)

    taken_in(by_name, by=ilse, at=at)

    approval = Approval.objects.get()
    assert (approval.witness, approval.recorded_by, approval.recorded_at) == (None, ilse, at)
    assert approval.decided_at == dock.tablet.at + timedelta(minutes=30)
    assert approval.device == "Bench tablet 1: "
    assert verified_approval(revision_rows(dock.sent.pk)) is not None


def unproven(dock: AtDock, **more: str) -> TabletEntry:
    """Signed while nobody was there by PIN."""
    sent = dock.write(**more)
    told = json.loads(sent.text) | {"person": None, "key": None}
    return dock.tablet.take(dock.tablet.sent(json.dumps(told)))


def test_desk_names_who_saw_it_signed(dock: AtDock, tobiah: Person, ilse: Person, now: datetime) -> None:
    take_back_dock_call(dock.call.pk, by=desk(ilse, at=now + timedelta(minutes=1)))

    taken_in(dock.sign(), by=ilse, at=now + timedelta(hours=4))

    assert Approval.objects.get().witness == tobiah


def test_nobody_else_brings_an_answer(dock: AtDock, ilse: Person, tobiah: Person, now: datetime) -> None:
    link = opened_link(dock.sent, ilse, at=now)[0]
    data = DockAnswerInput(
        call=dock.call.pk,
        revision=dock.sent.pk,
        shown_sha256=dock.sent.shown_sha256,
        consent_version="1",
        is_declined=True,
        chosen={},
        total=None,
        signed_name="Aud Nilsen",
    )

    for actor in (desk(tobiah, at=now), behind(link, at=now)):
        with pytest.raises(NotAllowed):
            answer_at_dock(dock.job.pk, data, by=actor)

    assert Approval.objects.count() == 0


@pytest.mark.parametrize("order", list(permutations(("first", "second", "counter"))), ids="-".join)
def test_at_most_one_answer_is_in_force_whatever_comes_first(
    dock: AtDock, *, ilse: Person, maren: Person, tobiah: Person, now: datetime, order: tuple[str, ...]
) -> None:
    """Signed on one tablet, then on a second one it was handed to, and at the counter: one of them counts."""
    take_back_dock_call(dock.call.pk, by=desk(ilse, at=now + timedelta(minutes=10)))
    later = now + timedelta(minutes=11)
    other = at_dock(dock.sent, tablet_of(maren, tobiah, at=later, name="Tablet 2"), tobiah, by=ilse)
    written = {"first": (dock, dock.write(after=5)), "second": (other, other.write(after=5))}
    for who in order:
        if who in written:
            where, entry = written[who]
            where.tablet.take(entry)
            where.tablet.take(entry)
        elif not Approval.objects.exists():
            answered(QuoteRevision.objects.get(), ilse, at=now + timedelta(hours=3))

    assert [one.without_tax_minor for one in in_force(dock.sent.quote.work_order)] == [35_480]
    is_counter = order[0] == "counter"
    assert Approval.objects.get().how == (AnswerHow.SIGNED_HERE if is_counter else AnswerHow.DOCK)
    assert TabletEntry.objects.filter(state=EntryState.REVIEW).count() == (2 if is_counter else 1)
    assert Activity.objects.filter(verb="answer quote").count() == 1
