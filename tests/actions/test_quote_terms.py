"""On what terms a draft is offered: how jobs are billed, discount on the whole, the minimum charge."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

import pytest

from shopapp.actions import quote_terms, quotes
from shopapp.actions.actor import Actor
from shopapp.actions.quote_terms import DiscountInput
from shopapp.actions.quote_undo import put_back
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Job,
    LineKind,
    Part,
    PartCondition,
    Payer,
    Person,
    PriceKind,
    QuoteChoice,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    Removed,
    Shop,
    Unit,
)
from tests.factories.quotes import LABOUR, SEAL, answered, draft_quote, sent_quote

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]
TENTH = DiscountInput(share=Decimal("0.1"), reason="Spring offer")


@pytest.fixture
def draft(ilse: Person, now: datetime) -> QuoteRevision:
    """Option 1 comes to 354.80 (300.00 labour, 36.80 and 18.00 goods), option 2 to 720.00 labour."""
    return draft_quote(ilse, at=now)


def option_of(draft: QuoteRevision, position: int = 2) -> QuoteOption:
    return QuoteOption.objects.get(choice__revision=draft, position=position)


def minimum_line(option: QuoteOption) -> QuoteLine | None:
    return option.lines.filter(is_minimum_charge=True).first()


@pytest.mark.parametrize("kind", list(PriceKind))
def test_price_kind_is_set_in_a_draft(
    ilse: Person, by: Acting, draft: QuoteRevision, kind: PriceKind
) -> None:
    quote_terms.set_price_kind(draft.choices.get().pk, kind, by=by(ilse))
    sent = quotes.send_quote(draft.pk, version=1, by=by(ilse))

    job = json.loads(sent.shown)["facts"]["jobs"][str(Job.objects.get().pk)]
    assert (job["price_kind"], Job.objects.get().version) == (kind.value, 2)


def test_price_kind_stays_once_it_is_sent(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    sent = quotes.send_quote(draft.pk, version=1, by=by(ilse))

    with pytest.raises(Refused, match="it stays as the customer saw it"):
        quote_terms.set_price_kind(sent.choices.get().pk, PriceKind.CEILING, by=by(ilse))


def test_price_kind_stays_once_it_is_agreed(ilse: Person, by: Acting, now: datetime) -> None:
    sent = sent_quote(ilse, at=now)
    answered(sent, ilse, at=now)
    again = QuoteRevision.objects.create(quote=sent.quote, revision=2, created_at=now)
    choice = QuoteChoice.objects.create(revision=again, job=Job.objects.get())

    with pytest.raises(Refused, match="The customer has read how this job is billed"):
        quote_terms.set_price_kind(choice.pk, PriceKind.CEILING, by=by(ilse))

    assert Job.objects.get().price_kind == PriceKind.FIXED


def test_terms_are_not_the_technicians(tobiah: Person, by: Acting, draft: QuoteRevision) -> None:
    deeds = [
        lambda: quote_terms.set_price_kind(draft.choices.get().pk, PriceKind.CEILING, by=by(tobiah)),
        lambda: quote_terms.set_discount(draft.pk, TENTH, version=1, by=by(tobiah)),
        lambda: quote_terms.add_minimum_charge(option_of(draft).pk, by=by(tobiah)),
    ]

    for deed in deeds:
        with pytest.raises(NotAllowed, match="front desk and the owner"):
            deed()


def test_discount_is_taken_off_every_chosen_set(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    saved = quote_terms.set_discount(draft.pk, TENTH, version=1, by=by(ilse))

    sent = quotes.send_quote(draft.pk, version=saved.version, by=by(ilse))
    content = json.loads(sent.shown)

    first = content["jobs"][0]["options"][0]["totals"]
    # 10 % of 354.80 is 35.48: 30.00 off labour, 5.48 off goods; 5 % of 319.32 and 7 % of 49.32
    assert (first["discount"], first["without_tax"], first["with_tax"]) == ("35.48", "319.32", "338.74")
    answer = answered(sent, ilse, at=by(ilse).at)
    assert (answer.without_tax_minor, answer.with_tax_minor) == (31_932, 33_874)


def test_discount_of_older_version_is_told_t22(
    ilse: Person, maren: Person, by: Acting, draft: QuoteRevision
) -> None:
    quote_terms.set_discount(draft.pk, TENTH, version=1, by=by(maren))

    with pytest.raises(Stale):
        quote_terms.set_discount(draft.pk, replace(TENTH, share=Decimal("0.5")), version=1, by=by(ilse))

    assert QuoteRevision.objects.get().discount_e4 == 1000


def test_discount_is_taken_away_again(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    quote_terms.set_discount(draft.pk, TENTH, version=1, by=by(ilse))

    saved = quote_terms.set_discount(draft.pk, replace(TENTH, share=Decimal(0)), version=2, by=by(ilse))

    assert (saved.discount_e4, saved.discount_reason) == (0, "")


def test_discount_goes_along_into_the_next_revision(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    saved = quote_terms.set_discount(draft.pk, TENTH, version=1, by=by(ilse))
    sent = quotes.send_quote(draft.pk, version=saved.version, by=by(ilse))

    again = quotes.revise_quote(sent.pk, by=by(ilse))

    assert (again.discount_e4, again.discount_reason) == (1000, "Spring offer")


@pytest.mark.parametrize(
    ("data", "field"),
    [
        (replace(TENTH, share=Decimal(1)), "share"),
        (replace(TENTH, share=Decimal("-0.1")), "share"),
        (replace(TENTH, reason="  "), "reason"),
        (replace(TENTH, reason="x" * 201), "reason"),
    ],
)
def test_discount_refuses_what_will_not_do(
    ilse: Person, by: Acting, draft: QuoteRevision, data: DiscountInput, field: str
) -> None:
    with pytest.raises(BadInput) as refusal:
        quote_terms.set_discount(draft.pk, data, version=1, by=by(ilse))

    assert refusal.value.field == field


def test_minimum_charge_brings_an_option_up_to_it(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    Shop.objects.update(minimum_charge_minor=80_000)

    quote_terms.add_minimum_charge(option_of(draft).pk, by=by(ilse))

    line = minimum_line(option_of(draft))
    assert line is not None
    figures = (line.kind, line.description, line.quantity_milli, line.unit_price_e4, line.payer)
    assert figures == ("fee", "Minimum charge", 1000, 800_000, "customer")


def test_minimum_charge_follows_the_other_lines(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    Shop.objects.update(minimum_charge_minor=80_000)
    option = option_of(draft)
    quote_terms.add_minimum_charge(option.pk, by=by(ilse))
    prices = []

    added = quotes.add_line(option.pk, replace(SEAL, unit_price=Decimal(10)), by=by(ilse))
    prices.append(minimum_line(option).unit_price_e4)
    quotes.edit_line(added.pk, replace(SEAL, unit_price=Decimal("12.5")), version=1, by=by(ilse))
    prices.append(minimum_line(option).unit_price_e4)
    quotes.edit_line(added.pk, replace(SEAL, payer=Payer.SHOP), version=2, by=by(ilse))
    prices.append(minimum_line(option).unit_price_e4)
    quotes.remove_line(added.pk, version=3, by=by(ilse))
    prices.append(minimum_line(option).unit_price_e4)

    # 800.00 less 720.00, and less two seals that the customer pays
    assert prices == [600_000, 550_000, 800_000, 800_000]


def test_minimum_charge_goes_once_the_lines_suffice(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    Shop.objects.update(minimum_charge_minor=80_000)
    option = option_of(draft)
    quote_terms.add_minimum_charge(option.pk, by=by(ilse))

    quotes.add_line(option.pk, replace(LABOUR, quantity=Decimal(1)), by=by(ilse))

    assert minimum_line(option) is None


@pytest.mark.parametrize(("minimum", "sentence"), [(0, "0.00 already"), (72_000, "720.00 already")])
def test_minimum_charge_is_refused_where_lines_suffice(
    ilse: Person, by: Acting, draft: QuoteRevision, minimum: int, sentence: str
) -> None:
    Shop.objects.update(minimum_charge_minor=minimum)

    with pytest.raises(Refused, match=sentence):
        quote_terms.add_minimum_charge(option_of(draft).pk, by=by(ilse))

    assert option_of(draft).lines.count() == 1


def test_minimum_charge_stands_once(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    Shop.objects.update(minimum_charge_minor=80_000)
    option = option_of(draft)
    quote_terms.add_minimum_charge(option.pk, by=by(ilse))

    with pytest.raises(Refused, match="stands in this option already"):
        quote_terms.add_minimum_charge(option.pk, by=by(ilse))
    with pytest.raises(Refused, match="follows from the other lines"):
        quotes.edit_line(minimum_line(option).pk, SEAL, version=1, by=by(ilse))

    assert option.lines.count() == 2


def test_minimum_charge_put_back_is_reckoned_anew(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    Shop.objects.update(minimum_charge_minor=80_000)
    option = option_of(draft)
    quote_terms.add_minimum_charge(option.pk, by=by(ilse))
    quotes.remove_line(minimum_line(option).pk, version=1, by=by(ilse))
    quotes.add_line(option.pk, replace(SEAL, unit_price=Decimal(10)), by=by(ilse))

    put_back(Removed.objects.get().pk, by=by(ilse))

    assert minimum_line(option).unit_price_e4 == 600_000


def test_line_of_the_parts_list_brings_its_cost(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    Part.objects.create(number="SR-1188", description="Seal", unit=Unit.EACH, unit_cost_e4=71_234)
    lines = [
        SEAL,
        replace(SEAL, condition=PartCondition.CUSTOMERS_OWN),
        replace(SEAL, unit=Unit.SET),
        replace(SEAL, kind=LineKind.FLUID),
        replace(SEAL, number="SR-9999"),
    ]

    added = [quotes.add_line(option_of(draft).pk, line, by=by(ilse)) for line in lines]

    assert [line.unit_cost_e4 for line in added] == [71_234, 0, None, None, None]


def test_owners_cost_wins_over_the_list(maren: Person, by: Acting, draft: QuoteRevision) -> None:
    Part.objects.create(number="SR-1188", description="Seal", unit=Unit.EACH, unit_cost_e4=71_234)

    line = quotes.add_line(option_of(draft).pk, replace(SEAL, unit_cost=Decimal(5)), by=by(maren))

    assert line.unit_cost_e4 == 50_000


@pytest.mark.parametrize(
    ("kind", "kept"), [(LineKind.PART, PartCondition.REBUILT), (LineKind.LABOUR, PartCondition.NEW)]
)
def test_only_parts_have_a_condition(
    ilse: Person, by: Acting, draft: QuoteRevision, kind: LineKind, kept: PartCondition
) -> None:
    data = replace(SEAL, kind=kind, condition=PartCondition.REBUILT)

    assert quotes.add_line(option_of(draft).pk, data, by=by(ilse)).condition == kept
