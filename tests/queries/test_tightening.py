"""Joints of the spec book as the calculation takes them."""

from collections.abc import Callable

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.spec_book import add_family, add_value
from shopapp.models import PatternKind, Person, TighteningSpec
from shopapp.queries.tightening import pattern_of, pattern_of_spec, rounds_of
from tests.factories.spec_book import HEAD, P60

By = Callable[[Person], Actor]


@pytest.mark.parametrize(
    ("kind", "columns", "rows", "order"),
    [
        (PatternKind.CIRCLE, 6, 1, (1, 4, 2, 5, 3, 6)),
        (PatternKind.LINE, 3, 1, (2, 1, 3)),
        (PatternKind.GRID, 2, 2, (1, 4, 2, 3)),
        (PatternKind.RECTANGLE, 2, 2, (1, 3, 2, 4)),
    ],
)
def test_pattern_has_each_fastener_once(
    kind: PatternKind, columns: int, rows: int, order: tuple[int, ...]
) -> None:
    pattern = pattern_of(kind, columns=columns, rows=rows)

    assert len(pattern.places) == len(order)
    assert sorted(pattern.order) == sorted(order)
    own = pattern_of(kind, columns=columns, rows=rows, sequence=order)
    assert own.order == order


@pytest.mark.django_db
def test_rounds_are_the_stages_over_every_fastener(maren: Person, by: By) -> None:
    family = add_family(P60, by=by(maren))
    add_value(family.pk, HEAD, by=by(maren))
    row = TighteningSpec.objects.get()

    found = rounds_of(row, stages=list(row.stages.all()))

    assert [(one.stage.kind.value, one.stage.value) for one in found] == [
        ("torque", 15.0),
        ("torque", 30.0),
        ("angle", 90.0),
    ]
    assert {one.order for one in found} == {pattern_of_spec(row).order}
    assert sorted(found[0].order) == list(range(1, 9))
