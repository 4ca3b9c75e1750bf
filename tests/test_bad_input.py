"""Files that are no specs: named on standard error, with nothing made of them and all else made."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from cards.command import FAILED, WRONG_CALL, main
from cards.limits import FILE_LIMIT

GOOD = "hole: {shape: {kind: slit across, across: 2}}\n"
BAD = "hole: {shape: {kind: round}}\n"

NO_SPECS: list[tuple[str, bytes, str]] = [
    ("no text in UTF-8", b"# Loft\ntitle: B\xe4lly\n", "2: found a byte that is not UTF-8 (0xe4)"),
    ("UTF-16", GOOD.encode("utf-16"), "1: found a byte that is not UTF-8 (0xff)"),
    ("a zero byte", b"hole:\n\x00\n", "2: found a character that no text has (U+0000)"),
    ("nothing", b"", "1: found an empty file"),
    ("only a comment", b"# a hole\n", "1: found an empty file"),
    (
        "not YAML",
        b"net: [\n",
        "1: found text that is not YAML: a comma or bracket where a value should be",
    ),
    ("too long", b"#" * (FILE_LIMIT + 1), f" found more than {FILE_LIMIT} bytes"),
    ("many levels", b"[" * 5000, "1: found text that is not YAML: groups within groups"),
    ("one level too many", b"a: " + b"[" * 9 + b"]" * 9, "1: a[1][1][1]: found groups within"),
    ("a bomb", b"a: &a [1]\nb: &b [*a, *a]\n", "2: found an alias (*a)"),
    ("an object", b"a: !!python/object/apply:os.system [ls]\n", "1: found a tag ("),
]


@pytest.mark.parametrize(("raw", "said"), [case[1:] for case in NO_SPECS], ids=lambda case: "")
@pytest.mark.parametrize("word", ["plan", "cards", "picture"])
def test_what_is_no_spec_is_named(
    word: str, raw: bytes, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, out = tmp_path / "torn.yaml", tmp_path / "out"
    file.write_bytes(raw)
    place = {"plan": [], "cards": ["--out", str(out)], "picture": ["-o", str(out)]}[word]
    assert main([word, str(file), *place]) == WRONG_CALL
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith(f"threebar: {file}:{said}")
    assert "; expected " in told.err
    assert "Traceback" not in told.err
    assert not out.exists() or not any(out.iterdir())


def test_a_pipe_is_not_waited_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pipe = tmp_path / "pipe.yaml"
    os.mkfifo(pipe)
    assert main(["plan", str(pipe)]) == WRONG_CALL
    assert "found a device, pipe or folder; expected a spec file" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["missing.yaml", "a\x1b[31m.yaml", "new\nline.yaml"])
def test_a_file_that_is_not_there_is_named_on_one_line(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", str(tmp_path / name)]) == WRONG_CALL
    (line,) = capsys.readouterr().err.splitlines()
    assert line.isprintable()
    assert "found a file that cannot be read" in line


def test_a_colour_written_into_a_field_does_not_reach_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "torn.yaml"
    file.write_text(f'"\\e[31m{"x" * 500}\\n": 1\n{GOOD}')
    assert main(["plan", str(file)]) == WRONG_CALL
    (line,) = capsys.readouterr().err.splitlines()
    assert line.isprintable()
    assert len(line) < 400


def test_the_other_specs_of_a_file_are_planned(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "three.yaml"
    file.write_text(f"title: one\n{GOOD}---\n{BAD}---\ntitle: three\n{GOOD}")
    assert main(["plan", str(file)]) == WRONG_CALL
    told = capfd.readouterr()
    assert [made["title"] for made in json.loads(told.out)] == ["one", "three"]
    assert f'{file}:4: hole.shape.kind: found "round"' in told.err


def test_the_other_specs_of_a_folder_are_planned(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    for name, text in {"a": BAD, "b": GOOD, "c": "net: [", "d": GOOD}.items():
        (tmp_path / f"{name}.yaml").write_text(text)
    assert main(["plan", str(tmp_path)]) == WRONG_CALL
    told = capfd.readouterr()
    assert [made["title"] for made in json.loads(told.out)] == ["b", "d"]
    assert [line.split(":")[1][-6:] for line in told.err.splitlines()] == ["a.yaml", "c.yaml"]


def test_every_fault_of_a_spec_is_told_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "torn.yaml"
    file.write_text("titel: x\nnet: {mesh: 120, twine: {rtex: -1}}\nmender: {hand: both}\n" + BAD)
    assert main(["plan", str(file)]) == WRONG_CALL
    lines = capsys.readouterr().err.splitlines()
    fields = [
        "1: titel",
        "2: net.mesh",
        "2: net.twine.rtex",
        "3: mender.hand",
        "4: hole.shape.kind",
    ]
    assert len(lines) == len(fields)
    for line, field in zip(lines, fields):
        assert line.startswith(f"threebar: {file}:{field}: found ")


@pytest.mark.parametrize("out", ["file/below", "/proc/threebar"])
def test_a_folder_that_cannot_be_made_is_named(
    out: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("mine")
    (tmp_path / "good.yaml").write_text(GOOD)
    assert main(["cards", str(tmp_path), "--out", str(tmp_path / out)]) in (FAILED, WRONG_CALL)
    told = capsys.readouterr()
    assert "Traceback" not in told.err
    assert told.err
    assert told.out == ""
    assert (tmp_path / "file").read_text() == "mine"
