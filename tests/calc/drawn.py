"""Ways of putting right and worlds to compare them in, drawn by dice, for calculation and plain boats."""

import random

from shopapp.calc.life import Clock, Season, Weibull
from shopapp.calc.options import Cover, Option, Outlook, Warranty
from tests.calc.lived_through import Way, World

NAMES = ("first", "second", "third")


def drawn_ways(dice: random.Random) -> dict[str, Way]:
    """Three ways; whatever follows stands later in the list, or is the same again."""
    return {
        name: Way(
            price=dice.uniform(0, 2_000),
            chance=dice.choice([0.02, 0.1, 0.25, 0.5, 0.8]),
            shape=dice.choice([0.7, 1.0, 2.5]),
            by_use=dice.random() < 0.6,
            days=dice.choice([0, 2, 6.5]),
            months=dice.choice([0, 0, 3, 12, 24]),
            left_out=dice.choice([0.0, 150.0]),
            pro_rata=dice.random() < 0.3,
            laid_up_counts=dice.random() < 0.7,
            cover=dice.choice(list(Cover)).value,
            follows=dice.choice(NAMES[place:]),
            damage=dice.choice([0.0, 300.0]),
            lost_core=dice.choice([0.0, 200.0]),
            resale=dice.choice([0.0, 0.0, 500.0]),
        )
        for place, name in enumerate(NAMES)
    }


def drawn_world(dice: random.Random) -> World:
    first, length = dice.randint(1, 12), dice.randint(3, 12)
    return World(
        months=dice.choice([12, 36, 60]),
        season=frozenset((first - 1 + month) % 12 + 1 for month in range(length)),
        handed_over=dice.randint(1, 12),
        rate=dice.choice([0.0, 0.0, 0.08]),
        lost_day=dice.choice([0.0, 25.0]),
        tow=dice.choice([0.0, 120.0]),
    )


def as_options(ways: dict[str, Way]) -> list[Option]:
    return [
        Option(
            name=name,
            price=way.price,
            life=Weibull(chance=way.chance, shape=way.shape),
            clock=Clock.USE if way.by_use else Clock.CALENDAR,
            days=way.days,
            warranty=Warranty(
                months=way.months,
                left_out=way.left_out,
                pro_rata=way.pro_rata,
                laid_up_counts=way.laid_up_counts,
                cover=Cover(way.cover),
            ),
            follows=way.follows,
            damage=way.damage,
            lost_core=way.lost_core,
            resale=way.resale,
        )
        for name, way in ways.items()
    ]


def as_outlook(world: World) -> Outlook:
    begins = [month for month in world.season if (month - 2) % 12 + 1 not in world.season]
    season = Season(
        handed_over=world.handed_over, first_month=begins[0] if begins else 1, months=len(world.season)
    )
    return Outlook(
        months=world.months, season=season, rate=world.rate, lost_day=world.lost_day, tow=world.tow
    )
