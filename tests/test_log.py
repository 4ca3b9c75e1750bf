"""The repair log: a row a card, whoever else writes, and never over a damaged one."""

from __future__ import annotations

import csv
import errno
import multiprocessing
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards.command import FAILED, MADE, main
from cards.errors import OutputError
from cards.job import plan
from cards.log import COLUMNS, LogRow, append, append_all, cell, damage, row_of
from cards.sheet import say
from cards.spec import load_text
from cards.words import words

ROW = LogRow("7K2M0-9QXAB", "May", "Belly", "lower belly", "4 by 3 meshes", "mend", "9", "1.2", "3")
SPEC = (
    "title: {title}\ndate: 3 May\n"
    "net: {{panel: lower belly, mesh: 120 mm, twine: {{diameter: 3.5 mm}}}}\n"
    "mender: {{pace: 4}}\n"
    "hole: {{shape: {{kind: slit across, across: {across}}}}}\n"
)


def rows(path: Path) -> list[list[str]]:
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.reader(file, strict=True))


def write_spec(path: Path, title: str = "Belly", across: int = 3) -> Path:
    path.write_text(SPEC.format(title=title, across=across))
    return path


def test_a_card_is_a_row(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    out = ["--out", str(tmp_path / "out"), "--edition", "deck", "--log", str(log)]
    spec = write_spec(tmp_path / "belly.yaml")
    assert main(["cards", str(spec), *out]) == MADE
    headings, row = rows(log)
    assert tuple(headings) == COLUMNS
    named = dict(zip(headings, row))
    assert len(named["card"]) == 11
    assert named["date"] == "3 May"
    assert named["panel"] == "lower belly"
    assert named["hole"] == "3 by 0.5 meshes"
    assert named["method"] == "mend"
    assert (named["knots"], float(named["twine, m"]) > 0) == ("7", True)
    assert main(["cards", str(write_spec(tmp_path / "wing.yaml", "Wing")), *out]) == MADE
    assert [row[2] for row in rows(log)] == ["title", "Belly", "Wing"]


def test_a_bound_batch_is_logged_a_row_a_card(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    specs = [str(write_spec(tmp_path / f"{n}.yaml", f"Card {n}", n)) for n in (2, 3, 4)]
    call = ["cards", *specs, "--bind", "all", "--edition", "deck", "--out", str(tmp_path)]
    assert main([*call, "--log", str(log)]) == MADE
    assert [row[2] for row in rows(log)[1:]] == ["Card 2", "Card 3", "Card 4"]


def test_a_damaged_log_is_told_once_and_the_cards_are_made(tmp_path: Path, capsys) -> None:
    log = tmp_path / "log.csv"
    log.write_text("my,own,table\n")
    specs = [str(write_spec(tmp_path / f"{n}.yaml", across=n)) for n in (2, 3)]
    call = ["cards", *specs, "--edition", "deck", "--out", str(tmp_path / "out")]
    assert main([*call, "--log", str(log)]) == FAILED
    assert log.read_text() == "my,own,table\n"
    assert len(list((tmp_path / "out").glob("*.pdf"))) == 2
    said = capsys.readouterr().err
    assert said.count("found a damaged log (line 1: other headings") == 1


SOUND = ",".join(f'"{name}"' for name in COLUMNS).encode() + b"\r\n"


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"card,date\n", "line 1: other headings"),
        (SOUND.replace(b",", b";"), "line 1: other headings"),
        (SOUND + b"a,b,c\n", "line 2: 3 cells, not 9"),
        (SOUND + b'a,"b,c,d,e,f,g,h,i\n', "line 2: quotation marks"),
        (SOUND + b'a,"b"x,c,d,e,f,g,h,i\n', "line 2: quotation marks"),
        (SOUND + b"a,b,c,d,e,f,g,h,i", "line 2: a row without its end"),
        (SOUND + b"a,b,c,d,e,f,g,h,\xe9\n", "line 2: a byte that is not UTF-8"),
        (SOUND + b"\0\n", "line 2: a zero byte"),
        (b"\n", "line 1: other headings"),
    ],
)
def test_a_damaged_log_is_never_overwritten(tmp_path: Path, content: bytes, said: str) -> None:
    log = tmp_path / "log.csv"
    log.write_bytes(content)
    with pytest.raises(OutputError, match=said):
        append(log, ROW)
    assert log.read_bytes() == content


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("ending", [b"\n", b"\r\n"])
def test_a_log_saved_by_another_programme_goes_on(
    tmp_path: Path, mark: bytes, ending: bytes
) -> None:
    log = tmp_path / "log.csv"
    own = mark + SOUND.replace(b"\r\n", ending) + b"a,b,c,d,e,f,g,h,i" + ending + ending
    log.write_bytes(own)
    append(log, ROW)
    assert log.read_bytes().startswith(own)
    assert rows(log)[-1] == list(ROW)


def test_only_a_plain_file_is_a_log(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "real.csv").write_bytes(SOUND)
    (tmp_path / "link.csv").symlink_to(tmp_path / "real.csv")
    (tmp_path / "dangling.csv").symlink_to(tmp_path / "nowhere.csv")
    os.mkfifo(tmp_path / "pipe")
    for name in ("folder", "link.csv", "dangling.csv", "pipe", "not/there.csv"):
        with pytest.raises(OutputError, match="found"):
            append(tmp_path / name, ROW)
    with pytest.raises(OutputError, match="device or pipe"):
        append("/dev/null", ROW)
    assert (tmp_path / "real.csv").read_bytes() == SOUND
    assert not (tmp_path / "nowhere.csv").exists()


def test_a_full_disk_leaves_the_log_as_it_was(tmp_path: Path, monkeypatch) -> None:
    log = tmp_path / "log.csv"
    append(log, ROW)
    before = log.read_bytes()
    write = os.write

    def half(handle: int, content: memoryview) -> int:
        if len(content) < 40:
            raise OSError(errno.ENOSPC, "No space left on device")
        return write(handle, content[:40])

    monkeypatch.setattr("cards.log.os.write", half)
    with pytest.raises(OutputError, match="No space left"):
        append(log, ROW)
    assert log.read_bytes() == before


def _append_many(path: str, writer: int) -> None:
    for n in range(40):
        append(path, ROW._replace(card=f"{writer}-{n}", title="x" * (writer * 1500)))


def test_runs_that_write_at_once_lose_no_row(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    context = multiprocessing.get_context("fork")
    writers = [context.Process(target=_append_many, args=(str(log), n)) for n in range(6)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(60)
        assert writer.exitcode == 0
    headings, *written = rows(log)
    assert tuple(headings) == COLUMNS
    assert {row[0] for row in written} == {f"{w}-{n}" for w in range(6) for n in range(40)}
    assert len(written) == 240


def test_two_commands_at_once(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    spec = write_spec(tmp_path / "belly.yaml")
    call = [
        sys.executable,
        "-m",
        "cards",
        "cards",
        str(spec),
        "--edition",
        "deck",
        "--log",
        str(log),
    ]
    runs = [
        subprocess.Popen([*call, "--out", str(tmp_path / str(n))], stdout=subprocess.DEVNULL)
        for n in range(2)
    ]
    assert [run.wait(60) for run in runs] == [0, 0]
    assert len(rows(log)) == 3


@given(st.text(), st.sampled_from("=+-@＝"))
def test_no_cell_starts_a_formula(text: str, sign: str) -> None:
    for separator in ",;|\t":
        said = cell(f" {sign}{text}{separator}{sign}{text}")
        for part in (said, *said.split(";"), *said.split("|"), *said.split("\t")):
            assert not part.lstrip().startswith(tuple("=+-@＝＋－＠"))


@given(st.lists(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))))
def test_any_title_makes_a_sound_log(tmp_path_factory, titles: list[str]) -> None:
    log = tmp_path_factory.mktemp("log") / "log.csv"
    append_all(log, [ROW._replace(title=title) for title in titles])
    if titles:
        assert damage(log.read_bytes()) == ""
        assert [row[2] for row in rows(log)[1:]] == [cell(title) for title in titles]


@pytest.mark.parametrize("pace", ["4", "100"])
def test_the_log_has_the_figures_of_the_card(tmp_path: Path, pace: str) -> None:
    """A half is told as one up on both, and no time as none."""
    (spec,) = load_text(
        f"net: {{mesh: 130 mm, twine: {{diameter: 1.25 mm}}}}\nmender: {{pace: {pace}}}\n"
        "hole: {shape: {kind: rectangle, across: 1, down: 1}}\n"
    )
    planned = plan(spec)
    said = dict(say.materials(planned, words()))
    row = row_of(planned)
    assert said["Twine"].split(" m")[0] == f"{float(row.twine):g}"
    assert said["Time"].startswith(f"about {row.minutes} min")
