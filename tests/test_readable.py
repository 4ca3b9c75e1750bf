"""A reader finds what a sign means, where a list ends and which bar a number is of.

Source: what lofts expect of a card (common practice, no source).
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import networkx as nx
import pytest
from holes import random_hole

from cards import load, load_text, plan
from cards.grid import Bar, Hole, hole_of_bars
from cards.job import Plan
from cards.picture import Line, Picture, Text
from cards.picture.room import text_room
from cards.sheet import compose, patch_say, say
from cards.trim import Cut, order_cuts, trim
from cards.trim.cuts import falls_with
from cards.units import no_less, spans
from cards.words import words
from tests import print_craft as craft

SPECS = Path(__file__).parent.parent / "specs"


@lru_cache(maxsize=32)
def planned(name: str) -> Plan:
    return plan(load(SPECS / f"{name}.yaml")[0])


@lru_cache(maxsize=32)
def pages(name: str, edition: str = "loft") -> list[Picture]:
    return compose(planned(name), edition)


def texts(page: Picture, role: str = "") -> list[str]:
    return [
        shape.text
        for shape in page.shapes
        if isinstance(shape, Text) and (not role or shape.role == role)
    ]


@pytest.mark.parametrize("edition", ["loft", "deck"])
def test_each_number_is_plainly_by_its_cut_in_a_large_hole(edition: str) -> None:
    assert craft.stray_cut_numbers(pages("large", edition)) == []


def test_each_refill_leads_to_its_knot_in_a_large_hole() -> None:
    refills = planned("large").reckoning.refills
    assert len(refills) > 20
    assert craft.stray_refills(pages("large"), refills) == []


@pytest.mark.parametrize("name", ["ragged-round", "uneven-wide", "patch-torn-out"])
def test_the_number_of_a_cut_stands_to_the_right_of_its_mark(name: str) -> None:
    for page in pages(name):
        marks = {
            shape.of: shape.points
            for shape in page.shapes
            if isinstance(shape, Line) and shape.role == "cut mark"
        }
        for shape in page.shapes:
            if isinstance(shape, Text) and shape.role == "cut number":
                (left, _), (right, _) = marks[shape.of]
                assert text_room(shape)[0] > (left + right) / 2, shape.text


@pytest.mark.parametrize("name", ["awkward-notch", "awkward-two-legs"])
def test_the_signs_of_the_sewing_are_told_on_its_own_page(name: str) -> None:
    (drawn,) = (
        page
        for page in pages(name)
        if "knot number" in {s.role for s in page.shapes if isinstance(s, Text)}
        and texts(page, "row number")
    )
    assert "sider" in texts(drawn, "legend")


def test_a_legend_has_only_signs_that_occur() -> None:
    told = [text for page in pages("one-bar") for text in texts(page, "legend")]
    assert "start" in told
    assert not {"pickup above", "pickup below", "sider"} & set(told)


@pytest.mark.parametrize("name", ["awkward-comb", "awkward-island", "ragged-round"])
def test_the_check_and_the_cautions_stay_in_one_piece(name: str) -> None:
    for first, last in (("Check at the end", "Trim the loose"), ("Safety", "This card is a work")):
        begins = [n for n, page in enumerate(pages(name)) if first in texts(page, "heading")]
        ends = [
            n
            for n, page in enumerate(pages(name))
            if any(text.startswith(last) for text in texts(page))
        ]
        assert begins == ends
        assert len(begins) == 1


@pytest.mark.parametrize("name", ["awkward-flap", "awkward-two-tears", "patch-torn-out"])
def test_the_check_counts_each_place_between_knots_that_can_be_found(name: str) -> None:
    own = planned(name)
    at = {knot.n: knot.at for twine in own.sewing.twines for knot in twine.knots}
    counted = re.findall(
        r"(\S+) across, from knot (\d+) to knot (\d+), and (\S+) down, "
        r"from the height of knot (\d+) to that of knot (\d+)",
        words().say("check.one", **say.end_check(own, words())),
    )
    assert len(counted) == 1 + (name == "awkward-two-tears")
    sewn = {
        frozenset(pair) for twine in own.sewing.twines for pair in itertools.pairwise(twine.path)
    }

    def is_sewn(row: int, column: int) -> bool:
        return frozenset(tuple(end) for end in Bar(row, column).ends) in sewn

    for across, *knots in counted:
        left, right, top, bottom = (at[int(n)] for n in (*knots[:2], *knots[3:]))
        assert right.x - left.x == 2 * float(across)
        assert bottom.y - top.y == 2 * float(knots[2])
        # From rim to rim: sewn all the way in one row, and no further on either side.
        rows = [
            row
            for row in {left.y - 1, left.y} & {right.y - 1, right.y}
            if all(is_sewn(row, column) for column in range(left.x, right.x))
        ]
        assert len(rows) == 1
        assert not is_sewn(rows[0], left.x - 1)
        assert not is_sewn(rows[0], right.x)


def test_of_many_places_the_check_names_the_largest_and_asks_for_the_rest() -> None:
    holes = ", ".join(f"[[{x}, 0], [{x + 1}, 1]]" for x in range(0, 200, 40))
    (spec,) = load_text(f"hole: {{bars: [{holes}]}}")
    said = words().say("check.one", **say.end_check(plan(spec), words()))
    assert said.count(" across, from knot") == 3
    assert "Count the other places in the same way." in said


@pytest.mark.parametrize("name", ["awkward-flap", "ragged-round"])
def test_each_knot_is_said_to_make_a_mesh_only_where_it_does(name: str) -> None:
    own = planned(name)
    said = words().say("check.two", **say.end_check(own, words()))
    assert ("makes one mesh" in said) == (own.sewing.knots == own.meshes)


def test_the_rows_of_a_twine_stand_on_its_own_side_when_the_other_has_ended() -> None:
    page = pages("awkward-three-legs")[10]
    sides = {
        shape.text: "left" if shape.x < page.width / 2 else "right"
        for shape in page.shapes
        if shape.role == "row number" and isinstance(shape, Text)
    }
    assert {"B8", "C9", "C10"} <= set(sides)
    assert all(side == ("left" if name[0] == "B" else "right") for name, side in sides.items())


def test_the_deck_names_the_row_of_a_refill() -> None:
    rows = dict(say.materials(planned("awkward-notch"), words(), brief=True))
    assert rows["Refill"] == "at the end of row B8"


@pytest.mark.parametrize(
    ("name", "count"), [("awkward-comb", 2), ("awkward-flap", 1), ("uneven-wide", 2)]
)
def test_the_table_of_a_worksheet_takes_no_page_of_its_own(name: str, count: int) -> None:
    assert len(pages(name, "class")) == count


def unexplained(page: Picture) -> set[str]:
    """The signs in a drawing of the web that no legend on its page tells."""
    roles = {shape.role for shape in page.shapes}
    if "step" in roles or not roles & {"web", "row arrow", "stub"}:
        return set()  # a stitch has its sign beside its name
    signs = {role.removeprefix("sign ") for role in roles if role.startswith("sign ")}
    signs = {"sider" if sign.startswith("sider") else sign for sign in signs}
    signs |= {"cut"} if "cut mark" in roles else set()
    signs |= {"broken"} if "stub" in roles else set()
    told = {text.partition(",")[0] for text in texts(page, "legend")}
    return signs - {text.removesuffix(" here") for text in told}


@pytest.mark.parametrize("edition", ["loft", "deck", "class", "class-key"])
@pytest.mark.parametrize("name", ["large", "uneven-wide", "awkward-comb", "one-bar"])
def test_every_page_tells_its_signs(name: str, edition: str) -> None:
    for number, page in enumerate(pages(name, edition), 1):
        assert unexplained(page) == set(), f"page {number}"


def test_a_sign_that_is_not_told_is_seen() -> None:
    page = next(page for page in pages("large") if "row arrow" in {s.role for s in page.shapes})
    silent = replace(page, shapes=tuple(s for s in page.shapes if s.role != "legend"))
    assert "pickup above" in unexplained(silent)


def test_a_large_worksheet_begins_with_the_hole_and_has_no_empty_page_to_trim() -> None:
    sheet = pages("large", "class")
    begins = [n for n, page in enumerate(sheet) if "tile" in {s.role for s in page.shapes}]
    assert len(begins) == 2 and begins[0] == 0  # one for the cuts, one for the sewing
    for page in sheet[1 : begins[1]]:
        assert "web" in {shape.role for shape in page.shapes}
    key = pages("large", "class-key")
    cuts = {text for page in key[1 : begins[1]] for text in texts(page, "cut number")}
    assert cuts == {str(cut.n) for cut in planned("large").cuts}
    overviews = [page for page in pages("large") if "tile" in {s.role for s in page.shapes}]
    steps = [
        len([shape for shape in page.shapes if shape.role == "hole edge"])
        for page in (sheet[0], *overviews)
    ]
    # As found, not as trimmed: that is the answer, and has fewer corners.
    assert steps[0] == steps[1] > steps[2]


@pytest.mark.parametrize("name", ["left-handed", "ragged-round", "large", "patch-torn-out"])
def test_what_is_needed_is_told_before_the_sewing(name: str) -> None:
    headings = [text for page in pages(name) for text in texts(page, "heading")]
    sewing = next(
        n for n, text in enumerate(headings) if text.startswith(("The sewing", "The seam"))
    )
    needed = next(n for n, text in enumerate(headings) if text.startswith("What you need"))
    assert needed < sewing


def test_a_deck_card_without_knots_lists_none() -> None:
    refills = planned("large").reckoning.refills
    told = [text for page in pages("large", "deck") for text in texts(page, "cell")]
    assert len(refills) > say.PLACED
    assert not any(str(n) in text.split(", ") for n in refills for text in told)
    # By what rule they come instead: each at the end of a row, none of which takes a whole needle.
    ends = {row.last for twine in planned("large").sewing.twines for row in twine.rows}
    assert ends.issuperset(refills)
    told_rows = dict(say.materials(planned("large"), words(), brief=True, listed=True))["Refill"]
    assert told_rows.startswith("after rows ") and told_rows in " ".join(told)
    assert rows_named(told_rows) == {
        twine.name + str(n)
        for twine in planned("large").sewing.twines
        for n, row in enumerate(twine.rows, 1)
        if row.last in refills
    }
    # Where there is no room for them the rule.
    row = planned("large").reckoning.longest_row or 0.0
    least = words().figure(no_less(row))
    assert float(least.split()[0]) >= row
    rule = (
        f"{len(refills)} times, at the end of a row when too little is left for the next "
        f"(the longest takes {least})"
    )
    told = [text for _, text in say.materials(planned("large"), words(), brief=True)]
    assert rule in " ".join(told)
    assert "where it runs out" not in " ".join(told)


def rows_named(told: str) -> set[str]:
    """The rows of "after rows A3–5, 7; B1", each with the letter of its twine."""
    named: set[str] = set()
    for own in told.removeprefix("after rows ").split("; "):
        for part in own[1:].replace(",", "").split():
            first, _, last = part.partition("–")
            named |= {f"{own[0]}{n}" for n in range(int(first), int(last or first) + 1)}
    return named


def test_a_deck_card_says_what_holds_in_rows_longer_than_a_needle() -> None:
    (spec,) = load_text(
        "{net: {mesh: 120 mm, twine: {diameter: 3.5 mm}}, mender: {needle: 3 m}, "
        "hole: {shape: {kind: rectangle, across: 16, down: 6}}}"
    )
    own = plan(spec)
    ends = {row.last for twine in own.sewing.twines for row in twine.rows}
    assert set(own.reckoning.refills) - ends
    said = " ".join(text for page in compose(own, "deck") for text in texts(page, "cell"))
    assert "in one that takes more than a needle, where it runs out" in said


def test_a_seam_that_takes_many_needles_is_told_by_its_sides() -> None:
    (spec,) = load_text(
        "{method: patch, net: {mesh: 120 mm, twine: {diameter: 3.5 mm}}, mender: {needle: 2 m}, "
        "hole: {shape: {kind: rectangle, across: 12, down: 8}}}"
    )
    own = plan(spec)
    assert len(own.reckoning.refills) > say.PLACED
    said = " ".join(texts(compose(own, "deck")[0], "cell"))
    assert f"after knots {spans(own.reckoning.refills)}" in said
    told = dict(say.materials(own, words(), brief=True))["Refill"]
    assert told == f"{len(own.reckoning.refills)} times, where the seam has the mark for it"


@pytest.mark.parametrize("name", ["ragged-round", "awkward-comb", "large", "one-bar"])
def test_a_deck_card_says_what_to_leave(name: str) -> None:
    said = " ".join(texts(pages(name, "deck")[0]))
    assert "Trim the stubs, but leave each knot enough to hold." in said
    one = len(planned(name).sewing.twines) == 1
    places = "the start and the end" if one else "each start and each end"
    joins = set(planned(name).reckoning.refills)
    joins -= {twine.last for twine in planned(name).sewing.twines}
    at_refills = " Leave as much of both at a refill, tied with a sheet bend." if joins else ""
    assert f"Leave 150 mm of twine at {places}.{at_refills}" in said
    assert at_refills or "at a refill" not in said
    assert said.index("Trim the stubs") < said.index("ring")


@pytest.mark.parametrize("name", ["awkward-notch", "uneven-wide", "ragged-round", "large"])
def test_the_stitches_of_a_row_are_told_in_their_order(name: str) -> None:
    in_order = 0
    for twine in planned(name).sewing.twines:
        for row in twine.rows:
            told = say.stitches_of(twine, row, words())
            if "as drawn" in told:
                continue
            in_order += 1
            assert read_out(told) == [knot.stitch for knot in twine.knots_of(row)]
    assert in_order


def read_out(told: str) -> list[str]:
    """The stitches that are told, one by one."""
    said: list[str] = []
    for group, one, times in re.findall(r"(?:\(([^)]*)\)|([a-z ]+))(?: × (\d+))?(?:, |$)", told):
        own = group.split(", ") if group else [one.strip()]
        said += own * int(times or 1)
    return said


@pytest.mark.parametrize(
    "name", ["awkward-notch", "uneven-wide", "ragged-round", "inches", "rectangle", "lost-knot"]
)
def test_the_list_of_cuts_tells_what_each_leaves(name: str) -> None:
    own = planned(name)
    told = listed_cuts(pages(name))
    expected = left_by_the_cuts(own.trim.found, own.cuts)
    assert set(told) == set(expected)
    fallen = fallen_with(own.trim.found, own.cuts)
    for n, left in expected.items():
        if n in fallen:
            assert told[n] == f"came off with cut {fallen[n]}"
        else:
            assert told[n].partition("; ")[2] == left, f"cut {n}: {told[n]}"


@pytest.mark.parametrize("seed", range(200))
def test_what_a_cut_leaves_is_told_of_random_holes(seed: int) -> None:
    hole = hole_of_bars(random_hole(seed, 8, 10))
    cuts = order_cuts(trim(hole))
    expected = left_by_the_cuts(hole, cuts)
    fallen = fallen_with(hole, cuts)
    assert falls_with(hole.plus(cut.bar for cut in cuts), cuts) == fallen
    for cut in cuts:
        told = say.left_by(cut, words(), cuts)
        assert told == expected[cut.n]
        would = re.fullmatch(r"cut (\d+) would take it too", told)
        if would and cut.n not in fallen:
            done = [own.bar for own in cuts if own.n < cut.n]
            assert hangs(hole, done, cut.bar)
            last = next(own.bar for own in cuts if own.n == int(would[1]))
            assert not hangs(hole, [*done, last], cut.bar)


def left_by_the_cuts(found: Hole, cuts: Sequence[Cut]) -> dict[int, str]:
    """What the list should say that each cut leaves: by the bars left at the knots alone."""
    gone = {tuple(bar) for bar in found.bars()}
    numbers = {tuple(cut.bar): cut.n for cut in cuts}
    expected: dict[int, str] = {}
    for cut in cuts:
        ends = sorted((tuple(end) for end in cut.bar.ends), key=lambda end: end[1])
        before = [len(bars_at(end) - gone) for end in ends]
        gone.add(tuple(cut.bar))
        kinds = [kind_at(end, gone) for end in ends]
        near = ends.index(tuple(cut.at))
        expected[cut.n] = ""
        if cut.does == "clears a pair":
            if "opposite" not in kinds:
                expected[cut.n] = f"now {kinds[0]} over {kinds[1]}"
        elif cut.does.startswith("cuts in the") and before[near] == 1:
            if kinds[1 - near] == "three-bar":
                expected[cut.n] = f"knot {SIDES[near]} falls off"
        elif cut.does.startswith("turns into") or cut.does == "takes off a one-bar":
            asking = 3 if cut.does.startswith("turns into") else 1
            if before == [1, 1]:
                continue  # both fall as one
            assert before.count(asking) == 1
            far = 1 - before.index(asking)
            if kinds[far] == "lost":
                expected[cut.n] = f"knot {SIDES[far]} falls off"
            elif kinds[far] == "one-bar" and asking == 1:
                # What this bar still hangs on is one bar, and that is cut later.
                (last,) = bars_at(ends[far]) - gone
                assert numbers[last] > cut.n
                expected[cut.n] = f"cut {numbers[last]} would take it too"
            elif kinds[far] != "opposite":
                expected[cut.n] = f"{SIDES[far]}: {kinds[far]}"
    return expected


SIDES = ("above", "below")


def hangs(found: Hole, cut: Sequence[Bar], bar: Bar) -> bool:
    """Whether a bar hangs on the web outside, by the ways through a graph of the bars left."""
    gone = {tuple(own) for own in (*found.bars(), *cut)}
    rows = range(found.top - 2, found.bottom + 2)
    columns = range(found.left - 3, found.right + 3)
    web = nx.Graph()
    for row, column in itertools.product(rows, columns):
        if (row, column) not in gone:
            web.add_edge(*map(tuple, Bar(row, column).ends))
    outside = tuple(Bar(rows[0], columns[0]).ends[0])
    return tuple(bar) not in gone and nx.has_path(web, tuple(bar.ends[0]), outside)


def fallen_with(found: Hole, cuts: Sequence[Cut]) -> dict[int, int]:
    """Which cuts are of bars that hung on nothing before, each with the cut they fell with."""
    fallen: dict[int, int] = {}
    for done in range(1, len(cuts)):
        made = [own.bar for own in cuts[:done]]
        for own in cuts[done:]:
            if own.n not in fallen and not hangs(found, made, own.bar):
                fallen[own.n] = cuts[done - 1].n
    return fallen


def bars_at(knot: tuple[int, ...]) -> set[tuple[int, int]]:
    x, y = knot
    return {(y - 1, x - 1), (y - 1, x), (y, x - 1), (y, x)}


def kind_at(knot: tuple[int, ...], gone: set[tuple[int, ...]]) -> str:
    left = sorted(bars_at(knot) - gone)
    if len(left) != 2:
        return {0: "lost", 1: "one-bar", 3: "three-bar"}[len(left)]
    (row, column), (other_row, other_column) = left
    return "pickup" if row == other_row else "sider" if column == other_column else "opposite"


def listed_cuts(sheet: list[Picture]) -> dict[int, str]:
    """What the list of a card says that each cut does; then comes what is needed."""
    does: dict[int, str] = {}
    cells = [text for page in sheet for text in texts(page, "cell")]
    for text in cells[: cells.index("Cuts")]:
        if re.fullmatch(r"[\d–]+", text):
            numbers = numbers_of(text)
        else:
            does |= {n: f"{does[n]} {text}" if n in does else text for n in numbers}
    return does


def numbers_of(told: str) -> set[int]:
    """The numbers in a list of spans."""
    spans = re.findall(r"(\d+)(?:–(\d+))?", told)
    return {n for first, last in spans for n in range(int(first), int(last or first) + 1)}


def tile_title(page: Picture) -> str:
    return " ".join(texts(page, "tile title"))


@pytest.mark.parametrize(
    ("name", "edition"),
    [("large", "loft"), ("large", "class-key"), ("awkward-comb", "loft"), ("large", "deck")],
)
def test_a_tile_names_what_it_draws_and_nothing_else(name: str, edition: str) -> None:
    tiles = [page for page in pages(name, edition) if texts(page, "tile places")]
    assert len(tiles) > 1
    for page in tiles:
        _, what, told = re.split(r"(, knots? |, cuts? |, no )", tile_title(page), maxsplit=1)
        role = "knot number" if "knot" in what else "cut number"
        drawn = {
            int(shape.text)
            for shape in page.shapes
            if isinstance(shape, Text) and shape.role == role and shape.of  # a sample is of nothing
        }
        if what == ", no ":
            assert not drawn
            continue
        # The row that is sewn before the cuts of a later stage is no number of a cut.
        assert numbers_of(re.sub(r"after row [A-Z]*\d+:", "", told)) == drawn


@pytest.mark.parametrize("edition", ["loft", "deck"])
def test_a_tile_says_after_which_row_its_cuts_are_made(edition: str) -> None:
    own = planned("large")
    stage_of = {cut.n: (cut.before, cut.stage) for cut in own.cuts}
    ends = {f"{t.name}{n}": row for t in own.sewing.twines for n, row in enumerate(t.rows, 1)}
    seen = set()
    for page in pages("large", edition):
        for row, told in re.findall(r"after row ([A-Z]\d+): ([^;]+)", tile_title(page)):
            (group,) = {stage_of[n] for n in numbers_of(told)}
            seen.add(group)
            # No knot of that row or before is one of a bar that is cut now.
            sewn = {
                knot.at
                for twine in own.sewing.twines
                for knot in twine.knots
                if knot.n <= ends[row].last
            }
            cut = {end for c in own.cuts if (c.before, c.stage) == group for end in c.bar.ends}
            assert not sewn & cut
    assert seen == set(stage_of.values()) - {(0, 0)}


def test_the_cuts_of_a_stage_are_asked_for_before_its_first_knot() -> None:
    own, asked = planned("large"), {}
    for page in pages("large"):
        asks = r"Before knot (\d+) make cuts? ([\d–, ]+), listed on page (\d+)\."
        found = re.search(asks, tile_title(page))
        if found:
            knot, told, listed = found.groups()
            cells = texts(pages("large")[int(listed) - 1], "cell")
            assert any(re.match(rf"{min(numbers_of(told))}\b", cell) for cell in cells)
            assert knot in texts(page, "knot number")
            asked[int(knot)] = numbers_of(told)
    assert set().union(*asked.values()) == {cut.n for cut in own.cuts}
    first_row = {row.first: row for twine in own.sewing.twines for row in twine.rows}
    tied = {knot.at: knot.n for twine in own.sewing.twines for knot in twine.knots}
    for knot, cuts in asked.items():
        assert knot in first_row
        later = {n for first, own_cuts in asked.items() if first > knot for n in own_cuts}
        done = {n for first, own_cuts in asked.items() if first <= knot for n in own_cuts}
        assert not later & done
        bars = [cut.bar for cut in own.cuts if cut.n in cuts]
        # What is tied of these bars' knots is tied from here on.
        assert all(tied.get(end, knot) >= knot for bar in bars for end in bar.ends)


def test_the_deck_card_of_a_large_hole_tells_its_stages() -> None:
    own = planned("large")
    cells = texts(pages("large", "deck")[0], "cell")
    lines = {cells[n - 1]: text for n, text in enumerate(cells) if re.match("rows? [A-Z]", text)}
    assert set().union(*map(numbers_of, lines)) == {cut.n for cut in own.cuts}
    rows = sum(
        int(last or first) - int(first) + 1
        for text in lines.values()
        for first, last in re.findall(r"rows? [A-Z](\d+)(?: to [A-Z](\d+))?", text)
    )
    assert rows == sum(len(twine.rows) for twine in own.sewing.twines)


def test_the_list_of_cuts_names_the_pages_that_show_them() -> None:
    own, sheet = planned("large"), pages("large")
    shown: dict[int, set[int]] = {}
    for number, page in enumerate(sheet, 1):
        for text in texts(page, "cut number"):
            shown.setdefault(int(text), set()).add(number)
    listed: dict[int, set[int]] = {}
    for page in sheet:
        cells = texts(page, "cell")
        if "What they do" not in cells:
            continue
        for text, does, on in zip(cells, cells[1:], cells[2:]):
            if re.fullmatch(r"[\d–, ]+", text) and re.match("[a-z]", does):
                listed |= dict.fromkeys(numbers_of(text), numbers_of(on))
    assert set(listed) == {cut.n for cut in own.cuts}
    assert all(shown[n] <= pages_ for n, pages_ in listed.items())
    assert set().union(*listed.values()) == set().union(*shown.values())


def test_a_seam_on_several_pages_has_its_table_too() -> None:
    own = planned("patch-torn-out")
    (cells,) = (c for page in pages("patch-torn-out") if "Side" in (c := texts(page, "cell")))
    assert {"top", "bottom"} <= set(cells)
    assert {f"{side.first}–{side.last}" for side in own.seam_sides} <= set(cells)


def test_rows_of_two_legs_stand_beside_their_own() -> None:
    own = planned("awkward-two-legs")
    (page,) = pages("awkward-two-legs", "deck")
    web = [shape.points for shape in page.shapes if shape.role == "web"]
    middle = (min(p[0][0] for p in web) + max(p[1][0] for p in web)) / 2
    places = {s.text: s.x for s in page.shapes if isinstance(s, Text) and s.role == "row number"}
    a, b = own.sewing.twines
    shared = {row.row for row in a.rows} & {row.row for row in b.rows}
    assert len(shared) > 4
    for twine, left in ((a, True), (b, False)):
        for number, row in enumerate(twine.rows, 1):
            if row.row in shared:
                assert (places[f"{twine.name}{number}"] < middle) == left


@pytest.mark.parametrize("name", ["awkward-notch", "slit-across", "inches", "ragged-round"])
def test_the_twine_of_a_key_follows_from_what_the_sheet_gives(name: str) -> None:
    """The sum as the sheet tells it, by hand from its figures."""
    own = planned(name)
    given = " ".join(" ".join(texts(page)) for page in pages(name, "class"))
    figures = re.search(r"Given: bar ([\d.]+ \S+), twine ([\d.]+ \S+) thick", given)
    assert figures
    unit = {"mm": 1.0, "in": 25.4, "cm": 10.0}
    bar, thick = (float(told.split()[0]) * unit[told.split()[1]] for told in figures.groups())
    tail = re.search(r"Add ([\d.]+) (\S+) of tail", given)
    assert tail
    ends = 2 * len(own.sewing.twines)
    total = own.sewing.bars * bar + (own.sewing.knots + ends) * 16 * thick
    total += ends * float(tail[1]) * unit[tail[2]]
    total *= 2 if "take it twice" in given else 1
    cells = [text for page in pages(name, "class-key") for text in texts(page, "cell")]
    told, per = cells[next(n for n, text in enumerate(cells) if "needed" in text) + 1].split()
    assert abs(float(told) - total / {"m": 1000, "ft": 304.8}[per]) < 0.06 + 0.01 * (per == "ft")


@pytest.mark.parametrize("edition", ["loft", "deck"])
def test_rows_of_three_legs_stand_beside_their_own_on_every_page(edition: str) -> None:
    own = planned("awkward-three-legs")
    tied = {
        f"{twine.name}{n}": {str(knot.n) for knot in twine.knots_of(row)}
        for twine in own.sewing.twines
        for n, row in enumerate(twine.rows, 1)
    }
    narrow = 0
    for page in pages("awkward-three-legs", edition):
        numbers = {s.text: s.x for s in page.shapes if isinstance(s, Text) and s.role[:4] == "knot"}
        rows = [s for s in page.shapes if isinstance(s, Text) and s.role == "row number"]
        rows = [shape for shape in rows if shape.text in tied]
        web = [point[0] for s in page.shapes if s.role in ("web", "twine") for point in s.points]
        for shape in rows:
            at = [numbers[n] for n in tied[shape.text] if n in numbers]
            middle = (min(web) + max(web)) / 2
            if len(at) < 2 or min(at) < middle < max(at):
                continue  # a wide row stands where it begins
            narrow += 1
            assert (shape.x < middle) == (max(at) <= middle), shape.text
    assert narrow > 10 or edition == "deck"


@pytest.mark.parametrize("name", ["awkward-three-legs", "awkward-comb", "large"])
def test_the_tables_of_a_large_drawing_lead_through_all_rows_in_the_order_of_sewing(
    name: str,
) -> None:
    """Read from the first row on, where told on the page that is told, to the last."""
    own = planned(name)
    lines = {
        number: list(table_lines(page))
        for number, page in enumerate(pages(name), 1)
        if "Web" in texts(page, "cell")
    }
    wanted = [f"{t.name}{n}" for t in own.sewing.twines for n in range(1, len(t.rows) + 1)]
    read: list[str] = []
    page = min(lines)
    place, turned = 0, 0
    while len(read) < len(wanted):
        if place == len(lines[page]):  # a long table goes over to the next page
            page, place = page + 1, 0
        row, *told = lines[page][place]
        goes_on = re.search(r"go on at page (\d+)", " ".join(told))
        if not goes_on:
            read.append(row)
            place += 1
            continue
        page, turned = int(goes_on[1]), turned + 1
        while row not in [first for first, *_ in lines[page]]:
            page += 1
        place = [first for first, *_ in lines[page]].index(row)
        assert "go on" not in " ".join(lines[page][place])
    assert read == wanted
    assert turned >= len(own.sewing.twines)


@pytest.mark.parametrize("name", ["awkward-three-legs", "awkward-comb", "large"])
def test_the_twine_is_seen_to_lead_to_each_knot_of_a_tile(name: str) -> None:
    signs = 0
    for page in pages(name):
        ends = [at for s in page.shapes if s.role == "twine" for at in s.points]
        for shape in page.shapes:
            if not (shape.role.startswith("sign ") and shape.of.startswith("knot ") and ends):
                continue
            xs, ys = zip(*shape.points)
            signs += 1
            assert any(
                min(xs) - 1.2 < x < max(xs) + 1.2 and min(ys) - 1.2 < y < max(ys) + 1.2
                for x, y in ends
            ), shape.of
    assert signs > planned(name).sewing.knots


def table_lines(page: Picture) -> Iterator[list[str]]:
    """The lines of a table of rows, each with its texts from the left."""
    cells = sorted(
        (s for s in page.shapes if isinstance(s, Text) and s.role == "cell"),
        key=lambda s: (round(s.y, 1), s.x),
    )
    own = [(s.x, s) for s in cells]
    left = min(x for x, _ in own)
    line: list[str] = []
    for x, shape in own:
        if abs(x - left) < 0.1:
            if line and re.fullmatch(r"[A-Z]\d+", line[0]):
                yield line
            line = []
        line.append(shape.text)
    if line and re.fullmatch(r"[A-Z]\d+", line[0]):
        yield line


@pytest.mark.parametrize("edition", ["loft", "deck"])
def test_the_pages_of_each_start_and_end_are_told(edition: str) -> None:
    sheet = pages("large", edition)
    places = r"([A-Z]) pages? (\d+)(?: and (\d+))?"
    told = [
        {name: (int(one), int(two or one)) for name, one, two in re.findall(places, said)}
        for said in (" ".join(texts(page)) for page in sheet if drawn(page, "tile"))
    ]
    assert len(told) == (2 if edition == "loft" else 1)
    for twine in planned("large").sewing.twines:
        for which, kind, knot in ((0, "start", twine.first), (1, "end", twine.last)):
            on = [sheet[own[twine.name][which] - 1] for own in told]
            assert f"{kind} {twine.name}" in {s.of for s in on[0].shapes}
            assert all(str(knot) in texts(page, "knot number") for page in on[1:])


def drawn(page: Picture, role: str) -> bool:
    return role in {shape.role for shape in page.shapes}


def test_a_refill_after_an_end_is_no_join() -> None:
    said = " ".join(" ".join(texts(page)) for page in pages("large"))
    ends = {twine.last for twine in planned("large").sewing.twines}
    assert ends & set(planned("large").reckoning.refills)
    assert "At a refill after an end only load the needle." in said
    assert "only load" not in " ".join(" ".join(texts(p)) for p in pages("awkward-notch"))


def test_the_deck_card_of_a_patch_sends_to_the_pages_of_its_seam_alone() -> None:
    front = " ".join(texts(pages("patch-torn-out", "deck")[0]))
    assert "Start and end: page" not in front and "Leave 150 mm of twine at" in front
    assert "16 meshes across and 12 down" in front
    of_seam = [
        number
        for number, page in enumerate(pages("patch-torn-out", "deck"), 1)
        if "Start and end: page" in " ".join(texts(page))
    ]
    first, last = re.search(r"End at the ring\. Pages (\d+)–(\d+)\.", front).groups()  # type: ignore[union-attr]
    assert of_seam == [int(first)] and int(last) == len(pages("patch-torn-out", "deck"))


@pytest.mark.parametrize("name", ["large", "awkward-comb", "ragged-round", "patch-torn-out"])
def test_each_page_to_write_on_has_a_place_for_the_name(name: str) -> None:
    """Sheets get parted; and a key is told from a worksheet on each page, on A4."""
    for page in pages(name, "class"):
        signed = texts(page, "blank")
        drawn = {"web", "stub"} & {shape.role for shape in page.shapes}
        assert not drawn or ("Name" in signed and "Class" in signed)
        assert "Right hand · Worksheet" in texts(page)
    for page in pages(name, "class-key"):
        assert "Right hand · Answer key" in texts(page)


TERMS = "A whole knot has four bars, a three-bar three, a one-bar one."


@pytest.mark.parametrize("edition", ["class", "class-key"])
@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("ragged-round", True),
        ("large", True),
        ("patch-torn-out", True),
        ("awkward-two-legs", False),
    ],
)
def test_a_worksheet_explains_the_terms_where_that_takes_no_page(
    name: str, told: bool, edition: str
) -> None:
    said = " ".join(texts(pages(name, edition)[0]))
    assert (TERMS in said) == told
    if told:
        patch = planned(name).patch is not None
        others = "all damaged knots" if patch else "all other damaged knots"
        assert f"In a trimmed hole {others} round it are pickups or siders." in said
        assert ("Start and end are three-bars: " in said) == (not patch)
    if not told:  # then the rule alone
        assert "Start and end are three-bars: " in said and len(pages(name, edition)) == 1


@pytest.mark.parametrize("name", ["ragged-round", "large", "patch-torn-out"])
def test_a_trimmed_hole_is_as_the_worksheet_says(name: str) -> None:
    """Counted by the bars left at each knot alone."""
    own = planned(name)
    gone = {tuple(bar) for bar in own.trim.trimmed.bars()}
    knots = {tuple(end) for bar in own.trim.trimmed.bars() for end in bar.ends}
    outside = {knot for knot in knots if not (own.patch and own.patch.holds(knot))}
    kinds = {knot: kind_at(knot, gone) for knot in outside}
    ends = {
        tuple(twine.knots[at].at)
        for twine in own.sewing.twines
        for at in (0, -1)
        if not twine.closed
    }
    for knot, kind in kinds.items():
        assert kind == "three-bar" if knot in ends else kind in ("pickup", "sider", "lost")


@pytest.mark.parametrize(("name", "edition"), [("large", "loft"), ("large", "deck")])
def test_a_tile_tells_on_which_page_the_numbers_of_its_bare_marks_are(
    name: str, edition: str
) -> None:
    sheet = pages(name, edition)
    numbers = [set(texts(page, "cut number")) for page in sheet]
    bare = 0
    for page, own in zip(sheet, numbers):
        marked = {s.of.removeprefix("cut ") for s in page.shapes if s.role == "cut mark"}
        beside = " ".join(texts(page, "tile places"))
        on = re.search(r"right page (\d+) with the numbers missing here", beside)
        assert bool(marked - own) == bool(on)
        if on:
            bare += 1
            assert marked - own <= numbers[int(on[1]) - 1]
    assert bare > 4


def test_the_rows_at_the_sides_of_an_overview_are_counted_in_even_steps() -> None:
    for name in ("large", "patch-torn-out"):
        for page in pages(name, "deck"):
            if "tile" not in {shape.role for shape in page.shapes}:
                continue
            at_left = min(
                s.x for s in page.shapes if s.role == "row number" and isinstance(s, Text)
            )
            told = [
                int(s.text)
                for s in page.shapes
                if isinstance(s, Text) and s.role == "row number" and s.x == at_left
            ]
            steps = {b - a for a, b in itertools.pairwise(told[1:])}
            assert (
                len(steps) == 1
                and told[0] == 1
                and told[1] - 1 in (*steps, *(n - 1 for n in steps))
            )


BACK = {"left": "right", "right": "left", "up": "down", "down": "up"}


def neighbours(sheet: Sequence[Picture], number: int) -> list[tuple[str, int]]:
    """The pages that a tile sends to, each with its way."""
    beside = " ".join(texts(sheet[number - 1], "tile places"))
    return [
        (way, int(page)) for way, page in re.findall(r"\b(left|right|up|down) page (\d+)", beside)
    ]


# Holes whose tiles have long titles on the smallest papers.
NARROW = {
    "a patch": """{net: {mesh: 160 mm, twine: {diameter: 3 mm, double: true}},
        mender: {needle: 2 m}, hole: {first: '\\', rows: ["1", "1-2", "", "", "4"]}}""",
    "two tears": """{net: {mesh: 40 mm, twine: {diameter: 3 mm}}, mender: {needle: 25 m},
        hole: {first: '/', rows: ["1", "1", "1-2", "2-4", "3-5", "4", "4-6", "5-8", "4-7", "3-7",
        "4-7", "5-7", "5-7", "5-7", "4-7", "4-7", "5-8", "4-7", "4-8", "4-8", "14", "14", "14-16",
        "12-15", "14-17", "15-18", "15-20", "13-20", "12-19", "12-19", "12-18", "12-17",
        "12-19"]}}""",
    "uneven-wide": (SPECS / "uneven-wide.yaml").read_text(),
}


@pytest.mark.parametrize("paper", ["A6", "A6-across", "A5-across"])
@pytest.mark.parametrize("edition", ["deck", "loft"])
@pytest.mark.parametrize("method", ["mend", "patch"])
@pytest.mark.parametrize("name", NARROW)
def test_tiles_of_small_papers_send_to_each_other(
    name: str, method: Any, edition: str, paper: str
) -> None:
    """And each drawing stands on the page of its title, and no page is named that there is not."""
    (spec,) = load_text(NARROW[name])
    sheet = compose(plan(spec, method=method), edition, paper_name=paper)
    tiles = {n for n, page in enumerate(sheet, 1) if texts(page, "tile title")}
    for number in tiles:  # a tile that spilled leaves its words alone on their page
        assert roles_of(sheet[number - 1]) & {"web", "twine", "patch", "knot sign"}
        for way, page in neighbours(sheet, number):
            assert page in tiles and (BACK[way], number) in neighbours(sheet, page)
    for shown in sheet:
        for named in re.findall(r"pages? (\d+)", " ".join(texts(shown))):
            assert int(named) <= len(sheet)


def roles_of(page: Picture) -> set[str]:
    return {shape.role for shape in page.shapes}


def test_a_worksheet_of_tiles_sends_to_the_pages_that_there_are() -> None:
    """And has a name on each tile where that leaves a line to write on."""
    for name, paper in (
        ("awkward-two-tears", "A6-across"),
        ("awkward-three-legs", "A5-across"),
        ("uneven-wide", "A6"),
        ("patch-torn-out", "A5"),
    ):
        sheet = compose(planned(name), "class", paper_name=paper)
        tiles = {n for n, page in enumerate(sheet, 1) if texts(page, "tile title")}
        drawn = {n for n, page in enumerate(sheet, 1) if "web" in {s.role for s in page.shapes}}
        assert drawn and drawn <= tiles, f"{paper}: a drawing is not on the page of its title"
        for number in tiles:
            for way, page in neighbours(sheet, number):
                assert page in tiles and (BACK[way], number) in set(neighbours(sheet, page))
            lines = [
                s for s in sheet[number - 1].shapes if s.role == "blank" and isinstance(s, Line)
            ]
            assert all(line.points[1][0] - line.points[0][0] > 14 for line in lines)
            assert bool(lines) == (paper in ("A5", "A5-across"))


@pytest.mark.parametrize(
    ("name", "paper"),
    [("large", "A4"), ("patch-torn-out", "A4"), ("patch-torn-out", "A6"), ("awkward-comb", "A6")],
)
def test_a_deck_card_names_the_pages_of_its_cuts_in_the_order_of_cutting(
    name: str, paper: str
) -> None:
    own = planned(name)
    sheet = compose(own, "deck", paper_name=paper)
    shown = [set(texts(page, "cut number")) for page in sheet]
    stages = [stage.cuts for stage in own.stages if stage.cuts] if say.staged(own) else []
    if stages:
        cells = [text for page in sheet for text in texts(page, "cell")]
        rows = [
            cells[n + 2]
            for n, text in enumerate(cells)
            if cells[n + 1 : n + 2] and re.match("rows? ", cells[n + 1])
        ]
        turned = list(zip(stages, rows, strict=True))
    else:
        said = " ".join(text for page in sheet for text in texts(page))
        listed = re.search(r"The cuts in turn: pages? ([\d, ]+)\.", said)
        assert listed
        turned = [(tuple(cut.n for cut in own.cuts), listed[1])]
    for cuts, told in turned:
        left = [str(n) for n in cuts]
        for page in map(int, told.split(", ")):
            before = len(left)
            while left and left[0] in shown[page - 1]:
                left.pop(0)
            assert len(left) < before, f"page {page} of {told} shows none of the next cuts"
        assert not left


def test_the_last_knot_of_a_seam_has_its_number_at_the_first() -> None:
    own = planned("patch-torn-out")
    last = str(own.sewing.knots)
    (page,) = (
        page for page in pages("patch-torn-out", "deck") if last in texts(page, "twine letter")
    )
    (letter,) = (s for s in page.shapes if isinstance(s, Text) and s.text == last)
    first = next(
        s for s in page.shapes if isinstance(s, Text) and s.role == "knot number" and s.text == "1"
    )
    away = [
        ((s.x - letter.x) ** 2 + (s.y - letter.y) ** 2) ** 0.5
        for s in page.shapes
        if isinstance(s, Text) and s.role == "knot number"
    ]
    assert min(away) == ((first.x - letter.x) ** 2 + (first.y - letter.y) ** 2) ** 0.5
    assert any(re.search(rf"–{last}$", title) for title in texts(page, "tile title"))


@pytest.mark.parametrize("name", ["ragged-round", "uneven-wide", "awkward-comb", "large"])
def test_the_loop_that_is_named_is_one(name: str) -> None:
    own = planned(name)
    said = " ".join(say.how_to_sew(own, words()))
    told = re.search(r"At a knot out of turn, as (\d+) after (\d+), only hang a loop", said)
    assert told
    early, tied = map(int, told.groups())
    at = {knot.n: tuple(knot.at) for twine in own.sewing.twines for knot in twine.knots}
    (twine,) = (twine for twine in own.sewing.twines if twine.first <= tied <= twine.last)
    steps = list(itertools.pairwise(map(tuple, twine.path)))
    assert (at[tied], at[early]) in steps and early != tied + 1


def test_a_worksheet_of_two_twines_says_that_the_numbers_run_on() -> None:
    legs, tears = (
        " ".join(texts(pages(name, "class")[-1]))
        for name in ("awkward-two-legs", "awkward-two-tears")
    )
    assert "from one twine on to the next" in legs
    assert "from one twine on to the next" in tears
    assert (
        "hang a loop for another to tie" in legs,
        "hang a loop for another to tie" in tears,
    ) == (True, False)


def test_a_key_says_its_twine_to_the_tenth_that_is_asked() -> None:
    cells = texts(pages("ragged-round", "class-key")[0], "cell")
    assert cells[cells.index("Twine needed in all, in m, to the nearest tenth") + 1] == "6.0 m"
    facts = dict(say.materials(planned("ragged-round"), words(), brief=True))
    assert (
        facts["Time"].endswith(", all told")
        and facts["Needle fillings"] == "1; the needle holds 8 m"
    )
    large = dict(say.materials(planned("large"), words(), brief=True))
    count, holds, most = re.fullmatch(  # type: ignore[union-attr]
        r"(\d+); the needle holds (\d+) m\. Carry up to (\d+) m", large["Needle fillings"]
    ).groups()
    assert int(most) == int(count) * int(holds)


@pytest.mark.parametrize("start", ["left", "right"])
def test_the_sides_of_a_seam_tell_on_which_side_each_sider_is(start: Any) -> None:
    """A sider is on the side to which its two bars go: of the web and of the patch by turns."""
    (spec,) = load(SPECS / "patch-torn-out.yaml")
    own = plan(spec, start=start, method="patch")
    gone = {tuple(bar) for bar in own.trim.trimmed.bars()}
    (twine,) = own.sewing.twines
    for side, row in zip(own.seam_sides, patch_say.side_table(own, words()), strict=True):
        told = row[2]
        for name in ("pickup above", "pickup below", "start", "end"):
            told = re.sub(rf"\b{name}\b", name.replace(" ", "_"), told)
        told = re.sub(r"sider on the (\w+)(, leading up)?", r"sider_\1", told)
        read = read_names(told)
        knots = [knot for knot in twine.knots if side.first <= knot.n <= side.last]
        assert len(read) == len(knots)
        for knot, name in zip(knots, read):
            if knot.stitch != "sider":
                continue
            x, _ = knot.at
            columns = {column for _, column in bars_at(knot.at) - gone}
            assert columns in ({x}, {x - 1})
            assert name == ("sider_right" if columns == {x} else "sider_left")


def read_names(told: str) -> list[str]:
    """Names in their order, of "a, (b, c) × 2"."""
    names: list[str] = []
    for group, one, times in re.findall(r"(?:\(([^)]*)\)|(\w+))(?: × (\d+))?", told):
        names += (group.split(", ") if group else [one]) * int(times or 1)
    return names


def test_a_card_of_a_patch_that_loses_says_so() -> None:
    (spec,) = load_text(
        "{method: patch, net: {mesh: 120 mm, twine: {diameter: 3.5 mm}}, mender: {pace: 3}, "
        "hole: {shape: {kind: rectangle, across: 3, down: 2}}}"
    )
    told = patch_say.verdict(plan(spec), words())
    assert "The mend wins" in told and told.endswith("This card is for the patch all the same.")
    won = patch_say.verdict(planned("patch-torn-out"), words())
    assert "The patch wins" in won and "all the same" not in won
