"""Judging trims that others made, against an independent judge on random sets of bars."""

from __future__ import annotations

import json
import random
from collections import Counter
from pathlib import Path
from xml.etree import ElementTree

import networkx as nx
import pytest
from clearance import touching
from exact import SEWABLE, around, ends, solve
from holes import FLAP as TEAR
from holes import random_hole

from cards.command import main
from cards.grid import Bar, hole_of_bars
from cards.job import plan
from cards.picture.check import picture_of_check
from cards.spec import load_text
from cards.spec.cuts import cuts_given
from cards.trim import trim
from cards.trim.check import check_trim, ways_of

RING = r"""
hole:
  drawing: |
    \/\/\/\/\/\/
    /\......../\
    \/./\/\/\.\/
    /\.\/\/\/./\
    \/./\/\/\.\/
    /\.\/\/\/./\
    \/......./\/
    /\/\/\/\/\/\
""".replace(r"\/......./\/", r"\/........\/")

FLAP = f"title: Flap{TEAR}"


def can_be_sewn(missing: set[tuple[int, int]]) -> bool:
    """The rules without following a twine: a way of going for each bar, and an order.

    Every bar goes right or left. Two bars of a row that meet go the same way; at a sider the
    upper one goes towards it and the lower one away. That can hold for all only where no twine
    climbs and none closes to a ring.
    """
    same, where = nx.Graph(), {}
    same.add_nodes_from(missing)
    loops = []
    for knot in {knot for bar in missing for knot in ends(bar)}:
        own = around(knot)
        state = tuple(int(bar in missing) for bar in own)
        if state not in SEWABLE:
            return False
        upper_left, upper_right, lower_left, lower_right = own
        for a, b in ((upper_left, upper_right), (lower_left, lower_right)):
            if a in missing and b in missing:
                same.add_edge(a, b)
        if sum(state) == 4:
            loops.append((upper_left, lower_left))
    row_of_bars = {
        bar: number for number, bars in enumerate(nx.connected_components(same)) for bar in bars
    }
    whole = nx.Graph()
    whole.add_nodes_from(set(row_of_bars.values()))
    for knot in {knot for bar in missing for knot in ends(bar)}:
        own = around(knot)
        state = tuple(int(bar in missing) for bar in own)
        if state in ((0, 1, 0, 1), (1, 0, 1, 0)):
            upper, lower = (own[1], own[3]) if state[1] else (own[0], own[2])
            towards = "left" if state[1] else "right"
            away = "right" if state[1] else "left"
            for bar, way in ((upper, towards), (lower, away)):
                if where.setdefault(row_of_bars[bar], way) != way:
                    return False
            whole.add_edge(row_of_bars[upper], row_of_bars[lower])
    twine = {row: n for n, rows in enumerate(nx.connected_components(whole)) for row in rows}
    order = nx.DiGraph()
    order.add_edges_from(
        (twine[row_of_bars[a]], twine[row_of_bars[b]])
        for a, b in loops
        if twine[row_of_bars[a]] != twine[row_of_bars[b]]
    )
    return nx.is_directed_acyclic_graph(order)


def with_loose_web(bars: set[tuple[int, int]]) -> set[tuple[int, int]]:
    """Missing bars with those of web that hangs on nothing (networkx)."""
    rows = range(min(r for r, _ in bars) - 2, max(r for r, _ in bars) + 3)
    columns = range(min(c for _, c in bars) - 2, max(c for _, c in bars) + 3)
    web = nx.Graph(ends((r, c)) for r in rows for c in columns if (r, c) not in bars)
    outside = nx.node_connected_component(web, ends((rows[0], columns[0]))[0])
    return bars | {
        (r, c)
        for r in rows
        for c in columns
        if (r, c) not in bars and ends((r, c))[0] not in outside
    }


@pytest.mark.parametrize("first", range(0, 600, 60))
def test_any_set_of_bars_is_judged_as_the_rules_say(first: int) -> None:
    told = set()
    for seed in range(first, first + 60):
        rng = random.Random(seed)
        hole = hole_of_bars(random_hole(seed, 6, 6))
        best = trim(hole, twine_cost=rng.choice((1, 8)))
        cuts = set(best.trimmed.bars()) - set(hole.bars()) if rng.random() < 0.7 else set()
        for _ in range(rng.choice((0, 0, 1, 3))):
            bar = Bar(
                rng.randrange(hole.top - 1, hole.bottom + 1),
                rng.randrange(hole.left - 1, hole.right + 1),
            )
            if not hole.misses(*bar):
                cuts ^= {bar}
        judged = check_trim(hole, sorted(cuts), trim(hole), 8)
        missing = with_loose_web(set(hole.bars()) | cuts)
        assert set(judged.missing.bars()) == missing
        assert judged.sewable == can_be_sewn(missing), seed
        told.add(judged.sewable)
        if not judged.sewable:
            finished = missing | {cut.bar for cut in judged.further}
            assert judged.further and can_be_sewn(finished)
    assert told == {True, False}


@pytest.mark.parametrize("seed", range(30))
def test_the_exact_trim_can_be_sewn(seed: int) -> None:
    """What OR-Tools CP-SAT finds by the rules alone is judged sound, with its number of twines."""
    hole = hole_of_bars(random_hole(seed, 5, 5))
    best = trim(hole, twine_cost=1)
    exact = solve(best.found.bars(), most_runs=4, run_cost=1)
    judged = check_trim(best.found, sorted(exact.bars - set(best.found.bars())), best, 1)
    if not judged.loose:
        assert judged.sewable
        assert judged.twines == exact.runs


def test_a_ring_is_told_with_its_bars() -> None:
    """Worked example of the project's design: the 24 bars round a patch close to one run."""
    bars = hole_of_bars(load_text(RING)[0].hole.bars())
    assert bars.size == 24
    (way,) = ways_of(bars)
    assert way.ring and len(way.bars) == 24 and way.climbs


def test_the_plans_own_cuts_can_be_sewn_and_one_less_cannot() -> None:
    (spec,) = load_text(FLAP)
    planned = plan(spec)
    bars = [cut.bar for cut in planned.cuts]
    sound = check_trim(spec.hole, bars, planned.trim, 8)
    assert sound.sewable and sound.twines == 2 and sound.more == 0
    short = check_trim(spec.hole, bars[:-1], planned.trim, 8)
    assert not short.sewable
    assert [cut.bar for cut in short.further] == bars[-1:]


def check_told(tmp_path, text: str, *options: str) -> int:
    file = tmp_path / "flap.yaml"
    file.write_text(text)
    return main(["check", str(file), *options])


def test_cuts_by_number_by_knots_and_drawn_are_judged_alike(tmp_path, capsys) -> None:
    (spec,) = load_text(FLAP)
    (cut,) = plan(spec).cuts
    drawn = FLAP[FLAP.index("drawing: |") + len("drawing: |\n") :].splitlines()
    row = drawn[cut.bar.row]
    place = 4 + cut.bar.column
    drawn[cut.bar.row] = row[:place] + "x" + row[place + 1 :]
    ways = [
        "cuts: [1]\n",
        f"cuts: [{[list(knot) for knot in cut.bar.ends]}]\n",
        "cuts: |\n" + "\n".join(drawn) + "\n",
    ]
    told = []
    for way in ways:
        assert check_told(tmp_path, FLAP + way, "--json") == 0
        told.append(json.loads(capsys.readouterr().out))
    assert told[0] == told[1] == told[2]
    assert told[0]["format"] == "threebar.check/1"
    assert told[0]["sewable"] and told[0]["twines"] == 2


def test_a_check_is_told_in_words(tmp_path, capsys) -> None:
    assert check_told(tmp_path, FLAP) == 1
    said = capsys.readouterr().out
    assert "It cannot be sewn as it stands." in said
    assert "from the left on the edge of the hole, line" in said
    assert "Next cut: the bar" in said
    assert check_told(tmp_path, FLAP + "cuts: [1]") == 0
    assert "It can be sewn as it stands, with 2 twines." in capsys.readouterr().out


@pytest.mark.parametrize(
    "cuts, said",
    [
        ("[[[2, 2], [3, 1]]]", "This bar is broken already."),
        ("[[[90, 90], [91, 91]]]", "There is no such bar near the hole."),
        ("[1, 1]", "a second time; expected each cut once"),
        ("[2]", "expected a number from 1 to 1"),
        ("[[[0, 0], [4, 4]]]", "No bar joins these two knots."),
    ],
)
def test_cuts_that_cannot_be_are_named(tmp_path, capsys, cuts: str, said: str) -> None:
    spec = f"{FLAP}cuts: {cuts}"
    assert check_told(tmp_path, spec) == 2
    told = capsys.readouterr().err
    assert said in told
    assert f"flap.yaml:{len(spec.splitlines())}: cuts[" in told


def test_the_cuts_of_a_plan_are_explained(tmp_path, capsys) -> None:
    file = tmp_path / "flap.yaml"
    file.write_text(FLAP)
    assert main(["plan", "--explain", str(file)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Flap: 1 cut and 2 twines.\nCut 1, for twine ")
    assert "three-bar" in said


@pytest.mark.parametrize("text, ring", [(FLAP, False), (FLAP + "cuts: [1]", False), (RING, True)])
def test_a_check_is_drawn(tmp_path: Path, text: str, ring: bool) -> None:
    """What is wrong is numbered in the drawing, a ring dashed; nothing touches."""
    (spec,) = load_text(text)
    cuts = cuts_given(spec, [cut.bar for cut in plan(spec).cuts])
    check = check_trim(spec.hole, cuts, trim(spec.hole), 8)
    drawn = picture_of_check(check, "Flap", ["It cannot be sewn as it stands."])
    assert touching(drawn, 0.2) == []
    roles = Counter(shape.role for shape in drawn.shapes)
    assert roles["knot number"] == (0 if check.sewable else len(check.wrong))
    assert roles["cut mark"] == len(cuts)
    assert roles["ring"] == sum(len(way.bars) for way in check.rings)
    assert bool(roles["ring"]) == ring
    assert roles["next cut"] == bool(check.further)
    (tmp_path / "hole.yaml").write_text(text)
    out = tmp_path / "check.svg"
    call = ["check", str(tmp_path / "hole.yaml"), "--picture", str(out)]
    assert main(call) == (0 if check.sewable else 1)
    assert "The plan has" in " ".join(ElementTree.parse(out).getroot().itertext())


PATCHED = r"""
title: Wing
method: patch
hole:
  drawing: |
    \/\/\/\/
    /\..../\
    \/....\/
    /\/..\/\
    \/\/\/\/
cuts: [1]
"""


def test_an_answer_is_marked_as_a_mend_whatever_the_method(tmp_path: Path, capsys) -> None:
    file, answer = tmp_path / "wing.yaml", tmp_path / "answer.yaml"
    file.write_text(PATCHED.partition("cuts:")[0])
    (spec,) = load_text(file.read_text())
    fewest = len(plan(spec, method="mend").cuts)
    answer.write_text(f"cuts: {list(range(1, fewest + 1))}\n")
    assert main(["mark", str(file), str(answer)]) == 0
    assert "trim: right, 10 of 10." in capsys.readouterr().out


def test_a_three_bar_that_was_not_there_turns_up(tmp_path: Path, capsys) -> None:
    """It moves only from a knot that was one; at other cuts it is a new one."""
    file = tmp_path / "flap.yaml"
    file.write_text(FLAP)
    assert main(["plan", "--explain", str(file)]) == 0
    said = capsys.readouterr().out
    assert "There it was a one-bar" in said
    assert "A three-bar turns up at the next knot" in said


@pytest.mark.parametrize("word, option", [("picture", "-o"), ("check", "--picture")])
def test_a_drawing_is_written_as_svg_only(word: str, option: str, tmp_path: Path, capsys) -> None:
    file, out = tmp_path / "flap.yaml", tmp_path / "flap.png"
    file.write_text(FLAP)
    assert main([word, str(file), option, str(out)]) == 2
    assert "flap.png: found a name for another format; expected FILE.svg" in capsys.readouterr().err
    assert not out.exists()


def test_a_bar_that_falls_off_is_counted_as_cut() -> None:
    """Whoever cuts only what a piece hangs on has made as many cuts as the plan, not fewer."""
    path = Path(__file__).parent.parent / "specs" / "ragged-round.yaml"
    (spec,) = load_text(path.read_text())
    planned = plan(spec)
    bars = [cut.bar for cut in planned.cuts if cut.bar != Bar(4, 10)]
    check = check_trim(planned.trim.found, bars, planned.trim, 8)
    assert check.sewable
    assert (len(check.cuts), check.fallen, check.more) == (len(planned.cuts) - 1, 1, 0)
