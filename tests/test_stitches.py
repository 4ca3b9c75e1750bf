"""Each stitch, walked along the twine, is the knot that its words tell, and one form a hand."""

from __future__ import annotations

import re
from functools import lru_cache
from itertools import combinations, pairwise
from math import dist, hypot, inf

import msgspec
import pytest

from cards.errors import PageError
from cards.picture.drawn_stitches import FILE, Drawings, draw_all, drawn_stage
from cards.picture.shapes import Area, Disc, Line, Text, mirrored
from cards.picture.stitches import (
    BOX,
    PENS,
    TWINE,
    WEB,
    stage_shapes,
    stages,
    stitch_picture,
    strand_shapes,
)
from cards.picture.strands import Strand, Tangle, drawn
from cards.sew.sewing import needle_side
from cards.sheet.say import stitch_sentences
from cards.sheet.stitch_cards import (
    eight_knots,
    stitch_cards,
    stitch_cards_pdf,
)
from cards.shelf import shelf
from cards.words import words
from tests import print_craft as craft
from tests.clearance import ink, text_box, touching
from tests.print_craft import Print
from tests.tangles import invariant, jones_of_sides, mirror

STITCHES = (
    *("start", "start on a pickup", "start below", "pickup above", "pickup below"),
    *("sider", "sider up", "end", "end above"),
)
SINGLE = ("pickup above", "pickup below", "sider", "sider up")
CROSSED = ("pickup below", "sider up")  # their ends cross where they lead away
WAYS = ("right", "left")
EVERY = [(stitch, going) for stitch in STITCHES for going in WAYS]
OTHER = {"right": "left", "left": "right"}

# The sheet bend of a pickup above as common practice tells it (no source), written down by hand
# as a code and not read off any drawing. Along the twine: 1 under the point; 6 over what will be
# its own last part; 2 over the right bar; 3 and 4 behind the right and the left bar; 5 over the
# left bar; 6 under its own first part; 7 over the point. Along the two bars, from the upper left
# end down to the point and up again. A sign is plus where the strand on top has to be turned
# counterclockwise, by less than half a turn, to lie as the one beneath.
TOLD = {
    "twine": [
        *((1, "under"), (6, "over"), (2, "over"), (3, "under")),
        *((4, "under"), (5, "over"), (6, "under"), (7, "over")),
    ],
    "web": [(4, "over"), (5, "under"), (1, "over"), (7, "under"), (2, "under"), (3, "over")],
}
TOLD_SIGNS = {1: +1, 2: +1, 3: +1, 4: -1, 5: -1, 6: -1, 7: +1}

# The double sheet bend, told the same way: it goes behind both bars and under its own first part
# twice. 1 to 4 as before; 5 over the left bar, 6 under the first part, 7 over the right bar,
# 8 and 9 behind right and left, 10 over left, 11 under the first part, 12 over the point. The
# second turn lies outside the first: behind the bars it is higher, in front of them lower.
TOLD_DOUBLE = {
    "twine": [
        *((1, "under"), (11, "over"), (6, "over"), (2, "over"), (3, "under"), (4, "under")),
        *((5, "over"), (6, "under"), (7, "over"), (8, "under"), (9, "under"), (10, "over")),
        *((11, "under"), (12, "over")),
    ],
    "web": [
        *((9, "over"), (4, "over"), (5, "under"), (10, "under"), (1, "over"), (12, "under")),
        *((7, "under"), (2, "under"), (3, "over"), (8, "over")),
    ],
}
TOLD_DOUBLE_SIGNS = {
    **{1: +1, 2: +1, 3: +1, 4: -1, 5: -1, 6: -1},
    **{7: +1, 8: +1, 9: -1, 10: -1, 11: -1, 12: +1},
}

# D. Rolfsen's table: Jones polynomial of the right-handed trefoil and of the knot 6_2, as it
# stands in the tables of knots (from memory).
TREFOIL = {1: 1, 3: 1, 4: -1}
KNOT_6_2 = {1: 1, 0: -1, -1: 2, -2: -2, -3: 2, -4: -2, -5: 1}


def finished(stitch, going) -> Tangle:
    return stages(stitch, going)[-1].tangle


def code_of(tangle: Tangle):
    """The crossings of web and twine as a code with signs; a third bar is no part of the knot."""
    code, signs = {}, {}
    kept = [n for n, strand in enumerate(tangle.strands) if strand.name != "bar"]
    crossings = [c for c in tangle.crossings if c.over in kept and c.under in kept]
    for n in kept:
        visits = sorted(
            (along, k, way) for k, c in enumerate(crossings) for along, way in c.along(n)
        )
        code[tangle.strands[n].name] = [(k, way) for _, k, way in visits]
    for k, c in enumerate(crossings):
        ox, oy = tangle.strands[c.over].way(c.over_along)
        ux, uy = tangle.strands[c.under].way(c.under_along)
        signs[k] = -1 if ox * uy - oy * ux > 0 else +1  # y runs downwards
    return code, signs


def without(code, signs, gone):
    return (
        {strand: [v for v in visits if v[0] not in gone] for strand, visits in code.items()},
        {n: sign for n, sign in signs.items() if n not in gone},
    )


def knot_of(stitch, going):
    """The finished knot's code, without the crossing of two ends that lead away."""
    code, signs = code_of(finished(stitch, going))
    if stitch in CROSSED:
        first, last = code["twine"][0][0], code["twine"][-1][0]
        assert first == last
        return without(code, signs, {first})
    return code, signs


@lru_cache(maxsize=4)
def told(double: bool):
    return invariant(*((TOLD_DOUBLE, TOLD_DOUBLE_SIGNS) if double else (TOLD, TOLD_SIGNS)))


# What is told


def test_the_bracket_knows_the_trefoil():
    visits = [(1, "over"), (2, "under"), (3, "over"), (1, "under"), (2, "over"), (3, "under")]
    (polynomial,) = invariant({"k": visits}, {1: 1, 2: 1, 3: 1}, closed=("k",)).values()
    expected: dict[int, int] = {}
    for t, c in TREFOIL.items():  # t = A^-4, and a circle for the knot itself
        for e in (2, -2):
            expected[e - 4 * t] = expected.get(e - 4 * t, 0) - c
    assert polynomial == {e: c for e, c in sorted(expected.items()) if c}


def test_the_sheet_bend_as_told_joined_at_its_sides_is_a_knot_of_the_table():
    assert jones_of_sides(TOLD, TOLD_SIGNS) == dict(sorted(KNOT_6_2.items(), reverse=True))


def test_a_sheet_bend_has_two_mirror_forms_and_is_not_its_double():
    single, double = told(False), told(True)
    assert single != mirror(single)
    assert double != mirror(double)
    assert single != double


# What is drawn


@pytest.mark.parametrize(("stitch", "going"), EVERY)
def test_every_finished_knot_is_the_sheet_bend_as_told_in_one_form(stitch, going):
    assert invariant(*knot_of(stitch, going)) == told(stitch not in SINGLE)


@pytest.mark.parametrize("stitch", SINGLE)
@pytest.mark.parametrize("gone", range(7))
def test_a_crossing_drawn_wrong_is_another_knot(stitch, gone):
    code, signs = knot_of(stitch, "right")
    turned = sorted(signs)[gone]
    flip = {"over": "under", "under": "over"}
    wrong = {
        strand: [(n, flip[way] if n == turned else way) for n, way in visits]
        for strand, visits in code.items()
    }
    signs = {n: -sign if n == turned else sign for n, sign in signs.items()}
    assert invariant(wrong, signs) != told(False)


@pytest.mark.parametrize("going", WAYS)
@pytest.mark.parametrize("stitch", CROSSED)
def test_ends_that_cross_do_not_undo_the_knot(stitch, going):
    code, signs = code_of(finished(stitch, going))
    outer = code["twine"][0][0]
    inner = next(n for n, _ in code["twine"][1:] if [m for m, _ in code["twine"]].count(n) == 2)
    # a crossing of the other sign would take a turn out of the knot instead of adding one
    assert outer != inner
    assert signs[outer] == signs[inner]


@pytest.mark.parametrize(("stitch", "going"), EVERY)
def test_all_own_crossings_of_a_hand_have_one_sign(stitch, going):
    code, signs = code_of(finished(stitch, going))
    twine = [n for n, _ in code["twine"]]
    own = {signs[n] for n in twine if twine.count(n) == 2}
    assert own == {-1}


@pytest.mark.parametrize(("stitch", "going"), EVERY)
def test_the_needle_first_comes_through_from_its_side(stitch, going):
    first = next(
        way
        for way, other, _ in finished(stitch, going).walk()
        if finished(stitch, going).strands[other].name == "web"
    )
    side = needle_side(going, "right")
    assert first == {"from behind": "under", "from in front": "over"}[side]


@pytest.mark.parametrize(("stitch", "going"), EVERY)
def test_each_stage_is_a_part_of_the_next(stitch, going):
    walks = [stage.tangle.walk() for stage in stages(stitch, going)]
    drawn_stages = [stage.tangle for stage in stages(stitch, going)]
    for tangle, walk, whole in zip(drawn_stages[:2], walks, walks[1:]):
        own = tangle.tied
        # a crossing with itself is there from the second time on
        met = [
            (way, other, along)
            for way, other, along in whole
            if other != own or along < tangle.strands[own].length
        ]
        assert walk == [v for v in met if v in walk] == met[: len(walk)]
        assert len(walk) < len(whole)
    loose, tight = walks[2:]
    names = [[(way, other) for way, other, _ in walk] for walk in (loose, tight)]
    assert names[0] == names[1]
    assert sorted_web(drawn_stages[2]) == sorted_web(drawn_stages[3])


def sorted_web(tangle):
    """The crossings along the web, numbered as the twine comes to them."""
    return [(tangle.crossings.index(c)) for _, c in web_crossings(tangle)]


def web_crossings(tangle):
    return sorted(
        (along, c) for c in tangle.crossings for along, _ in c.along(0) if 0 in (c.over, c.under)
    )


# Drawing and words


def places(tangle: Tangle, stitch: str, hand: str):
    """Walk the twine and say where it passes what: ("over", "right bar"), ("under", "point")."""
    web = [c for _, c in web_crossings(tangle)]
    middle = {len(web) // 2 - 1, len(web) // 2}
    point_x, point_y = tangle.strands[0].at(tangle.strands[0].length / 2)
    passed = []
    for way, other, along in tangle.walk():
        if tangle.strands[other].name == "bar":
            continue
        if other == tangle.tied:
            passed.append((way, "own", along))
            continue
        n = next(
            n
            for n, c in enumerate(web)
            if abs((c.over_along if c.over == 0 else c.under_along) - along) < 1e-9
        )
        x, y = tangle.strands[0].at(along)
        if n in middle:
            passed.append((way, "point", along))
        elif stitch in ("sider", "sider up"):
            passed.append((way, "upper" if y < point_y else "lower", along))
        else:
            left = x < point_x if hand == "right" else x > point_x
            passed.append((way, "left" if left else "right", along))
    # its own crossing is told when it is made, the second time it comes there
    told_passes, seen = [], []
    own_crossings = [c for c in tangle.crossings if c.over == c.under == tangle.tied]
    for way, what, along in passed:
        if what == "own":
            crossing = next(c for c in own_crossings if along in (c.over_along, c.under_along))
            if crossing not in seen:
                seen.append(crossing)
                continue
        told_passes.append((way, what))
    return told_passes


READ = [
    (r"[Pp]ass behind the (point|knot)\.", []),
    (r"Cross the point in front\.", []),
    (r"Go past the knot, (in front of|behind) its third bar\.", []),
    (r"from behind through the mesh", [("under", "point")]),
    (r"from in front through the mesh", [("over", "point")]),
    (r"Cross the (left|right|upper|lower) bar", [("over", None)]),
    (r"Pass behind the (left|right|upper|lower) bar", [("under", None)]),
    (r"Pass behind both", ["under both"]),
    (r"Cross both", ["over both"]),
    (r"under the first part", [("under", "own")]),
    (r"(?<!all )over the first part", [("over", "own")]),
    (r"Come out in front", [("over", "point")]),
    (r"Come out behind", [("under", "point")]),
    (r", across the first part", [("over", "own")]),
    (r", behind the first part", [("under", "own")]),
]
ACROSS = {"left": "right", "right": "left", "upper": "lower", "lower": "upper"}


def read(sentences: list[str], patterns=READ, called=str):
    """What the sentences say the needle passes, in order; `called` names a side in English."""
    text = " ".join(sentences)
    found = sorted(
        (match.start(), match, does)
        for pattern, does in patterns
        for match in re.finditer(pattern, text)
    )
    passed = []
    for _, match, does in found:
        for deed in does:
            if isinstance(deed, str):
                way, near = deed.split()[0], passed[-1][1]
                passed += [(way, near), (way, ACROSS[near])]
            else:
                passed.append((deed[0], deed[1] or called(match.group(1))))
    return passed


@pytest.mark.parametrize("hand", WAYS)
@pytest.mark.parametrize(("stitch", "going"), EVERY)
def test_the_sentences_tell_the_drawing_pass_by_pass(stitch, going, hand):
    as_right = going if hand == "right" else OTHER[going]
    sentences = stitch_sentences(stitch, going, hand, words())
    assert read(sentences) == places(finished(stitch, as_right), stitch, hand)


@pytest.mark.parametrize("stitch", STITCHES)
def test_sentences_of_the_other_way_tell_another_drawing(stitch):
    other = stitch_sentences(stitch, "left", "right", words())
    assert read(other) != places(finished(stitch, "right"), stitch, "right")


@pytest.mark.parametrize("hand", WAYS)
@pytest.mark.parametrize(("stitch", "going"), EVERY)
def test_each_stage_shows_what_has_been_told_so_far(stitch, going, hand):
    as_right = going if hand == "right" else OTHER[going]
    sentences = stitch_sentences(stitch, going, hand, words())
    whole = places(finished(stitch, as_right), stitch, hand)
    for n, stage in enumerate(stages(stitch, as_right)[:2], 1):
        so_far = read(sentences[:n])
        own = sum(what == "own" for _, what in so_far)
        on_web = len(so_far) - own
        walk = stage.tangle.walk()
        met = [stage.tangle.strands[other].name for _, other, _ in walk]
        assert met.count("web") == on_web
        assert met.count("twine") == 2 * own
        assert so_far == whole[: len(so_far)]


def test_the_left_hand_has_the_same_sentences_with_left_for_right():
    for stitch, going in eight_knots("right"):
        right = stitch_sentences(stitch, going, "right", words())
        left = stitch_sentences(stitch, OTHER[going], "left", words())
        swapped = [re.sub(r"\b(left|right)\b", lambda m: OTHER[m.group()], text) for text in right]
        assert left == swapped


@pytest.mark.parametrize("hand", WAYS)
@pytest.mark.parametrize(("stitch", "going"), EVERY)
def test_a_second_turn_is_told_on_the_side_of_the_first_where_it_is_drawn(stitch, going, hand):
    """Where the twine passes both bars in one go: higher up at the second time, or lower."""
    as_right = going if hand == "right" else OTHER[going]
    stage = stages(stitch, as_right)[2]
    told = stitch_sentences(stitch, going, hand, words())[2]
    if not stage.double:
        assert "higher" not in told and "lower" not in told
        return
    strands = stage.tangle.strands
    met = [
        (way, strands[other].name, strands[other].at(along)[1])
        for way, other, along in stage.tangle.walk()
    ]
    turns = [(a[2] + b[2]) / 2 for a, b in pairwise(met) if a[:2] == b[:2] and a[1] == "web"]
    first, second = turns  # y goes downwards
    assert (second < first - 1.0, second > first + 1.0) == (", higher." in told, ", lower." in told)
    assert (", higher." in told) != (", lower." in told)


def test_a_bar_is_measured_before_it_is_fixed():
    """A double knot is not moved once it is tied: common practice, no source."""
    for hand in WAYS:
        for going in WAYS:
            for stitch in ("end", "end above"):
                first, *_, last = stitch_sentences(stitch, going, hand, words())
                assert first.endswith("Measure.") and last.startswith("Measure again. Pull")
            above = stitch_sentences("pickup above", going, hand, words())[-1]
            below = stitch_sentences("pickup below", going, hand, words())[-1]
            assert above.startswith("Measure the bar or loop. Pull down")
            assert below.startswith("Measure the bar. Pull up") and below.endswith(
                "your face clear."
            )
            assert "Measure." in stitch_sentences("sider", going, hand, words())[1]


@pytest.mark.parametrize("stitch", ["sider", "sider up"])
def test_a_sider_is_told_in_two_moves(stitch):
    for going in WAYS:
        sentences = stitch_sentences(stitch, going, "right", words())
        assert sentences[0].startswith("First move, a hitch.")
        assert "Pinch" in sentences[1] and "three-bar" in sentences[1]
        assert sentences[2].startswith("Second move.") and "pickup" in sentences[2]


@pytest.mark.parametrize("going", WAYS)
@pytest.mark.parametrize(("stitch", "from_above"), [("sider", True), ("sider up", False)])
def test_a_sider_leads_down_or_up_past_its_point(stitch, from_above, going):
    """Its bars lie on the side of its way; the twine comes from above or from below."""
    tangle = finished(stitch, going)
    web, twine = tangle.strands[0], tangle.strands[-1]
    (point_x, _), (bar_x, _) = web.at(web.length / 2), web.at(0.0)
    assert (bar_x > point_x) == (going == "right")
    (_, begins), (_, leads) = twine.at(0.0), twine.at(twine.length)
    assert (begins < leads) == from_above


# What the lines on paper show


@pytest.mark.parametrize(("stitch", "going"), EVERY)
@pytest.mark.parametrize("stage", (1, 2, 3, 4))
def test_the_left_hand_is_the_exact_mirror(stitch, going, stage):
    right = stage_shapes(stitch, going, "right", stage)
    left = stage_shapes(stitch, OTHER[going], "left", stage)
    assert list(mirrored(right, BOX / 2)) == left


def outlines(shapes, role):
    return [s for s in shapes if isinstance(s, Line) and s.role == role]


@pytest.mark.parametrize(("stitch", "going"), EVERY)
@pytest.mark.parametrize("stage", (1, 2, 3, 4))
def test_over_strands_are_whole_and_under_strands_broken(stitch, going, stage):
    shown = stages(stitch, going)[stage - 1]
    tangle, (web, twine) = shown.tangle, PENS[shown.double]
    pens = [web] * (len(tangle.strands) - 1) + [twine]
    shapes = drawn(tangle, pens)
    for c in tangle.crossings:
        over, under = tangle.strands[c.over], tangle.strands[c.under]
        wide = pens[c.under].width / 2
        for side in (-1, 1):
            for beside in (-wide, 0.0, wide):
                assert seen_beside(
                    shapes, over, c.over_along + beside, side * pens[c.over].width / 2
                )
            assert not seen_beside(shapes, under, c.under_along, side * pens[c.under].width / 2)


def test_a_strand_drawn_on_the_wrong_side_is_found():
    tangle = finished("pickup above", "right")
    flip = {"over": "under", "under": "over"}
    wrong = Tangle(tangle.strands, tuple(flip[way] for way in tangle.passes))
    shapes = drawn(wrong, [WEB, TWINE])
    c = tangle.crossings[0]
    over = tangle.strands[c.over]
    assert not seen_beside(shapes, over, c.over_along, WEB.width / 2)


def seen_beside(shapes, strand: Strand, along: float, off: float) -> bool:
    """Whether an outline of a strand is drawn beside one of its points."""
    (x, y), (ux, uy) = strand.at(along), strand.way(along)
    beside = (x - off * uy, y + off * ux)
    lines = [s for s in outlines(shapes, strand.name) if s.of == f"outline {1 if off > 0 else -1}"]
    return any(min(dist(beside, p) for p in line.points) < 0.3 for line in lines)


# The drawings are kept in a file


def test_the_file_of_drawings_is_what_the_strands_draw():
    """Within a hundredth of a millimetre, in which the file counts."""
    kept = msgspec.json.decode((shelf("templates") / FILE).read_bytes(), type=Drawings)
    anew = msgspec.json.decode(draw_all(), type=Drawings)
    assert apart(kept, anew) <= 1


def apart(one: Drawings, other: Drawings) -> float:
    """The largest difference of any coordinate or weight; infinite where a stroke differs."""
    if list(one) != list(other):
        return inf
    most = 0
    for name, drawings in one.items():
        for a, b in zip(drawings, other[name], strict=True):
            for s, t in zip(a.strokes, b.strokes, strict=True):
                if (s.role, s.of, s.filled, len(s.at)) != (t.role, t.of, t.filled, len(t.at)):
                    return inf
                values = zip((s.weight, *s.at), (t.weight, *t.at))
                most = max(most, *(abs(p - q) for p, q in values))
            for r, q in zip(a.rings, b.rings, strict=True):
                pairs = zip(msgspec.structs.astuple(r)[1:], msgspec.structs.astuple(q)[1:])
                most = max(most, *(abs(x - y) for x, y in pairs))
    return most


def test_a_file_of_another_drawing_is_found():
    kept = msgspec.json.decode(draw_all(), type=Drawings)
    swapped = {**kept, "start, left": kept["start, right"]}
    assert apart(kept, swapped) > 1


@pytest.mark.parametrize(("stitch", "going"), EVERY)
def test_fewer_points_tell_the_same_line(stitch, going):
    from shapely.geometry import LineString

    for stage in (1, 2, 3, 4):
        drawn_anew = [s for s in strand_shapes(stitch, going, stage) if isinstance(s, Line)]
        kept = [s for s in drawn_stage(stitch, going, stage) if isinstance(s, Line)]
        for a, b in zip(drawn_anew, kept, strict=True):
            assert LineString(a.points).hausdorff_distance(LineString(b.points)) < 0.03


# Print craft

HANDS = ("right", "left")
EVERY_STAGE = [(s, g, n) for s, g in EVERY for n in (1, 2, 3, 4)]
NEAREST = 0.3  # mm of white between the ink of two outlines


def inked(shapes):
    """The ink of each outline and arrow, old knots cut out as they cover what lies beneath."""
    from shapely.geometry import LineString, Point, Polygon

    covered = [Point(s.x, s.y).buffer(s.radius + 1.6) for s in shapes if isinstance(s, Disc)]
    ink = []
    for shape in shapes:
        if isinstance(shape, Line) and shape.role in ("web", "bar", "twine"):
            path = LineString(shape.points)
            assert path.is_simple, f"an outline of {shape.role} runs into itself"
            trace = path.buffer(shape.weight / 2, cap_style="flat")
        elif isinstance(shape, Area):
            trace = Polygon(shape.points)
        else:
            continue
        for disc in covered:
            trace = trace.difference(disc)
        ink.append((shape, trace))
    return ink


def too_near(shapes):
    """Pairs of strokes that come nearer to each other than two strands may."""
    found = []
    for (a, first), (b, second) in combinations(inked(shapes), 2):
        arrows = [s for s in (a, b) if isinstance(s, Area)]
        if arrows:
            (arrow,) = arrows
            line = b if a is arrow else a
            base = (
                (arrow.points[0][0] + arrow.points[2][0]) / 2,
                (arrow.points[0][1] + arrow.points[2][1]) / 2,
            )
            if line.role == "twine" and dist(line.points[-1], base) < TWINE.width:
                continue  # the two outlines that run into the arrow
        if first.distance(second) < NEAREST:
            found.append((a.role, b.role, first.distance(second), first.centroid.coords[0]))
    return found


@pytest.mark.parametrize(("stitch", "going", "stage"), EVERY_STAGE)
def test_no_strand_touches_another(stitch, going, stage):
    assert too_near(stage_shapes(stitch, going, "right", stage)) == []


def test_a_strand_laid_on_another_is_found():
    shapes = stage_shapes("pickup above", "right", "right", 4)
    line = next(s for s in shapes if isinstance(s, Line) and s.role == "web")
    moved_line = Line(tuple((x + 0.5, y) for x, y in line.points), line.weight, "web")
    assert too_near([*shapes, moved_line])


@pytest.mark.parametrize(("stitch", "going", "stage"), EVERY_STAGE)
def test_lay_marks_stay_inside_their_rope(stitch, going, stage):
    from shapely.geometry import LineString
    from shapely.ops import unary_union

    shapes = stage_shapes(stitch, going, "right", stage)
    strokes = unary_union([trace for _, trace in inked(shapes)])
    for mark in outlines(shapes, "lay"):
        assert strokes.distance(LineString(mark.points).buffer(mark.weight / 2)) > 0.1


@pytest.mark.parametrize(("stitch", "going", "stage"), EVERY_STAGE)
def test_a_drawing_stays_in_its_box_and_is_black_and_white(stitch, going, stage):
    for shape in stage_shapes(stitch, going, "right", stage):
        points = [(shape.x, shape.y)] if isinstance(shape, Disc) else shape.points
        for x, y in points:
            assert -0.5 <= x <= BOX + 0.5 and -0.5 <= y <= BOX + 0.5
        if isinstance(shape, Line):
            assert shape.weight > 0.29 and shape.paint == "black"
        if isinstance(shape, Area):
            assert area_of(shape.points) < 12  # mm2: no large black


def area_of(points):
    turns = zip(points, [*points[1:], points[0]])
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in turns)) / 2


def test_the_twine_is_told_from_the_web_by_weight_and_lay():
    assert TWINE.outline >= 1.4 * WEB.outline
    assert TWINE.lay > 0 and WEB.lay == 0


@pytest.mark.parametrize("hand", HANDS)
def test_eight_cards_of_a6_that_keep_their_sizes(hand):
    cards = stitch_cards(hand)
    assert len({card.title for card in cards}) == len(cards) == 8
    for card in cards:
        assert (card.width, card.height) == (105, 148)  # ISO 216
        assert touching(card, 0.3) == []
        for shape in card.shapes:
            if isinstance(shape, Text):
                points = 72 / 25.4 * shape.size
                assert points >= (9 if shape.role == "step" else 8)
                x0, y0, x1, y1 = text_box(shape).bounds
            else:
                x0, y0, x1, y1 = ink(shape).bounds
            assert x0 >= 9.99 and y0 >= 9.99 and x1 <= 95.01 and y1 <= 138.01
            if isinstance(shape, Line) and shape.role in ("web", "twine"):
                assert shape.weight >= 0.3
        steps = {s.of for s in card.shapes if isinstance(s, Text) and s.role == "step"}
        assert steps == {f"stage {n}" for n in (1, 2, 3, 4)}


@pytest.mark.parametrize("hand", HANDS)
def test_a_stitch_card_has_what_stands_on_every_page(hand):
    pages = stitch_cards(hand)
    printed = Print(stitch_cards_pdf(hand), pages)
    numbers = {said.split()[1] for said in map(first_text, pages)}
    assert len(numbers) == 8
    assert not numbers & {said.split()[1] for said in map(first_text, stitch_cards(OTHER[hand]))}
    assert craft.unsaid(printed, ["Card", "Top of the net", "Rows of twine run sideways"]) == []
    assert (
        craft.unsaid(printed, [f"{hand.capitalize()} hand", "Knife away from body and other hand"])
        == []
    )
    for measure in (
        craft.check_line_faults,
        craft.page_counts,
        craft.eyelet_faults,
        craft.full_margins,
        craft.small_type,
        craft.thin_lines,
        craft.greys,
    ):
        assert measure(printed) == []


def first_text(page):
    """The text at the left upper corner of a page: its card number."""
    texts = [shape for shape in page.shapes if isinstance(shape, Text)]
    return min(texts, key=lambda text: (round(text.y), text.x)).text


@pytest.mark.parametrize("hand", HANDS)
def test_the_pages_of_the_pdf_say_what_the_cards_say(hand, tmp_path):
    import pdfplumber

    path = tmp_path / "cards.pdf"
    path.write_bytes(stitch_cards_pdf(hand))
    with pdfplumber.open(path) as pdf:
        assert len(pdf.pages) == 8
        for page, (stitch, going) in zip(pdf.pages, eight_knots(hand)):
            assert float(page.width) == pytest.approx(105 * 72 / 25.4, abs=0.01)
            said = set(" ".join(page.extract_text().split()).split(" "))
            for sentence in stitch_sentences(stitch, going, hand, words()):
                assert set(sentence.split()) <= said


def test_the_same_hand_gives_the_same_bytes():
    assert stitch_cards_pdf("right") == stitch_cards_pdf("right")


def test_a_picture_for_another_card_has_all_stages_side_by_side():
    picture = stitch_picture("sider", "left", "right", 128)
    numbers = [s.text for s in picture.shapes if isinstance(s, Text)]
    assert numbers == ["1", "2", "3", "4"]
    assert touching(picture, 0.3) == []
    weights = [s.weight for s in picture.shapes if isinstance(s, Line)]
    assert min(weights) >= 0.2 - 1e-9
    alone = stitch_picture("start", "right", "left", 30, shown=(4,))
    assert alone.height == 30 and not any(isinstance(s, Text) for s in alone.shapes)


def test_a_drawing_too_small_to_print_is_refused():
    with pytest.raises(PageError, match="at least"):
        stitch_picture("start", "right", "right", 60)


# The command


def test_the_command_writes_the_cards_of_a_hand(tmp_path, capsys):
    from cards.command import main

    assert main(["stitches", "--out", str(tmp_path), "--hand", "left"]) == 0
    (path,) = tmp_path.iterdir()
    assert capsys.readouterr().out.strip() == str(path)
    assert path.name == "stitches-left-hand.pdf"
    assert path.read_bytes() == stitch_cards_pdf("left")


def test_the_command_leaves_an_old_file_when_it_cannot_write(tmp_path, capsys):
    from cards.command import main

    blocked = tmp_path / "file"
    blocked.write_text("old")
    assert main(["stitches", "--out", str(blocked)]) == 1
    assert blocked.read_text() == "old"
    assert "Traceback" not in capsys.readouterr().err


def test_the_curve_goes_through_its_points():
    points = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    strand = Strand("twine", points)
    for n, point in enumerate(points):
        assert dist(strand.at(strand.along_of(n)), point) < 0.1
    chords = [dist(a, b) for a, b in pairwise(strand.line)]
    assert max(chords) < 0.3
    assert hypot(*strand.way(3.0)) == pytest.approx(1)


def test_passes_that_do_not_fit_the_curves_are_refused():
    cross = (Strand("web", ((0.0, -5.0), (0.0, 5.0))), Strand("twine", ((-5.0, 0.0), (5.0, 0.0))))
    with pytest.raises(ValueError, match="expected 2"):
        _ = Tangle(cross, ("over", "under")).crossings
    (crossing,) = Tangle(cross, ("over",)).crossings
    assert (crossing.over, crossing.under) == (1, 0)
