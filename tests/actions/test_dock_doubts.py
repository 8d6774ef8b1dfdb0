"""What was signed at the dock and can't count goes to the desk with its reason: never lost or in force."""

from datetime import datetime, timedelta

import pytest

from shopapp.actions import quotes
from shopapp.actions.dock_calls import take_back_dock_call
from shopapp.actions.entries import SettleInput, settle_entry
from shopapp.actions.erasing import erase_customer
from shopapp.actions.pins import set_pin
from shopapp.actions.refusals import Refused
from shopapp.models import AnswerHow, Approval, EntryState, Job, Outcome, Person, Shop, Stage, TabletEntry
from shopapp.queries.entry_texts import read_entry
from shopapp.web.bench.kinds import wanted_by
from tests.factories import JobFactory
from tests.factories.devices import with_pin
from tests.factories.dock_calls import AtDock, at_dock, handed_out, signed_content, taken_in
from tests.factories.entries import tablet_of
from tests.factories.quotes import answered, desk, first_options, sent_quote

pytestmark = pytest.mark.django_db

NOT_HANDED_OUT = "When it was signed, this work order was not handed out to this person and tablet."
OTHER_TOTAL = "The total that stood on the tablet is not what was chosen comes to. Ask the customer again."
ANSWERED = "This quote is answered already."


@pytest.fixture
def dock(ilse: Person, maren: Person, tobiah: Person, now: datetime) -> AtDock:
    return at_dock(sent_quote(ilse, at=now), tablet_of(maren, tobiah, at=now), tobiah, by=ilse)


def told(entry: TabletEntry) -> tuple[str, int]:
    """The reason, and how many answers there are."""
    assert entry.state == EntryState.REVIEW
    return entry.reason, Approval.objects.count()


def revised(dock: AtDock, ilse: Person) -> None:
    """The desk took the quote back and sent a newer one."""
    by = desk(ilse, at=dock.tablet.at + timedelta(minutes=40))
    draft = quotes.revise_quote(dock.sent.pk, by=by)
    quotes.send_quote(draft.pk, version=draft.version, by=by)


def test_quote_that_was_replaced_meanwhile_does_not_count(dock: AtDock, ilse: Person) -> None:
    revised(dock, ilse)

    assert told(dock.sign()) == (
        "This quote was replaced by a newer one. Please ask the shop for the newer one.",
        0,
    )


def test_quote_that_was_answered_meanwhile_is_not_answered_again(
    dock: AtDock, ilse: Person, now: datetime
) -> None:
    answered(dock.sent, ilse, at=now + timedelta(minutes=40))

    assert told(dock.sign()) == (ANSWERED, 1)
    assert Approval.objects.get().how == AnswerHow.SIGNED_HERE


def test_signed_anew_on_the_tablet_does_not_count_twice(dock: AtDock) -> None:
    dock.sign()

    assert told(dock.sign(after=40)) == (ANSWERED, 1)


def test_prices_that_had_run_out_when_it_was_signed_do_not_count(
    ilse: Person, maren: Person, tobiah: Person, now: datetime
) -> None:
    Shop.objects.update(quote_valid_days=0)
    tomorrow = tablet_of(maren, tobiah, at=now + timedelta(days=1))
    dock = at_dock(sent_quote(ilse, at=now), tomorrow, tobiah, by=ilse)

    assert told(dock.sign()) == (
        "The prices of this quote have run out. Please ask the shop for a new one.",
        0,
    )


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"total": "376.37"}, OTHER_TOTAL),
        ({"total": ""}, OTHER_TOTAL),
        (
            {"shown_sha256": "0" * 64},
            "What the tablet showed is not what the shop sent. Let the customer answer again.",
        ),
        ({"consent_version": "other"}, "The words of consent on the tablet are not those of this quote."),
        ({"revision": "999999"}, "The quote that was signed does not belong to this work order."),
        ({"call": "999999"}, NOT_HANDED_OUT),
    ],
    ids=["other total", "no total", "other text", "other consent", "other quote", "no call"],
)
def test_what_does_not_fit_does_not_count(dock: AtDock, changes: dict[str, str], reason: str) -> None:
    assert told(dock.sign(**changes)) == (reason, 0)


@pytest.mark.parametrize(
    "changes",
    [
        {"seen": "7:none"},
        {"seen": ""},
        {"seen": "x"},
        {"seen": "1:9999999999"},
        {"answer": "perhaps"},
        {"signed_name": ""},
        {"signed_name": "n" * 121},
        {"strokes": "[]"},
        {"total": "NaN"},
        {"total": "1e400"},
        {"total": "376.3800001"},
        {"call": "-1"},
        {"revision": "9" * 40},
    ],
    ids=str,
)
def test_bad_values_do_not_count(dock: AtDock, changes: dict[str, str]) -> None:
    reason, count = told(dock.sign(**changes))

    assert (bool(reason), count) == (True, 0)


def test_quote_of_another_visit_is_not_signed_under_a_call(dock: AtDock, ilse: Person, now: datetime) -> None:
    other = sent_quote(ilse, at=now)
    job, content = other.quote.work_order.jobs.get(), signed_content(dock.call, other)

    entry = dock.tablet.take(dock.tablet.write("signature", job, dock.person, content, after=5))

    assert told(entry) == (NOT_HANDED_OUT, 0)


def test_option_of_another_quote_is_not_chosen(dock: AtDock, ilse: Person, now: datetime) -> None:
    stranger = next(iter(first_options(sent_quote(ilse, at=now)).values()))
    choice = next(iter(first_options(dock.sent)))

    reason, count = told(dock.sign(seen=f"{choice}:{stranger}"))

    assert ("one of the options" in reason, count) == (True, 0)


def test_call_that_was_taken_back_before_it_was_signed_does_not_count(
    dock: AtDock, ilse: Person, now: datetime
) -> None:
    take_back_dock_call(dock.call.pk, by=desk(ilse, at=now + timedelta(minutes=29)))

    assert told(dock.sign(after=30)) == (NOT_HANDED_OUT, 0)


def test_call_ends_with_the_day_of_the_shop(
    ilse: Person, maren: Person, tobiah: Person, now: datetime
) -> None:
    """Handed out at half past ten at night, signed after midnight."""
    tablet = tablet_of(maren, tobiah, at=now + timedelta(hours=12))
    dock = at_dock(sent_quote(ilse, at=now), tablet, tobiah, by=ilse)

    assert told(dock.sign(after=91)) == (NOT_HANDED_OUT, 0)


def test_pin_that_was_changed_between_signing_and_replay_is_asked_about(
    dock: AtDock, tobiah: Person, now: datetime
) -> None:
    set_pin("917264", by=desk(tobiah, at=now + timedelta(minutes=20)))

    assert told(dock.sign(after=30)) == ("The PIN of Tobiah Reyes was changed before this was written.", 0)


def test_person_who_left_between_signing_and_replay_is_asked_about_t15(dock: AtDock, tobiah: Person) -> None:
    Person.objects.filter(pk=tobiah.pk).update(is_active=False)

    assert told(dock.sign()) == ("Tobiah Reyes no longer works here.", 0)


def test_other_person_at_the_same_tablet_was_not_handed_it(dock: AtDock, wen: Person, now: datetime) -> None:
    dock.tablet.opened_by(with_pin(wen, at=now))
    content = signed_content(dock.call, dock.sent)

    entry = dock.tablet.take(dock.tablet.write("signature", dock.job, wen, content, after=5))

    assert told(entry) == (NOT_HANDED_OUT, 0)


def test_other_tablet_was_not_handed_it(dock: AtDock, maren: Person, tobiah: Person, now: datetime) -> None:
    other, content = tablet_of(maren, tobiah, at=now, name="Tablet 2"), signed_content(dock.call, dock.sent)

    entry = other.take(other.write("signature", dock.job, tobiah, content, after=5))

    assert told(entry) == (NOT_HANDED_OUT, 0)


def test_signature_before_the_quote_was_sent_does_not_count(
    ilse: Person, maren: Person, tobiah: Person, now: datetime
) -> None:
    visit, tablet = JobFactory().work_order, tablet_of(maren, tobiah, at=now)
    call = handed_out(visit, tablet.device, tobiah, by=ilse, at=now)
    sent = sent_quote(ilse, at=now + timedelta(minutes=10), work_order=visit)
    dock = AtDock(tablet=tablet, call=call, sent=sent, person=tobiah)

    assert told(dock.sign(after=5)) == ("By the tablet's clock it was signed before the quote was sent.", 0)


def test_rows_that_changed_since_it_was_sent_keep_it_out(dock: AtDock) -> None:
    Shop.objects.update(name="Heron Inlet Marine")

    reason, count = told(dock.sign())

    assert ("The shop changed something since it sent this quote." in reason, count) == (True, 0)


@pytest.mark.parametrize("meanwhile", ["answered", "replaced"])
def test_desk_can_not_take_in_what_can_not_be_in_force(
    dock: AtDock, ilse: Person, now: datetime, meanwhile: str
) -> None:
    if meanwhile == "answered":
        answered(dock.sent, ilse, at=now + timedelta(minutes=40))
    else:
        revised(dock, ilse)
    entry, later = dock.sign(), now + timedelta(hours=4)
    before = list(Approval.objects.values())

    with pytest.raises(Refused):
        taken_in(entry, by=ilse, at=later)

    entry.refresh_from_db()
    assert (entry.state, list(Approval.objects.values())) == (EntryState.REVIEW, before)
    aside = SettleInput(is_taken=False, reason="answered by telephone")
    settle_entry(entry.pk, aside, wanted_by(read_entry(entry.text), locale="en"), by=desk(ilse, at=later))
    entry.refresh_from_db()
    assert (entry.state, entry.settled_reason) == (EntryState.SET_ASIDE, "answered by telephone")


def test_other_total_is_never_taken_in(dock: AtDock, ilse: Person, now: datetime) -> None:
    entry = dock.sign(total="1.00")

    with pytest.raises(Refused) as refusal:
        taken_in(entry, by=ilse, at=now + timedelta(hours=4))

    assert (refusal.value.sentence, Approval.objects.count()) == (OTHER_TOTAL, 0)


def test_signature_is_not_taken_back_at_the_tablet(dock: AtDock) -> None:
    entry = dock.sign()

    content = {"entry": str(entry.entry_id)}
    undo = dock.tablet.take(dock.tablet.write("undo", dock.job, dock.person, content, after=50))

    assert told(undo) == ("This can't be taken back at the tablet. Ask the desk.", 1)


def test_erasing_a_customer_erases_what_the_tablet_sent(dock: AtDock, maren: Person, now: datetime) -> None:
    written, visit = dock.write(answer="decline", seen="", total=""), dock.sent.quote.work_order
    entry = dock.tablet.take(written)
    assert "Aud Nilsen" in TabletEntry.objects.get().text
    visit.stage, visit.gone_at = Stage.GONE, now
    visit.save()
    Job.objects.update(stage=Stage.GONE, outcome=Outcome.DECLINED)

    erase_customer(visit.customer_id, by=desk(maren, at=now + timedelta(days=1)))

    again = dock.tablet.take(written)
    assert (again.pk, again.text, again.state) == (entry.pk, "–", EntryState.STORED)
    assert TabletEntry.objects.count() == 1
