"""The rules of a plan, from its JSON alone: nothing here uses the engine.

Knots are (x, y) in half meshes, y downwards, and stand where x + y is even. A bar joins (x, y) to
(x + 1 or x - 1, y + 1). `check` raises AssertionError at the first rule that a plan breaks.
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import Any

Knot = tuple[int, int]
Bar = frozenset[Knot]

STITCHES = {"start", "pickup above", "pickup below", "sider", "end"}


def bars_of(knot: Knot) -> dict[str, Bar]:
    """The four bars of a knot."""
    x, y = knot
    return {
        "upper left": frozenset({knot, (x - 1, y - 1)}),
        "upper right": frozenset({knot, (x + 1, y - 1)}),
        "lower left": frozenset({knot, (x - 1, y + 1)}),
        "lower right": frozenset({knot, (x + 1, y + 1)}),
    }


# What is missing at a knot that has a stitch.
PASSES = {
    frozenset({"lower left", "lower right"}): "pickup above",
    frozenset({"upper left", "upper right"}): "pickup below",
    frozenset({"upper right", "lower right"}): "sider",
    frozenset({"upper left", "lower left"}): "sider",
}
ALL_FOUR = frozenset({"upper left", "upper right", "lower left", "lower right"})


def as_bar(pair: list[list[int]]) -> Bar:
    """A bar of the JSON: two neighbouring knots, the upper first."""
    (ax, ay), (bx, by) = pair
    assert (ax + ay) % 2 == 0
    assert abs(ax - bx) == 1
    assert by == ay + 1, "the upper knot stands first"
    return frozenset({(ax, ay), (bx, by)})


def missing_at(knot: Knot, missing: set[Bar]) -> frozenset[str]:
    """Which bars of a knot are missing."""
    return frozenset(name for name, bar in bars_of(knot).items() if bar in missing)


def check(plan: dict[str, Any]) -> None:
    """Check that a plan obeys every rule of sewing, and its own counts."""
    assert plan["format"] == "threebar.plan/1"
    broken = [as_bar(pair) for pair in plan["broken"]]
    cuts = [as_bar(cut["bar"]) for cut in plan["cuts"]]
    assert len(set(broken)) == len(broken)
    assert len(set(cuts)) == len(cuts)
    assert not set(broken) & set(cuts), "a broken bar is not cut"
    assert [cut["n"] for cut in plan["cuts"]] == list(range(1, len(cuts) + 1))
    missing = set(broken) | set(cuts)
    sewn = [
        frozenset({tuple(a), tuple(b)})
        for twine in plan["twines"]
        for a, b in pairwise(twine["path"])
    ]
    assert set(sewn) == missing, "the bars sewn are the broken and the cut ones"
    assert len(sewn) == len(missing), "no bar is sewn twice"
    check_knots(missing, len(plan["twines"]))
    number, hung = 1, set()
    tied: set[Knot] = set()
    for twine in plan["twines"]:
        number = check_twine(twine, plan["hand"], missing, number, hung, tied)
    new = {knot for bar in missing for knot in bar if missing_at(knot, missing) == ALL_FOUR}
    assert hung == new, "every loop is hung"
    assert new <= tied, "every loop is tied"
    assert tied == {knot for bar in missing for knot in bar}, "every damaged knot is tied"
    counts = plan["counts"]
    meshes, openings = meshes_of(missing), openings_of(missing)
    assert counts["broken"] == len(broken)
    assert counts["cuts"] == len(cuts)
    assert counts["bars"] == len(missing)
    assert counts["knots"] == number - 1 == len(tied)
    assert counts["meshes"] == meshes
    assert counts["twines"] == len(plan["twines"])
    # Each knot completes a mesh: P. D. Lorimer, Net mending and patching, Oregon State University
    # Extension, SG 83, 1989. With several twines: knots = meshes + twines - openings.
    assert counts["knots"] == meshes + counts["twines"] - openings


def check_knots(missing: set[Bar], twines: int) -> None:
    """Only knots occur that have a stitch, and two three-bars a twine."""
    three_bars = 0
    for knot in {knot for bar in missing for knot in bar}:
        gone = missing_at(knot, missing)
        if len(gone) == 1:
            three_bars += 1
        else:
            assert gone in PASSES or gone == ALL_FOUR, (knot, sorted(gone))
    assert three_bars == 2 * twines


def check_twine(
    twine: dict[str, Any],
    hand: str,
    missing: set[Bar],
    number: int,
    hung: set[Knot],
    tied: set[Knot],
) -> int:
    """Walk one twine knot by knot; return the next number."""
    path = [tuple(at) for at in twine["path"]]
    knots = list(twine["knots"])
    rows = [min(a[1], b[1]) for a, b in pairwise(path)]
    assert rows == sorted(rows), "the twine never climbs"
    assert all(b - a <= 1 for a, b in pairwise(rows))
    for place, at in enumerate(path):
        gone = missing_at(at, missing)
        if place in (0, len(path) - 1):
            assert len(gone) == 1, "a twine starts and ends on a three-bar"
            stitch = "start" if place == 0 else "end"
        else:
            own = frozenset(
                name
                for name, bar in bars_of(at).items()
                if bar in (frozenset({path[place - 1], at}), frozenset({at, path[place + 1]}))
            )
            assert own in PASSES, "one pass takes both upper, both lower or both side bars"
            if gone == ALL_FOUR:
                if own == frozenset({"upper left", "upper right"}):
                    assert at not in hung
                    hung.add(at)
                    continue
                assert own == frozenset({"lower left", "lower right"}), "no stitch turns on a loop"
                assert at in hung, "a loop hangs before it is tied"
                stitch = "pickup above"
            else:
                assert gone == own
                stitch = PASSES[own]
        assert knots, "each knot is told"
        knot = knots.pop(0)
        step = path[place + 1][0] - at[0] if place == 0 else at[0] - path[place - 1][0]
        going = "right" if step > 0 else "left"
        assert tuple(knot["at"]) == at
        assert knot["n"] == number
        assert knot["stitch"] == stitch
        assert knot["going"] == going
        # Common practice, no source: a right-hander's needle comes from behind going right.
        assert knot["needle"] == ("from behind" if going == hand else "from in front")
        assert at not in tied, "each knot is tied once"
        tied.add(at)
        number += 1
    assert not knots
    return number


def meshes_of(missing: set[Bar]) -> int:
    """The meshes with a missing bar. A mesh's middle stands where a knot's x + y would be odd."""
    middles: Counter[Knot] = Counter()
    for bar in missing:
        (ax, ay), (bx, by) = sorted(bar, key=lambda knot: knot[1])
        # The bar is a side of the mesh above the lower knot and of that below the upper one.
        middles[ax, ay + 1] += 1
        middles[bx, by - 1] += 1
    assert all(1 <= count <= 4 for count in middles.values())
    return len(middles)


def openings_of(missing: set[Bar]) -> int:
    """The separate openings: meshes that a missing bar joins, gathered by a flood."""
    beside: dict[Knot, set[Knot]] = {}
    for bar in missing:
        (ax, ay), (bx, by) = sorted(bar, key=lambda knot: knot[1])
        a, b = (ax, ay + 1), (bx, by - 1)
        beside.setdefault(a, set()).add(b)
        beside.setdefault(b, set()).add(a)
    count, seen = 0, set()
    for mesh in beside:
        if mesh in seen:
            continue
        count += 1
        waiting = [mesh]
        while waiting:
            here = waiting.pop()
            if here not in seen:
                seen.add(here)
                waiting += beside[here] - seen
    return count
