"""What is refused in a line or an option, with the field's name."""

from dataclasses import replace
from datetime import datetime
from decimal import Decimal

import pytest

from shopapp.actions import quotes
from shopapp.actions.quote_drafts import LineInput
from shopapp.calc.errors import BadInput
from shopapp.models import Person, QuoteLine, QuoteOption
from tests.factories.quotes import LABOUR, SEALS, desk, draft_quote

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("line", "field"),
    [
        (replace(LABOUR, kind="tow"), "kind"),
        (replace(LABOUR, payer="insurer"), "payer"),
        (replace(LABOUR, description="  "), "description"),
        (replace(LABOUR, quantity=Decimal(0)), "quantity"),
        (replace(LABOUR, quantity=Decimal("-1")), "quantity"),
        (replace(LABOUR, quantity=Decimal("0.0001")), "quantity"),
        (replace(LABOUR, unit_price=Decimal("-0.01")), "unit_price"),
        (replace(LABOUR, unit_price=Decimal("0.00001")), "unit_price"),
        (replace(LABOUR, unit_price=Decimal(10_000_001)), "unit_price"),
        (replace(LABOUR, discount=Decimal("1.01")), "discount"),
        (replace(LABOUR, discount=Decimal("-0.1")), "discount"),
        (replace(LABOUR, unit_cost=Decimal("-1")), "unit_cost"),
    ],
)
def test_bad_line_is_refused_by_field(maren: Person, now: datetime, line: LineInput, field: str) -> None:
    option = QuoteOption.objects.filter(choice__revision=draft_quote(maren, at=now)).first()
    before = QuoteLine.objects.count()

    with pytest.raises(BadInput) as refusal:
        quotes.add_line(option.pk, line, by=desk(maren, at=now))

    assert (refusal.value.field, QuoteLine.objects.count()) == (field, before)


@pytest.mark.parametrize(("change", "field"), [({"way": "weld"}, "way"), ({"title": " "}, "title")])
def test_bad_option_is_refused_by_field(
    maren: Person, now: datetime, change: dict[str, str], field: str
) -> None:
    choice = draft_quote(maren, at=now).choices.get()

    with pytest.raises(BadInput) as refusal:
        quotes.add_option(choice.pk, replace(SEALS, **change), by=desk(maren, at=now))

    assert refusal.value.field == field
