"""An answer holds for exactly what was shown and chosen, once."""

import hashlib
import json
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection, connections

from shopapp.actions import approvals, quotes
from shopapp.actions.actor import Actor
from shopapp.actions.approvals import DecisionInput
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Activity,
    Approval,
    ApprovedChoice,
    CustomerLink,
    EngineMounting,
    EnginePosition,
    Job,
    LineKind,
    Outcome,
    Person,
    PriceKind,
    QuoteOption,
    QuoteRevision,
    RevisionState,
    Shop,
    Stage,
    Way,
)
from shopapp.queries.approvals import approved_option
from shopapp.triggers import apply_triggers, remove_triggers
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.quotes import behind, desk, draft_quote, first_options, opened_link, sent_quote

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]
SOON = timedelta(minutes=1)


def says(revision: QuoteRevision, **changes: object) -> DecisionInput:
    """Yes to the first options, signed."""
    fields = {"is_declined": False, "chosen": first_options(revision), "signed_name": "Aud Nilsen"}
    return DecisionInput(**fields | changes)


@pytest.fixture
def sent(ilse: Person, now: datetime) -> QuoteRevision:
    return sent_quote(ilse, at=now)


@pytest.fixture
def customer(sent: QuoteRevision, ilse: Person, now: datetime) -> Actor:
    link, _ = opened_link(sent, ilse, at=now)
    return behind(link, at=now + SOON)


def test_decide_writes_amount_and_moves_on(sent: QuoteRevision, customer: Actor, ilse: Person) -> None:
    approval = approvals.decide(sent.pk, says(sent), by=customer)

    # 300.00 labour at 5 %, 54.80 goods at 5 % and 7 %: 17.74 + 3.84 (worked out by hand)
    assert (approval.without_tax_minor, approval.with_tax_minor) == (35_480, 37_638)
    assert (approval.witness, approval.decision) == (ilse, "approved")
    job = Job.objects.get()
    assert (job.stage, job.outcome) == (Stage.IN_LINE, Outcome.OPEN)
    assert approved_option(job) == QuoteOption.objects.get(position=1)
    assert QuoteRevision.objects.get().state == RevisionState.DECIDED
    assert CustomerLink.objects.get().revoked_at == customer.at


def test_decide_signs_all_that_is_answered(sent: QuoteRevision, customer: Actor) -> None:
    approval = approvals.decide(sent.pk, says(sent), by=customer)

    chosen = {str(choice): option for choice, option in first_options(sent).items()}
    signed = {
        "chosen": chosen,
        "decision": "approved",
        "name": "Aud Nilsen",
        "reason": "",
        "shown": hashlib.sha256(sent.shown.encode()).hexdigest(),
        "strokes": hashlib.sha256(b"").hexdigest(),
        "time": customer.at.astimezone(UTC).isoformat(timespec="microseconds"),
        "with_tax_minor": 37_638,
        "without_tax_minor": 35_480,
        "witness": customer.link.created_by_id,
    }
    text = json.dumps(signed, sort_keys=True, separators=(",", ":"))
    assert approval.signed_sha256 == hashlib.sha256(text.encode()).hexdigest()


def test_decide_totals_the_chosen_set_anew(ilse: Person, now: datetime) -> None:
    visit = WorkOrderFactory()
    for position in (1, 2, 3):
        JobFactory(work_order=visit, position=position)
    sent = sent_quote(ilse, at=now, work_order=visit)
    link, _ = opened_link(sent, ilse, at=now)
    chosen = first_options(sent)
    left_out = min(chosen)

    approval = approvals.decide(
        sent.pk, says(sent, chosen=chosen | {left_out: None}), by=behind(link, at=now + SOON)
    )

    # twice 354.80; tax 35.48 and 7 % of 109.60 = 7.672, not twice 3.84 (worked out by hand)
    assert (approval.without_tax_minor, approval.with_tax_minor) == (70_960, 75_275)
    stages = list(Job.objects.order_by("position").values_list("stage", "outcome"))
    assert stages == [("ready", "declined"), ("in_line", "open"), ("in_line", "open")]


def test_decide_not_now_everywhere_declines(sent: QuoteRevision, customer: Actor) -> None:
    nothing = dict.fromkeys(first_options(sent))

    approval = approvals.decide(sent.pk, says(sent, chosen=nothing), by=customer)

    assert (approval.decision, approval.with_tax_minor) == ("declined", 0)
    job = Job.objects.get()
    assert (job.stage, job.outcome, approved_option(job)) == (Stage.READY, Outcome.DECLINED, None)


def test_decide_declined_keeps_the_reason(sent: QuoteRevision, customer: Actor) -> None:
    approval = approvals.decide(sent.pk, says(sent, is_declined=True, reason="Selling the boat"), by=customer)

    assert (approval.decision, approval.reason, approval.with_tax_minor) == (
        "declined",
        "Selling the boat",
        0,
    )
    assert list(ApprovedChoice.objects.values_list("option", flat=True)) == [None]


def test_decide_leave_it_declines_the_job(ilse: Person, by: Acting, now: datetime) -> None:
    draft = draft_quote(ilse, at=now)
    second = QuoteOption.objects.get(position=2)
    QuoteOption.objects.filter(pk=second.pk).update(way=Way.LEAVE)
    sent = quotes.send_quote(draft.pk, version=1, by=by(ilse))
    link, _ = opened_link(sent, ilse, at=now)

    approval = approvals.decide(
        sent.pk, says(sent, chosen={second.choice_id: second.pk}), by=behind(link, at=now + SOON)
    )

    # the hours of putting it back together are agreed all the same: 720.00 and 5 %
    assert (approval.decision, approval.with_tax_minor) == ("approved", 75_600)
    job = Job.objects.get()
    assert (job.stage, job.outcome) == (Stage.READY, Outcome.DECLINED)


def test_decide_refuses_a_replaced_revision_t04(
    sent: QuoteRevision, customer: Actor, ilse: Person, now: datetime
) -> None:
    new = quotes.revise_quote(sent.pk, by=desk(ilse, at=now))
    quotes.send_quote(new.pk, version=1, by=desk(ilse, at=now + SOON))

    with pytest.raises(Refused, match="replaced by a newer one"):
        approvals.decide(sent.pk, says(sent), by=customer)

    assert Approval.objects.count() == 0


def test_decide_refuses_a_second_answer(sent: QuoteRevision, customer: Actor) -> None:
    approvals.decide(sent.pk, says(sent), by=customer)

    with pytest.raises(Refused, match="answered already"):
        approvals.decide(sent.pk, says(sent, is_declined=True), by=customer)

    assert Approval.objects.get().decision == "approved"


@pytest.mark.parametrize("late", [timedelta(minutes=30), timedelta(days=2)])
def test_decide_refuses_a_link_run_out(
    sent: QuoteRevision, customer: Actor, now: datetime, late: timedelta
) -> None:
    with pytest.raises(Refused, match="no longer in force"):
        approvals.decide(sent.pk, says(sent), by=behind(customer.link, at=now + late))


def test_decide_refuses_a_revoked_link(
    sent: QuoteRevision, customer: Actor, ilse: Person, now: datetime
) -> None:
    opened_link(sent, ilse, at=now)

    with pytest.raises(Refused, match="no longer in force"):
        approvals.decide(sent.pk, says(sent), by=customer)


def test_decide_refuses_prices_run_out(sent: QuoteRevision, customer: Actor, now: datetime) -> None:
    late = now + timedelta(days=31)
    CustomerLink.objects.update(expires_at=late + SOON)

    with pytest.raises(Refused, match="prices of this quote have run out"):
        approvals.decide(sent.pk, says(sent), by=behind(customer.link, at=late))


def test_decide_refuses_another_quotes_link(
    sent: QuoteRevision, customer: Actor, ilse: Person, now: datetime
) -> None:
    other = sent_quote(ilse, at=now)

    with pytest.raises(NotAllowed, match="does not lead to this quote"):
        approvals.decide(other.pk, says(other), by=customer)


def test_decide_is_not_for_the_shop(sent: QuoteRevision, maren: Person, by: Acting) -> None:
    with pytest.raises(NotAllowed, match="Only the customer"):
        approvals.decide(sent.pk, says(sent), by=by(maren))


def test_decide_refuses_another_jobs_option(ilse: Person, now: datetime) -> None:
    visit = WorkOrderFactory()
    JobFactory(work_order=visit)
    JobFactory(work_order=visit, position=2)
    sent = sent_quote(ilse, at=now, work_order=visit)
    link, _ = opened_link(sent, ilse, at=now)
    first, second = sorted(first_options(sent))
    crossed = {first: first_options(sent)[second], second: None}

    with pytest.raises(BadInput) as refusal:
        approvals.decide(sent.pk, says(sent, chosen=crossed), by=behind(link, at=now + SOON))

    assert refusal.value.field == f"choice-{first}"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"signed_name": "  "}, "signed_name"),
        ({"signed_name": "x" * 121}, "signed_name"),
        ({"strokes": "{}"}, "strokes"),
        ({"chosen": {987_654: None}}, "choice"),
    ],
)
def test_decide_refuses_input_by_field(
    sent: QuoteRevision, customer: Actor, change: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as refusal:
        approvals.decide(sent.pk, says(sent, **change), by=customer)

    assert (refusal.value.field, Approval.objects.count()) == (field, 0)


def test_decide_needs_each_choice_answered(sent: QuoteRevision, customer: Actor) -> None:
    with pytest.raises(BadInput) as refusal:
        approvals.decide(sent.pk, says(sent, chosen={}), by=customer)

    assert refusal.value.field == f"choice-{sent.choices.get().pk}"


TAMPERED = [
    "UPDATE shopapp_quoteline SET unit_price_e4 = unit_price_e4 - 1",
    "UPDATE shopapp_quoteline SET description = 'Nothing'",
    "UPDATE shopapp_quoteline SET payer = 'maker' WHERE kind = 'fluid'",
    "UPDATE shopapp_quoteoption SET title = 'New engine'",
    "UPDATE shopapp_quoteoption SET warranty_months = 0",
    "UPDATE shopapp_taxrate SET rate_e6 = 10000 WHERE name = 'Provincial'",
    "UPDATE shopapp_shop SET consent_text = 'I agree to anything'",
    "UPDATE shopapp_job SET cause = 'Something else'",
    "UPDATE shopapp_engine SET serial = 'X-1'",
    "UPDATE shopapp_vessel SET name = 'Other boat'",
    "UPDATE shopapp_quoterevision SET shown = replace(shown, '300.00', '100.00')",
    "UPDATE shopapp_quoterevision SET shown = 'x'",
    "UPDATE shopapp_quoterevision SET shown_sha256 = 'x'",
]


@pytest.mark.parametrize("change", TAMPERED)
def test_decide_refuses_what_was_not_shown_t35(sent: QuoteRevision, customer: Actor, change: str) -> None:
    remove_triggers(connection)
    with connection.cursor() as cursor:
        cursor.execute(change)
    apply_triggers(connection)

    with pytest.raises(Refused, match="send it again"):
        approvals.decide(sent.pk, says(sent), by=customer)

    assert Approval.objects.count() == 0


def test_decide_does_not_mind_later_photos(sent: QuoteRevision, customer: Actor, tobiah: Person) -> None:
    job = Job.objects.get()
    job.photos.create(
        work_order=job.work_order,
        sha256="a" * 64,
        width=1,
        height=1,
        byte_size=1,
        taken_by=tobiah,
        taken_at=customer.at,
    )

    assert approvals.decide(sent.pk, says(sent), by=customer).decision == "approved"


def test_decide_does_not_mind_better_words(
    ilse: Person, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    EngineMounting.objects.update(position="port")
    sent = sent_quote(ilse, at=now)
    link, _ = opened_link(sent, ilse, at=now)
    for label, words in ((Way.MEND, "Repair it"), (LineKind.PART, "Spare"), (PriceKind.FIXED, "One price")):
        monkeypatch.setattr(label, "_label_", words)
    monkeypatch.setattr(EnginePosition.PORT, "_label_", "left side")

    approval = approvals.decide(sent.pk, says(sent), by=behind(link, at=now + SOON))

    assert (str(Way.MEND.label), approval.decision) == ("Repair it", "approved")


def test_decide_refuses_a_removed_photo_t35(ilse: Person, tobiah: Person, now: datetime) -> None:
    job = JobFactory(work_order=WorkOrderFactory())
    job.photos.create(
        work_order=job.work_order,
        sha256="a" * 64,
        width=1,
        height=1,
        byte_size=1,
        taken_by=tobiah,
        taken_at=now,
    )
    sent = sent_quote(ilse, at=now, work_order=job.work_order)
    link, _ = opened_link(sent, ilse, at=now)
    job.photos.all().delete()

    with pytest.raises(Refused, match="send it again"):
        approvals.decide(sent.pk, says(sent), by=behind(link, at=now + SOON))


def test_decide_keeps_what_can_be_printed_of_a_device(sent: QuoteRevision, customer: Actor) -> None:
    device = "Boat\x00 phone\x1b\ud800 5" + "x" * 400

    approval = approvals.decide(sent.pk, says(sent, device=device), by=customer)

    approval.refresh_from_db()
    assert approval.device == "Boat phone 5" + "x" * 288


def test_decide_is_told_without_the_drawing(sent: QuoteRevision, customer: Actor) -> None:
    point = {"x": 1.5, "y": 2.5, "time": 1, "pressure": 0.5}
    drawing = {"width": 600, "height": 240, "strokes": [{"points": [point]}]}

    approval = approvals.decide(sent.pk, says(sent, strokes=json.dumps(drawing)), by=customer)

    answer, move = Activity.objects.order_by("-seq")[:2][::-1]
    assert (answer.verb, answer.actor, answer.scope, answer.actor_name) == (
        "answer quote",
        f"link:{customer.link.pk}",
        "link",
        "customer",
    )
    assert json.loads(answer.payload) == {
        "decision": "approved",
        "with_tax_minor": 37_638,
        "signed_sha256": approval.signed_sha256,
        "strokes_sha256": hashlib.sha256(approval.strokes.encode()).hexdigest(),
    }
    assert move.verb == "move job"


@pytest.mark.django_db(transaction=True)
def test_hundred_answers_give_one_outcome(ilse: Person, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    link, _ = opened_link(sent, ilse, at=now)

    def answer(turn: int) -> str:
        data = says(sent, is_declined=turn % 2 == 1)
        try:
            return str(approvals.decide(sent.pk, data, by=behind(link, at=now + SOON)).decision)
        except Refused as refusal:
            return refusal.sentence
        finally:
            connections.close_all()

    with ThreadPoolExecutor(max_workers=25) as pool:
        outcomes = list(pool.map(answer, range(100)))

    refused = [outcome for outcome in outcomes if outcome == "This quote is answered already."]
    approval = Approval.objects.get()
    assert (len(refused), sorted(set(outcomes) - set(refused))) == (99, [approval.decision])
    assert ApprovedChoice.objects.count() == 1
    assert Activity.objects.filter(verb="answer quote").count() == 1


def test_sent_shop_settings_stay_those_of_the_day(sent: QuoteRevision, customer: Actor) -> None:
    Shop.objects.update(quote_valid_days=1)

    assert approvals.decide(sent.pk, says(sent), by=customer).with_tax_minor == 37_638
