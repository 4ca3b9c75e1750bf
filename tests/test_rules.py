"""The rules that plans are checked by: each of them catches the plan that breaks it."""

from __future__ import annotations

import copy
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest
from rules import Bar, check, meshes_of, openings_of

from cards import as_data, load_text, plan

RAGGED = """hole: {first: '/', rows: ["4-6", "2-8", "3-5", "4-9"]}"""


@pytest.fixture
def sound() -> dict[str, Any]:
    (spec,) = load_text(RAGGED)
    data = as_data(plan(spec))
    check(data)
    assert data["cuts"]
    return copy.deepcopy(data)


def turned_about(data: dict[str, Any]) -> None:
    data["twines"][0]["path"].reverse()


def two_knots_swapped(data: dict[str, Any]) -> None:
    knots = data["twines"][0]["knots"]
    knots[2]["at"], knots[3]["at"] = knots[3]["at"], knots[2]["at"]


def one_knot_too_few(data: dict[str, Any]) -> None:
    data["twines"][0]["knots"].pop()


def a_number_left_out(data: dict[str, Any]) -> None:
    data["twines"][0]["knots"][-1]["n"] += 1


def a_wrong_stitch(data: dict[str, Any]) -> None:
    data["twines"][0]["knots"][1]["stitch"] = "sider"


def a_wrong_way(data: dict[str, Any]) -> None:
    data["twines"][0]["knots"][1]["going"] = "left"


def the_needle_on_the_other_side(data: dict[str, Any]) -> None:
    data["twines"][0]["knots"][1]["needle"] = "from in front"


def the_other_hand(data: dict[str, Any]) -> None:
    data["hand"] = "left"


def a_cut_left_out(data: dict[str, Any]) -> None:
    data["cuts"].pop()


def a_cut_twice(data: dict[str, Any]) -> None:
    data["cuts"].append(data["cuts"][0])


def a_cut_through_a_broken_bar(data: dict[str, Any]) -> None:
    data["cuts"][0]["bar"] = data["broken"][0]


def a_bar_upside_down(data: dict[str, Any]) -> None:
    data["broken"][0].reverse()


def a_bar_that_is_none(data: dict[str, Any]) -> None:
    data["broken"][0][1][0] += 1


def a_start_further_on(data: dict[str, Any]) -> None:
    data["twines"][0]["path"].pop(0)


def one_mesh_too_many(data: dict[str, Any]) -> None:
    data["counts"]["meshes"] += 1


def one_twine_too_many(data: dict[str, Any]) -> None:
    data["counts"]["twines"] += 1


@pytest.mark.parametrize(
    "slip",
    [
        turned_about,
        two_knots_swapped,
        one_knot_too_few,
        a_number_left_out,
        a_wrong_stitch,
        a_wrong_way,
        the_needle_on_the_other_side,
        the_other_hand,
        a_cut_left_out,
        a_cut_twice,
        a_cut_through_a_broken_bar,
        a_bar_upside_down,
        a_bar_that_is_none,
        a_start_further_on,
        one_mesh_too_many,
        one_twine_too_many,
    ],
)
def test_a_plan_with_a_slip_is_refused(
    slip: Callable[[dict[str, Any]], None], sound: dict[str, Any]
) -> None:
    slip(sound)
    with pytest.raises(AssertionError):
        check(sound)


# One lost knot sewn with two twines: the first hangs the loop, the second ties it.
TWO_TWINES: dict[str, Any] = {
    "format": "threebar.plan/1",
    "hand": "right",
    "broken": [[[0, 0], [1, 1]], [[2, 0], [1, 1]], [[1, 1], [0, 2]], [[1, 1], [2, 2]]],
    "cuts": [],
    "twines": [
        {
            "name": "A",
            "path": [[0, 0], [1, 1], [2, 0]],
            "knots": [
                {"n": 1, "at": [0, 0], "stitch": "start"},
                {"n": 2, "at": [2, 0], "stitch": "end"},
            ],
        },
        {
            "name": "B",
            "path": [[0, 2], [1, 1], [2, 2]],
            "knots": [
                {"n": 3, "at": [0, 2], "stitch": "start"},
                {"n": 4, "at": [1, 1], "stitch": "pickup above"},
                {"n": 5, "at": [2, 2], "stitch": "end"},
            ],
        },
    ],
    "counts": {"broken": 4, "cuts": 0, "bars": 4, "knots": 5, "meshes": 4, "twines": 2},
}


def two_twines() -> dict[str, Any]:
    data = copy.deepcopy(TWO_TWINES)
    for twine in data["twines"]:
        for knot in twine["knots"]:
            knot |= {"going": "right", "needle": "from behind"}
    return data


def test_a_loop_that_one_twine_hangs_another_may_tie() -> None:
    check(two_twines())


def test_a_loop_is_not_tied_before_it_hangs() -> None:
    data = two_twines()
    data["twines"].reverse()
    for n, knot in enumerate((k for twine in data["twines"] for k in twine["knots"]), 1):
        knot["n"] = n
    with pytest.raises(AssertionError, match="a loop hangs before it is tied"):
        check(data)


@pytest.mark.parametrize(
    ("why", "path"),
    [
        ("never climbs", [[0, 2], [1, 1], [0, 0]]),
        ("'lower right', 'upper left'", [[0, 0], [1, 1], [2, 2]]),
        ("no bar is sewn twice", [[0, 0], [1, 1], [0, 0]]),
    ],
)
def test_a_path_that_no_twine_can_go_is_refused(why: str, path: list[list[int]]) -> None:
    bars = {tuple(sorted(map(tuple, pair), key=lambda k: k[1])) for pair in pairwise(path)}
    data = {
        "format": "threebar.plan/1",
        "hand": "right",
        "broken": [list(map(list, bar)) for bar in bars],
        "cuts": [],
        "twines": [{"name": "A", "path": path, "knots": []}],
    }
    with pytest.raises(AssertionError, match=why):
        check(data)


def test_one_lost_knot_opens_four_meshes_that_are_one_hole() -> None:
    lost: set[Bar] = {frozenset({(1, 1), knot}) for knot in [(0, 0), (2, 0), (0, 2), (2, 2)]}
    assert meshes_of(lost) == 4
    assert openings_of(lost) == 1


def test_two_bars_far_apart_are_two_holes() -> None:
    assert openings_of({frozenset({(0, 0), (1, 1)}), frozenset({(8, 0), (9, 1)})}) == 2
