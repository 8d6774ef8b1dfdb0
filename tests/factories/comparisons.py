"""Options that are compared, as a person at the desk says how long each will hold."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

from shopapp.actions.actor import Actor
from shopapp.actions.comparisons import ComparisonInput, LifeInput, set_comparison
from shopapp.models import FailsHow, QuoteChoice, QuoteOption, QuoteRevision

SEALS_HOLD = LifeInput(chance=Decimal("0.3"), fails_how=FailsHow.WEARS_OUT)
SHAFT_HOLDS = LifeInput(chance=Decimal("0.05"), fails_how=FailsHow.WEARS_OUT)


def compared(draft: QuoteRevision, *, by: Actor, **terms: Any) -> QuoteChoice:
    """The draft of ``draft_quote``: seals at 3 in 10, then the shaft at 1 in 20; the choice afterwards."""
    choice = draft.choices.get()
    seals, shaft = QuoteOption.objects.filter(choice=choice).order_by("position")[:2]
    lives = {seals.pk: replace(SEALS_HOLD, follows=shaft.pk), shaft.pk: SHAFT_HOLDS}
    data = ComparisonInput(**{"lives": lives} | terms)
    return set_comparison(choice.pk, data, version=choice.version, by=by)
