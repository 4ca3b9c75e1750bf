"""A hole given as a walk round it: the hole is the one that is drawn, or the slip is named."""

from __future__ import annotations

import json
from itertools import product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from cards import SpecError, load_text
from cards.grid import BARS, Bar, Hole, Knot, hole_of_bars
from cards.grid.walk import (
    HEADINGS,
    STEPS,
    Walk,
    WalkError,
    clash_of,
    hole_inside,
    openings,
    walk_round,
)
from tests.walk_holes import FAMILIES, random_hole

random_holes = st.builds(
    lambda seed, largest: random_hole(Random(seed), largest),
    st.integers(0, 2**32),
    st.sampled_from([3, 10, 40, 120]),
)


def walk_spec(walk: str, first: str = "down-right") -> str:
    lines = "".join(f"    {line}\n" for line in walk.splitlines())
    return f"hole:\n  walk: |\n{lines}  first: {first}\n"


def hole_of(walk: str, first: str = "down-right") -> Hole:
    (spec,) = load_text(walk_spec(walk, first))
    return spec.hole


def fault_of(walk: str, first: str = "down-right") -> str:
    with pytest.raises(SpecError) as error:
        load_text(walk_spec(walk, first), source="spec.yaml")
    return str(error.value)


def moved_to_corner(hole: Hole) -> set[tuple[int, int]]:
    return {(row - hole.top, column - hole.left) for row, column in hole.bars()}


# What a count means


def test_one_broken_bar_is_4_3_4_4_3_4() -> None:
    # Walked by hand: the rim of two meshes side by side has six knots, of which four are its
    # corners and two are the ends of the broken bar.
    assert moved_to_corner(hole_of("4 3 4 4 3 4")) == {(0, 0)}


def test_one_lost_knot_is_3_4_four_times() -> None:
    hole = hole_of("3 4 3 4 3 4 3 4")
    assert hole.size == 4
    assert [hole.name_at(knot) for knot in hole.knots()].count("lost") == 1


def test_the_first_step_says_how_the_broken_bar_leans() -> None:
    # 4 3 4 4 3 4 comes after one step to a corner: its long sides lie along steps 2 and 3.
    for first, lean in (("down-right", "\\"), ("up-left", "\\"), ("down-left", "/")):
        (bar,) = hole_of("4 3 4 4 3 4", first).bars()
        assert bar.lean == lean


def test_a_bar_that_hangs_into_the_hole_is_walked_both_ways() -> None:
    # In the middle row the bars at both ends of the tear hang by one knot only.
    rows = r"""
    \/\/\/\/
    /\/..\/\
    \/....\/
    /\/..\/\
    \/\/\/\/
    """
    (spec,) = load_text(f"hole:\n  drawing: |\n{rows.strip(chr(10))}\n")
    walk, _ = walk_round(spec.hole)
    ones = [place for place, count in enumerate(walk.counts, 1) if count == 1]
    assert len(ones) == 2
    for place in ones:
        assert walk.knots[place - 1] == walk.knots[(place + 1) % len(walk.counts)]


# Holes and walks, both ways


@given(random_holes)
def test_a_walk_round_a_hole_gives_the_hole(hole: Hole) -> None:
    walk, (x, y) = walk_round(hole)
    assert hole_inside(walk).moved(x, y) == hole


@given(random_holes)
def test_a_hole_seen_from_behind_is_walked_from_behind(hole: Hole) -> None:
    mirrored = hole.mirrored()
    walk, (x, y) = walk_round(mirrored)
    assert hole_inside(walk).moved(x, y) == mirrored
    # The same knots are passed the other way round, so the counts come in reverse order.
    ahead, _ = walk_round(hole)
    behind = walk.counts[::-1] * 2
    text = "".join(map(str, behind))
    assert "".join(map(str, ahead.counts)) in text


@given(random_holes)
def test_fours_are_twos_and_twice_the_ones_and_four(hole: Hole) -> None:
    counts = walk_round(hole)[0].counts
    assert counts.count(4) == counts.count(2) + 2 * counts.count(1) + 4


@given(random_holes)
def test_every_count_is_the_bars_left_on_the_side_of_the_hole(hole: Hole) -> None:
    # Told from the drawing: from the bar ahead clockwise to the bar the walk came by.
    walk, (x, y) = walk_round(hole)
    clockwise = [(1, 1), (-1, 1), (-1, -1), (1, -1)]
    missing = set(hole.bars())
    for place, count in enumerate(walk.counts, 1):
        kx, ky = walk.knots[place][0] + x, walk.knots[place][1] + y
        came = STEPS[walk.headings[place - 1]]
        goes = clockwise.index(STEPS[walk.headings[place]])
        back = clockwise.index((-came[0], -came[1]))
        between = [(goes + turn) % 4 for turn in range(1, (back - goes) % 4 or 4)]
        lost = [
            Bar(min(ky, ky + clockwise[way][1]), min(kx, kx + clockwise[way][0])) in missing
            for way in between
        ]
        assert all(lost) and count == 4 - len(lost)


@given(random_holes, st.integers(0, 400))
def test_the_walk_may_set_out_from_any_knot(hole: Hole, turn: int) -> None:
    walk, _ = walk_round(hole)
    turn %= len(walk.counts)
    later = Walk(walk.counts[turn:] + walk.counts[:turn], walk.headings[turn])
    assert moved_to_corner(hole_inside(later)) == moved_to_corner(hole)


@given(random_holes, st.randoms(use_true_random=False))
def test_spaces_commas_runs_and_lines_say_the_same(hole: Hole, random: Random) -> None:
    walk, _ = walk_round(hole)
    parts: list[str] = []
    counts = list(walk.counts)
    while counts:
        run = 1
        while run < len(counts) and counts[run] == counts[0] and random.random() < 0.7:
            run += 1
        parts.append(f"{run}x{counts[0]}" if run > 1 or random.random() < 0.1 else str(counts[0]))
        del counts[:run]
    text = "".join(part + random.choice([" ", ", ", ",", "\n", "  \n\n", " , "]) for part in parts)
    assert moved_to_corner(hole_of(text)) == moved_to_corner(hole)
    listed = f"hole: {{walk: [{', '.join(parts)}], first: down-right}}"
    assert load_text(listed)[0].hole == hole_of(text)


def test_a_hole_is_placed_as_in_the_smallest_drawing() -> None:
    for seed in range(50):
        hole = random_hole(Random(seed))
        walk, _ = walk_round(hole)
        (spec,) = load_text(walk_spec(" ".join(map(str, walk.counts))))
        assert spec.hole.top == 1
        assert spec.origin == (spec.hole.left - 1, 0)
        assert spec.hole.left in (1, 2)


@given(random_holes)
def test_broken_bars_are_meshes_and_lost_knots_less_one(hole: Hole) -> None:
    # Euler's polyhedron formula for the rim and all that is inside it; the area inside the walk
    # is by Shapely. A mesh is a diamond two half meshes wide and two deep: area 2.
    walk, _ = walk_round(hole)
    meshes = Polygon(walk.knots[:-1]).area / 2
    lost = sum(hole.name_at(knot) == "lost" for knot in hole.knots())
    assert hole.size == meshes + lost - 1


# Holes that no walk goes round


def test_two_openings_have_no_walk() -> None:
    apart = hole_of_bars([(0, 0), (0, 9)])
    with pytest.raises(WalkError, match="2 separate openings"):
        walk_round(apart)


def test_two_openings_that_share_a_knot_have_no_walk() -> None:
    # Bars opposite at a knot: no mesh lies between them.
    opposite = hole_of_bars([(0, 0), (1, 1)])
    assert opposite.name_at((1, 1)) == "two opposite"
    with pytest.raises(WalkError, match="2 separate openings"):
        walk_round(opposite)


def test_web_that_hangs_on_nothing_is_not_walked_past() -> None:
    knot, ring = Knot(10, 10), []
    for dx, dy in STEPS:
        near = (knot.x + dx, knot.y + dy)
        ring += [
            Bar(near[1] + row, near[0] + column)
            for row, column in BARS.values()
            if Bar(near[1] + row, near[0] + column)
            not in {Bar(knot.y + r, knot.x + c) for r, c in BARS.values()}
        ]
    with pytest.raises(WalkError, match="4 whole bars hang on nothing"):
        walk_round(hole_of_bars(set(ring)))


@given(random_holes, random_holes)
def test_openings_are_told_apart(one: Hole, other: Hole) -> None:
    far = 400 + (one.top & 1) * 0
    both = hole_of_bars([*one.bars(), *((r, c + far) for r, c in other.bars())])
    assert len(openings(one)) == 1
    assert len(openings(both)) == 2


# What is wrong, and where


def test_a_count_that_cannot_be_is_named_with_its_place_and_line() -> None:
    said = fault_of("4 3 4\n4 5 4")
    assert said.startswith('spec.yaml:4: hole.walk: found "5" as count 5, after 3 4 4; ')
    assert "1, 2, 3 or 4" in said


@pytest.mark.parametrize(
    ("walk", "advice"),
    [
        ("4 3 0 4", "at least one"),
        ("4 343 4", "space between two counts"),
        ("4 3x9 4", "five knots"),
        ("4 three 4", "stand apart"),
        ("0x3 4", "five knots"),
        ("4 99999999 3", "stand apart"),
    ],
)
def test_each_wrong_count_says_what_to_do(walk: str, advice: str) -> None:
    assert advice in fault_of(walk)


def test_a_listed_count_is_named_by_its_place_in_the_list() -> None:
    with pytest.raises(SpecError, match=r"hole\.walk\[3\]: found \"7\" as count 3"):
        load_text("hole: {walk: [4, 3, 7], first: down-right}")


def test_a_walk_is_no_longer_than_its_limit() -> None:
    assert "more than 20000 knots" in fault_of("999999x3")
    assert "more than 20000 knots" in fault_of("20000x3 3")


@pytest.mark.parametrize("first", [None, "right", "down_right", "/"])
def test_the_first_step_is_asked_for(first: str | None) -> None:
    spec = f"hole:\n  walk: 4 3 4 4 3 4\n{'' if first is None else f'  first: {first}'}"
    with pytest.raises(SpecError) as error:
        load_text(spec)
    assert all(heading in str(error.value) for heading in HEADINGS)
    if first == "down_right":
        assert 'Did you mean "down-right"?' in str(error.value)


def test_a_whole_mesh_is_no_hole() -> None:
    assert "a whole mesh" in fault_of("4x4")


def test_a_walk_round_good_web_is_told() -> None:
    said = fault_of("2 3 2 2 3 2")
    assert "the hole would lie outside it" in said
    assert "slip" not in said


def test_a_walk_round_twice_is_told() -> None:
    assert "2 times round" in fault_of("4 3 4 4 3 4 4 3 4 4 3 4")


def test_the_gap_is_said_in_meshes() -> None:
    # One of the two knots of 3 is left out: the last step lies half a mesh off.
    said = fault_of("4 3 4 4 4")
    assert "half a mesh" in said
    assert "facing as it began" in said


def test_crossing_walks_are_told_with_both_places() -> None:
    # Down-right, back over itself and round: closes, turns once, but runs through what it lost.
    found = 0
    for seed in range(8000):
        random = Random(seed)
        counts = tuple(random.choice((4, 4, 3, 2)) for _ in range(random.randint(8, 16)))
        walk = Walk(counts)
        if walk.closes and clash_of(walk):
            said = fault_of(" ".join(map(str, counts)))
            assert "step" in said and "closes" in said
            found += 1
    assert found > 5


@settings(max_examples=300)
@given(st.lists(st.sampled_from([4, 4, 4, 3, 3, 2, 1]), min_size=1, max_size=14))
def test_any_walk_that_is_taken_is_the_walk_round_its_hole(counts: list[int]) -> None:
    # No walk gets through that is not exactly the way round the hole it gives.
    walk = Walk(tuple(counts))
    try:
        hole = hole_inside(walk)
    except WalkError:
        return
    again, _ = walk_round(hole)
    turned = again.counts * 2
    assert any(
        turned[at : at + len(counts)] == walk.counts and again.headings[at] == walk.first
        for at in range(len(counts))
    )


def test_every_family_of_random_holes_is_walked_round() -> None:
    for family in FAMILIES:
        for seed in range(30):
            hole = family(Random(seed), 30)
            walk, _ = walk_round(hole)
            assert walk.closes and clash_of(walk) is None


@settings(max_examples=400)
@given(st.text(alphabet="123445x ,\n;*-3a", max_size=60), st.sampled_from(HEADINGS))
def test_whatever_is_written_is_a_hole_or_a_fault(walk: str, first: str) -> None:
    fault = None
    try:
        (spec,) = load_text(f"hole: {{walk: {json.dumps(walk)}, first: {first}}}")
    except SpecError as error:
        fault = str(error)
    assert "hole.walk: found " in fault if fault else spec.hole.size >= 1


@pytest.mark.parametrize("counts", list(product((1, 2, 3, 4), repeat=3)))
def test_the_shortest_walks_are_answered(counts: tuple[int, ...]) -> None:
    for length in (1, 2, 3):
        assert "does not close" in fault_of(" ".join(map(str, counts[:length])))
