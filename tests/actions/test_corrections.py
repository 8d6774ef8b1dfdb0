"""Rows of the actual book are put right; what was logged stays readable, what is billed stays as it is."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogTimeInput, UsePartInput, log_time, use_part
from shopapp.actions.corrections import (
    PayerInput,
    PriceInput,
    link_row,
    override_row,
    price_row,
    set_payer,
    strike_row,
)
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, BilledSource, Invoice, InvoiceLine, Job, PartUsed, Payer, Person, Stage
from shopapp.queries.over_agreed import held_back, over_agreed
from tests.factories import WageFactory
from tests.factories.invoices import Offered, Planned, approve
from tests.factories.jobs import agreed_job, plan_line
from tests.models.rows import ISSUED, change, make

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
Key = tuple[str, int]


@pytest.fixture
def job(tobiah: Person) -> Job:
    return agreed_job(Stage.IN_HAND, technician=tobiah)


@pytest.fixture
def gasket(job: Job, tobiah: Person, by: By) -> Key:
    """An extra part that a technician logged: not priced."""
    row = use_part(job.pk, UsePartInput(quantity=Decimal(2), description="Plug gasket"), by=by(tobiah))
    return ("part_used", row.pk)


def verbs() -> list[str]:
    return list(Activity.objects.order_by("seq").values_list("verb", flat=True))


def bill(key: Key, job: Job) -> Invoice:
    """An issued invoice that bills the row."""
    invoice = make(Invoice, work_order=job.work_order, customer=job.work_order.customer)
    BilledSource.objects.create(line=make(InvoiceLine, invoice=invoice, job=job), part_used_id=key[1])
    change(invoice, number=f"I-{invoice.pk}", **ISSUED)
    return invoice


def test_struck_row_stays_readable_and_counts_no_more(job: Job, gasket: Key, tobiah: Person, by: By) -> None:
    assert held_back(job.work_order) == frozenset({gasket})

    row = strike_row(gasket, reason="  Wrong   boat ", by=by(tobiah))

    row.refresh_from_db()
    assert (row.struck_by, row.struck_at, row.struck_reason) == (tobiah, by(tobiah).at, "Wrong boat")
    assert (row.description, row.quantity_milli, held_back(job.work_order)) == (
        "Plug gasket",
        2_000,
        frozenset(),
    )
    assert Activity.objects.get(verb="strike row").payload == (
        '{"job": 1, "what": "Plug gasket", "why": "Wrong boat"}'
    )


def test_row_is_struck_once(gasket: Key, tobiah: Person, ilse: Person, by: By) -> None:
    strike_row(gasket, reason="Wrong boat", by=by(tobiah))

    row = strike_row(gasket, reason="Something else", by=by(ilse))

    assert (row.struck_reason, verbs()) == ("Wrong boat", ["use part", "strike row"])


def test_strike_needs_a_reason(gasket: Key, tobiah: Person, by: By) -> None:
    with pytest.raises(BadInput, match=r"^reason"):
        strike_row(gasket, reason=" ", by=by(tobiah))

    assert PartUsed.objects.get().struck_at is None


def test_technician_strikes_only_what_they_logged(job: Job, gasket: Key, wen: Person, by: By) -> None:
    make_colleague(job, wen)

    with pytest.raises(NotAllowed, match="what you logged yourself"):
        strike_row(gasket, reason="Wrong boat", by=by(wen))

    assert PartUsed.objects.get().struck_at is None


def make_colleague(job: Job, person: Person) -> None:
    """They work on it too."""
    job.assignments.create(person=person)


def test_stranger_to_the_boat_changes_nothing(gasket: Key, wen: Person, by: By) -> None:
    with pytest.raises(NotAllowed, match="Only those who work on this boat"):
        strike_row(gasket, reason="Wrong boat", by=by(wen))


@pytest.mark.parametrize("deed", ["strike", "link", "price", "payer", "override"])
def test_billed_row_stays_as_it_is(job: Job, gasket: Key, maren: Person, by: By, deed: str) -> None:
    bill(gasket, job)
    before, owner = PartUsed.objects.values().get(), by(maren)
    deeds: dict[str, Callable[[], object]] = {
        "strike": lambda: strike_row(gasket, reason="Wrong boat", by=owner),
        "link": lambda: link_row(gasket, line=plan_line(job, "part").pk, by=owner),
        "price": lambda: price_row(gasket, PriceInput(unit_price=Decimal(5)), by=owner),
        "payer": lambda: set_payer(gasket, PayerInput(payer=Payer.SHOP, reason="Slip"), by=owner),
        "override": lambda: override_row(gasket, is_on=True, reason="He asked", by=owner),
    }

    with pytest.raises(Refused, match="on an issued invoice"):
        deeds[deed]()

    assert (PartUsed.objects.values().get(), verbs()) == (before, ["use part"])


def test_credited_row_may_be_put_right_again(job: Job, gasket: Key, maren: Person, by: By) -> None:
    invoice = bill(gasket, job)
    note = {"kind": "credit_note", "credits": invoice, "credit_reason": "Wrong boat", "number": "C-1"}
    make(Invoice, **ISSUED, **note)
    # a credit note sets the claims of its invoice free
    BilledSource.objects.filter(line__invoice=invoice).delete()

    assert strike_row(gasket, reason="Wrong boat", by=by(maren)).struck_by == maren


def test_linked_row_takes_the_agreed_price(job: Job, gasket: Key, tobiah: Person, by: By) -> None:
    line = plan_line(job, "part")

    row = link_row(gasket, line=line.pk, by=by(tobiah))

    row.refresh_from_db()
    assert (row.plan_line, row.unit_price_e4, row.price_rule) == (line, 184_000, "as agreed")
    assert held_back(job.work_order) == frozenset()


def test_row_taken_off_the_plan_is_extra_again(job: Job, tobiah: Person, by: By) -> None:
    WageFactory(person=tobiah)
    planned = log_time(job.pk, LogTimeInput(minutes=60, line=plan_line(job, "labour").pk), by=by(tobiah))

    row = link_row(("time_entry", planned.pk), line=None, by=by(tobiah))

    assert (row.plan_line, row.unit_price_e4, row.unit_cost_e4) == (None, 1_200_000, 375_000)
    assert row.price_rule == "usual rate: Shop labour"


def test_row_is_linked_to_a_line_of_its_own_kind(job: Job, gasket: Key, tobiah: Person, by: By) -> None:
    with pytest.raises(BadInput, match=r"^line"):
        link_row(gasket, line=plan_line(job, "fluid").pk, by=by(tobiah))


def test_row_may_fulfil_a_supplement(job: Job, gasket: Key, tobiah: Person, by: By) -> None:
    first = plan_line(job, "part")
    option = approve(
        job, Offered(lines=[Planned(description="Plug gasket", unit_price_e4=25_000)], is_supplement=True)
    )

    row = link_row(gasket, line=option.lines.get().pk, by=by(tobiah))
    assert row.unit_price_e4 == 25_000

    assert link_row(gasket, line=first.pk, by=by(tobiah)).unit_price_e4 == 184_000


def test_link_said_twice_leaves_one_trace(job: Job, gasket: Key, tobiah: Person, by: By) -> None:
    for _ in range(2):
        link_row(gasket, line=plan_line(job, "part").pk, by=by(tobiah))

    assert verbs() == ["use part", "link row"]


def test_desk_prices_by_cost_or_by_hand(gasket: Key, ilse: Person, by: By) -> None:
    row = price_row(gasket, PriceInput(unit_cost=Decimal("3.20")), by=by(ilse))
    assert (row.unit_cost_e4, row.unit_price_e4) == (32_000, 51_200)

    row = price_row(gasket, PriceInput(unit_price=Decimal("4.95")), by=by(ilse))
    assert (row.unit_cost_e4, row.unit_price_e4, row.price_rule) == (32_000, 49_500, "set by hand")


def test_price_of_a_technician_is_refused(gasket: Key, tobiah: Person, by: By) -> None:
    with pytest.raises(NotAllowed):
        price_row(gasket, PriceInput(unit_price=Decimal(5)), by=by(tobiah))

    assert PartUsed.objects.get().unit_price_e4 is None


def test_price_needs_a_figure(gasket: Key, ilse: Person, by: By) -> None:
    with pytest.raises(BadInput, match=r"^unit_price"):
        price_row(gasket, PriceInput(), by=by(ilse))


def test_agreed_price_is_nobodys_to_change(job: Job, gasket: Key, maren: Person, by: By) -> None:
    link_row(gasket, line=plan_line(job, "part").pk, by=by(maren))

    with pytest.raises(Refused, match="the price that was agreed"):
        price_row(gasket, PriceInput(unit_price=Decimal(99)), by=by(maren))


def test_goodwill_needs_a_reason_and_takes_the_row_off_the_customer(
    job: Job, gasket: Key, ilse: Person, by: By
) -> None:
    with pytest.raises(BadInput, match=r"^payer_reason"):
        set_payer(gasket, PayerInput(payer=Payer.SHOP), by=by(ilse))

    row = set_payer(gasket, PayerInput(payer=Payer.SHOP, reason="Reused in spring"), by=by(ilse))

    assert (row.payer, row.payer_reason, held_back(job.work_order)) == (
        "shop",
        "Reused in spring",
        frozenset(),
    )
    back = set_payer(gasket, PayerInput(payer=Payer.CUSTOMER, reason="no"), by=by(ilse))
    assert (back.payer, back.payer_reason) == ("customer", "")


def test_owner_alone_bills_what_nobody_agreed_to(
    job: Job, gasket: Key, ilse: Person, maren: Person, by: By
) -> None:
    price_row(gasket, PriceInput(unit_price=Decimal(5)), by=by(ilse))
    with pytest.raises(NotAllowed, match="Only the owner"):
        override_row(gasket, is_on=True, reason="He asked", by=by(ilse))
    with pytest.raises(BadInput, match=r"^override_reason"):
        override_row(gasket, is_on=True, reason="", by=by(maren))

    override_row(gasket, is_on=True, reason="He asked on the dock", by=by(maren))

    assert (held_back(job.work_order), over_agreed(job.work_order).by_owner_minor) == (frozenset(), 1_000)
    override_row(gasket, is_on=False, reason="", by=by(maren))
    assert held_back(job.work_order) == frozenset({gasket})


def test_feed_of_corrections_holds_no_money(job: Job, gasket: Key, maren: Person, by: By) -> None:
    price_row(gasket, PriceInput(unit_cost=Decimal("765.4321")), by=by(maren))
    price_row(gasket, PriceInput(unit_price=Decimal("876.5432")), by=by(maren))

    told = "".join(Activity.objects.values_list("payload", flat=True))
    assert [figure in told for figure in ("765", "876", "7654321")] == [False] * 3
