"""Judging cuts for a patch, against the rule itself on every single cut left out or added.

The rule: a patch is let into a rectangle with pickups above and below, siders at the sides (common
practice, no source). It is told here as a rectangle of bars, and as a ring of knots by networkx.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from itertools import product
from pathlib import Path
from xml.etree import ElementTree

import networkx as nx
import pytest
from clearance import touching
from exact import around, ends
from holes import BarSet, random_hole
from hypothesis import given, settings
from hypothesis import strategies as st
from test_check import with_loose_web

from cards.command import main
from cards.grid import Bar, hole_of_bars
from cards.job import Plan, as_data, plan
from cards.picture.check import picture_of_check
from cards.spec import load_text
from cards.trim.check_patch import PatchCheck, check_patch

WING = r"""
title: Wing
method: patch
hole:
  drawing: |
    \/\/\/\/
    /\..../\
    \/....\/
    /\/..\/\
    \/\/\/\/
"""

# What a knot on a side of the rectangle lacks: upper left, upper right, lower left, lower right.
HANGING, STANDING, LEFT, RIGHT = (0, 0, 1, 1), (1, 1, 0, 0), (0, 1, 0, 1), (1, 0, 1, 0)


def rectangle_of(missing: set[tuple[int, int]]) -> tuple[int, int] | None:
    """Meshes each way of the patch for the missing bars; None where they are no such rectangle.

    The rule of the project's design: rows a to b, columns l to r, l + a and r + a odd, an even
    number of rows; the patch is one mesh less each way, and has one at least.
    """
    rows, columns = {row for row, _ in missing}, {column for _, column in missing}
    top, bottom, left, right = min(rows), max(rows) + 1, min(columns), max(columns) + 1
    if missing != set(product(range(top, bottom), range(left, right))):
        return None
    if (left + top) % 2 == 0 or (right + top) % 2 == 0 or (bottom - top) % 2:
        return None
    across, down = (right - left) // 2 - 1, (bottom - top) // 2 - 1
    return (across, down) if across > 0 and down > 0 else None


def seam_closes(missing: set[tuple[int, int]]) -> bool:
    """The same told by the knots: lay a patch in, one bar away, and the bars left make one ring.

    It passes pickups and siders of the web and of the patch by turns, but for the four corners,
    where a pickup of the web follows a sider of the web (networkx).
    """
    edge = {
        knot: tuple(int(bar in missing) for bar in around(knot))
        for bar in missing
        for knot in ends(bar)
        if not all(other in missing for other in around(knot))
    }
    if not set(edge.values()) <= {HANGING, STANDING, LEFT, RIGHT}:
        return False
    seam = nx.Graph(ends(bar) for bar in missing if any(knot in edge for knot in ends(bar)))
    if not nx.is_connected(seam) or any(degree != 2 for _, degree in seam.degree):
        return False
    places = {what: {at for at, own in edge.items() if own == what} for what in set(edge.values())}
    straight = (
        len({y for _, y in places.get(HANGING, ())}) == 1
        and len({y for _, y in places.get(STANDING, ())}) == 1
        and len({x for x, _ in places.get(LEFT, ())}) == 1
        and len({x for x, _ in places.get(RIGHT, ())}) == 1
    )
    corners = sum(a in edge and b in edge for a, b in seam.edges)
    return straight and corners == 4 and all(a in edge or b in edge for a, b in seam.edges)


def planned(bars: BarSet, hand: str = "right", start: str = "auto") -> Plan:
    pairs = [[list(knot) for knot in ends(bar)] for bar in sorted(bars)]
    (spec,) = load_text(f"hole: {{bars: {pairs}}}\nmethod: patch")
    return plan(spec, hand=hand, start=start)


def judged(own: Plan, cuts: list[Bar]) -> PatchCheck:
    going = own.sewing.twines[0].rows[0].going
    return check_patch(own.spec.hole, cuts, "left" if going == "right" else "right")


def by_the_rule(own: Plan, cuts: list[Bar]) -> tuple[int, int] | None:
    return rectangle_of(with_loose_web({*own.spec.hole.bars(), *cuts}))


@given(
    seed=st.integers(0, 100_000),
    hand=st.sampled_from(["right", "left"]),
    start=st.sampled_from(["auto", "left", "right"]),
)
@settings(deadline=None, max_examples=120)
def test_the_plans_own_cuts_are_judged_good(seed: int, hand: str, start: str) -> None:
    own = planned(random_hole(seed, 9, 9), hand, start)
    cuts = [cut.bar for cut in own.cuts]
    check = judged(own, cuts)
    missing = with_loose_web({*own.spec.hole.bars(), *cuts})
    told = as_data(own)["patch"]
    assert rectangle_of(missing) == (told["across"], told["down"])
    assert seam_closes(missing)
    assert check.sewable and not check.wrong and not check.further
    assert (check.patch.across, check.patch.down) == (told["across"], told["down"])
    assert check.more == 0 and check.best_cuts == len(cuts)
    assert not check.needless and not check.outside
    assert set(check.missing.bars()) == missing


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("seed", range(48))
def test_each_single_cut_left_out_is_found(seed: int, hand: str) -> None:
    own = planned(random_hole(seed, 7, 7), hand)
    cuts = [cut.bar for cut in own.cuts]
    for left_out in cuts:
        made = [bar for bar in cuts if bar != left_out]
        check = judged(own, made)
        assert by_the_rule(own, made) is None and not check.sewable
        assert [cut.bar for cut in check.further] == [left_out], "it is the next cut"
        assert set(left_out.ends) & set(check.wrong), "a knot at it is marked"
        assert check.more == 0
        assert check.patch.seam == own.trim.trimmed


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("seed", range(48))
def test_each_single_cut_too_many_is_found(seed: int, hand: str) -> None:
    """Within two bars of the rectangle, and inside it."""
    own = planned(random_hole(seed, 7, 7), hand)
    cuts = [cut.bar for cut in own.cuts]
    hole = own.trim.trimmed
    around_it = product(range(hole.top - 2, hole.bottom + 2), range(hole.left - 2, hole.right + 2))
    inside = rectangle_of(with_loose_web({*own.spec.hole.bars(), *cuts}))
    for bar in (Bar(*at) for at in around_it):
        if own.spec.hole.misses(*bar) or bar in cuts:
            continue
        check = judged(own, [*cuts, bar])
        size = by_the_rule(own, [*cuts, bar])
        assert check.sewable == (size is not None)
        assert check.more >= 1
        within = hole.top <= bar.row < hole.bottom and hole.left <= bar.column < hole.right
        if within:
            assert size == inside and check.needless == (bar,) and not check.outside
            assert check.more == 1
        else:
            assert size is None and check.outside == (bar,) and not check.needless
            assert set(bar.ends) & set(check.wrong), "a knot at it is marked"


@pytest.mark.parametrize("first", range(0, 480, 60))
def test_any_cuts_are_judged_by_the_rule_and_can_be_finished(first: int) -> None:
    """Some of the plan's cuts, some of another rectangle, some anywhere."""
    told = Counter()
    for seed in range(first, first + 60):
        rng = random.Random(seed)
        own = planned(random_hole(seed, 7, 7), rng.choice(("right", "left")))
        seam = own.trim.trimmed
        cuts = {cut.bar for cut in own.cuts}
        if rng.random() < 0.4:
            top, bottom = seam.top - rng.choice((0, 2)), seam.bottom + rng.choice((0, 1, 2))
            left, right = seam.left - rng.choice((0, 1, 2)), seam.right + rng.choice((0, 2))
            box = {Bar(*at) for at in product(range(top, bottom), range(left, right))}
            cuts = {bar for bar in box if not own.spec.hole.misses(*bar)}
        if rng.random() < 0.5:
            cuts = {bar for bar in cuts if rng.random() < rng.choice((0.5, 0.9))}
        check = judged(own, sorted(cuts))
        missing = with_loose_web({*own.spec.hole.bars(), *cuts})
        size = rectangle_of(missing)
        assert check.sewable == (size is not None) == seam_closes(missing), seed
        states = {
            (x, y): sum(bar in missing for bar in around((x, y)))
            for bar in missing
            for x, y in ends(bar)
        }
        odd = {knot for knot, gone in states.items() if gone in (1, 3)}
        assert odd <= set(check.wrong)
        assert all(check.wrong[knot] == "two opposite" for knot in set(check.wrong) - odd)
        told[check.sewable] += 1
        patch = (check.patch.across, check.patch.down)
        if size:
            assert patch == size
        finished = with_loose_web(missing | {cut.bar for cut in check.further})
        assert rectangle_of(finished) == patch
        assert check.more == len(cuts) + len(check.further) - len(own.cuts)
        assert all(bar not in missing for bar in (cut.bar for cut in check.further))
    assert min(told[True], told[False]) > 5


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("seed", range(60))
def test_the_next_cut_is_that_of_the_plan(seed: int, hand: str) -> None:
    """Whoever follows the card is told to go on as it says, wherever they stopped."""
    own = planned(random_hole(seed, 7, 7), hand)
    cuts = [cut.bar for cut in own.cuts]
    for made in range(len(cuts)):
        check = judged(own, cuts[:made])
        assert [cut.bar for cut in check.further] == cuts[made:]


@pytest.mark.parametrize("seed", range(40))
def test_a_mirrored_hole_is_judged_as_its_mirror_image(seed: int) -> None:
    bars = random_hole(seed, 7, 7)
    rng = random.Random(seed)
    right = planned(bars, "right")
    left = planned(frozenset((row, -column - 1) for row, column in bars), "left")
    cuts = [cut.bar for cut in right.cuts if rng.random() < 0.7]
    one = judged(right, cuts)
    other = judged(left, [Bar(row, -column - 1) for row, column in cuts])
    assert [(-x, y) for x, y in one.wrong] == sorted(other.wrong, key=lambda at: (at[1], -at[0]))
    assert [(row, -column - 1) for row, column in (cut.bar for cut in one.further)] == [
        cut.bar for cut in other.further
    ]
    assert (one.sewable, one.more, one.away) == (other.sewable, other.more, other.away)


def test_a_hole_whose_knots_all_have_stitches_may_be_no_rectangle() -> None:
    """An L: pickups and siders all round, and yet no rectangle."""
    bars = set(product(range(1, 9), range(2, 6))) | set(product(range(5, 9), range(6, 10)))
    check = check_patch(hole_of_bars(bars), [])
    assert not check.wrong and not check.sewable
    assert (check.patch.across, check.patch.down) == (3, 3)


def checked(tmp_path: Path, text: str, *options: str) -> int:
    file = tmp_path / "wing.yaml"
    file.write_text(text)
    return main(["check", str(file), *options])


def test_a_check_of_a_patch_is_told_in_words(tmp_path: Path, capsys) -> None:
    (spec,) = load_text(WING)
    cuts = [cut.bar for cut in plan(spec).cuts]
    count = len(cuts)
    assert checked(tmp_path, f"{WING}cuts: {list(range(1, count + 1))}") == 0
    said = capsys.readouterr().out
    assert "A patch of 1 mesh across and 1 down can be sewn in as it stands." in said
    assert "this comes to as many cuts." in said
    assert checked(tmp_path, f"{WING}cuts: {list(range(1, count))}") == 1
    said = capsys.readouterr().out
    assert "No patch can be sewn in as it stands." in said
    assert "three-bar, round a patch only pickups and siders may be left" in said
    assert "1 cut still to make. The patch would be 1 mesh across and 1 down." in said
    assert f"(row {cuts[-1].row + 1}, bar {cuts[-1].column + 1} of the web as drawn)" in said
    assert checked(tmp_path, f"{WING}cuts: [[[2, 0], [3, 1]]]") == 1
    assert "Outside the rectangle of the plan: 1 cut, row 1 bar 3." in capsys.readouterr().out


def test_a_check_of_a_patch_as_data(tmp_path: Path, capsys) -> None:
    (spec,) = load_text(WING)
    cuts = [cut.bar for cut in plan(spec).cuts]
    assert checked(tmp_path, f"{WING}cuts: {list(range(1, len(cuts)))}", "--json") == 1
    told = json.loads(capsys.readouterr().out)
    assert (told["format"], told["method"]) == ("threebar.check/1", "patch")
    assert told["next"]["bar"] == [list(knot) for knot in cuts[-1].ends]
    assert (told["cuts_to_make"], told["cuts_more"], told["sewable"]) == (1, 0, False)
    assert told["patch"] == told["patch_of_the_plan"]
    hole = as_data(plan(spec))["patch"]["hole"]
    assert hole.items() >= told["patch"]["hole"].items()
    assert {tuple(at) for at in told["three_bars"]} & set(cuts[-1].ends)


@pytest.mark.parametrize(
    "cuts, said",
    [
        ("[[[2, 2], [3, 3]]]", "This bar is broken already."),
        ("[[[90, 90], [91, 91]]]", "There is no such bar near the hole."),
        ("[1, 1]", "a second time; expected each cut once"),
        ("[99]", "expected a number from 1 to"),
    ],
)
def test_cuts_for_a_patch_that_cannot_be_are_named(tmp_path, capsys, cuts: str, said: str) -> None:
    assert checked(tmp_path, f"{WING}cuts: {cuts}") == 2
    assert said in capsys.readouterr().err


def test_the_method_asked_for_says_what_the_cuts_are_for(tmp_path: Path, capsys) -> None:
    """A seam is one ring: cuts good for a patch are none for a mend."""
    (spec,) = load_text(WING)
    count = len(plan(spec).cuts)
    good = f"{WING}cuts: {list(range(1, count + 1))}"
    assert checked(tmp_path, good) == 0
    pairs = [[list(knot) for knot in cut.bar.ends] for cut in plan(spec).cuts]
    assert checked(tmp_path, f"{WING}cuts: {pairs}", "--method", "mend") == 1
    assert "twine" in capsys.readouterr().out
    plain = good.replace("method: patch\n", "")
    assert checked(tmp_path, plain, "--method", "patch", "--hand", "left") == 0


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("seed", range(12))
def test_a_check_of_a_patch_is_drawn(seed: int, hand: str) -> None:
    """Bars still to cut are dashed, what is wrong is numbered; nothing touches."""
    own = planned(random_hole(seed, 7, 7), hand)
    rng = random.Random(seed)
    cuts = [cut.bar for cut in own.cuts if rng.random() < 0.6]
    check = judged(own, cuts)
    drawn = picture_of_check(check, "Wing", ["No patch can be sewn in as it stands."])
    assert touching(drawn, 0.2) == []
    roles = Counter(shape.role for shape in drawn.shapes)
    assert roles["to cut"] == len(check.further)
    assert roles["cut mark"] == len(cuts)
    assert roles["knot number"] == len(check.wrong)
    assert roles["next cut"] == bool(check.further)


def test_the_drawing_says_what_is_said(tmp_path: Path, capsys) -> None:
    out = tmp_path / "wing.svg"
    assert checked(tmp_path, WING, "--picture", str(out)) == 1
    capsys.readouterr()
    said = " ".join(ElementTree.parse(out).getroot().itertext())
    assert "The plan has" in said and "still to cut is dashed" in said
