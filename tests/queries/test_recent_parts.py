"""Which of the rows that were read are offered: those of the family, newest first, each part once."""

import json

from shopapp.queries.recent_parts import recent_parts


def test_parts_of_the_family_win_over_ones_own() -> None:
    rows = [(1, "A-1", "Seal", "each", None, 1), (2, "B-1", "Own", "each", None, 0)]

    assert [one.number for one in recent_parts(rows)] == ["A-1"]
    assert [one.number for one in recent_parts(rows[1:])] == ["B-1"]
    assert recent_parts([]) == ()


def test_part_is_offered_once_by_its_newest_row_and_eight_at_most() -> None:
    rows = [(pk, f"N-{pk % 10}", f"Part {pk}", "each", None, 1) for pk in range(1, 31)]

    found = recent_parts(rows)

    assert [one.description for one in found] == [f"Part {pk}" for pk in range(30, 22, -1)]


def test_part_on_the_list_is_named_by_the_list() -> None:
    one = recent_parts([(1, "IM-22", "typed otherwise", "each", "Impeller", 1)])[0]

    assert (one.description, json.loads(one.fill)["description"]) == ("Impeller", "")
