"""Joints are drawn right: what a browser shows is judged by its own geometry, not by what drew it.

Crossing of 4, 6 and 8 on a circle: reference case ENG-009 (source: common practice). Ten on a circle, heads
and rows: common practice, no source: opposite in pairs, from the middle outwards, no neighbour after another.
"""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from math import atan2, dist, pi

import pytest
from playwright.sync_api import Page

from shopapp.actions.actor import Actor
from shopapp.models import JobStep, PatternKind, Person, Stage
from tests.factories.spec_book import HEAD
from tests.factories.steps import job_with_family, with_joint
from tests.journeys.conftest import Watched
from tests.journeys.steps import sign_in
from tests.reference.cases import case

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

By = Callable[[Person], Actor]
type Spot = tuple[float, float]
MAKERS = (4, 1, 5, 2, 6, 3)
CIRCLES = (4, 6, 8, 10)
# a pixel of rounding
NEAR = 1.0
# the number as it is read, and the middle of the disc in which it stands
READ = """(drawing) => [...drawing.querySelectorAll(".bolt")].map((bolt) => {
  const box = bolt.querySelector(".bolt-open").getBoundingClientRect();
  const text = bolt.querySelector(".bolt-number").getBoundingClientRect();
  const middle = (one) => [one.x + one.width / 2, one.y + one.height / 2];
  return { number: bolt.querySelector(".bolt-number").textContent, disc: middle(box), text: middle(text) };
})"""
JOINTS = {
    **{f"Circle of {n}": (PatternKind.CIRCLE, n, 1, ()) for n in CIRCLES},
    "Head of 2 × 5": (PatternKind.GRID, 5, 2, ()),
    "Row of 7": (PatternKind.LINE, 7, 1, ()),
    "Row of 8": (PatternKind.LINE, 8, 1, ()),
    "Maker's circle": (PatternKind.CIRCLE, 6, 1, MAKERS),
}


def drawn(page: Page, step: JobStep) -> list[Spot]:
    """Where the discs stand on the screen, in the order of the numbers in them, each number once."""
    told = page.locator(f"#step-{step.pk} .joint-drawing").first.evaluate(READ)
    assert sorted(int(one["number"]) for one in told) == list(range(1, len(told) + 1))
    for one in told:
        assert dist(one["disc"], one["text"]) < 12
    return [tuple(one["disc"]) for one in sorted(told, key=lambda one: int(one["number"]))]


def middle_of(spots: list[Spot]) -> Spot:
    return (sum(x for x, _y in spots) / len(spots), sum(y for _x, y in spots) / len(spots))


def is_opposite(one: Spot, other: Spot, *, middle: Spot) -> bool:
    return dist([(one[axis] + other[axis]) / 2 for axis in (0, 1)], middle) < NEAR


def clockwise(spots: list[Spot]) -> list[int]:
    """The same order by the places: numbered clockwise from the topmost, as one stands before the joint."""
    x, y = middle_of(spots)
    turn = {spot: (atan2(spot[0] - x, y - spot[1]) + 2 * pi + 1e-3) % (2 * pi) for spot in spots}
    ranked = sorted(spots, key=lambda spot: turn[spot])
    return [ranked.index(spot) + 1 for spot in spots]


def judge_circle(spots: list[Spot]) -> None:
    middle, count = middle_of(spots), len(spots)
    radii = [dist(spot, middle) for spot in spots]
    neighbours = sorted(dist(one, other) for one in spots for other in spots if one != other)[0]
    assert max(radii) - min(radii) < NEAR
    assert all(is_opposite(*pair, middle=middle) for pair in zip(spots[::2], spots[1::2], strict=True))
    # among four the next one is always a neighbour of the last
    assert count == 4 or all(dist(one, other) > 1.2 * neighbours for one, other in pairwise(spots))


def judge_from_the_middle(spots: list[Spot]) -> None:
    middle = middle_of(spots)
    away = [dist(spot, middle) for spot in spots]
    assert all(later > earlier - NEAR for earlier, later in pairwise(away))
    rest = spots[len(spots) % 2 :]
    assert all(is_opposite(*pair, middle=middle) for pair in zip(rest[::2], rest[1::2], strict=True))


def sides(spots: list[Spot]) -> tuple[int, int]:
    """How many columns and rows are seen."""
    return len({round(x) for x, _y in spots}), len({round(y) for _x, y in spots})


@pytest.mark.parametrize("width", [1280, pytest.param(360, marks=pytest.mark.soak)])
def test_joints_are_drawn_as_they_are_tightened(
    open_browser: Callable[..., Watched], maren: Person, by: By, width: int
) -> None:
    specs = [
        replace(HEAD, joint=name, pattern=kind, columns_count=columns, rows_count=rows, sequence=order)
        for name, (kind, columns, rows, order) in JOINTS.items()
    ]
    job = job_with_family(Stage.IN_HAND, *specs, by=by(maren))
    steps = {}
    for name in JOINTS:
        steps[name] = with_joint(job, joint=name, by=by(maren))
        job.steps.update(is_required=False)
    window = open_browser(width)
    sign_in(window, maren)
    window.page.goto(f"/work-orders/job/{job.pk}/steps/")
    window.picture("joints")

    shown = {name: drawn(window.page, step) for name, step in steps.items()}

    published = case("engine_checks", "ENG-009")
    for count, order in zip(published.inputs["n"], published.expected["order"], strict=True):
        assert clockwise(shown[f"Circle of {count}"]) == order
    for count in CIRCLES:
        judge_circle(shown[f"Circle of {count}"])
    assert clockwise(shown["Maker's circle"]) == list(MAKERS)
    for name, seen in {"Head of 2 × 5": (5, 2), "Row of 7": (7, 1), "Row of 8": (8, 1)}.items():
        assert sides(shown[name]) == seen
        judge_from_the_middle(shown[name])
    window.check()
