"""What the owner sees beside a comparison: the margin today, what the warranty costs, and what is left."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.models import FailsHow, Person, QuoteLine, QuoteOption, QuoteRevision
from shopapp.queries.compare_pages import compare_page
from shopapp.queries.economics import Economics, Kept, economics_of
from tests.factories.comparisons import SEALS_HOLD, SHAFT_HOLDS, compared
from tests.factories.quotes import draft_quote

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]


@pytest.fixture
def draft(ilse: Person, now: datetime) -> QuoteRevision:
    """Seals with three lines, a shaft of six hours at 120.00."""
    return draft_quote(ilse, at=now)


def economics(draft: QuoteRevision, *, at: datetime, shows_costs: bool = True) -> Economics:
    question = compare_page(draft.choices.get(), at=at).question
    return economics_of(question, shows_costs=shows_costs)


def lives_of(draft: QuoteRevision, chance: str) -> dict[int, object]:
    seals, shaft = QuoteOption.objects.filter(choice__revision=draft).order_by("position")
    by_chance = {"fails_how": FailsHow.BY_CHANCE}
    return {
        seals.pk: replace(SEALS_HOLD, **by_chance),
        shaft.pk: replace(SHAFT_HOLDS, chance=Decimal(chance), **by_chance),
    }


def test_warranty_of_a_season_costs_its_chance_times_the_redo(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    """Twelve months of cover hold one season, so the first redo comes with the chance of a season itself."""
    QuoteLine.objects.update(unit_cost_e4=40_0000)
    compared(draft, by=by(ilse), lives=lives_of(draft, "0.5"))

    shaft = economics(draft, at=now).rows[1]

    # six hours cost 240.00 and bring 720.00; half of the shafts are done once more
    assert shaft.kept == Kept(margin="$480", exposure="$120", left="$360")


def test_margin_is_a_dash_while_a_cost_is_missing(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    compared(draft, by=by(ilse))

    assert [row.kept for row in economics(draft, at=now).rows] == [
        Kept(margin="–", exposure="–", left="–")
    ] * 2


def test_nobody_else_gets_a_margin(ilse: Person, by: Acting, draft: QuoteRevision, now: datetime) -> None:
    QuoteLine.objects.update(unit_cost_e4=40_0000)
    compared(draft, by=by(ilse))

    assert [row.kept for row in economics(draft, at=now, shows_costs=False).rows] == [None, None]


def test_options_without_a_chance_are_named(draft: QuoteRevision, now: datetime) -> None:
    found = economics(draft, at=now)

    assert (found.rows, found.missing) == ((), ("New seals on the old shaft", "New shaft and seals"))


def test_what_cannot_be_reckoned_is_said(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    lives = lives_of(draft, "0.5")
    early = {pk: replace(life, chance=Decimal("0.999"), fails_how="early") for pk, life in lives.items()}
    compared(draft, by=by(ilse), lives=early)

    found = economics(draft, at=now)

    assert found.rows == ()
    assert "Give a chance at which more than half of them last half a month." in found.problem


def test_spread_lies_around_the_average(
    ilse: Person, by: Acting, draft: QuoteRevision, now: datetime
) -> None:
    compared(draft, by=by(ilse), lives=lives_of(draft, "0.05"))

    seals = economics(draft, at=now).rows[0]

    low, high = (float(text.strip(" $").replace(",", "")) for text in seals.spread.split("–"))
    # whoever is lucky pays for the seals once, whoever is not pays for them again
    assert (low, high >= 2 * 376) == (376, True)
    assert low < float(seals.average.strip("$").replace(",", "")) < high
