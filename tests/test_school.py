"""Exercises for a class: each level is what it says, no two sheets are alike, keys are right.

What a key says is checked by what shares no code with the engine: the rules of a plan told on its
JSON (`rules`), the rules of sewing over networkx (`test_check.can_be_sewn`), OR-Tools CP-SAT
(`exact`), and counts made here from the broken bars alone.
"""

from __future__ import annotations

import csv
import json
import os
import re
import shutil
import subprocess
import sys
from functools import lru_cache
from itertools import combinations
from pathlib import Path

import networkx as nx
import pypdfium2
import pytest
import yaml
from holes import FLAP as TEAR
from rules import ALL_FOUR, PASSES, as_bar, bars_of, check, missing_at

from cards import as_data, plan
from cards.command import MADE, WRONG_CALL, main
from cards.errors import CardError
from cards.picture.pdf import pdf_bytes
from cards.school.chance import Chance
from cards.school.forms import FIELDS, form_text
from cards.school.levels import LEVELS, MANY, hardness
from cards.school.marking import FULL, mark
from cards.school.sets import LONGEST_WALK, make_set
from cards.school.tasks import TASKS, Exercise, exercise_of
from cards.sheet.exercise import answer_page, sheet_page
from cards.sheet.pages import Look
from cards.sheet.paper import BENCH_SIZES, paper
from cards.spec import load_text
from cards.trim import TWINE_COST
from cards.trim.check import check_trim
from cards.words import words
from tests import print_craft as craft
from tests.exact import ends, solve
from tests.print_craft import Print
from tests.test_check import can_be_sewn, with_loose_web

ROOT = Path(__file__).parent.parent
SEEDS = (1, 4711)
NAMES = {1: "three-bar", 3: "one-bar"}


@lru_cache(maxsize=64)
def sheets(level: int, seed: int = 1, task: str | None = None, count: int = 30) -> list[Exercise]:
    return make_set(count, [LEVELS[level - 1]], seed, words(), task=task)


def broken(own: Exercise) -> set[tuple[int, int]]:
    """The bars (row, column) that the sheet's drawing has as dots."""
    drawing = yaml.safe_load(own.spec.text)["hole"]["drawing"].splitlines()
    shift = 0 if drawing[0][0] == "\\" else 1
    return {
        (row, column + shift)
        for row, line in enumerate(drawing)
        for column, sign in enumerate(line)
        if sign == "."
    }


def every(seeds=SEEDS[:1]) -> list[Exercise]:
    """Sheets of every level."""
    return [own for seed in seeds for level in range(1, 6) for own in sheets(level, seed)]


# Levels


def replayed(own: Exercise) -> dict[str, int]:
    """What is hard about a sheet, counted from the drawing and the printed cuts alone."""
    plan = json.loads(json.dumps(as_data(own.plan)))
    found = broken(own)
    missing = {frozenset(ends(bar)) for bar in with_loose_web(set(found))}
    chased = pickups = siders = 0
    for cut in plan["cuts"]:
        a, b = sorted(as_bar(cut["bar"]))
        before = {knot: missing_at(knot, missing) for knot in (a, b)}
        missing.add(frozenset({a, b}))
        after = {knot: missing_at(knot, missing) for knot in (a, b)}
        chased += any(len(before[k]) == 0 and len(after[k]) == 1 for k in (a, b)) or any(
            len(before[k]) != 1 and len(after[k]) == 1 for k in (a, b)
        )
        if cut["does"] == "turns into a pickup":
            assert any(PASSES.get(after[k], "").startswith("pickup") for k in (a, b))
            pickups += 1
        if cut["does"] == "turns into a sider":
            assert any(PASSES.get(after[k]) == "sider" for k in (a, b))
            siders += 1
    rows = [row for row, _ in found]
    return {
        "rows": max(rows) - min(rows) + 1,
        "broken": len(found),
        "cuts": len(plan["cuts"]),
        "chased": chased,
        "pickups": pickups,
        "siders": siders,
        "twines": len(plan["twines"]),
        "loose": len(with_loose_web(set(found))) - len(found),
    }


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("level", range(1, 6))
def test_each_level_has_what_it_says(level: int, seed: int) -> None:
    for own in sheets(level, seed):
        counted, said = replayed(own), LEVELS[level - 1]
        for name, number in counted.items():
            least, most = getattr(said, name)
            assert least <= number <= most, (level, own.fields.sheet, name, number)
        assert hardness(own.plan).forced <= said.forced[1]


def test_the_levels_grow_harder() -> None:
    """More to cut from level 1 to 3, loose web only on 4, two twines and miscounts at the top."""
    cuts = [sum(len(own.plan.cuts) for own in sheets(level)) for level in (1, 2, 3)]
    assert cuts == sorted(cuts) and cuts[0] < cuts[1] < cuts[2]
    assert [level.loose[0] > 0 for level in LEVELS] == [False, False, False, True, False]
    assert [level.twines for level in LEVELS] == [(1, 1)] * 4 + [(2, 2)]
    assert ["miscount" in level.tasks for level in LEVELS] == [False] * 3 + [True] * 2


def test_the_readme_tells_the_levels_as_they_are() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    head = "| level | rows | bars broken | cuts | three-bars that turn up as you cut |"
    lines = readme[readme.index(head) :].splitlines()[2:7]
    for line, level in zip(lines, LEVELS, strict=True):
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        bounds = (level.rows, level.broken, level.cuts, level.chased)
        told = [f"{a} to {b}" if b < MANY else f"{a} or more" for a, b in bounds]
        assert cells[:5] == [str(level.number), *told]


# Sets


@pytest.mark.parametrize("level", range(1, 6))
def test_no_two_sheets_of_a_set_are_alike(level: int) -> None:
    own = sheets(level)
    assert len(own) == 30
    assert [each.fields.sheet for each in own] == list(range(1, 31))
    shapes = [shapes_of(broken(each)) for each in own]
    for a, b in combinations(shapes, 2):
        assert not a & b
    for task in TASKS:
        answers = [each.answer for each in own if each.fields.task == task]
        assert len(set(answers)) == len(answers)


def shapes_of(bars: set[tuple[int, int]]) -> set[frozenset[tuple[int, int]]]:
    """A hole as it lies, from behind, upside down and both, moved to one corner with its lean."""
    turned = set()
    for across in (1, -1):
        for down in (1, -1):
            # Knots stay where x + y is even: a bar's middle (column + 1/2, row + 1/2) is turned.
            own = {
                (row if down == 1 else -row - 1, column if across == 1 else -column - 1)
                for row, column in bars
            }
            top, left = min(row for row, _ in own), min(column for _, column in own)
            odd = (top + left) % 2
            turned.add(frozenset((row - top, column - left + odd) for row, column in own))
    return turned


@pytest.mark.parametrize("task", TASKS)
def test_one_task_can_be_set_to_a_whole_class(task: str) -> None:
    for level in (1, 4):
        own = sheets(level, 2, task)
        assert len({each.answer for each in own}) == 30
        assert {each.fields.task for each in own} == {task}


def texts(folder: Path, *options: str) -> dict[str, bytes]:
    assert main(["exercise", "--out", str(folder), "--count", "6", *options]) == MADE
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_the_same_seed_makes_the_same_set(tmp_path: Path) -> None:
    one = texts(tmp_path / "a", "--seed", "8")
    assert one == texts(tmp_path / "b", "--seed", "8")
    assert {"sheets.pdf", "keys.pdf", "sheets.yaml", "forms/sheet-01.yaml"} <= set(one)
    other = texts(tmp_path / "c", "--seed", "9")
    assert not set(re.findall(rb"(?:    [./\\]+\n)+", one["sheets.yaml"])) & set(
        re.findall(rb"(?:    [./\\]+\n)+", other["sheets.yaml"])
    )


def test_the_order_of_hashes_changes_nothing(tmp_path: Path) -> None:
    made = set()
    for number in ("0", "77"):
        folder = tmp_path / number
        subprocess.run(
            [sys.executable, "-m", "cards", "exercise", "--count", "10", "--out", str(folder)],
            env={**os.environ, "PYTHONHASHSEED": number, "PYTHONPATH": str(ROOT)},
            check=True,
            capture_output=True,
        )
        names = ("sheets.pdf", "keys.pdf", "sheets.yaml")
        made.add(tuple((folder / name).read_bytes() for name in names))
    assert len(made) == 1


def test_chance_is_the_same_in_every_version_of_python() -> None:
    """Known numbers, so that a change of the standard library is seen."""
    chance = Chance(3, 1, 4)
    assert [chance.below(1000) for _ in range(5)] == CHANCE


CHANCE = [531, 313, 12, 548, 154]


def test_a_longer_set_begins_as_the_shorter_one() -> None:
    (level,) = LEVELS[1:2]
    short = make_set(4, [level], 3, words())
    long = make_set(9, [level], 3, words())
    assert [own.spec.text for own in long[:4]] == [own.spec.text for own in short]


def test_sheets_are_made_again_from_the_specs_that_are_kept(tmp_path: Path) -> None:
    first = texts(tmp_path / "a", "--level", "2..5", "--hand", "left")
    assert (
        main(["exercise", str(tmp_path / "a" / "sheets.yaml"), "--out", str(tmp_path / "b")]) == 0
    )
    for name in ("sheets.pdf", "keys.pdf"):
        assert (tmp_path / "b" / name).read_bytes() == first[name]
    assert not (tmp_path / "b" / "sheets.yaml").exists()
    assert all(spec.mender.hand == "left" for spec in load_text(first["sheets.yaml"].decode()))


def test_too_many_sheets_of_a_kind_are_refused(monkeypatch) -> None:
    monkeypatch.setattr("cards.school.sets.TRIES", 200)
    with pytest.raises(CardError, match=r"no more of level 1 \(task miscount\)"):
        make_set(200, LEVELS[:1], 1, words(), task="miscount")


# Keys


def test_the_plan_of_every_key_obeys_the_rules() -> None:
    """And with them knots = meshes + twines - openings: P. D. Lorimer, Net mending and patching,
    Oregon State University Extension, SG 83, 1989: each knot completes a mesh."""
    for own in every(SEEDS):
        check(json.loads(json.dumps(as_data(own.plan))))


@pytest.mark.parametrize("level", [1, 2, 5])
def test_no_trim_has_fewer_cuts_than_the_key(level: int) -> None:
    """By OR-Tools CP-SAT, from the rules alone."""
    for own in [own for own in sheets(level) if own.fields.task == "trim"][:3]:
        found = with_loose_web(broken(own))
        twines = len(own.plan.sewing.twines)
        exact = solve(found, most_runs=twines, run_cost=8)
        assert exact.proved
        assert exact.runs == twines
        assert len(exact.bars) - len(found) == len(own.answer)


def test_knots_are_named_by_what_they_miss() -> None:
    for own in every():
        if own.fields.task != "name":
            continue
        missing = {frozenset(ends(bar)) for bar in broken(own)}
        whole = {frozenset(ends(bar)) for bar in with_loose_web(broken(own))}
        assert len(own.answer) == len(own.lettered) > 3
        assert len(set(own.answer)) >= 3
        for (_, knot), name in zip(own.lettered, own.answer):
            gone = missing_at(knot, missing)
            assert gone == missing_at(knot, whole), "no loose web leaves a doubt"
            assert gone != ALL_FOUR
            known = NAMES.get(len(gone)) or PASSES.get(gone, "two opposite").partition(" ")[0]
            assert known == name.partition(" ")[0]


def test_numbers_can_be_put_in_one_way_only() -> None:
    """The first ring is given; every twine has one end above all its others, and so one way."""
    for own in every():
        if own.fields.task != "number":
            continue
        twines = as_data(own.plan)["twines"]
        assert len(twines) <= 2
        for twine in twines:
            assert twine["path"][0][1] < twine["path"][-1][1]
        numbers = {tuple(k["at"]): k["n"] for twine in twines for k in twine["knots"]}
        in_lines = sorted(numbers, key=lambda knot: (knot[1], knot[0]))
        assert own.answer == tuple(str(numbers[knot]) for knot in in_lines)


# W = H x L x Rtex/1000 x K: the knot factor K by mesh size and twine diameter in mm, Prado and
# Dremiere, Fisherman's Workbook, FAO, 1990 (from memory).
KNOT_FACTORS = {(60, 2.0): 1.53, (80, 3.0): 1.60, (100, 4.0): 1.64}


def test_the_twine_of_a_count_is_that_of_the_knot_factor() -> None:
    """A knot with its two bars takes mesh size x K; the ends of a twine one knot's worth more each,
    and 0.15 m of tail (common practice, no source)."""
    seen = set()
    for own in sheets(2, 2, "count") + sheets(5, 2, "count"):
        net = own.spec.net
        pair = (net.mesh.mm, net.twine.diameter.mm)
        bars, knots, meshes, twine = own.answer
        twines = len(own.plan.sewing.twines)
        assert int(knots) == int(meshes) + twines - 1
        if pair not in KNOT_FACTORS:
            continue
        seen.add(pair)
        factor = KNOT_FACTORS[pair]
        knot = pair[0] * (factor - 1)
        reckoned = int(bars) * pair[0] / 2 + (int(knots) + 2 * twines) * knot + 2 * twines * 150
        slack = 0.005 * pair[0] * (int(knots) + 2 * twines) + 50  # both figures are rounded
        assert abs(float(twine.removesuffix(" m")) * 1000 - reckoned) <= slack
    assert seen == set(KNOT_FACTORS)


def test_a_needle_that_runs_out_changes_no_answer_to_a_count() -> None:
    """A refill takes two tails more, but the sheet gives none and says to reckon without them."""
    for own in sheets(2, 3, "count", 6):
        document = yaml.safe_load(own.spec.text)
        document["mender"] = {**document.get("mender", {}), "needle": "0.9 m"}
        (spec,) = load_text(yaml.safe_dump(document, allow_unicode=True))
        refilled = exercise_of(spec)
        assert refilled.plan.reckoning.refills and not own.plan.reckoning.refills
        assert refilled.answer == own.answer
        said = dict(zip(("bars", "knots", "meshes", "twine"), own.answer))
        assert mark(refilled, yaml.safe_dump(said), "answer", words()).right


WAYS = [(1, 1), (-1, 1), (-1, -1), (1, -1)]  # down-right, then turning right


def walk_along(start, counts, missing) -> tuple[tuple[int, int], int]:
    """Walk as the sheet says: 4 right, 3 straight on, 2 left, 1 back; never on a broken bar."""
    (x, y), way = start, 0
    for count in counts:
        ahead = x + WAYS[way][0], y + WAYS[way][1]
        assert frozenset({(x, y), ahead}) not in missing
        x, y = ahead
        way = (way + {4: 1, 3: 0, 2: -1, 1: -2}[count]) % 4
    return (x, y), way


def test_a_walk_closes_and_goes_along_whole_bars() -> None:
    """Fours = twos + twice the ones + 4: the turning of any closed walk."""
    for own in every():
        if own.fields.task not in ("walk", "miscount"):
            continue
        walk, start = own.walked
        assert len(walk.counts) <= LONGEST_WALK
        missing = {frozenset(ends(bar)) for bar in with_loose_web(broken(own))}
        assert walk_along(start, walk.counts, missing) == (start, 0)
        fours, twos, ones = (walk.counts.count(n) for n in (4, 2, 1))
        assert fours == twos + 2 * ones + 4
        for knot, count in zip(knots_of(start, walk.counts), walk.counts):
            assert count == 4 - len(missing_at(knot, missing)), "what a pupil sees is the count"
        lost = [bar for knot in knots_of(start, walk.counts) for bar in bars_of(knot).values()]
        assert missing & set(lost)


def knots_of(start, counts):
    (x, y), way = start, 0
    for count in counts:
        x, y = x + WAYS[way][0], y + WAYS[way][1]
        way = (way + count - 3) % 4
        yield x, y


def test_a_miscount_is_one_count() -> None:
    for own in sheets(4, 2, "miscount") + sheets(5, 2, "miscount"):
        told = [int(count) for count in own.fields.walk.split()]
        place, should = map(int, own.answer)
        wrong = [
            n for n, (a, b) in enumerate(zip(told, own.walked[0].counts, strict=True), 1) if a != b
        ]
        assert wrong == [place]
        told[place - 1] = should
        missing = {frozenset(ends(bar)) for bar in with_loose_web(broken(own))}
        assert walk_along(own.walked[1], told, missing) == (own.walked[1], 0)


@pytest.mark.parametrize("level", range(1, 6))
def test_a_wrong_trim_has_the_one_mistake_that_the_key_names(level: int) -> None:
    kinds = set()
    for own in sheets(level, 2, "mistake")[:12]:
        found = with_loose_web(broken(own))
        given = yaml.safe_load(own.spec.text)["cuts"]
        made = [bar_of(pair) for pair in given]
        twines = len(own.plan.sewing.twines)
        assert not can_be_sewn(with_loose_web(found | set(made)))
        rows, columns = {r for r, _ in found}, {c for _, c in found}
        mended = []
        for row in range(min(rows) - 2, max(rows) + 3):
            for column in range(min(columns) - 3, max(columns) + 4):
                bar = (row, column)
                if bar in found:
                    continue
                missing = with_loose_web(found | (set(made) ^ {bar}))
                if three_bars(missing) <= 2 * twines and can_be_sewn(missing):
                    mended.append(bar)
        assert len(mended) == 1, own.fields.sheet
        kind, place = own.answer
        assert (kind == "too many") == (mended[0] in made)
        row, column = map(int, place.split(":"))
        top, left = min(rows), min(columns)
        assert mended == [(row - 1 - 2 + top, column - 1 - 2 + left)]
        kinds.add(kind)
    assert kinds == {"too many", "left out"}


def bar_of(pair) -> tuple[int, int]:
    (ax, ay), (bx, _) = pair
    return ay, min(ax, bx)


def three_bars(missing: set[tuple[int, int]]) -> int:
    graph = nx.Graph(ends(bar) for bar in missing)
    return sum(degree == 1 for _, degree in graph.degree)


def test_what_the_key_shows_is_what_it_answers() -> None:
    """The words of the answers stand on the key and not on the sheet."""
    look = Look(paper("A4"), BENCH_SIZES, words())
    for own in [own for level in range(1, 6) for own in sheets(level)[:12]]:
        pages = sheet_page(own, look), answer_page(own, look)
        sheet, key = (" ".join(own_texts(page)) for page in pages)
        drawn, filled = ([shape.role for shape in page.shapes] for page in pages)
        assert own.spec.title in sheet and own.spec.title in key
        assert "Answer key" in key and "Answer key" not in sheet
        if own.fields.task == "trim":
            number = "one" if len(own.answer) == 1 else len(own.answer)
            assert f"takes away {number} bar" in key and f"takes away {number} bar" not in sheet
            assert "cut number" not in drawn
            assert filled.count("cut number") == len(own.answer)
        if own.fields.task == "number":
            assert drawn.count("sign ring") == filled.count("sign ring") == len(own.answer)
            assert drawn.count("knot number") == 1
            assert filled.count("knot number") == len(own.answer)
        if own.fields.task == "mistake":
            assert "mistake" not in drawn
            assert filled.count("mistake") == 1
            said = "one is left out" if own.answer[0] == "left out" else "is one too many"
            assert said in key and said not in sheet
        if own.fields.task == "miscount":
            assert "mistake" not in drawn and filled.count("mistake") == 1


def own_texts(page) -> list[str]:
    return [shape.text for shape in page.shapes if hasattr(shape, "text")]


# Pages


@pytest.mark.parametrize(("name", "levels"), [("A4", (1, 3, 5)), ("letter", (2, 4))])
def test_sheets_and_keys_print_well_on_one_page_each(name: str, levels: tuple[int, ...]) -> None:
    look = Look(paper(name), BENCH_SIZES, words())
    made = [own for level in levels for own in sheets(level)[:6]]
    assert {own.fields.task for own in made} == set(TASKS)
    for page in (sheet_page, answer_page):
        pages = [page(own, look) for own in made]
        printed = Print(pdf_bytes(pages, title="t", subject="s", keywords="k"), pages)
        assert len(printed.texts) == len(made)
        signed = [{"Name", "Class"} <= set(own_texts(made_page)) for made_page in pages]
        assert all(signed) if page is sheet_page else not any(signed)
        faults = [
            *craft.small_type(printed),
            *craft.small_instructions(pages, 9.0),
            *craft.low_numbers(printed, 2.2),
            *craft.thin_lines(printed),
            *craft.greys(printed),
            *craft.solids(printed),
            *craft.full_margins(printed),
            *craft.eyelet_faults(printed),
            *craft.crowded(pages),
            *craft.page_sizes(printed, name),
            *craft.check_line_faults(printed),
            *craft.loose_fonts(printed.pdf),
            *craft.unselectable(printed),
            *craft.unsound(printed.pdf),
            *craft.unsaid(printed, ["Top of the net", "Knife away from body and other hand"]),
        ]
        assert faults == []


def test_every_key_fits_the_lower_paper_with_nothing_touching() -> None:
    """A page that does not fit raises; letter is 18 mm lower than A4."""
    look = Look(paper("letter"), BENCH_SIZES, words())
    for own in sheets(4, 4711) + sheets(5, 4711):
        assert craft.crowded([answer_page(own, look)]) == []


def test_a_paper_too_small_is_named(tmp_path: Path, capsys) -> None:
    options = ["--count", "2", "--paper", "A6", "--out", str(tmp_path)]
    assert main(["exercise", *options]) == WRONG_CALL
    assert "expected A4 or letter" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_sheets_and_keys_stand_in_the_same_order(tmp_path: Path) -> None:
    texts(tmp_path, "--level", "3")
    read = {
        name: [
            page.get_textpage().get_text_range()
            for page in pypdfium2.PdfDocument(str(tmp_path / name))
        ]
        for name in ("sheets.pdf", "keys.pdf")
    }
    for number, (sheet, key) in enumerate(zip(*read.values(), strict=True), 1):
        assert f"Sheet {number}, level 3, set 1" in sheet
        assert f"Sheet {number}, level 3, set 1" in key
    outline = pypdfium2.PdfDocument(str(tmp_path / "sheets.pdf")).get_toc()
    assert len(list(outline)) == 6


@pytest.mark.parametrize("task", TASKS)
def test_a_task_is_set_on_any_hole_or_refused_in_words(task: str, tmp_path: Path, capsys) -> None:
    for file in sorted((ROOT / "specs").glob("*.yaml")):
        if file.stem == "three-cards":
            continue
        spec = tmp_path / file.name
        group = f"exercise: {{sheet: 1, level: 1, set: 1, task: {task}, walk: 4 3 4 4 3 3}}\n"
        spec.write_text(f"{file.read_text(encoding='utf-8').rstrip()}\n{group}")
        code = main(["exercise", str(spec), "--out", str(tmp_path / file.stem)])
        said = capsys.readouterr().err
        assert code == (WRONG_CALL if said else MADE), file.name
        assert "Traceback" not in said and ("found" in said or not said)


# Marking


def key_form(own: Exercise) -> str:
    """The form of a sheet filled in from its key."""
    task, answer = own.fields.task, own.answer
    if task in ("trim", "mistake"):
        lines = form_text(own, words()).splitlines()
        first = next(n for n, line in enumerate(lines) if line.endswith(": |")) + 1
        for place in answer if task == "trim" else answer[1:]:
            row, column = map(int, place.split(":"))
            line = lines[first + row - 1]
            at = column + 1  # two blanks before the drawing
            assert line[at] in "\\/"
            lines[first + row - 1] = line[:at] + "x" + line[at + 1 :]
        return "\n".join(lines)
    if task in ("count", "miscount"):
        return "\n".join(f"{name}: {said}" for name, said in zip(FIELDS[task], answer))
    if task == "name":
        return f"names: [{', '.join(answer)}]"
    return f"{'numbers' if task == 'number' else 'walk'}: {' '.join(answer)}"


def test_the_key_gets_full_marks_and_an_empty_form_none() -> None:
    for own in every():
        sound = mark(own, key_form(own), "answer.yaml", words())
        assert sound.right and sound.score == FULL, (own.fields, sound.remarks)
        empty = mark(own, form_text(own, words()), "answer.yaml", words())
        assert not empty.right and empty.score == 0 and not empty.given
        assert mark(own, "", "answer.yaml", words()).score == 0


def test_the_cuts_of_a_planted_mistake_do_not_get_full_marks() -> None:
    for own in sheets(3, 2, "mistake")[:10] + sheets(5, 2, "mistake")[:5]:
        text = own.spec.text.replace("task: mistake", "task: trim")
        (spec,) = load_text(text)
        trim = exercise_of(spec)
        marked = mark(trim, f"cuts: {yaml.safe_load(text)['cuts']}", "answer.yaml", words())
        assert not marked.right and marked.score <= 4
        assert marked.check is not None and not marked.check.sewable


FLAP = f"title: Flap{TEAR}exercise: {{sheet: 1, level: 5, set: 1, task: trim}}\n"


POINT, FOOT, BESIDE, AWAY = (3, 7), (4, 10), (1, 6), (0, 3)  # bars of the flap: row, column


@pytest.mark.parametrize(
    ("cuts", "score", "over"),
    [
        ([POINT], 10, 0),  # the one cut that two twines need (worked example)
        ([POINT, FOOT], 9, 1),  # sewn with two twines all the same
        ([POINT, BESIDE], 7, 1),  # a cut over, and a third twine
        ([FOOT], 3, None),  # one cut still to make
        ([AWAY], 0, None),  # far from anything
        ([], 0, None),
    ],
)
def test_the_rubric(cuts: list[tuple[int, int]], score: int, over: int | None) -> None:
    (spec,) = load_text(FLAP)
    pairs = [[list(knot) for knot in ends(bar)] for bar in cuts]
    marked = mark(exercise_of(spec), f"cuts: {pairs}", "answer.yaml", words())
    assert (marked.score, marked.over) == (score, over)
    assert marked.right == (score == FULL)


def test_cuts_over_the_fewest_cost_a_point_each_but_not_below_five() -> None:
    (spec,) = load_text(FLAP)
    own = exercise_of(spec)
    (one,) = load_text(FLAP.replace("exercise:", "twine_cost: 99\nexercise:"))
    wide = [[list(k) for k in cut.bar.ends] for cut in exercise_of(one).plan.cuts]
    assert len(wide) == 15  # one twine: 29 bars to sew, 14 of them broken (worked example)
    marked = mark(own, f"cuts: {wide}", "answer.yaml", words())
    assert (marked.over, marked.score, marked.right) == (14, 5, False)


def test_other_trims_that_are_as_good_are_right() -> None:
    """The fewest cuts in other places, found by OR-Tools, get full marks."""
    others = 0
    for own in [own for seed in (1, 2) for own in sheets(2, seed, "trim")][:12]:
        found = with_loose_web(broken(own))
        exact = solve(found, most_runs=1, run_cost=8)
        cuts = exact.bars - found
        mine = {(cut.bar.row, cut.bar.column) for cut in own.plan.cuts}
        others += cuts != mine
        pairs = [[list(knot) for knot in ends(bar)] for bar in sorted(cuts)]
        assert mark(own, f"cuts: {pairs}", "answer.yaml", words()).right
    assert others > 0


def test_loose_web_may_be_struck_out_as_cuts() -> None:
    own = next(own for own in sheets(4) if own.fields.task == "trim")
    loose = with_loose_web(broken(own)) - broken(own)
    cuts = [(cut.bar.row, cut.bar.column) for cut in own.plan.cuts]
    pairs = [[list(knot) for knot in ends(bar)] for bar in [*cuts, *loose]]
    assert loose and mark(own, f"cuts: {pairs}", "answer.yaml", words()).right


def test_parts_right_are_counted() -> None:
    own = next(own for own in sheets(3) if own.fields.task == "name")
    names = ["sider" if name != "sider" else "pickup" for name in own.answer]
    names[: len(names) // 2] = own.answer[: len(names) // 2]
    marked = mark(own, f"names: [{', '.join(names)}]", "answer.yaml", words())
    assert marked.score == 10 * (len(names) // 2) // len(names)
    assert mark(own, f"names: {', '.join(own.answer)}", "a", words()).right
    upper = ", ".join(name.upper().replace("-", " ") for name in own.answer)
    spelt = upper.replace("PICKUP", "pick-up").replace("THREE BAR", "threebar")
    assert mark(own, f"names: [{spelt}]", "a", words()).right
    assert mark(own, f"names: [{upper}]", "a", words()).right


@pytest.fixture
def class_set(tmp_path: Path) -> Path:
    assert main(["exercise", "--count", "6", "--level", "2", "--out", str(tmp_path)]) == MADE
    return tmp_path


def test_a_folder_of_answers_gives_one_table(class_set: Path, capsys) -> None:
    made = {own.fields.sheet: own for own in load_set(class_set)}
    answers = class_set / "answers"
    answers.mkdir()
    for number in (1, 2, 5):
        (answers / f"{number} Mira.yaml").write_text(key_form(made[number]))
    (answers / "sheet-03.yaml").write_text("numbers: [")
    (answers / "sheet-04.yaml").write_text("cuts: [1]")
    (answers / "sheet-99.yaml").write_text("cuts: [1]")
    (answers / "none.yaml").write_text("cuts: [1]")
    capsys.readouterr()
    table = class_set / "marks.csv"
    code = main(["mark", str(class_set / "sheets.yaml"), str(answers), "--csv", str(table)])
    said = capsys.readouterr()
    assert code == WRONG_CALL
    assert "3 of 3 right, 30 of 30 points." in said.out
    assert "No answer: sheets 3 to 4, 6." in said.out
    for fault in ("sheet-03.yaml:1", "sheet-04.yaml", "answer to sheet 99", "without a number"):
        assert fault in said.err
    rows = list(csv.DictReader(table.read_text().splitlines()))
    assert [(row["sheet"], row["answer"], row["score"]) for row in rows] == [
        ("1", "1 Mira.yaml", "10"),
        ("2", "2 Mira.yaml", "10"),
        ("5", "5 Mira.yaml", "10"),
    ]


def load_set(folder: Path) -> list[Exercise]:
    return [exercise_of(spec) for spec in load_text((folder / "sheets.yaml").read_text())]


def test_one_answer_is_marked_in_words(class_set: Path, capsys) -> None:
    own = load_set(class_set)[0]
    assert own.fields.task == "trim"
    short = class_set / "sheet-01.yaml"
    pairs = [[list(knot) for knot in cut.bar.ends] for cut in own.plan.cuts]
    short.write_text(f"cuts: {pairs[:-1]}")
    capsys.readouterr()
    assert main(["mark", str(class_set / "sheets.yaml"), str(short)]) == MADE
    said = capsys.readouterr().out
    assert "trim: not right, 3 of 10." in said
    assert "cannot be sewn, 1 cut still to make." in said
    assert "from the left on the edge of the hole, line" in said
    assert f"The fewest are {len(pairs)} cuts, with 1 twine." in said


def test_a_spec_of_no_exercise_is_marked_as_a_trim(tmp_path: Path, capsys) -> None:
    spec, answer = tmp_path / "flap.yaml", tmp_path / "mine.yaml"
    spec.write_text(FLAP.partition("exercise:")[0])
    answer.write_text("cuts: [1]")
    assert main(["mark", str(spec), str(answer)]) == MADE
    assert "Flap, trim: right, 10 of 10." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("cuts: [", "found"),
        ("\0", "found"),
        ("just words", "expected the answer as cuts:"),
        ("walk: 4 3", "found an unknown field"),
        ("cuts: [[[0, 0], [9, 9]]]", "No bar joins these two knots."),
        ("cuts: [99]", "expected a number from 1 to"),
        ("cuts: {a: b}", "expected pairs of knots, a drawing with x, or numbers of cuts"),
        ("cuts: |\n  hello", "found"),
        ("cuts: |\n" + "  ....\n" * 3000, "without one whole bar"),
        ("cuts: |\n" + "  \\.\n  /.\n" * 3000, "faults more"),
        ("cuts: [1]\n---\ncuts: [2]", "expected one answer in a file"),
        ("x: " + "9" * 200_000, "more than 100000 bytes"),
        ("a: &a [*a]", "found an alias"),
        ("[" * 5000, "found"),
    ],
)
def test_hostile_answers_are_refused_in_plain_words(
    text: str, said: str, class_set: Path, capsys
) -> None:
    answer = class_set / "sheet-01.yaml"
    answer.write_text(text)
    capsys.readouterr()
    assert main(["mark", str(class_set / "sheets.yaml"), str(answer)]) == WRONG_CALL
    told = capsys.readouterr()
    assert said in told.err
    assert "Traceback" not in told.err and len(told.err.splitlines()) < 12
    assert told.out == ""


@pytest.mark.parametrize("kind", ["folder", "fifo", "bytes", "none"])
def test_what_is_no_answer_file_is_refused(kind: str, class_set: Path, capsys) -> None:
    path = class_set / "answers" / "sheet-01.yaml"
    path.parent.mkdir()
    if kind == "folder":
        path.mkdir()
    elif kind == "fifo":
        os.mkfifo(path)
    elif kind == "bytes":
        path.write_bytes(b"\xff\xfe\x00")
    capsys.readouterr()
    assert main(["mark", str(class_set / "sheets.yaml"), str(path.parent)]) == WRONG_CALL
    assert "found" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--count", "0"], "from 1 to 200"),
        (["--count", "x"], "from 1 to 200"),
        (["--level", "6"], "from 1 to 5"),
        (["--level", "3..2"], "found 3..2; expected the easier level first"),
        (["--seed", "-1"], "expected"),
        (["--task", "sew"], "invalid choice"),
        (["--paper", "B7"], "found no paper"),
        (["specs/rectangle.yaml"], "found a spec without an exercise"),
        (["specs/rectangle.yaml", "--seed", "2"], "expected it for a new set only"),
    ],
)
def test_wrong_calls_are_named(options: list[str], said: str, tmp_path: Path, capsys) -> None:
    here = os.getcwd()
    os.chdir(ROOT)
    try:
        assert main(["exercise", *options, "--out", str(tmp_path / "out")]) == WRONG_CALL
    finally:
        os.chdir(here)
    assert said in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_the_commands_of_the_readme_work_as_printed(tmp_path: Path, monkeypatch, capsys) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    part = readme[readme.index("## For the school") : readme.index("## Words of the command")]
    lines = re.findall(r"^    threebar (.*)$", part, re.MULTILINE)
    assert [line.split()[0] for line in lines] == ["exercise", "mark", "mark"]
    monkeypatch.chdir(tmp_path)
    assert main(lines[0].split()) == MADE
    assert "`threebar exercise class/sheets.yaml --out class`" in part
    assert main(["exercise", "class/sheets.yaml", "--out", "class"]) == MADE
    shutil.copytree("class/forms", "class/answers")
    for line in lines[1:]:
        assert main(line.split()) == MADE
    assert "0 of 30 right" in capsys.readouterr().out
    assert Path("marks.csv").is_file()


def test_a_form_left_empty_has_no_cuts_over(tmp_path: Path, capsys) -> None:
    """Where more twines could sew the hole as it is, no cut at all is not fewer cuts than none."""
    call = ["exercise", "--count", "30", "--level", "2", "--seed", "7", "--task", "trim"]
    assert main([*call, "--out", str(tmp_path)]) == MADE
    specs = load_text((tmp_path / "sheets.yaml").read_text(encoding="utf-8"))
    checks = [check_trim(s.hole, [], plan(s).trim, TWINE_COST) for s in specs]
    assert any(check.sewable for check in checks)
    table = tmp_path / "marks.csv"
    forms = str(tmp_path / "forms")
    assert main(["mark", str(tmp_path / "sheets.yaml"), forms, "--csv", str(table)]) == MADE
    rows = list(csv.DictReader(table.read_text().splitlines()))
    assert len(rows) == 30 and {row["remark"] for row in rows} == {"nothing answered"}
    assert {row["over"] for row in rows} == {""}


# Words


def test_both_languages_say_the_same_sentences() -> None:
    both = [
        yaml.safe_load((ROOT / "templates" / f"school.{tag}.yaml").read_text(encoding="utf-8"))
        for tag in ("en", "es")
    ]
    assert set(both[0]) == set(both[1]) == {"school"}
    assert list(both[0]["school"]) == list(both[1]["school"])
    for key, sentence in both[0]["school"].items():
        names = set(re.findall(r"{{ (\w+) }}", sentence))
        assert names == set(re.findall(r"{{ (\w+) }}", both[1]["school"][key])), key


def test_a_loft_s_own_words_are_on_its_sheets(tmp_path: Path) -> None:
    own = tmp_path / "words.yaml"
    own.write_text("terms: {three_bar: three-legger}\nschool: {title_trim: Cut it out}\n")
    options = ["--task", "trim", "--count", "1", "--words", str(own), "--out", str(tmp_path)]
    assert main(["exercise", *options]) == MADE
    text = pypdfium2.PdfDocument(str(tmp_path / "sheets.pdf"))[0].get_textpage().get_text_range()
    assert "Cut it out" in text and "three-legger" in text and "three-bar" not in text
