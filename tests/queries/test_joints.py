"""A joint as a step keeps it, and as it is drawn."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.spec_book import add_family, add_value
from shopapp.actions.tightening_specs import TighteningInput
from shopapp.models import PatternKind, Person, TighteningSpec
from shopapp.queries.joints import KeptJoint, joint_of, kept
from tests.factories.spec_book import HEAD, P60

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]


def kept_joint(data: TighteningInput, *, by: Actor) -> KeptJoint:
    add_value(add_family(P60, by=by).pk, data, by=by)
    spec = TighteningSpec.objects.get()
    found = joint_of(kept(spec, stages=list(spec.stages.all()), locale="en"))
    assert found is not None
    return found


def test_joint_is_read_back_as_the_book_has_it(maren: Person, by: By) -> None:
    joint = kept_joint(HEAD, by=by(maren))

    assert (joint.name, joint.family, joint.page, joint.pattern) == (
        "Cylinder head",
        "Petrel Marine P60",
        "5-7",
        "2 rows of 4",
    )
    assert [one.words for one in joint.stages] == [
        "15\u00a0N·m (11.1\u00a0lbf·ft)",
        "30\u00a0N·m (22.1\u00a0lbf·ft)",
        "then 90°",
    ]
    assert joint.stages[0].order == (2, 7, 3, 6, 4, 5, 8, 1)
    assert (joint.fasteners, joint.is_makers, joint.is_one_time) == ((8, 8, 8), False, True)


def test_makers_own_order_wins_and_is_said(maren: Person, by: By) -> None:
    joint = kept_joint(replace(HEAD, sequence=(1, 8, 2, 7, 3, 6, 4, 5)), by=by(maren))

    assert (joint.stages[0].order, joint.is_makers) == ((1, 8, 2, 7, 3, 6, 4, 5), True)


@pytest.mark.parametrize(
    ("kind", "columns", "rows", "size"),
    [
        (PatternKind.GRID, 4, 2, (408.0, 216.0)),
        (PatternKind.LINE, 3, 1, (312.0, 120.0)),
        (PatternKind.CIRCLE, 4, 1, (255.8, 255.8)),
        (PatternKind.LINE, 1, 1, (120.0, 120.0)),
    ],
)
def test_drawing_is_as_wide_and_as_high_as_the_joint(
    maren: Person, by: By, kind: PatternKind, columns: int, rows: int, size: tuple[float, float]
) -> None:
    joint = kept_joint(replace(HEAD, pattern=kind, columns_count=columns, rows_count=rows), by=by(maren))

    assert (joint.drawing.width, joint.drawing.height) == size


def test_plain_step_keeps_no_joint() -> None:
    assert joint_of({}) is None
