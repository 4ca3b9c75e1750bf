"""Patches: the rectangle, the seam and the patch itself, from the JSON of the plan alone."""

from __future__ import annotations

import re
from collections import Counter
from itertools import pairwise, product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from cards import as_data, load_text, plan
from cards.command import MADE, WRONG_CALL, main
from cards.grid import Hole, Stretch, hole_of_bars
from cards.grid.islands import with_islands
from cards.job import Plan
from cards.trim.patch import fit_patch
from tests.holes import random_hole
from tests.rules import PASSES, STITCHES, Bar, as_bar, bars_of, meshes_of, missing_at

# A hole of 4 by 3 meshes with its patch of 3 by 2 and the 24 bars of the seam: worked by hand.
HOLE = r"""
    \/\/\/\/\/\/
    /\......../\
    \/........\/
    /\......../\
    \/........\/
    /\......../\
    \/........\/
    /\/\/\/\/\/\
"""
SEAM = r"""
    \/\/\/\/\/\/
    /\......../\
    \/./\/\/\.\/
    /\.\/\/\/./\
    \/./\/\/\.\/
    /\.\/\/\/./\
    \/........\/
    /\/\/\/\/\/\
"""


def planned(hole: str, more: str = "", **asked: Any) -> Plan:
    (spec,) = load_text(f"{more}\nhole: {hole}")
    return plan(spec, **asked)


def drawn(drawing: str) -> set[Bar]:
    """The missing bars of a drawing."""
    bars = set()
    for row, line in enumerate(drawing.split()):
        for column, sign in enumerate(line):
            if sign == ".":
                lean = (row + column) % 2
                bars.add(frozenset({(column + lean, row), (column + 1 - lean, row + 1)}))
    return bars


def bars_given(seed: int) -> str:
    """A random hole as a list of bars."""
    return "{bars: %s}" % [
        [[column + (row + column) % 2, row], [column + 1 - (row + column) % 2, row + 1]]
        for row, column in sorted(random_hole(seed, 9, 9))
    ]


def rectangle(columns: list[int], rows: list[int]) -> set[Bar]:
    bars = set()
    for row, column in product(range(*rows), range(*columns)):
        lean = (row + column) % 2
        bars.add(frozenset({(column + lean, row), (column + 1 - lean, row + 1)}))
    return bars


def check_seam(data: dict[str, Any]) -> None:
    """Check a seam by the rules of sewing, but that it is one closed run."""
    assert data["method"] == "patch"
    (twine,) = data["twines"]
    path = [tuple(at) for at in twine["path"]]
    assert path[0] == path[-1], "it ends on the knot it starts on"
    sewn = [frozenset(pair) for pair in pairwise(path)]
    seam = set(sewn)
    assert len(sewn) == len(seam) == data["counts"]["bars"], "no bar is sewn twice"
    assert len(set(path)) == len(path) - 1, "each knot is passed once"
    assert data["counts"]["meshes"] == meshes_of(seam) == len(set(path)), "a mesh a knot"
    assert [knot["n"] for knot in twine["knots"]] == list(range(1, len(path) + 1))
    assert data["counts"]["knots"] == len(path)
    for place, knot in enumerate(twine["knots"]):
        at = path[place]
        assert tuple(knot["at"]) == at
        gone = missing_at(at, seam)
        assert gone in PASSES, "a pickup or a sider, of web or patch"
        ends = {0: "start", len(path) - 1: "end"}
        assert knot["stitch"] == ends.get(place, PASSES[gone])
        assert knot["stitch"] in STITCHES
        step = path[1][0] - at[0] if place == 0 else at[0] - path[place - 1][0]
        assert knot["going"] == ("right" if step > 0 else "left")
        # Common practice, no source: a right-hander's needle comes from behind going right.
        behind = knot["going"] == data["hand"]
        assert knot["needle"] == ("from behind" if behind else "from in front")


def check_patch(data: dict[str, Any]) -> None:
    """Check that the patch, the seam and the web make whole web, and what is cut."""
    patch = data["patch"]
    columns, rows = patch["hole"]["columns"], patch["hole"]["rows"]
    assert (columns[0] + rows[0]) % 2 == (columns[1] + rows[0]) % 2 == 1
    assert (rows[1] - rows[0]) % 2 == 0
    hole = rectangle(columns, rows)
    seam = {frozenset(map(tuple, pair)) for pair in pairwise(data["twines"][0]["path"])}
    inside = rectangle([columns[0] + 1, columns[1] - 1], [rows[0] + 1, rows[1] - 1])
    assert seam == hole - inside
    broken = {as_bar(pair) for pair in data["broken"]}
    cuts = [as_bar(cut["bar"]) for cut in data["cuts"]]
    assert broken <= hole
    assert set(cuts) == seam - broken, "only the rim is cut, and nothing broken"
    assert len(cuts) == len(set(cuts)) == data["counts"]["cuts"]
    assert patch["hole"]["comes_away"] == len(inside - broken)
    assert patch["hole"]["across"] == (columns[1] - columns[0]) / 2 == patch["across"] + 1
    assert patch["hole"]["down"] == (rows[1] - rows[0]) / 2 == patch["down"] + 1
    # The patch in new web: what is cut round it, by what its knots on each edge lack.
    knots = {knot for bar in inside for knot in bar}
    freed = {bar for knot in knots for bar in bars_of(knot).values()} - inside
    assert patch["bars_cut"] == len(freed)
    names = Counter(missing_at(knot, freed) for knot in knots)
    lacking = {
        "top": frozenset({"upper left", "upper right"}),
        "bottom": frozenset({"lower left", "lower right"}),
        "left": frozenset({"upper left", "lower left"}),
        "right": frozenset({"upper right", "lower right"}),
    }
    for edge, gone in lacking.items():
        told = patch["edges"][edge]
        across = edge in ("top", "bottom")
        # A T-cut runs across the web, an N-cut up and down it: ISO 1532 (from memory).
        assert told["cut"] == ("T" if across else "N")
        assert told["cuts"] == told["points" if across else "siders"] == names.pop(gone)
    assert set(names) <= {frozenset()}, "no knot of the patch but those of its edges is cut"
    points = sorted((y, x) for x, y in knots if missing_at((x, y), freed) == lacking["top"])
    feet = sorted((y, x) for x, y in knots if missing_at((x, y), freed) == lacking["bottom"])
    outermost = (points[0], points[-1], feet[0], feet[-1])
    assert [tuple(knot) for knot in patch["corners"]] == [(x, y) for y, x in outermost]


def check_cuts(data: dict[str, Any]) -> None:
    """Check what each cut does against the bars that its knots have left after it."""
    (left, right), (top, bottom) = data["patch"]["hole"]["columns"], data["patch"]["hole"]["rows"]
    gone = {as_bar(pair) for pair in data["broken"]}
    begun: set[tuple[int, int]] = set()
    corners = 0
    for cut in data["cuts"]:
        bar = as_bar(cut["bar"])
        gone.add(bar)
        edge = [(x, y) for x, y in bar if x in (left, right) or y in (top, bottom)]
        if len(edge) == 2:
            assert cut["does"] == "squares the corner"
            assert sum(x in (left, right) for x, _ in edge) == 1, "a sider beside a pickup"
            corners += 1
            begun.update(knot for knot in edge if len(missing_at(knot, gone)) == 1)
            begun -= {knot for knot in edge if len(missing_at(knot, gone)) == 2}
            continue
        (knot,) = edge
        on_side = knot[0] in (left, right)
        if len(missing_at(knot, gone)) == 1:
            assert cut["does"] == f"begins a {'sider' if on_side else 'pickup'}"
            begun.add(knot)
        else:
            name = PASSES[missing_at(knot, gone)]
            assert cut["does"] == f"turns into a {name.split()[0]}"
            assert on_side == (name == "sider")
            begun.discard(knot)
    assert corners <= 4
    assert not begun, "what is begun is brought to an end"


def test_the_worked_hole_of_four_by_three_meshes() -> None:
    hole = "\n  drawing: |" + HOLE
    data = as_data(planned(hole, method="patch"))
    check_seam(data)
    check_patch(data)
    path = [tuple(at) for at in data["twines"][0]["path"]]
    assert {frozenset(pair) for pair in pairwise(path)} == drawn(SEAM)
    assert data["counts"]["bars"] == 24
    assert (data["patch"]["across"], data["patch"]["down"]) == (3, 2)
    assert data["counts"]["cuts"] == 0
    told = [(side["side"], side["first"], side["last"]) for side in data["patch"]["sides"]]
    assert told == [("top", 1, 8), ("right", 9, 12), ("bottom", 13, 20), ("left", 21, 25)]
    # Pickups of the web along the top, then a sider at the corner and down the side.
    stitches = [knot["stitch"] for knot in data["twines"][0]["knots"]]
    assert stitches[:8] == ["start", *["pickup below", "pickup above"] * 3, "sider"]
    assert stitches[8:12] == ["sider"] * 4


def test_a_cut_told_wrongly_is_seen() -> None:
    data = as_data(planned(bars_given(3), method="patch"))
    check_cuts(data)
    kinds = {cut["does"] for cut in data["cuts"]}
    assert len(kinds) > 3
    for cut in data["cuts"]:
        for other in kinds - {cut["does"]}:
            cut["does"], own = other, cut["does"]
            with pytest.raises(AssertionError):
                check_cuts(data)
            cut["does"] = own


@given(
    seed=st.integers(0, 100_000),
    hand=st.sampled_from(["right", "left"]),
    start=st.sampled_from(["left", "right", "auto"]),
)
@example(seed=0, hand="left", start="auto")
@settings(deadline=None, max_examples=200)
def test_every_patch_can_be_sewn_in(seed: int, hand: Any, start: Any) -> None:
    data = as_data(planned(bars_given(seed), method="patch", hand=hand, start=start))
    check_seam(data)
    check_patch(data)
    check_cuts(data)
    going = data["twines"][0]["knots"][0]["going"]
    side = {"left": "right", "right": "left"}[going]
    assert side == (start if start != "auto" else {"right": "left", "left": "right"}[hand])
    sides = data["patch"]["sides"]
    assert [side["first"] for side in sides[1:]] == [side["last"] + 1 for side in sides[:-1]]
    assert (sides[0]["first"], sides[-1]["last"]) == (1, data["counts"]["knots"])
    assert [side["side"] for side in sides] == ["top", going, "bottom", side]


@pytest.mark.parametrize("hand, start", [("right", "auto"), ("right", "right"), ("left", "left")])
@pytest.mark.parametrize("seed", [None, *range(12)])
def test_a_mirrored_hole_has_the_mirrored_patch(seed: int | None, hand: Any, start: Any) -> None:
    """Narrow holes too, which are widened to hold a patch at all."""
    found = {(4, 6), (5, 6)} if seed is None else random_hole(seed, 5, 2 + seed % 8)
    across = {"left": "right", "right": "left", "auto": "auto"}

    def sewn(bars: set[tuple[int, int]], hand: Any, start: Any) -> list[list[int]]:
        told = [[[c + (r + c) % 2, r], [c + 1 - (r + c) % 2, r + 1]] for r, c in sorted(bars)]
        own = planned(f"{{bars: {told}}}", hand=hand, start=start, method="patch")
        return as_data(own)["twines"][0]["path"]

    mirrored = {(row, 59 - column) for row, column in found}
    path = sewn(mirrored, across[hand], across[start])
    assert [[60 - x, y] for x, y in path] == sewn(found, hand, start)


@given(seed=st.integers(0, 100_000))
@settings(deadline=None, max_examples=100)
def test_no_rectangle_has_a_shorter_seam(seed: int) -> None:
    """All rectangles round the hole, up to three bars further out on each side."""
    data = as_data(planned(bars_given(seed), method="patch"))
    knots = [tuple(knot) for pair in data["broken"] for knot in pair]
    (l, r), (t, b) = ((min(way), max(way)) for way in zip(*knots))
    best = min(
        2 * (right - left) + 2 * (bottom - top - 2)
        for left, right, top, bottom in product(
            range(l - 3, l + 1), range(r, r + 4), range(t - 3, t + 1), range(b, b + 4)
        )
        if (left + top) % 2 == (right + top) % 2 == 1
        and (bottom - top) % 2 == 0
        and right - left >= 4
        and bottom - top >= 4
    )
    assert data["counts"]["bars"] == best


@given(seed=st.integers(0, 100_000), pace=st.sampled_from([None, 0.2, 4, 40]))
@settings(deadline=None, max_examples=60)
def test_auto_takes_less_time_and_the_balance_tips_where_it_says(
    seed: int, pace: float | None
) -> None:
    more = f"mender: {{pace: {pace}}}" if pace else ""
    hole = bars_given(seed)
    chosen = planned(hole, more, method="auto")
    both = chosen.comparison
    assert both is not None
    assert both.assumed == (pace is None)
    quicker = "patch" if both.patch.minutes < both.mend.minutes else "mend"
    assert chosen.method == both.wins == quicker
    alone = {way: planned(hole, more, method=way) for way in ("mend", "patch")}
    assert alone["mend"].comparison is None
    assert as_data(alone[quicker])["cuts"] == as_data(chosen)["cuts"]
    assert both.mend.knots == alone["mend"].sewing.knots
    freed = as_data(alone["patch"])["patch"]["bars_cut"]
    assert both.patch.cuts == len(alone["patch"].cuts) + freed
    if pace:
        assert alone["patch"].reckoning.minutes == pytest.approx(both.patch.minutes)
    if both.tips_at is None:
        slow = planned(hole, "mender: {pace: 0.01}", method="auto")
        assert slow.method == "mend"
    elif 0.01 < both.tips_at < 90:
        for factor, wins in ((0.99, "patch"), (1.01, "mend")):
            there = f"mender: {{pace: {both.tips_at * factor:.9f}}}"
            assert planned(hole, there, method="auto").method == wins


def test_a_large_hole_is_patched_and_a_small_one_mended() -> None:
    """Meshes grow with the area, the seam with the way round it."""
    large = planned("{shape: {kind: rectangle, across: 30, down: 30}}", "method: auto")
    assert large.method == "patch"
    said = as_data(large)["notes"]
    assert any("At 4 knots a minute (assumed) a mend takes" in note for note in said)
    assert any("faster than that mending wins, slower the patch" in note for note in said)
    assert any(note.startswith("Patch of ") and "T-cuts" in note for note in said)
    small = planned("{shape: {kind: slit across, across: 3}}", "method: auto")
    assert small.method == "mend"
    assert as_data(small)["patch"] is None
    assert as_data(small)["comparison"]["wins"] == "mend"


def test_a_mend_is_planned_unless_a_patch_is_asked_for() -> None:
    data = as_data(planned("{shape: {kind: rectangle, across: 30, down: 30}}"))
    assert (data["method"], data["patch"], data["comparison"]) == ("mend", None, None)


def test_refills_of_a_seam_are_at_its_sides_where_they_can_be() -> None:
    seam = planned(
        "{shape: {kind: rectangle, across: 12, down: 12}}",
        "net: {mesh: 120 mm, twine: {diameter: 3 mm}}\nmender: {needle: 5 m}\nmethod: patch",
    )
    assert len(seam.reckoning.refills) > 1
    side_knots = {knot.n for knot in seam.sewing.twines[0].knots if knot.stitch == "sider"}
    assert set(seam.reckoning.refills) <= side_knots


@pytest.mark.parametrize("edition", ["loft", "deck", "class"])
def test_cards_of_a_patch_are_made_in_every_edition(tmp_path: Path, edition: str) -> None:
    spec = tmp_path / "belly.yaml"
    spec.write_text(
        "net: {mesh: 120 mm, twine: {diameter: 3 mm}}\n"
        "hole: {shape: {kind: rectangle, across: 5, down: 4}}"
    )
    log = tmp_path / "log.csv"
    call = ["cards", str(spec), "--method", "patch", "--edition", edition, "--log", str(log)]
    assert main([*call, "--out", str(tmp_path / "out")]) == MADE
    assert list((tmp_path / "out").glob("*.pdf"))
    assert ",patch," in log.read_text()


def test_an_unknown_method_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", "-", "--method", "glue"]) == WRONG_CALL
    assert "invalid choice: 'glue'" in capsys.readouterr().err


# A hole up to the edge of its drawing: the rectangle for its patch goes beyond it.
AT_THE_EDGE = r"""
    ...../
    .....\
    ...../
    /\/\/\
"""


@pytest.mark.parametrize("call", [["plan", "--explain"], ["show", "--cuts"]])
def test_a_cut_beyond_the_drawing_is_told_from_its_first_row_and_bar(
    call: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spec = tmp_path / "belly.yaml"
    spec.write_text(f"method: patch\nhole:\n  drawing: |{AT_THE_EDGE}")
    data = as_data(planned(f"\n  drawing: |{AT_THE_EDGE}", method="patch"))
    x, _ = min(knot for pair in data["broken"] for knot in pair)
    assert main([*call, str(spec)]) == MADE
    said = capsys.readouterr().out
    assert not re.search(r"(row|bar) (0|-\d+)\b", said)
    beyond = [cut for cut in data["cuts"] if min(a for a, _ in cut["bar"]) < x]
    assert len(beyond) > 1
    assert said.count("1 bar left of bar 1") == len(beyond)


def test_no_two_knots_of_the_edge_are_told_as_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Cuts that begin a pickup or a sider are each made at a knot of their own."""
    spec = tmp_path / "belly.yaml"
    spec.write_text(f"method: patch\nhole: {bars_given(3)}")
    assert main(["plan", "--explain", str(spec)]) == MADE
    places = re.findall(
        r"(\d+\w\w knot [\w ]*, line \d+) from the top\. There it was a whole",
        capsys.readouterr().out,
    )
    assert len(places) > 3
    assert len(set(places)) == len(places)


def least_of_all(hole: Hole) -> tuple[int, int]:
    """The bars of the shortest seam round a hole and the fewest cuts for one, by trying all."""
    found = with_islands(hole)[0]
    broken = {tuple(bar) for bar in found.bars()}
    columns, rows = zip(*((column, row) for row, column in broken))
    fits = []
    for top, bottom in product(
        range(min(rows) - 5, min(rows) + 1), range(max(rows) + 1, max(rows) + 7)
    ):
        for left, right in product(
            range(min(columns) - 5, min(columns) + 1), range(max(columns) + 1, max(columns) + 7)
        ):
            odd = (left + top) % 2 and (right + top) % 2
            if (bottom - top) % 2 or not odd or bottom - top < 4 or right - left < 4:
                continue
            seam = {(row, column) for row in (top, bottom - 1) for column in range(left, right)}
            seam |= {(row, column) for row in range(top, bottom) for column in (left, right - 1)}
            fits.append((len(seam), len(seam - broken)))
    return min(fits)


@pytest.mark.parametrize("seed", range(60))
def test_the_rectangle_has_the_shortest_seam_and_then_the_fewest_cuts(seed: int) -> None:
    """Against all rectangles round the hole."""
    own = hole_of_bars(random_hole(seed, 1 + seed % 6, 2 + seed % 9))
    fit = fit_patch(own)
    cuts = fit.seam.size - sum(fit.found.misses(*bar) for bar in fit.seam.bars())
    assert (fit.seam.size, cuts) == least_of_all(own)


@pytest.mark.parametrize("start", ["left", "right"])
@pytest.mark.parametrize("wide", range(1, 9))
@pytest.mark.parametrize("rows", range(1, 6))
def test_low_and_narrow_holes_have_the_best_rectangle_too(rows: int, wide: int, start: str) -> None:
    for top, left in product((0, 1), (4, 5)):
        own = Hole(top, ((Stretch(left, left + wide),),) * rows)
        fit = fit_patch(own, start)
        cuts = fit.seam.size - sum(fit.found.misses(*bar) for bar in fit.seam.bars())
        assert (fit.seam.size, cuts) == least_of_all(own)
