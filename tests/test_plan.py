"""Plans of random holes against what is not the engine: solvers, graphs, the rules alone."""

from __future__ import annotations

import itertools
from pathlib import Path

import networkx as nx
import pytest
from exact import ends, solve
from holes import BarSet, holes, random_hole
from hypothesis import given, settings
from hypothesis import strategies as st
from rules import check
from shapely import LineString, unary_union
from shapely.ops import polygonize

from cards.grid import Bar, Hole, hole_of_bars
from cards.grid.islands import islands, with_islands
from cards.grid.knots import (
    HANGING,
    LOST,
    ONE_BAR,
    OPPOSITE,
    SIDER_LEFT,
    SIDER_RIGHT,
    STANDING,
    THREE_BAR,
    WHOLE,
    name_of,
)
from cards.job import as_data, plan
from cards.spec import Spec, load, load_text
from cards.trim import SIDES, trim_one
from cards.trim.cuts import STAGE

SEEDS = range(240)
SIDERS = {SIDER_LEFT, SIDER_RIGHT}
REASONS = (
    "cuts in the start",
    "cuts in the end",
    "cuts out the tongue",
    "cuts across",
    "cuts on past a sider",
    "opens two opposite",
)


def spec_of(bars, twine_cost: int = 8) -> Spec:
    pairs = [[list(knot) for knot in ends(bar)] for bar in sorted(bars)]
    (spec,) = load_text(f"hole: {{bars: {pairs}}}\ntwine_cost: {twine_cost}")
    return spec


@pytest.mark.parametrize("seed", SEEDS)
def test_a_plan_obeys_the_rules_of_sewing(seed: int) -> None:
    spec = spec_of(random_hole(seed, 9, 9))
    for hand in ("right", "left"):
        for start in ("auto", "left", "right"):
            for twines in ("one", "fewest-cost"):
                data = as_data(plan(spec, hand=hand, start=start, twines=twines))
                check(data)
                if start != "auto":
                    (x, _), (beside, _) = data["twines"][0]["path"][:2]
                    assert (x < beside) == (start == "left")


def fewest(bars: BarSet, start: str | None) -> tuple[Hole, int]:
    """The broken bars, islands among them, and the bars to sew with one twine."""
    found, _ = with_islands(hole_of_bars(bars))
    return found, min(trim_one(found, side).size for side in SIDES if start in (None, side))


@pytest.mark.parametrize("first", range(0, 300, 20))
@pytest.mark.parametrize("start", [None, "left", "right"])
def test_no_trim_for_one_twine_has_fewer_cuts(first: int, start: str | None) -> None:
    """OR-Tools CP-SAT on the rules alone finds the same number on 300 small holes, each start."""
    for seed in range(first, first + 20):
        found, size = fewest(random_hole(seed, 6, 5), start)
        exact = solve(found.bars(), start=start, pad=3)
        assert exact.proved
        assert exact.cost == size, seed


def test_the_exact_solver_tells_a_worse_trim() -> None:
    """One broken bar needs no cut; with its neighbour it needs one less than a careless trim."""
    assert solve([(0, 0)]).cost == 1
    assert solve([(0, 0), (0, 1), (1, 0), (1, 1)]).cost > 4


@pytest.mark.parametrize("seed", SEEDS)
def test_networkx_finds_an_euler_path_from_start_to_end_over_the_bars_sewn(seed: int) -> None:
    data = as_data(plan(spec_of(random_hole(seed, 9, 9))))
    sewn = 0
    for twine in data["twines"]:
        path = [tuple(at) for at in twine["path"]]
        graph = nx.Graph(itertools.pairwise(path))
        odd = {knot for knot, degree in graph.degree if degree % 2}
        assert odd == {path[0], path[-1]}
        walked = list(nx.eulerian_path(graph, path[0]))
        assert walked[-1][1] == path[-1]
        sewn += len(walked)
    assert sewn == data["counts"]["bars"]


@pytest.mark.parametrize("seed", range(60))
def test_the_cuts_are_no_fewer_than_parity_asks_for(seed: int) -> None:
    """A T-join is a lower bound: J. Edmonds, E. L. Johnson, Mathematical Programming 5, 1973.

    All but two of the knots with an odd number of missing bars have to be paired by cuts.
    """
    bars = random_hole(seed, 4, 4)
    found, size = fewest(bars, None)
    broken = set(found.bars())
    degree: dict[tuple[int, int], int] = {}
    for bar in broken:
        for knot in ends(bar):
            degree[knot] = degree.get(knot, 0) + 1
    odd = [knot for knot, count in degree.items() if count % 2]
    web = nx.Graph(
        ends((row, column))
        for row in range(-12, 22)
        for column in range(-14, 24)
        if (row, column) not in broken
    )
    graph = nx.Graph()
    graph.add_nodes_from(odd)
    for a in odd:
        far = nx.single_source_shortest_path_length(web, a) if a in web else {}
        graph.add_weighted_edges_from((a, b, far[b]) for b in odd if b > a and b in far)
    # Two knots may stay odd: the start and the end.
    graph.add_weighted_edges_from((loose, knot, 0) for loose in ("start", "end") for knot in odd)
    graph.add_edge("start", "end", weight=0)
    matched = nx.min_weight_matching(graph)
    bound = sum(graph[a][b]["weight"] for a, b in matched)
    assert size - len(broken) >= bound


@pytest.mark.parametrize("seed", SEEDS)
def test_mending_gives_back_the_whole_web(seed: int) -> None:
    data = as_data(plan(spec_of(random_hole(seed, 9, 9))))
    whole = {frozenset(ends((row, column))) for row in range(-14, 24) for column in range(-16, 26)}
    gone = {frozenset(map(tuple, pair)) for pair in data["broken"]}
    gone |= {frozenset(map(tuple, cut["bar"])) for cut in data["cuts"]}
    sewn = {
        frozenset(map(tuple, pair))
        for twine in data["twines"]
        for pair in itertools.pairwise(twine["path"])
    }
    assert (whole - gone) | sewn == whole
    assert gone == sewn


@pytest.mark.parametrize("seed", SEEDS)
def test_a_left_handers_plan_is_the_mirror_image(seed: int) -> None:
    bars = random_hole(seed, 9, 9)
    right = as_data(plan(spec_of(bars), hand="right"))
    left = as_data(plan(spec_of({(row, -column - 1) for row, column in bars}), hand="left"))
    turned = {"right": "left", "left": "right"}
    for one, other in zip(right["twines"], left["twines"], strict=True):
        assert [[-x, y] for x, y in one["path"]] == other["path"]
        for a, b in zip(one["knots"], other["knots"], strict=True):
            assert [-a["at"][0], a["at"][1]] == b["at"]
            assert (a["n"], a["stitch"], turned[a["going"]]) == (b["n"], b["stitch"], b["going"])
            assert a["needle"] == b["needle"]
    mirrored = [{frozenset((-x, y) for x, y in cut["bar"])} for cut in right["cuts"]]
    assert mirrored == [{frozenset((x, y) for x, y in cut["bar"])} for cut in left["cuts"]]
    assert [cut["does"] for cut in right["cuts"]] == [cut["does"] for cut in left["cuts"]]
    assert right["counts"] == left["counts"]


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("twine_cost", [1, 8])
def test_cuts_follow_the_rule_of_the_trade(seed: int, twine_cost: int) -> None:
    """Each cut is made at a three-bar or a one-bar, and none is left behind (common practice).

    Where the plan gives one of its reasons it may be otherwise.
    """
    planned = plan(spec_of(random_hole(seed, 9, 9), twine_cost))
    gone = set(planned.trim.found.bars())

    def name(knot) -> str:
        x, y = knot
        around = {1: (y - 1, x - 1), 2: (y - 1, x), 4: (y, x - 1), 8: (y, x)}
        return name_of(sum(bit for bit, bar in around.items() if bar in gone))

    for cut in planned.cuts:
        before = {knot: name(knot) for knot in cut.bar.ends}
        assert cut.was == before[cut.at]
        assert cut.towards_was == before[cut.towards]
        gone.add(cut.bar)
        assert cut.becomes == name(cut.at)
        assert cut.towards_becomes == name(cut.towards)
        if cut.does not in REASONS:
            assert cut.was in (THREE_BAR, ONE_BAR), (seed, cut)
    ends_of_twines = {
        knot.at for twine in planned.sewing.twines for knot in (twine.knots[0], twine.knots[-1])
    }
    left_over = {
        knot for bar in gone for knot in Bar(*bar).ends if name(knot) in (THREE_BAR, ONE_BAR)
    }
    assert left_over == ends_of_twines


@pytest.mark.parametrize("seed", SEEDS)
def test_no_cut_makes_a_three_bar_back_among_rows_already_trimmed(seed: int) -> None:
    """The three-bar a cut makes is dealt with by a later cut, not in a row above (common practice).

    Or the mend begins or ends on it. Only a row without a break, cut across, may make one that
    the row above has to clear, and the plan says so.
    """
    planned = plan(spec_of(random_hole(seed, 9, 9)))
    loose = {
        knot.at for twine in planned.sewing.twines for knot in (twine.knots[0], twine.knots[-1])
    }
    for number, cut in enumerate(planned.cuts):
        for knot, was in ((cut.at, cut.was), (cut.towards, cut.towards_was)):
            if was != WHOLE:
                continue
            later = next((c for c in planned.cuts[number + 1 :] if knot in c.bar.ends), None)
            if later is None:
                assert knot in loose
            elif cut.does not in REASONS:
                assert later.bar.row >= cut.bar.row, (seed, cut, later)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_side_is_trimmed_downwards_pair_by_pair_of_rows(seed: int) -> None:
    """Down the side of the start, then down the other (common practice, no source).

    A row is left upwards only once: from the bottom of the first side back to the start; and after
    the tongues, which go first.
    """
    planned = plan(spec_of(random_hole(seed, 9, 9)))
    for twine in range(len(planned.sewing.twines)):
        own = [cut for cut in planned.cuts if cut.twine == twine]
        tongues = [cut.bar.row for cut in own if cut.does == "cuts out the tongue"]
        sides = [cut.bar.row for cut in own if cut.does != "cuts out the tongue"]
        assert [cut.bar.row for cut in own] == tongues + sides
        assert tongues == sorted(tongues)
        assert sum(below < above for above, below in itertools.pairwise(sides)) <= 1


# What a cut does, by what was at the knot it is made at, what that becomes, what was at the other.
TELLING = {
    "clears a pair": ({THREE_BAR}, None, {THREE_BAR}),
    "turns into a pickup": ({THREE_BAR}, {HANGING, STANDING}, None),
    "turns into a sider": ({THREE_BAR}, SIDERS, None),
    "moves the three-bar on": ({THREE_BAR}, {OPPOSITE}, {WHOLE}),
    "takes off a one-bar": ({ONE_BAR}, {LOST}, None),
    "cuts on past a sider": (SIDERS, {ONE_BAR}, {WHOLE, HANGING, STANDING, *SIDERS}),
    "opens two opposite": ({OPPOSITE}, {ONE_BAR}, None),
}


def test_a_bar_that_hangs_alone_between_two_breaks_is_cut_off_in_its_place() -> None:
    """A one-bar is cut off, each cut in its turn down the side (common practice, no source)."""
    (spec,) = load(Path(__file__).parent.parent / "specs" / "ragged-round.yaml")
    cuts = {cut.bar: cut for cut in plan(spec).cuts}
    inner, outer = cuts[Bar(7, 8)], cuts[Bar(7, 10)]
    broken = [column for row, column in spec.hole.bars() if row == inner.bar.row]
    assert min(broken) < inner.bar.column < max(broken)
    assert not [cut for cut in cuts.values() if cut.does == "cuts out the tongue"]
    assert inner.n == outer.n + 1, "back in the lower row of its pair"
    assert (inner.does, inner.towards_was) == ("turns into a pickup", ONE_BAR)


# With seeds whose rows go on past a sider, towards whole web, a pickup or another sider.
@pytest.mark.parametrize("seed", [*SEEDS, 832, 2560, 3001, 3223])
@pytest.mark.parametrize("twines", ["one", "fewest-cost"])
def test_what_a_cut_is_said_to_do_is_what_it_does(seed: int, twines) -> None:
    """By the broken bars, the way of the twines and the bars missing at that moment alone."""
    planned = plan(spec_of(random_hole(seed, 9, 9)), twines=twines)
    broken = set(planned.trim.found.bars())
    rows = {
        (number, row): {Bar(row, column) for column in range(*stretch)}
        for number, run in enumerate(planned.trim.runs)
        for row, stretch in enumerate(run.stretches, run.top)
    }
    gone = set(broken)
    for cut in planned.cuts:
        row = rows[cut.twine, cut.bar.row]
        beside = {bar for bar in row if abs(bar.column - cut.bar.column) == 1}
        run = planned.trim.runs[cut.twine]
        first, last = cut.bar.row == run.top, cut.bar.row == run.bottom - 1
        columns = {bar.column for bar in row & broken}
        if cut.does == "cuts in the start":
            assert first
        elif cut.does == "cuts in the end":
            assert last
        elif cut.does == "cuts out the tongue":
            assert min(columns) < cut.bar.column < max(columns)
        elif cut.does == "cuts across":
            assert not columns and not first and not last, "whole web between torn rows"
        else:
            was, becomes, other_was = TELLING[cut.does]
            assert columns, "a row without a break is cut across"
            assert beside & gone or THREE_BAR in (cut.was, cut.towards_was)
            assert cut.was in was
            assert becomes is None or cut.becomes in becomes
            assert other_was is None or cut.towards_was in other_was
            if cut.does == "cuts on past a sider":
                at_it = {bar for bar in row if cut.at in bar.ends}
                assert len(at_it) == 2, "the row of twine goes on past it"
                assert at_it - {cut.bar} <= gone, "and comes from where bars are missing"
        gone.add(cut.bar)


@pytest.mark.parametrize("seed", range(24))
def test_a_deep_hole_is_trimmed_a_stage_at_a_time(seed: int) -> None:
    """It would sag if it were trimmed all at once (common practice, no source)."""
    planned = plan(spec_of(random_hole(seed, 60, 12)))
    check(as_data(planned))
    for twine in range(len(planned.sewing.twines)):
        own = [cut for cut in planned.cuts if cut.before == twine]
        assert [cut.stage for cut in own] == sorted(cut.stage for cut in own)
        top = planned.trim.runs[twine].top
        for cut in own:
            # A pair of rows that a sider joins is not parted.
            if cut.stage:
                assert (cut.bar.row - top) // STAGE in (cut.stage, cut.stage + 1)
                assert (cut.bar.row - top - 1) // STAGE <= cut.stage


@given(holes())
@settings(max_examples=150, deadline=None)
def test_any_hole_can_be_mended(bars: BarSet) -> None:
    check(as_data(plan(spec_of(bars))))


@given(holes(4, 4), st.sampled_from([None, "left", "right"]))
@settings(max_examples=40, deadline=None)
def test_no_trim_of_any_small_hole_has_fewer_cuts(bars: BarSet, start: str | None) -> None:
    found, size = fewest(bars, start)
    exact = solve(found.bars(), start=start, pad=3)
    assert exact.proved
    assert exact.cost == size


@pytest.mark.parametrize("seed", SEEDS)
def test_the_meshes_of_a_hole_are_the_faces_that_shapely_merges(seed: int) -> None:
    """Where bars are missing, neighbouring meshes are one opening: its area is that of its meshes.

    A mesh is a diamond two half meshes wide and two deep, of area 2.
    """
    planned = plan(spec_of(random_hole(seed, 7, 7)))
    hole = planned.trim.trimmed
    web = unary_union(
        [
            LineString(ends((row, column)))
            for row in range(hole.top - 2, hole.bottom + 2)
            for column in range(hole.left - 3, hole.right + 3)
            if not hole.misses(row, column)
        ]
    )
    openings = [face for face in polygonize(web) if face.area > 2.5]
    assert sum(face.area for face in openings) / 2 == pytest.approx(planned.meshes)
    # Each knot makes one mesh, P. D. Lorimer, SG 83, 1989; a twine more takes a knot more, and
    # each opening has one mesh that its first knot does not make.
    twines = len(planned.sewing.twines)
    assert planned.sewing.knots == planned.meshes + twines - len(openings)


def test_the_eight_knots_of_a_mend() -> None:
    """Start, four pickups, two siders, finish: S. V. Gebhards, Net Repair Manual, 1960."""
    found = set()
    for seed in SEEDS:
        for twine in plan(spec_of(random_hole(seed, 9, 9))).sewing.twines:
            for knot in twine.knots:
                way = knot.going if knot.stitch not in ("start", "end") else ""
                found.add((knot.stitch, way))
    assert found == {
        ("start", ""),
        ("pickup above", "right"),
        ("pickup above", "left"),
        ("pickup below", "right"),
        ("pickup below", "left"),
        ("sider", "right"),
        ("sider", "left"),
        ("end", ""),
    }


@pytest.mark.parametrize("seed", SEEDS)
def test_islands_are_what_no_way_joins_to_the_web(seed: int) -> None:
    """networkx's connected components of the whole bars."""
    bars = random_hole(seed, 8, 8)
    hole: Hole = hole_of_bars(bars)
    web = nx.Graph(
        ends((row, column))
        for row in range(hole.top - 2, hole.bottom + 2)
        for column in range(hole.left - 2, hole.right + 2)
        if (row, column) not in bars
    )
    outside = nx.node_connected_component(web, ends((hole.top - 2, hole.left - 2))[0])
    loose = {frozenset(edge) for edge in web.edges if edge[0] not in outside}
    found = {
        frozenset(ends((row, column)))
        for row, stretches in enumerate(islands(hole), hole.top)
        for left, right in stretches
        for column in range(left, right)
    }
    assert found == loose
