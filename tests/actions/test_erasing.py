"""Erasing a customer: contact data goes from every row, bills and figures stay, the chain holds (T36)."""

import json
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings
from django.db import models

from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.answers import first_unfaithful_answer
from shopapp.actions.arrivals import ArrivalInput, open_work_order
from shopapp.actions.customers import CustomerInput, edit_customer
from shopapp.actions.erasing import erase_customer, finish_erasures
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.files.tombstones import lines_of, tombstone_file, unfinished
from shopapp.models import (
    Activity,
    Approval,
    CustodyEntry,
    Customer,
    Invoice,
    ParkedForm,
    Person,
    StoredPaper,
    WorkOrder,
)
from shopapp.queries.broken_sums import first_broken_sum
from shopapp.queries.erasure import kept_of
from shopapp.queries.personal_fields import FATES, MARK, Fate
from shopapp.triggers import ERASED_MARK
from tests.factories.invoices import finished_job, issued
from tests.factories.persons import MARKED, answered_visit, billed, figures, somebody, traces

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]
SYSTEM_ONLY = "Only the app itself"


@pytest.fixture
def owner(maren: Person, by: Acting) -> Actor:
    return by(maren)


def is_text(field: models.Field) -> bool:
    """Whether people, or a machine of theirs, write freely in it."""
    kinds = (models.CharField, models.TextField, models.JSONField, models.GenericIPAddressField)
    return isinstance(field, kinds) and not field.choices


def test_every_field_for_text_has_a_decision() -> None:
    """A new field that may hold a person's data has to be decided in ``personal_fields`` first."""
    fields = {
        f"{model.__name__}.{field.name}"
        for model in apps.get_app_config("shopapp").get_models()
        for field in model._meta.concrete_fields
        if is_text(field)
    }

    assert (sorted(fields - FATES.keys()), sorted(FATES.keys() - fields)) == ([], [])


def test_guards_and_actions_blank_by_the_same_mark() -> None:
    assert MARK == ERASED_MARK


@pytest.mark.parametrize("is_billed", [True, False])
def test_contact_data_goes_from_every_row_t36(owner: Actor, is_billed: bool) -> None:
    customer = somebody(by=owner, is_billed=is_billed)
    before, numbers = traces(), figures()
    kept = {name for name, fate in FATES.items() if fate in (Fate.BOOKS, Fate.WHILE_BILLED)}

    erase_customer(customer.pk, by=owner)

    assert len(before) > 20
    left = traces()
    # what was signed stays where a bill rests on it, and the bill itself; with no bill nothing at all
    assert left == ((before & kept) if is_billed else set())
    assert figures() == numbers


@pytest.mark.parametrize("is_billed", [True, False])
def test_chain_and_sums_hold_afterwards_t36(owner: Actor, is_billed: bool) -> None:
    customer = somebody(by=owner, is_billed=is_billed)

    erase_customer(customer.pk, by=owner)

    assert first_bad_link() is None
    told = Activity.objects.get(verb="erase customer")
    assert (told.record, told.payload) == (
        f"customer:{customer.pk}",
        f'{{"is_billed": {str(is_billed).lower()}}}',
    )
    assert [MARKED in bill.shown for bill in Invoice.objects.all()] == [True] * is_billed


def test_photos_jobs_and_boats_stay(owner: Actor) -> None:
    customer = somebody(by=owner, is_billed=True)
    visit = WorkOrder.objects.get(customer=customer)
    words = visit.complaint, visit.jobs.get().correction

    erase_customer(customer.pk, by=owner)

    after = WorkOrder.objects.get(customer=customer)
    assert (after.complaint, after.jobs.get().correction) == words
    assert (after.vessel.hull_number, after.vessel.registration) == ("PM12345D494", "")


def test_open_work_is_refused(owner: Actor) -> None:
    customer = somebody(by=owner, is_billed=True)
    visit = finished_job().work_order
    WorkOrder.objects.filter(pk=visit.pk).update(customer=customer)
    before = traces()

    with pytest.raises(Refused, match=f"open work: {visit.number}"):
        erase_customer(customer.pk, by=owner)

    assert (traces(), lines_of(tombstone_file())) == (before, [])


def test_money_owed_is_refused(owner: Actor) -> None:
    bill = issued(by=owner)
    WorkOrder.objects.update(stage="gone", gone_at=owner.at)

    with pytest.raises(Refused, match=f"Money is owed: {bill.number}"):
        erase_customer(bill.customer_id, by=owner)


@pytest.mark.parametrize("who", ["ilse", "tobiah"])
def test_only_the_owner_erases(request: pytest.FixtureRequest, owner: Actor, by: Acting, who: str) -> None:
    customer = somebody(by=owner, is_billed=True)

    with pytest.raises(NotAllowed):
        erase_customer(customer.pk, by=by(request.getfixturevalue(who)))

    assert Customer.objects.get(pk=customer.pk).name == MARKED


def test_second_sender_changes_nothing(owner: Actor) -> None:
    customer = somebody(by=owner, is_billed=True)
    erase_customer(customer.pk, by=owner)
    count = Activity.objects.count()

    again = erase_customer(customer.pk, by=owner)

    assert (again.name, Activity.objects.count()) == (f"Erased customer {customer.pk}", count)
    assert len(lines_of(tombstone_file())) == 1


def test_others_keep_everything(owner: Actor) -> None:
    customer, other = somebody(by=owner, is_billed=False), somebody(by=owner, is_billed=True)
    Customer.objects.filter(pk=other.pk).update(phone="604 111 2222", name="Pia Lindqvist")
    parked = ParkedForm.objects.create(
        person=owner.person,
        title="x",
        path="/calls/new/",
        fields=[["name", "Pia Lindqvist"]],
        parked_at=owner.at,
    )
    before = list(CustodyEntry.objects.filter(work_order__customer=other).values())

    erase_customer(customer.pk, by=owner)

    assert Customer.objects.get(pk=other.pk).name == "Pia Lindqvist"
    assert list(CustodyEntry.objects.filter(work_order__customer=other).values()) == before
    assert list(ParkedForm.objects.all()) == [parked]


def test_nothing_new_is_written_of_somebody_erased(owner: Actor) -> None:
    customer = somebody(by=owner, is_billed=True)
    vessel = WorkOrder.objects.get(customer=customer).vessel
    erased = erase_customer(customer.pk, by=owner)
    arrival = ArrivalInput(complaint="No spark", customer=customer.pk, vessel=vessel.pk, is_about_boat=True)

    with pytest.raises(Refused, match="was erased"):
        edit_customer(
            customer.pk, CustomerInput(name="Back", phone="604 555 0101"), version=erased.version, by=owner
        )
    with pytest.raises(Refused, match="was erased"):
        open_work_order(arrival, by=owner)


def test_tombstone_holds_no_data_and_comes_before_the_commit(
    owner: Actor, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The power fails after the tombstone: nothing is erased yet, and the next run finishes it."""
    customer = somebody(by=owner, is_billed=True)
    monkeypatch.setattr("shopapp.actions.erasing._erase", _power_cut)
    with pytest.raises(KeyboardInterrupt):
        erase_customer(customer.pk, by=owner)
    [line] = lines_of(tombstone_file())

    assert json.loads(line).keys() == {"day", "seal"}
    assert len(json.loads(line)["seal"]) == 64
    assert (Customer.objects.get(pk=customer.pk).name, unfinished()) == (MARKED, (customer.pk,))
    monkeypatch.undo()
    system = Actor(scope=Scope.SYSTEM, at=owner.at)
    assert (finish_erasures(by=system), finish_erasures(by=system), unfinished()) == (1, 0, ())
    assert Customer.objects.get(pk=customer.pk).erased_at == owner.at


def _power_cut(*_args: object, **_named: object) -> None:
    raise KeyboardInterrupt


def test_tombstone_fits_nobody_who_gets_the_number_again(
    owner: Actor, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An older backup was restored, and a new customer got the number of the erased one."""
    customer = somebody(by=owner, is_billed=True)
    erase_customer(customer.pk, by=owner)
    # the number again, with another beginning in the chain
    Customer.objects.filter(pk=customer.pk).update(name="Pia Lindqvist", erased_at=None)
    assert unfinished() == (customer.pk,)
    with monkeypatch.context() as patch:
        patch.setattr("shopapp.files.tombstones.first_links", lambda: {customer.pk: "a" * 64})

        assert unfinished() == ()


def test_full_disk_stops_it_before_anything(owner: Actor, monkeypatch: pytest.MonkeyPatch) -> None:
    customer = somebody(by=owner, is_billed=True)
    settings.PHOTO_DIR.parent.mkdir(exist_ok=True)
    tombstone_file().mkdir()

    with pytest.raises(Refused, match="Nothing was erased"):
        erase_customer(customer.pk, by=owner)

    assert Customer.objects.get(pk=customer.pk).name == MARKED


def test_finishing_is_the_apps_alone(owner: Actor) -> None:
    with pytest.raises(NotAllowed, match=SYSTEM_ONLY):
        finish_erasures(by=owner)


@pytest.mark.django_db(transaction=True)
def test_papers_that_can_be_made_again_go_from_the_disk(owner: Actor) -> None:
    customer = somebody(by=owner, is_billed=False)
    papers = Path(settings.PAPER_DIR)
    papers.mkdir(parents=True)
    answer = Approval.objects.get(revision__quote__work_order__customer=customer)
    keys = {"tag": "1" * 64, "invoice": "2" * 64, "quote": answer.signed_sha256}
    for place, (kind, key) in enumerate(keys.items()):
        (papers / f"{place:064d}.pdf").write_bytes(b"%PDF-1.7")
        StoredPaper.objects.create(
            document=kind, content_sha256=key, pdf_sha256=f"{place:064d}", made_at=owner.at
        )

    erase_customer(customer.pk, by=owner)

    assert list(StoredPaper.objects.values_list("document", flat=True)) == ["invoice"]
    assert [path.name for path in papers.glob("*.pdf")] == [f"{1:064d}.pdf"]


def test_real_answer_without_a_bill_is_erased_and_the_chain_verifies_t36(
    ilse: Person, owner: Actor, now: datetime
) -> None:
    answer = answered_visit(ilse, at=now)
    pk = answer.revision.quote.work_order.customer_id
    assert first_unfaithful_answer() is None

    erase_customer(pk, by=owner)

    after = Approval.objects.get(pk=answer.pk)
    assert (after.signed_name, after.strokes, after.revision.shown) == (MARK, "", "")
    assert after.signed_sha256 == answer.signed_sha256
    assert (first_bad_link(), first_unfaithful_answer(), first_broken_sum()) == (None, None, None)


def test_real_answer_with_a_bill_is_kept_as_it_was_signed_t36(
    ilse: Person, owner: Actor, now: datetime
) -> None:
    answer = answered_visit(ilse, at=now)
    visit = billed(answer.revision.quote.work_order, by=owner)

    erase_customer(visit.customer_id, by=owner)

    after = Approval.objects.get(pk=answer.pk)
    assert (after.signed_name, after.revision.shown) == (answer.signed_name, answer.revision.shown)
    assert (after.address, after.device) == (None, "")
    assert (first_bad_link(), first_unfaithful_answer(), first_broken_sum()) == (None, None, None)
    assert kept_of(visit.customer_id).until == date(2036, 6, 2)
