"""The owner sets terms and fees; nobody else does, and nothing half."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.actions.shop_terms import (
    FeeRateInput,
    TermsInput,
    add_fee_rate,
    edit_terms,
    remove_fee_rate,
)
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, FeeRate, Person, Shop
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]
TERMS = TermsInput(
    diagnosis_fee=Decimal("95.00"),
    spending_limit=Decimal(250),
    minimum_charge=Decimal("64.50"),
    over_agreed=Decimal("0.1"),
    storage_free_days=7,
    intake_text="You may look for the fault.",
)
LIFT = FeeRateInput(name="Lift out", kind="lift", unit="each", unit_price=Decimal("85.50"))


def test_edit_terms_writes_whole_coins_and_shares(shop: Shop, maren: Person, by: By) -> None:
    saved = edit_terms(TERMS, version=1, by=by(maren))

    amounts = (saved.diagnosis_fee_minor, saved.spending_limit_minor, saved.minimum_charge_minor)
    assert (amounts, saved.over_agreed_e4, saved.version) == ((9_500, 25_000, 6_450), 1_000, 2)
    assert Activity.objects.get().verb == "edit terms"


def test_edit_terms_of_an_older_version_is_stale_t22(shop: Shop, maren: Person, by: By) -> None:
    edit_terms(TERMS, version=1, by=by(maren))

    with pytest.raises(Stale) as caught:
        edit_terms(replace(TERMS, lately_months=3), version=1, by=by(maren))

    assert (caught.value.record.version, Shop.objects.get().lately_months) == (2, 12)


def test_edit_terms_that_change_nothing_leaves_no_trace(shop: Shop, maren: Person, by: By) -> None:
    edit_terms(TERMS, version=1, by=by(maren))

    again = edit_terms(TERMS, version=1, by=by(maren))

    assert (again.version, Activity.objects.count()) == (2, 1)


@pytest.mark.parametrize("username", ["ilse", "tobiah"])
def test_terms_and_fees_are_the_owners(
    shop: Shop, username: str, request: pytest.FixtureRequest, by: By
) -> None:
    person = request.getfixturevalue(username)

    for deed in (
        lambda: edit_terms(TERMS, version=1, by=by(person)),
        lambda: add_fee_rate(LIFT, by=by(person)),
        lambda: remove_fee_rate(1, by=by(person)),
    ):
        with pytest.raises(NotAllowed):
            deed()

    assert (Shop.objects.get().version, FeeRate.objects.count(), Activity.objects.count()) == (1, 0, 0)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("diagnosis_fee", Decimal("-1")),
        ("spending_limit", Decimal("0.001")),
        ("over_agreed", Decimal("1.01")),
        ("fee_credit", "sometimes"),
        ("lately_months", 121),
        ("invoice_keep_years", 31),
        ("storage_free_days", -1),
    ],
)
def test_edit_terms_refuses_nonsense_by_its_field(
    shop: Shop, maren: Person, by: By, field: str, value: object
) -> None:
    with pytest.raises(BadInput) as caught:
        edit_terms(replace(TERMS, **{field: value}), version=1, by=by(maren))

    assert (caught.value.field, Shop.objects.get().version) == (field, 1)


def test_add_fee_rate_keeps_four_decimals_and_one_name(shop: Shop, maren: Person, by: By) -> None:
    row = add_fee_rate(LIFT, by=by(maren))

    with pytest.raises(BadInput) as caught:
        add_fee_rate(LIFT, by=by(maren))

    assert (row.unit_price_e4, caught.value.field, FeeRate.objects.count()) == (855_000, "name", 1)


@pytest.mark.parametrize(
    ("field", "value"),
    [("name", " "), ("kind", "mood"), ("unit", "fathom"), ("unit_price", Decimal("-0.01"))],
)
def test_add_fee_rate_refuses_nonsense(shop: Shop, maren: Person, by: By, field: str, value: object) -> None:
    with pytest.raises(BadInput) as caught:
        add_fee_rate(replace(LIFT, **{field: value}), by=by(maren))

    assert (caught.value.field, FeeRate.objects.count()) == (field, 0)


def test_remove_fee_rate_once(shop: Shop, maren: Person, by: By) -> None:
    row = add_fee_rate(LIFT, by=by(maren))
    remove_fee_rate(row.pk, by=by(maren))

    with pytest.raises(Refused):
        remove_fee_rate(row.pk, by=by(maren))

    assert list(Activity.objects.order_by("seq").values_list("verb", flat=True)) == ["add fee", "remove fee"]


@pytest.mark.django_db(transaction=True)
def test_two_owners_add_one_name_at_once(shop: Shop, maren: Person, by: By) -> None:
    results = outcomes([lambda: add_fee_rate(LIFT, by=by(maren))] * 2)

    assert (sorted(type(one).__name__ for one in results), FeeRate.objects.count()) == (
        ["BadInput", "FeeRate"],
        1,
    )
