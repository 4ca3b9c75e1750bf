"""Plans with several twines against an exact solver, the rules alone and worked examples."""

from __future__ import annotations

import random
from pathlib import Path

import networkx as nx
import pytest
from exact import ends, solve
from holes import (
    FLAP,
    flaps_over_a_tear,
    legs,
    legs_under_a_tear,
    random_hole,
    upside_down,
    with_notches,
)
from rules import check

from cards.grid import hole_of_bars
from cards.job import as_data, notes, plan
from cards.spec import load, load_text
from cards.trim import SIDES, TWINE_COST, Trim, other, trim, trim_one
from cards.trim.prices import Prices

SPECS = Path(__file__).parents[1] / "specs"
AWKWARD = sorted(SPECS.glob("awkward-*.yaml"))


def loose_web(bars: frozenset[tuple[int, int]]) -> bool:
    """Whether a piece of whole web hangs on nothing (networkx)."""
    rows = range(min(r for r, _ in bars) - 2, max(r for r, _ in bars) + 3)
    columns = range(min(c for _, c in bars) - 2, max(c for _, c in bars) + 3)
    web = nx.Graph(ends((r, c)) for r in rows for c in columns if (r, c) not in bars)
    return not nx.is_connected(web)


def against_exact(bars, twine_cost: int, most: int, start: str | None = None) -> None:
    """The same cost as the solver's, unless the solver cuts web loose, which is no trim."""
    trimmed = trim(hole_of_bars(bars), twine_cost=twine_cost, start=start or "auto")
    exact = solve(trimmed.found.bars(), most_runs=most, run_cost=twine_cost, start=start)
    assert exact.proved
    assert trimmed.bound == trimmed.cost, "a small hole is proved"
    assert not loose_web(frozenset(trimmed.trimmed.bars()))
    if loose_web(exact.bars):
        assert trimmed.cost > exact.cost
    else:
        assert trimmed.cost == exact.cost


@pytest.mark.parametrize("first", range(0, 240, 20))
@pytest.mark.parametrize("twine_cost", [1, 3])
def test_no_trim_of_a_small_hole_costs_less(first: int, twine_cost: int) -> None:
    """OR-Tools CP-SAT on the rules alone, 240 holes with notches, flaps, legs, islands, tears."""
    for seed in range(first, first + 20):
        against_exact(random_hole(seed, 6, 6), twine_cost, 4)


@pytest.mark.parametrize("seed", range(12))
def test_no_trim_with_twines_that_cost_nothing_has_fewer_bars(seed: int) -> None:
    against_exact(random_hole(seed, 4, 4), 0, 6)


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("kind", [legs, with_notches])
@pytest.mark.parametrize("twine_cost", [8, 20])
def test_no_trim_of_legs_and_notches_costs_less(seed: int, kind, twine_cost: int) -> None:
    against_exact(kind(random.Random(seed), 8, 9), twine_cost, 3)


@pytest.mark.parametrize("first", range(0, 60, 20))
@pytest.mark.parametrize("start", SIDES)
@pytest.mark.parametrize("twine_cost", [3, 8])
def test_no_trim_that_starts_on_a_side_costs_less(first: int, start, twine_cost: int) -> None:
    """CP-SAT again: the twine sewn first starts on the side asked for."""
    for seed in range(first, first + 20):
        against_exact(random_hole(seed, 5, 6), twine_cost, 3, start)


@pytest.mark.parametrize("first", range(0, 400, 80))
def test_every_start_for_both_hands(first: int) -> None:
    """A start asked for is the first twine's; a mirrored hole has the mirrored trim."""
    for seed in [*range(first, first + 80, 4), 92, 129, 189]:
        hole = hole_of_bars(random_hole(seed, 9, 9))
        free = trim(hole)
        started = {side: trim(hole, start=side) for side in SIDES}
        for side in SIDES:
            assert started[side].runs[0].start == side
            assert started[side].cost >= free.cost
            seen_from_behind = trim(hole.mirrored(), start=other(side), prefer="right")
            assert tuple(run.mirrored() for run in seen_from_behind.runs) == started[side].runs
        assert free.cost == min(trimmed.cost for trimmed in started.values())


@pytest.mark.parametrize("first", range(0, 300, 100))
def test_upside_down_a_hole_costs_the_same(first: int) -> None:
    """The rules of sewing hold upside down: a twine starts where it ended."""
    for seed in range(first, first + 100):
        bars = random_hole(seed, 8, 8)
        assert trim(hole_of_bars(bars)).cost == trim(hole_of_bars(upside_down(bars))).cost


@pytest.mark.parametrize("twine_cost", [0, 1, 3, 8, 30])
@pytest.mark.parametrize("spread", [False, True])
def test_prices_come_to_no_more_than_the_cheapest_trim(twine_cost: int, spread: bool) -> None:
    for seed in range(150):
        trimmed = trim(hole_of_bars(random_hole(seed, 7, 7)), twine_cost=twine_cost)
        assert trimmed.bound == trimmed.cost
        prices = Prices(trimmed.found, twine_cost, spread=spread)
        assert trimmed.found.size + prices.total <= trimmed.cost


def test_the_flap() -> None:
    """Worked example of the project's design: 14 broken, two twines, 15 bars, one cut."""
    (spec,) = load_text(FLAP)
    two, one = plan(spec), plan(spec, twines="one")
    assert (two.trim.found.size, len(two.cuts), two.sewing.bars) == (14, 1, 15)
    assert [twine.name for twine in two.sewing.twines] == ["A", "B"]
    assert one.sewing.bars == 29
    check(as_data(two))
    check(as_data(one))


def test_a_dear_twine_loses_the_flap() -> None:
    (spec,) = load_text(FLAP + "twine_cost: 15")
    assert len(plan(spec).sewing.twines) == 1


def test_tears_far_apart_are_planned_apart() -> None:
    a, b = random_hole(6, 6, 6), random_hole(0, 6, 6)
    moved = frozenset((row + 12, column + 60) for row, column in b)
    cost = trim(hole_of_bars(a)).cost + trim(hole_of_bars(b)).cost
    assert trim(hole_of_bars(a | moved)).cost == cost


@pytest.mark.parametrize("file", AWKWARD, ids=lambda file: file.stem)
def test_awkward_holes_obey_the_rules(file: Path) -> None:
    (spec,) = load(file)
    for hand in ("right", "left"):
        check(as_data(plan(spec, hand=hand)))


def test_awkward_holes_are_there() -> None:
    assert len(AWKWARD) >= 6


def test_an_island_counts_as_broken_and_the_plan_says_so() -> None:
    (spec,) = load(SPECS / "awkward-island.yaml")
    assert "6 bars hang on nothing and count as broken." in notes(plan(spec))


def test_three_long_legs_are_sewn_with_three_twines() -> None:
    bars = {(row, column) for row in range(4) for column in range(78)}
    for left in (0, 26, 52):
        bars |= {(row, column) for row in range(100) for column in range(left, left + 6)}
    hole = hole_of_bars(bars)
    trimmed = trim(hole)
    assert len(trimmed.runs) == 3
    assert trimmed.cost < trim(hole, twines="one").cost / 2
    assert trimmed.bound <= trimmed.cost
    assert trim(hole) == trimmed


def obeys_the_rules(bars) -> Trim:
    """Check the plan of a large hole by the rules alone, and that of the hole upside down."""
    trims = []
    for own in (bars, upside_down(bars)):
        listed = [[list(knot) for knot in ends(bar)] for bar in sorted(own)]
        (spec,) = load_text(f"hole: {{bars: {listed}}}")
        planned = plan(spec)
        check(as_data(planned))
        assert planned.trim.bound <= planned.trim.cost
        trims.append(planned.trim)
    return max(trims, key=lambda trimmed: trimmed.cost - trimmed.bound)


@pytest.mark.parametrize("seed", range(6))
def test_three_ragged_legs_of_a_hundred_rows_are_proved(seed: int) -> None:
    bars = legs_under_a_tear(random.Random(seed), 3, 100)
    trimmed = obeys_the_rules(bars)
    assert trimmed.cost - trimmed.bound <= trimmed.cost // 200
    assert trimmed.cost <= obvious(bars)


@pytest.mark.parametrize("seed", range(4))
def test_five_ragged_legs_are_not_sewn_with_one_twine(seed: int) -> None:
    bars = legs_under_a_tear(random.Random(seed), 5, 100)
    trimmed = obeys_the_rules(bars)
    assert len(trimmed.runs) >= 5
    assert trimmed.cost - trimmed.bound <= trimmed.cost // 100
    assert trimmed.cost <= obvious(bars)


def obvious(bars) -> int:
    """What a mender would do: the tear with its first leg with one twine, each other leg with one.

    Under the tear a start has to keep clear of it: four bars more for each leg.
    """
    right = min(c for row, c in bars if row == 4 and (row, c + 1) not in bars)
    first = hole_of_bars((row, c) for row, c in bars if row < 4 or c < right + 3)
    rest = hole_of_bars((row, c) for row, c in bars if row >= 4 and c >= right + 3)
    cost = min(trim_one(first, side).size for side in SIDES) + TWINE_COST
    while rest is not None:
        edge = next(s.right for s in rest.rows[0]) + 3
        leg = hole_of_bars((row, c) for row, c in rest.bars() if c < edge)
        beyond = [(row, c) for row, c in rest.bars() if c >= edge]
        cost += min(trim_one(leg, side).size for side in SIDES) + TWINE_COST + 4
        rest = hole_of_bars(beyond) if beyond else None
    return cost


@pytest.mark.parametrize("seed", range(3))
def test_twenty_flaps_are_kept(seed: int) -> None:
    bars = flaps_over_a_tear(random.Random(seed), 20, 20)
    trimmed = obeys_the_rules(bars)
    assert len(trimmed.runs) >= 18
    assert trimmed.cost - trimmed.bound <= trimmed.cost // 15
    assert 3 * trimmed.cost < 2 * trim(hole_of_bars(bars), twines="one").cost


def test_a_comb_is_proved() -> None:
    bars = {(row, c) for row in range(4) for c in range(96)}
    bars |= {(row, 12 * leg + c) for leg in range(8) for row in range(4, 30) for c in range(6)}
    trimmed = obeys_the_rules(frozenset(bars))
    assert len(trimmed.runs) == 8
    assert trimmed.bound == trimmed.cost


def test_legs_of_a_thousand_rows() -> None:
    """Nothing goes down the rows by recursion."""
    trimmed = trim(hole_of_bars(legs_under_a_tear(random.Random(0), 2, 1000)))
    assert len(trimmed.runs) >= 2
    assert trimmed.cost - trimmed.bound <= trimmed.cost // 100


def test_a_start_asked_for_costs_little_more_on_a_large_hole() -> None:
    hole = hole_of_bars(legs_under_a_tear(random.Random(1), 3, 60))
    free = trim(hole)
    for side in SIDES:
        started = trim(hole, start=side)
        assert started.runs[0].start == side
        assert free.cost <= started.cost <= free.cost + 4


def test_many_small_tears_near_each_other() -> None:
    """Five bars in a hundred broken, here and there: most are mended each by itself."""
    rng = random.Random(5)
    bars = {(row, c) for row in range(24) for c in range(40) if rng.random() < 0.05}
    trimmed = trim(hole_of_bars(bars))
    apart = sum(trim(hole_of_bars([bar])).cost for bar in bars)
    assert trimmed.cost <= apart + len(bars)


def test_a_large_hole_says_what_is_proved() -> None:
    bars = flaps_over_a_tear(random.Random(0), 20, 20)
    listed = [[list(knot) for knot in ends(bar)] for bar in sorted(bars)]
    (spec,) = load_text(f"hole: {{bars: {listed}}}")
    planned = plan(spec)
    said = " ".join(notes(planned))
    assert planned.trim.bound < planned.trim.cost
    assert str(planned.trim.bound) in said and str(planned.trim.cost) in said
