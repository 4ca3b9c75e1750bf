"""The hole drawn in the terminal."""

from __future__ import annotations

import io
import sys
from pathlib import Path
from random import Random

import pytest

from cards import load_text, plan
from cards.command import main
from cards.picture.text import ASCII, LINES, knot_drawing, row_drawing, signs_for, stressed
from cards.words import words
from tests.walk_holes import random_hole

CROSS = r"""title: Ærlig løft
hole:
  drawing: |
    \/\/\/\
    /\/..\/
    \/....\
    /\/..\/
    \/\/\/\
"""


@pytest.fixture
def cross(tmp_path: Path) -> str:
    file = tmp_path / "cross.yaml"
    file.write_text(CROSS, encoding="utf-8")
    return str(file)


def shown(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["show", *arguments]) == 0
    return capsys.readouterr().out


def test_the_drawing_is_that_of_the_spec(cross: str, capsys: pytest.CaptureFixture[str]) -> None:
    out = shown(capsys, cross)
    drawing = [line[5:] for line in out.splitlines()[3:]]
    assert drawing == [line.strip() for line in CROSS.splitlines()[3:]]
    assert out.startswith("Ærlig løft: 8 bars broken\n")


def test_rows_and_bars_are_numbered_as_the_spec_counts_them(
    cross: str, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = shown(capsys, cross).splitlines()
    assert lines[2].index("5") == lines[3].index("\\") + 4
    assert [line[:5].strip() for line in lines[3:]] == ["1", "2", "3", "4", "5"]


def test_cuts_are_marked_and_listed_in_order(
    cross: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out = shown(capsys, cross, "--cuts")
    head, _, told = out.partition("cuts, marked x")
    cuts = plan(load_text(CROSS)[0]).cuts
    assert head.count("x") == len(cuts)
    rows = head.splitlines()[3:8]
    for line, cut in zip(told.splitlines()[1:], cuts, strict=True):
        does = words().say(f"does.{cut.does}")
        assert line.strip() == f"{cut.n}. row {cut.bar.row + 1}, bar {cut.bar.column + 1}: {does}"
        assert rows[cut.bar.row][5 + cut.bar.column] == "x"


def test_every_knot_stands_in_its_place(cross: str, capsys: pytest.CaptureFixture[str]) -> None:
    made = plan(load_text(CROSS)[0])
    out = shown(capsys, cross, "--knots")
    said = out.replace("knot", " ").split()
    for twine in made.sewing.twines:
        for knot in twine.knots:
            assert str(knot.n) in said
    assert f"end at knot {made.sewing.knots}." in out


def test_knot_numbers_stay_apart_in_large_holes() -> None:
    for seed in range(40):
        hole = random_hole(Random(seed), 300)
        (spec,) = load_text(
            "hole: {bars: " + str([[list(knot) for knot in bar.ends] for bar in hole.bars()]) + "}"
        )
        made = plan(spec)
        numbers = {knot.at: knot.n for twine in made.sewing.twines for knot in twine.knots}
        drawing = knot_drawing(made.trim.trimmed, numbers, [cut.bar for cut in made.cuts])
        found = sorted(int(word) for line in drawing[::2] for word in line.split() if word != "+")
        assert found == sorted(numbers.values())
        bars = "".join(drawing[1::2])
        assert bars.count("x") == len(made.cuts)
        assert bars.count(".") == made.trim.found.size


def test_cuts_beyond_the_hole_are_drawn() -> None:
    for seed in range(60):
        hole = random_hole(Random(seed), 30)
        (spec,) = load_text(
            "hole: {bars: " + str([[list(knot) for knot in bar.ends] for bar in hole.bars()]) + "}"
        )
        made = plan(spec)
        drawing = "".join(row_drawing(spec.hole, spec.origin, [cut.bar for cut in made.cuts]))
        assert drawing.count("x") == len(made.cuts)
        assert drawing.count(".") == spec.hole.size


def test_a_terminal_without_utf_8_gets_plain_ascii(
    cross: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii", write_through=True))
    assert main(["show", cross, "--knots", "--cuts"]) == 0
    text = raw.getvalue().decode("ascii")
    assert text.startswith("?rlig l?ft")
    assert signs_for("ascii") == ASCII and signs_for("UTF-8") == LINES


@pytest.mark.parametrize("terminal", [True, False])
def test_escape_codes_only_for_a_terminal(
    cross: str, terminal: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding="utf-8", write_through=True)
    stream.isatty = lambda: terminal  # type: ignore[method-assign]
    monkeypatch.setattr(sys, "stdout", stream)
    assert main(["show", cross, "--cuts"]) == 0
    assert (b"\x1b" in raw.getvalue()) == terminal
    monkeypatch.setenv("NO_COLOR", "1")
    raw.truncate(0)
    assert main(["show", cross, "--cuts"]) == 0
    assert b"\x1b" not in raw.getvalue()


def test_what_is_stressed_reads_the_same_without_escape_codes() -> None:
    line = "  3  \\x/..x 12"
    assert stressed(line).replace("\x1b[1m", "").replace("\x1b[0m", "") == line


def test_several_specs_and_wrong_ones(
    tmp_path: Path, cross: str, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text("hole: {walk: 4 4, first: up-left}")
    assert main(["show", cross, str(wrong), cross]) == 2
    out, err = capsys.readouterr()
    assert out.count("8 bars broken") == 2
    assert "wrong.yaml:1: hole.walk" in err
