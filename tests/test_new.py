"""A spec to fill in, or made from answers."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards import load_text
from cards.command import main
from cards.shelf import shelf
from cards.spec.written import yaml_lines

QUESTIONS = 10  # before the hole


def asked(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    answers: list[str],
    *arguments: str,
) -> tuple[int, str, str]:
    monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{line}\n" for line in answers)))
    code = main(["new", *arguments])
    out, err = capsys.readouterr()
    return code, out, err


def test_a_new_file_can_be_planned_as_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "new.yaml"
    assert main(["new", str(file)]) == 0
    assert main(["plan", str(file)]) == 0
    (spec,) = load_text(file.read_text(encoding="utf-8"))
    # Every field is filled in, so that nobody has to know a name.
    assert spec.net.twine.rtex and spec.net.twine.diameter and spec.net.mesh
    assert spec.mender.needle and spec.mender.pace


def test_the_ways_in_the_notes_are_right_too() -> None:
    # Each hole that stands in the notes is tried in the place of the one above.
    lines = (shelf("templates") / "new" / "spec.yaml").read_text(encoding="utf-8").splitlines()
    holes = [at for at, line in enumerate(lines) if line == "# hole:"]
    assert len(holes) == 3
    for at in holes:
        block = []
        for line in lines[at:]:
            if line in ("#", ""):
                break
            block.append(line.removeprefix("# "))
        assert load_text("\n".join(block))[0].hole.size >= 1


def test_a_file_that_is_there_is_left_as_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "mine.yaml"
    file.write_text("mine")
    assert main(["new", str(file)]) == 1
    assert main(["new", str(file), "--ask"]) == 1
    assert file.read_text() == "mine"
    link = tmp_path / "link.yaml"
    link.symlink_to(tmp_path / "nowhere.yaml")
    assert main(["new", str(link)]) == 1
    assert "It is left as it is." in capsys.readouterr().err
    assert main(["new", str(tmp_path / "no" / "folder.yaml")]) == 1
    assert "expected a file name in a folder that is there" in capsys.readouterr().err


def test_answers_become_a_spec(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = [
        'Née: "a" #1',
        "belly",
        "4.5 in",
        "PE",
        "3.5 mm",
        "5200",
        "true",
        "left",
        "18 m",
        "4",
    ]
    code, out, _ = asked(monkeypatch, capsys, [*answers, "walk", "down-left", "4 3 4", "4 3 4", ""])
    assert code == 0
    (spec,) = load_text(out)
    assert spec.title == 'Née: "a" #1'
    assert spec.net.mesh is not None and spec.net.mesh.mm == 114.3
    assert (spec.net.twine.rtex, spec.net.twine.double, spec.mender.hand) == (5200, True, "left")
    assert spec.hole.size == 1


@pytest.mark.parametrize(
    ("answers", "size"),
    [
        (["", r"\/\/", "/..\\", r"\/\/", ""], 2),
        (["drawing", r"  \/\/", "  /..\\", r"  \/\/", ""], 2),
        (["rows", "/", "2-3", "-", "1", ""], 3),
        (["shape", "slit across", "3", ""], 6),
        (["walk", "up-left", "4x3,3x4", "", "4 3 4 4 3 4"], 1),  # ends with the input
    ],
)
def test_each_way_to_give_the_hole(
    answers: list[str],
    size: int,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    code, out, _ = asked(monkeypatch, capsys, [""] * QUESTIONS + answers)
    assert code == 0
    assert load_text(out)[0].hole.size == size


def test_a_wrong_answer_is_told_at_once_and_asked_again(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = ["", "", "120", "120 mm", *[""] * 4, "both", "right", "", "", "square", "shape"]
    answers += ["circle", "2", "", "rectangle", "3"]
    code, out, err = asked(monkeypatch, capsys, answers)
    assert code == 0, err
    assert 'found "120"; expected a length above 0 such as 120 mm. Write the unit' in err
    assert 'found "both"; expected one of right, left' in err
    assert "Known here: drawing, rows, shape, walk" in err
    assert 'found "circle"; expected one of rectangle' in err
    # Only what was wrong is asked again.
    assert err.count("How many meshes across?") == 1
    assert load_text(out)[0].hole.size == 2 * 2 * 3 * 2


def test_the_end_of_the_answers_is_no_crash(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = asked(monkeypatch, capsys, ["title"])
    assert code == 2
    assert not out
    assert err.splitlines()[-1] == (
        "threebar: found the end of the answers; expected one to every question"
    )


def test_answers_that_are_no_text_are_no_crash(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"\xff\n"), encoding="utf-8"))
    assert main(["new"]) == 2
    assert "expected answers in UTF-8" in capsys.readouterr().err


def test_asked_with_a_file_it_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "asked.yaml"
    answers = [""] * QUESTIONS + ["shape", "slit down", "", "3"]
    code, out, _ = asked(monkeypatch, capsys, answers, str(file), "--ask")
    assert (code, out) == (0, "")
    assert load_text(file.read_text(encoding="utf-8"))[0].hole.size == 6


texts = st.text(min_size=1, max_size=60).filter(lambda text: text not in ("~", "null", ""))


@given(st.dictionaries(st.sampled_from(["title", "note", "author"]), texts, min_size=1))
def test_what_is_written_reads_back_as_the_same_text(fields: dict[str, str]) -> None:
    import yaml

    text = "\n".join(yaml_lines({**fields, "rows": list(fields.values())}))
    try:
        read = yaml.load(text, Loader=yaml.BaseLoader)
    except yaml.YAMLError as error:
        pytest.fail(f"{error}: {text!r}")
    for name, value in fields.items():
        # A text of several lines stands as a block and gains the end of its last line.
        assert read[name].removesuffix("\n") == value.removesuffix("\n")
    assert read["rows"] == list(fields.values())
