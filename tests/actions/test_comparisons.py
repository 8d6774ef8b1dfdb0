"""On which assumptions options are compared: written as said, by one of two, kept through revisions."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

import pytest

from shopapp.actions import quotes
from shopapp.actions.actor import Actor
from shopapp.actions.comparisons import ComparisonInput, LifeInput, set_comparison
from shopapp.actions.quote_undo import put_back
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.calc.errors import BadInput
from shopapp.models import (
    Activity,
    ChanceFrom,
    FailsHow,
    Person,
    QuoteChoice,
    QuoteOption,
    QuoteRevision,
    Removed,
    Way,
)
from tests.factories.quotes import SEALS, draft_quote

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]
LIFE = LifeInput(chance=Decimal("0.3"), fails_how=FailsHow.WEARS_OUT)


@pytest.fixture
def draft(ilse: Person, now: datetime) -> QuoteRevision:
    return draft_quote(ilse, at=now)


def option_of(revision: QuoteRevision, position: int) -> QuoteOption:
    return QuoteOption.objects.get(choice__revision=revision, position=position)


def compared(draft: QuoteRevision, *, by: Actor, **changed: object) -> QuoteChoice:
    """The seals at 3 in 10 and then the shaft at 1 in 20; the choice as it is afterwards."""
    seals, shaft = option_of(draft, 1), option_of(draft, 2)
    lives = {
        seals.pk: replace(LIFE, follows=shaft.pk, damage=Decimal("80.50")),
        shaft.pk: replace(LIFE, chance=Decimal("0.05")),
    }
    data = replace(ComparisonInput(lives=lives), **changed)
    choice = draft.choices.get()
    return set_comparison(choice.pk, data, version=choice.version, by=by)


def test_comparison_is_written_as_said(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    choice = compared(
        draft,
        by=by(ilse),
        look_months=60,
        lost_day=Decimal("25.00"),
        rate=Decimal("0.04"),
        not_offered={Way.USED: " none to be had ", Way.EXCHANGE: " "},
    )

    seals, shaft = option_of(draft, 1), option_of(draft, 2)
    assert (seals.chance_e4, seals.damage_minor, seals.follows_id) == (3_000, 8_050, shaft.pk)
    assert (shaft.chance_e4, shaft.follows_id, shaft.fails_how) == (500, None, FailsHow.WEARS_OUT)
    assert (choice.look_months, choice.lost_day_minor, choice.rate_e4) == (60, 2_500, 400)
    assert choice.not_offered == {"used": "none to be had"}
    assert Activity.objects.latest("pk").verb == "compare options"


def test_own_word_is_signed_by_whoever_changed_it(
    ilse: Person, maren: Person, by: Acting, draft: QuoteRevision
) -> None:
    said = compared(draft, by=by(maren), own_word="I would take the shaft.")
    kept = compared(draft, by=by(ilse), own_word="I would take the shaft.")
    gone = compared(draft, by=by(ilse), own_word="")

    assert [one.own_word_by for one in (said, kept, gone)] == [maren, maren, None]


def test_second_of_two_gets_stale_and_writes_nothing(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    choice, seals = draft.choices.get(), option_of(draft, 1)
    compared(draft, by=by(ilse))
    late = ComparisonInput(lives={seals.pk: replace(LIFE, chance=Decimal("0.9"))})

    with pytest.raises(Stale):
        set_comparison(choice.pk, late, version=choice.version, by=by(ilse))

    assert option_of(draft, 1).chance_e4 == 3_000


def test_sent_quote_keeps_its_assumptions(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    choice = compared(draft, by=by(ilse))
    quotes.send_quote(draft.pk, version=1, by=by(ilse))

    with pytest.raises(Refused, match="was sent"):
        set_comparison(choice.pk, ComparisonInput(), version=choice.version, by=by(ilse))


def test_next_revision_takes_all_of_it_along(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    compared(draft, by=by(ilse), own_word="I would take the shaft.", not_offered={Way.USED: "none"})
    quotes.send_quote(draft.pk, version=1, by=by(ilse))

    new = quotes.revise_quote(draft.pk, by=by(ilse))

    choice, seals, shaft = new.choices.get(), option_of(new, 1), option_of(new, 2)
    assert (seals.follows_id, seals.chance_e4) == (shaft.pk, 3_000)
    assert (choice.own_word, choice.own_word_by, choice.not_offered) == (
        "I would take the shaft.",
        ilse,
        {"used": "none"},
    )


def test_option_put_back_follows_nothing_that_is_gone(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    compared(draft, by=by(ilse))
    seals, shaft = option_of(draft, 1), option_of(draft, 2)
    quotes.remove_option(seals.pk, version=seals.version, by=by(ilse))
    quotes.add_option(seals.choice_id, SEALS, by=by(ilse))
    quotes.remove_option(shaft.pk, version=shaft.version, by=by(ilse))

    put_back(Removed.objects.get(what=seals.title).pk, by=by(ilse))

    assert QuoteOption.objects.get(pk=seals.pk).follows is None


def test_options_in_a_circle_are_refused_at_the_field(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    seals, shaft = option_of(draft, 1), option_of(draft, 2)
    lives = {seals.pk: replace(LIFE, follows=shaft.pk), shaft.pk: replace(LIFE, follows=seals.pk)}

    with pytest.raises(BadInput, match="circle") as refused:
        compared(draft, by=by(ilse), lives=lives)

    assert refused.value.field.endswith("-follows")


@pytest.mark.parametrize(
    ("life", "name"),
    [
        (replace(LIFE, chance=Decimal(0)), "chance"),
        (replace(LIFE, chance=Decimal(1)), "chance"),
        (replace(LIFE, chance_from="gossip"), "chance_from"),
        (replace(LIFE, fails_how="never"), "fails_how"),
        (replace(LIFE, wears_by="moon"), "wears_by"),
        (replace(LIFE, damage=Decimal(-1)), "damage"),
        (replace(LIFE, resale=Decimal("0.001")), "resale"),
        (replace(LIFE, follows=987_654), "follows"),
        (replace(LIFE, chance_weight=0), "chance_weight"),
    ],
)
def test_nonsense_about_an_option_is_refused_by_field(
    ilse: Person, by: Acting, draft: QuoteRevision, life: LifeInput, name: str
) -> None:
    seals = option_of(draft, 1)

    with pytest.raises(BadInput) as refused:
        compared(draft, by=by(ilse), lives={seals.pk: life})

    assert refused.value.field == f"option-{seals.pk}-{name}"
    assert option_of(draft, 1).chance_e4 is None


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ({"look_months": 0}, "look_months"),
        ({"look_months": 121}, "look_months"),
        ({"season_first_month": 13}, "season_first_month"),
        ({"season_months": 0}, "season_months"),
        ({"rate": Decimal("1.5")}, "rate"),
        ({"lost_day": Decimal(-1)}, "lost_day"),
        ({"tow": Decimal("0.001")}, "tow"),
        ({"own_word": "x" * 241}, "own_word"),
        ({"not_offered": {"wish": "no"}}, "not_offered"),
        ({"not_offered": {Way.USED: "x" * 201}}, "not_offered-used"),
    ],
)
def test_nonsense_about_the_terms_is_refused_by_field(
    ilse: Person, by: Acting, draft: QuoteRevision, changed: dict[str, object], name: str
) -> None:
    with pytest.raises(BadInput) as refused:
        compared(draft, by=by(ilse), **changed)

    assert refused.value.field == name


def test_leave_it_may_not_follow(ilse: Person, by: Acting, draft: QuoteRevision) -> None:
    leave = quotes.add_option(
        draft.choices.get().pk, replace(SEALS, way=Way.LEAVE, title="Leave"), by=by(ilse)
    )
    seals = option_of(draft, 1)

    with pytest.raises(BadInput, match="one of the repairs"):
        compared(draft, by=by(ilse), lives={seals.pk: replace(LIFE, follows=leave.pk)})


def test_technician_compares_nothing(tobiah: Person, by: Acting, draft: QuoteRevision) -> None:
    with pytest.raises(NotAllowed):
        compared(draft, by=by(tobiah))


def test_judgement_is_what_a_chance_is_until_said_otherwise(
    ilse: Person, by: Acting, draft: QuoteRevision
) -> None:
    compared(draft, by=by(ilse))

    assert option_of(draft, 1).chance_from == ChanceFrom.JUDGEMENT
