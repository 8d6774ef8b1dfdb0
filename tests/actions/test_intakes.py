"""Terms are written, read, signed once; a signed intake never changes, and proves what was read."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from functools import partial

import pytest
from django.db import DatabaseError, connection, transaction

from shopapp.actions import activity
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.intakes import SignInput, TermsInput, open_intake, sign_intake, write_terms
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.calc.errors import BadInput
from shopapp.documents.canonical import digest
from shopapp.documents.intakes import verified_intake
from shopapp.documents.quotes import NotAsShown
from shopapp.models import Activity, CustomerLink, Intake, Job, Person, Shop, Stage, WorkOrder
from shopapp.queries.approvals import authorised
from shopapp.queries.intakes import stored_content
from shopapp.triggers import apply_triggers, remove_triggers
from tests.factories import WorkOrderFactory
from tests.factories.intakes import opened, seen, signed, unsigned
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]

TERMS = TermsInput(
    diagnosis_fee=Decimal("95.50"),
    spending_limit=Decimal(300),
    limit_comes_on_top=True,
    may_run=True,
    may_launch=True,
    wants_parts_back=True,
)
STROKES = json.dumps(
    {
        "width": 600,
        "height": 240,
        "strokes": [{"points": [{"x": 1, "y": 2, "time": 1, "pressure": 0.5}]}],
    }
)


def behind(link: CustomerLink, at: datetime) -> Actor:
    return Actor(scope=Scope.LINK, link=link, at=at)


def test_terms_are_written_and_counted(ilse: Person, by: By, now: datetime) -> None:
    intake = unsigned(at=now)

    saved = write_terms(intake.work_order_id, TERMS, version=1, by=by(ilse))

    assert (saved.pk, saved.version) == (intake.pk, 2)
    assert (saved.diagnosis_fee_minor, saved.spending_limit_minor, saved.limit_comes_on_top) == (
        9_550,
        30_000,
        True,
    )
    assert (saved.may_run, saved.may_move, saved.may_launch, saved.wants_parts_back) == (
        True,
        False,
        True,
        True,
    )
    assert Activity.objects.get().verb == "edit terms"


def test_same_terms_leave_no_trace(ilse: Person, by: By, now: datetime) -> None:
    intake = unsigned(at=now)
    write_terms(intake.work_order_id, TERMS, version=1, by=by(ilse))

    again = write_terms(intake.work_order_id, TERMS, version=2, by=by(ilse))

    assert (again.version, Activity.objects.count()) == (2, 1)


def test_second_writer_is_told(ilse: Person, maren: Person, by: By, now: datetime) -> None:
    intake = unsigned(at=now)
    write_terms(intake.work_order_id, TERMS, version=1, by=by(ilse))

    with pytest.raises(Stale) as stale:
        write_terms(intake.work_order_id, replace(TERMS, may_run=False), version=1, by=by(maren))

    assert stale.value.record.diagnosis_fee_minor == 9_550
    assert Intake.objects.get().may_run


def test_nothing_may_be_spent_before_the_signature(ilse: Person, now: datetime) -> None:
    intake = unsigned(at=now)
    before = authorised(intake.work_order).total_minor

    signed(intake, ilse, at=now)

    assert (before, authorised(intake.work_order).total_minor) == (0, 25_000)


def test_signature_on_the_tablet_keeps_its_evidence(ilse: Person, now: datetime) -> None:
    intake = unsigned(at=now)
    device = "Tablet\x00 9"

    kept = signed(intake, ilse, at=now, strokes=STROKES, address="192.0.2.7", device=device)

    kept.refresh_from_db()
    assert (kept.signed_how, kept.signed_name, kept.signed_at, kept.witness) == (
        "tablet",
        "Anna Berg",
        now,
        ilse,
    )
    assert (kept.address, kept.device, json.loads(kept.strokes)) == (
        "192.0.2.7",
        "Tablet 9",
        json.loads(STROKES),
    )
    content = verified_intake(kept)
    assert content["facts"]["consent"]["text"] == "I leave my boat on these terms."
    assert content["terms"]["spending_limit_shown"] == "$250.00"
    entry = Activity.objects.order_by("-seq").first()
    assert (entry.verb, entry.actor_name) == ("sign intake", "customer")
    assert json.loads(entry.payload) == {
        "how": "tablet",
        "signed_sha256": kept.signed_sha256,
        "strokes_sha256": digest(kept.strokes),
    }
    assert activity.first_bad_link() is None
    assert CustomerLink.objects.get().revoked_at == now


def test_signature_on_paper_is_noted_by_the_desk(ilse: Person, by: By, now: datetime) -> None:
    intake = unsigned(at=now)
    data = SignInput(signed_name=" Anna Berg ", seen_sha256=seen(intake, at=now), strokes=STROKES)

    kept = sign_intake(intake.pk, data, by=by(ilse))

    assert (kept.signed_how, kept.signed_name, kept.strokes, kept.witness, kept.address) == (
        "paper",
        "Anna Berg",
        "",
        ilse,
        None,
    )
    assert verified_intake(kept)["work_order"] == kept.work_order.number


@pytest.mark.parametrize(
    "change",
    [
        lambda intake, by: write_terms(intake.work_order_id, TERMS, version=1, by=by),
        lambda intake, by: Job.objects.update(complaint="Something else"),
        lambda intake, by: WorkOrder.objects.update(keys_tag="99"),
    ],
)
def test_what_changed_since_it_was_read_is_not_signed(
    ilse: Person, by: By, now: datetime, change: Callable[[Intake, Actor], object]
) -> None:
    intake = unsigned(at=now)
    link, _token = opened(intake, ilse, at=now)
    data = SignInput(signed_name="Anna Berg", seen_sha256=seen(intake, at=now))
    change(intake, by(ilse))

    with pytest.raises(Refused, match="Please read it once more"):
        sign_intake(intake.pk, data, by=behind(link, now))

    assert Intake.objects.get().signed_at is None


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"signed_name": " "}, "signed_name"),
        ({"signed_name": "x" * 121}, "signed_name"),
        ({"strokes": "{}"}, "strokes"),
    ],
)
def test_odd_signature_is_refused(ilse: Person, now: datetime, change: dict[str, str], field: str) -> None:
    intake = unsigned(at=now)

    with pytest.raises(BadInput) as refusal:
        signed(intake, ilse, at=now, **change)

    assert (refusal.value.field, Intake.objects.get().signed_at) == (field, None)


def test_link_signs_only_its_own_terms_t05(ilse: Person, now: datetime) -> None:
    intake, other = unsigned(at=now), unsigned(at=now)
    link, _token = opened(other, ilse, at=now)
    data = SignInput(signed_name="Anna Berg", seen_sha256=seen(intake, at=now))

    with pytest.raises(NotAllowed):
        sign_intake(intake.pk, data, by=behind(link, now))

    assert Intake.objects.filter(signed_at__isnull=False).count() == 0


@pytest.mark.parametrize("late", [timedelta(minutes=31), timedelta(0)])
def test_shut_link_signs_nothing(ilse: Person, now: datetime, late: timedelta) -> None:
    intake = unsigned(at=now)
    link, _token = opened(intake, ilse, at=now)
    if not late:
        opened(intake, ilse, at=now)  # the newer link shuts the older one
    data = SignInput(signed_name="Anna Berg", seen_sha256=seen(intake, at=now))

    with pytest.raises(Refused, match="no longer in force"):
        sign_intake(intake.pk, data, by=behind(link, now + late))

    assert Intake.objects.get().signed_at is None


def test_technician_signs_and_writes_nothing(tobiah: Person, by: By, now: datetime) -> None:
    intake = unsigned(at=now)
    data = SignInput(signed_name="Anna Berg", seen_sha256=seen(intake, at=now))

    for deed in (
        partial(sign_intake, intake.pk, data, by=by(tobiah)),
        partial(write_terms, intake.work_order_id, TERMS, version=1, by=by(tobiah)),
        partial(open_intake, intake.pk, by=by(tobiah)),
    ):
        with pytest.raises(NotAllowed):
            deed()

    assert (Intake.objects.get().version, CustomerLink.objects.count()) == (1, 0)


def test_signed_terms_stay_until_new_ones_are_signed(ilse: Person, by: By, now: datetime) -> None:
    first = signed(unsigned(at=now), ilse, at=now)
    order = first.work_order

    second = write_terms(order.pk, TERMS, version=0, by=by(ilse))
    between = authorised(order).limit_minor
    signed(second, ilse, at=now + timedelta(minutes=5))

    assert (second.pk != first.pk, between, authorised(order).limit_minor) == (True, 25_000, 30_000)
    assert verified_intake(Intake.objects.get(pk=first.pk))["terms"]["spending_limit_minor"] == 25_000


@pytest.mark.parametrize("deed", ["sign", "open", "write"])
def test_closed_visit_keeps_its_terms(ilse: Person, by: By, now: datetime, deed: str) -> None:
    intake = unsigned(at=now)
    WorkOrder.objects.update(stage=Stage.CANCELLED)
    data = SignInput(signed_name="Anna Berg", seen_sha256=seen(intake, at=now))
    deeds = {
        "sign": partial(sign_intake, intake.pk, data, by=by(ilse)),
        "open": partial(open_intake, intake.pk, by=by(ilse)),
        "write": partial(write_terms, intake.work_order_id, TERMS, version=1, by=by(ilse)),
    }

    with pytest.raises(Refused, match="This visit is over"):
        deeds[deed]()

    assert Intake.objects.get().signed_at is None


@pytest.mark.parametrize("column", ["spending_limit_minor = 99900", "signed_name = 'Somebody'"])
def test_database_refuses_to_change_what_is_signed(ilse: Person, now: datetime, column: str) -> None:
    signed(unsigned(at=now), ilse, at=now)

    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"UPDATE shopapp_intake SET {column}")


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"spending_limit_minor": 99_900}, "no longer match what was signed"),
        ({"shown": "{}"}, "was changed"),
        ({"signed_name": "Somebody"}, "does not fit its text"),
        ({"strokes": STROKES}, "does not fit its text"),
    ],
)
def test_what_was_changed_past_the_guards_is_not_printed_t35(
    ilse: Person, now: datetime, change: dict[str, object], sentence: str
) -> None:
    kept = signed(unsigned(at=now), ilse, at=now)
    remove_triggers(connection)
    Intake.objects.update(**change)
    apply_triggers(connection)

    with pytest.raises(NotAsShown, match=sentence):
        verified_intake(Intake.objects.get(pk=kept.pk))


@pytest.mark.django_db(transaction=True)
def test_many_signers_give_one_signature(ilse: Person, now: datetime) -> None:
    intake = unsigned(at=now)
    link, _token = opened(intake, ilse, at=now)
    data = SignInput(signed_name="Anna Berg", seen_sha256=seen(intake, at=now))

    answers = outcomes([partial(sign_intake, intake.pk, data, by=behind(link, now))] * 6)

    assert sorted(type(one).__name__ for one in answers) == ["Intake", *["Refused"] * 5]
    assert Activity.objects.filter(verb="sign intake").count() == 1
    assert verified_intake(Intake.objects.get())["work_order"] == intake.work_order.number


@pytest.mark.django_db(transaction=True)
def test_customer_signs_while_the_desk_rewrites(ilse: Person, by: By, now: datetime) -> None:
    intake = unsigned(at=now)
    link, _token = opened(intake, ilse, at=now)
    data = SignInput(signed_name="Anna Berg", seen_sha256=seen(intake, at=now))

    answers = outcomes(
        [
            partial(sign_intake, intake.pk, data, by=behind(link, now)),
            partial(write_terms, intake.work_order_id, TERMS, version=1, by=by(ilse)),
        ]
    )

    first = Intake.objects.order_by("pk")[0]
    was_signed = first.signed_at is not None
    # either the signature came first and new terms stand beside it, or the terms changed and nobody signed
    assert isinstance(answers[0], Intake if was_signed else Refused)
    assert first.spending_limit_minor == (25_000 if was_signed else 30_000)
    assert Intake.objects.count() == (2 if was_signed else 1)


def test_terms_of_a_visit_without_any_begin(ilse: Person, by: By) -> None:
    order = WorkOrderFactory()

    begun = write_terms(order.pk, TERMS, version=0, by=by(ilse))

    assert (begun.work_order, begun.signed_at, Activity.objects.get().verb) == (order, None, "begin terms")


def test_fee_is_credited_as_it_was_signed_whatever_the_shop_does_since(ilse: Person, now: datetime) -> None:
    intake = signed(unsigned(at=now), ilse, at=now)
    shown = stored_content(intake)["facts"]["fee_credit"]

    Shop.objects.update(fee_credit="never")

    may = authorised(intake.work_order)
    assert (shown, may.fee_credit, may.fee_minor) == ("goes_ahead", "goes_ahead", 8_000)
