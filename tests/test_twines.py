"""Plans with several twines against an exact solver, the rules alone and worked examples."""

from __future__ import annotations

import random
from pathlib import Path

import networkx as nx
import pytest
from exact import ends, solve
from holes import legs, random_hole, with_notches
from rules import check

from cards.grid import hole_of_bars
from cards.job import as_data, notes, plan
from cards.spec import load, load_text
from cards.trim import trim

SPECS = Path(__file__).parents[1] / "specs"
AWKWARD = sorted(SPECS.glob("awkward-*.yaml"))

FLAP = r"""
hole:
  drawing: |
    \/\/\/\/\/\/
    /\.\/\/\.\/\
    \/./\/\/./\/
    /\.\/\/\.\/\
    \/........\/
    /\/\/\/\/\/\
"""


def loose_web(bars: frozenset[tuple[int, int]]) -> bool:
    """Whether a piece of whole web hangs on nothing (networkx)."""
    rows = range(min(r for r, _ in bars) - 2, max(r for r, _ in bars) + 3)
    columns = range(min(c for _, c in bars) - 2, max(c for _, c in bars) + 3)
    web = nx.Graph(ends((r, c)) for r in rows for c in columns if (r, c) not in bars)
    return not nx.is_connected(web)


def against_exact(bars, twine_cost: int, most: int) -> None:
    """The same cost as the solver's, unless the solver cuts web loose, which is no trim."""
    trimmed = trim(hole_of_bars(bars), twine_cost=twine_cost)
    exact = solve(trimmed.found.bars(), most_runs=most, run_cost=twine_cost)
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


def test_a_large_hole_says_what_is_proved() -> None:
    (spec,) = load(SPECS / "awkward-comb.yaml")
    planned = plan(spec)
    said = " ".join(notes(planned))
    assert planned.trim.bound < planned.trim.cost
    assert str(planned.trim.bound) in said and str(planned.trim.cost) in said
