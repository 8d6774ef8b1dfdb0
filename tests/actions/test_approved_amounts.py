"""The authorised amount against a second opinion in exact fractions, written from the rules alone."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shopapp.actions import approvals, quotes
from shopapp.actions.approvals import DecisionInput
from shopapp.actions.quote_drafts import LineInput
from shopapp.models import LineKind, Payer, Person, Shop, Unit
from tests.calc import oracle
from tests.factories import JobFactory, WorkOrderFactory
from tests.factories.quotes import SEALS, SHAFT, behind, desk, opened_link

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 6, 2, 17, 30, tzinfo=UTC)
FEDERAL = ("Federal", Fraction(5, 100), False)
PROVINCIAL = ("Provincial", Fraction(7, 100), False)
GOODS, LABOUR = ("S", (FEDERAL, PROVINCIAL)), ("S", (FEDERAL,))

LINES = st.builds(
    LineInput,
    kind=st.sampled_from(LineKind),
    description=st.just("line"),
    quantity=st.integers(1, 20_000).map(lambda n: Decimal(n) / 1000),
    unit=st.just(Unit.EACH),
    unit_price=st.integers(1, 9_999_999).map(lambda n: Decimal(n) / 10_000),
    discount=st.sampled_from([Decimal(0), Decimal("0.1"), Decimal("0.3333")]),
    payer=st.sampled_from([Payer.CUSTOMER, Payer.CUSTOMER, Payer.SHOP, Payer.MAKER]),
)
OPTION = st.lists(LINES, min_size=1, max_size=4)
JOBS = st.lists(st.tuples(OPTION, OPTION), min_size=1, max_size=3)
SHOPS = st.fixed_dictionaries(
    {
        "rounding": st.sampled_from(["half_up", "half_even"]),
        "tax_level": st.sampled_from(["breakdown", "line"]),
        "prices_include_tax": st.booleans(),
    }
)


def coins_of(line: LineInput, *, even: bool) -> oracle.Item:
    """A line as the second opinion takes it: its amount in coins, and how it is taxed."""
    exact = {
        "quantity": Fraction(line.quantity),
        "price": Fraction(line.unit_price),
        "base": Fraction(1),
        "discount": Fraction(line.discount),
    }
    amount = oracle.line_coins(exact, coins=100, even=even)
    return amount, LABOUR if line.kind == LineKind.LABOUR else GOODS


def expected(lines: list[LineInput], shop: dict[str, Any]) -> tuple[int, int]:
    """Without tax and with tax, in coins, for exactly the customer's lines."""
    even = shop["rounding"] == "half_even"
    items = [coins_of(line, even=even) for line in lines if line.payer == Payer.CUSTOMER]
    entered = sum(amount for amount, _ in items)
    by_line = shop["tax_level"] == "line"
    if shop["prices_include_tax"]:
        batches = [[item] for item in items] if by_line else [items]
        tax = sum(sum(oracle.tax_within(batch, even=even).values()) for batch in batches)
        return entered - tax, entered
    rows = oracle.by_line(items, even=even) if by_line else oracle.rows_on_top(items, even=even)
    return entered, entered + sum(tax for _, tax in rows.values())


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(jobs=JOBS, picks=st.lists(st.sampled_from([0, 1, None]), min_size=3, max_size=3), shop=SHOPS)
def test_approved_amount_agrees_with_second_opinion(
    ilse: Person, jobs: list[Any], picks: list[int | None], shop: dict[str, Any]
) -> None:
    Shop.objects.update(**shop)
    visit, by = WorkOrderFactory(), desk(ilse, at=NOW)
    for position in range(len(jobs)):
        JobFactory(work_order=visit, position=position + 1)
    draft = quotes.start_quote(visit.pk, by=by)
    chosen: dict[int, int | None] = {}
    agreed: list[LineInput] = []
    for choice, options, pick in zip(draft.choices.order_by("position"), jobs, picks, strict=False):
        quotes.remove_option(choice.options.get().pk, version=1, by=by)
        rows = [quotes.add_option(choice.pk, data, by=by) for data in (SEALS, SHAFT)]
        for row, lines in zip(rows, options, strict=True):
            for line in lines:
                quotes.add_line(row.pk, line, by=by)
        chosen[choice.pk] = rows[pick].pk if pick is not None else None
        agreed += options[pick] if pick is not None else []
    sent = quotes.send_quote(draft.pk, version=1, by=by)
    link, _ = opened_link(sent, ilse, at=NOW)

    approval = approvals.decide(
        sent.pk,
        DecisionInput(is_declined=False, chosen=chosen, signed_name="Aud Nilsen"),
        by=behind(link, at=NOW + timedelta(minutes=1)),
    )

    assert (approval.without_tax_minor, approval.with_tax_minor) == expected(agreed, shop)
