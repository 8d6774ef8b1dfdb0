"""Season and starting chances: the owner's, in bounds, one of two writers."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.refusals import NotAllowed, Stale
from shopapp.actions.shop_chances import ChancesInput, edit_chances
from shopapp.calc.errors import BadInput
from shopapp.models import Person, Shop

pytestmark = pytest.mark.django_db

Acting = Callable[[Person], Actor]
DATA = ChancesInput(season_first_month=6, season_months=4, chances={"polished": Decimal("0.25")})


def test_second_of_two_gets_stale(maren: Person, by: Acting, shop: Shop) -> None:
    edit_chances(DATA, version=1, by=by(maren))

    with pytest.raises(Stale):
        edit_chances(ChancesInput(season_first_month=7, season_months=4), version=1, by=by(maren))

    saved = Shop.objects.get()
    assert (saved.season_first_month, saved.starting_chances) == (6, {"polished": 2_500})


@pytest.mark.parametrize(
    "data",
    [
        ChancesInput(season_first_month=0, season_months=4),
        ChancesInput(season_first_month=1, season_months=13),
        ChancesInput(season_first_month=1, season_months=4, chances={"wish": Decimal("0.5")}),
        ChancesInput(season_first_month=1, season_months=4, chances={"polished": Decimal(1)}),
    ],
)
def test_nonsense_is_refused(maren: Person, by: Acting, shop: Shop, data: ChancesInput) -> None:
    with pytest.raises(BadInput):
        edit_chances(data, version=1, by=by(maren))


def test_front_desk_may_not(ilse: Person, by: Acting, shop: Shop) -> None:
    with pytest.raises(NotAllowed):
        edit_chances(DATA, version=1, by=by(ilse))
