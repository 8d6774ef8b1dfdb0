"""Long lists are cut into pages of fifty."""

import pytest

from shopapp.queries.paging import Pager, pager_for


@pytest.mark.parametrize(
    ("total", "wanted", "number", "last"),
    [
        (0, 1, 1, 1),
        (1, 1, 1, 1),
        (50, 1, 1, 1),
        (51, 1, 1, 2),
        (51, 2, 2, 2),
        (51, 3, 2, 2),
        (51, 999_999_999, 2, 2),
        (51, 0, 1, 2),
        (51, -7, 1, 2),
        (100, 2, 2, 2),
        (101, 3, 3, 3),
    ],
)
def test_pager_stays_within_the_list(total: int, wanted: int, number: int, last: int) -> None:
    pager = pager_for(total, wanted=wanted)

    assert pager == Pager(number=number, last=last, total=total)


def test_pager_names_rows_and_neighbours() -> None:
    first, middle, last = (pager_for(101, wanted=number) for number in (1, 2, 3))

    assert [(one.start, one.end) for one in (first, middle, last)] == [(0, 50), (50, 100), (100, 150)]
    assert [(one.before, one.after) for one in (first, middle, last)] == [(None, 2), (1, 3), (2, None)]
