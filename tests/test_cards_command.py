"""The command makes what it was asked for, whole, or says why not."""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
from pathlib import Path

import pikepdf
import pypdfium2
import pytest

from cards.command import FAILED, MADE, WRONG_CALL, main
from cards.spec import load_text

SPECS = Path(__file__).parent.parent / "specs"
ROUND = r"""title: Belly, starboard side
net: {panel: lower belly, mesh: 120 mm, twine: {material: PE, diameter: 3.5 mm, rtex: 5200}}
mender: {needle: 18 m, pace: 4}
hole:
  drawing: |
    \/\/\/\/
    /\/..\/\
    \/....\/
    /\/..\/\
    \/\/\/\/
"""


@pytest.fixture
def belly(tmp_path: Path) -> Path:
    path = tmp_path / "belly.yaml"
    path.write_text(ROUND)
    return path


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir()) if folder.is_dir() else []


def test_a_card_is_named_from_its_spec_file(belly: Path, tmp_path: Path, capsys) -> None:
    out = tmp_path / "out"
    assert main(["cards", str(belly), "--out", str(out)]) == MADE
    assert names(out) == ["belly-loft.pdf"]
    assert capsys.readouterr().out.strip() == str(out / "belly-loft.pdf")


def test_a_folder_stands_for_its_specs(belly: Path, tmp_path: Path) -> None:
    (tmp_path / "wing.yml").write_text(ROUND)
    (tmp_path / "notes.txt").write_text("no spec")
    assert main(["cards", str(tmp_path), "--out", str(tmp_path / "out")]) == MADE
    assert names(tmp_path / "out") == ["belly-loft.pdf", "wing-loft.pdf"]


def test_a_folder_without_specs_is_a_wrong_call(tmp_path: Path, capsys) -> None:
    assert main(["cards", str(tmp_path)]) == WRONG_CALL
    assert "no spec in this folder" in capsys.readouterr().err


def test_standard_input_is_a_spec(tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = subprocess.run(
        [sys.executable, "-m", "cards", "cards", "-", "--out", str(out)],
        input=ROUND.encode(),
        cwd=Path(__file__).parent.parent,
        check=False,
    )
    assert done.returncode == MADE
    assert names(out) == ["card-loft.pdf"]


def test_documents_of_one_file_are_cards_of_their_own(tmp_path: Path) -> None:
    spec = tmp_path / "two.yaml"
    spec.write_text(f"{ROUND}---\n{ROUND}")
    assert main(["cards", str(spec), "--out", str(tmp_path / "out")]) == MADE
    assert names(tmp_path / "out") == ["two-1-loft.pdf", "two-2-loft.pdf"]


def test_two_files_of_one_name_do_not_overwrite_each_other(belly: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "belly.yaml").write_text(ROUND)
    out = tmp_path / "out"
    assert main(["cards", str(belly), str(other), "--out", str(out)]) == MADE
    assert names(out) == ["belly-2-loft.pdf", "belly-loft.pdf"]


def test_the_other_specs_of_a_batch_are_made(belly: Path, tmp_path: Path, capsys) -> None:
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text("hole: {drawing: ''}\n")
    out = tmp_path / "out"
    assert main(["cards", str(wrong), str(belly), "--out", str(out)]) == WRONG_CALL
    assert names(out) == ["belly-loft.pdf"]
    assert "wrong.yaml:1: hole.drawing" in capsys.readouterr().err


@pytest.mark.parametrize(
    "title",
    ["../../etc/passwd", "a/b\\\\c", "<b>&amp; 'q' \\\"Q\\\"", "CON", "x" * 200, "Łódź – Ærø"],
)
def test_a_title_never_names_a_file(title: str, tmp_path: Path) -> None:
    spec = tmp_path / "plain.yaml"
    spec.write_text(ROUND.replace("title: Belly, starboard side", f'title: "{title}"'))
    before = names(tmp_path)
    assert main(["cards", str(spec), "--out", str(tmp_path / "out")]) == MADE
    assert names(tmp_path / "out") == ["plain-loft.pdf"]
    assert names(tmp_path) == sorted([*before, "out"])


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_cannot_be_written_is_named(belly: Path, tmp_path: Path, capsys) -> None:
    out = tmp_path / "out"
    out.mkdir(mode=0o500)
    assert main(["cards", str(belly), "--out", str(out)]) == FAILED
    assert "cannot be written" in capsys.readouterr().err


def test_a_file_where_the_folder_should_be_is_named(belly: Path, tmp_path: Path, capsys) -> None:
    (tmp_path / "out").write_text("mine")
    assert main(["cards", str(belly), "--out", str(tmp_path / "out")]) == FAILED
    assert "no way to make this folder" in capsys.readouterr().err
    assert (tmp_path / "out").read_text() == "mine"


def test_a_symbolic_link_in_the_way_is_left_alone(belly: Path, tmp_path: Path, capsys) -> None:
    out, kept = tmp_path / "out", tmp_path / "kept.txt"
    out.mkdir()
    kept.write_text("mine")
    (out / "belly-loft.pdf").symlink_to(kept)
    assert main(["cards", str(belly), "--out", str(out)]) == FAILED
    assert kept.read_text() == "mine"
    assert "no plain file" in capsys.readouterr().err


@pytest.mark.parametrize(
    "arguments",
    [[], ["cards"], ["card"], ["cards", "--edition", "quay"], ["cards", "x", "--paper", "A9"]],
)
def test_a_wrong_call_says_so(arguments: list[str], capsys) -> None:
    assert main(arguments) == WRONG_CALL
    err = capsys.readouterr().err
    assert err
    assert "Traceback" not in err


def test_progress_is_for_terminals_only(belly: Path, tmp_path: Path, capsys) -> None:
    for number in range(8):
        (tmp_path / f"more{number}.yaml").write_text(ROUND)
    assert main(["cards", str(tmp_path), "--out", str(tmp_path / "out")]) == MADE
    assert capsys.readouterr().err == ""


def test_the_class_edition_comes_with_its_key(belly: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert main(["cards", str(belly), "--edition", "class", "--out", str(out)]) == MADE
    assert names(out) == ["belly-class-key.pdf", "belly-class.pdf"]


def test_bound_cards_have_an_outline_and_all_their_specs(belly: Path, tmp_path: Path) -> None:
    (tmp_path / "wing.yaml").write_text(ROUND.replace("Belly, starboard", "Wing, port"))
    out = tmp_path / "out"
    assert main(["cards", str(tmp_path), "--bind", "Net/book", "--out", str(out)]) == MADE
    assert names(out) == ["Net-book-loft.pdf"]
    with pikepdf.open(out / "Net-book-loft.pdf") as pdf:
        with pdf.open_outline() as outline:
            titles = [item.title for item in outline.root]
        assert titles == ["Belly, starboard side", "Wing, port side"]
        attached = {name: file.get_file().read_bytes() for name, file in pdf.attachments.items()}
    assert set(attached) == {"belly.yaml", "wing.yaml"}
    (spec,) = load_text(attached["wing.yaml"].decode())
    assert spec.title == "Wing, port side"


@pytest.mark.parametrize("per_sheet", [1, 2])
def test_the_outline_leads_to_each_part_of_each_card(
    belly: Path, tmp_path: Path, per_sheet: int
) -> None:
    (tmp_path / "wing.yaml").write_text(ROUND.replace("Belly, starboard", "Wing, port"))
    out = tmp_path / "out"
    call = ["cards", str(tmp_path), "--bind", "book", "--per-sheet", str(per_sheet)]
    assert main([*call, "--out", str(out)]) == MADE
    assert main(["cards", str(belly), "--per-sheet", str(per_sheet), "--out", str(out)]) == MADE
    alone, bound = parts(out / "belly-loft.pdf"), parts(out / "book-loft.pdf")
    named = [title for _, title, _ in alone]
    assert named[0] == "The hole as found, and the cuts" and "Check at the end" in named
    # Every heading has its entry, and each entry leads to the page that prints it.
    assert all(title in text for _, title, text in alone)
    assert [level for level, *_ in alone] == [0] * len(alone)
    assert [title for level, title, _ in bound if level == 0] == [
        "Belly, starboard side",
        "Wing, port side",
    ]
    assert [title for level, title, _ in bound if level == 1] == named * 2
    assert all(title in text for _, title, text in bound)


def parts(file: Path) -> list[tuple[int, str, str]]:
    """The entries of an outline: level, title, and the words of the page it leads to."""
    with pypdfium2.PdfDocument(file) as pdf:
        return [
            (
                entry.level,
                entry.get_title(),
                pdf[entry.get_dest().get_index()].get_textpage().get_text_bounded(),
            )
            for entry in pdf.get_toc()
        ]


def test_what_goes_over_to_the_next_page_is_in_the_outline_once(tmp_path: Path) -> None:
    out = tmp_path / "out"
    call = ["cards", str(SPECS / "one-bar.yaml"), "--paper", "A6", "--out", str(out)]
    assert main(call) == MADE
    named = [title for _, title, _ in parts(out / "one-bar-loft.pdf")]
    assert len(named) == len(set(named)) == 10
    with pypdfium2.PdfDocument(out / "one-bar-loft.pdf") as pdf:
        told = [page.get_textpage().get_text_bounded() for page in pdf]
    assert sum("Start knot, going left" in text for text in told) == 2


@pytest.mark.parametrize("name", ["large", "awkward-comb", "patch-torn-out"])
@pytest.mark.parametrize("edition", ["loft", "deck"])
def test_the_outline_of_a_card_on_tiles_leads_to_all_of_them(
    name: str, edition: str, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    call = ["cards", str(SPECS / f"{name}.yaml"), "--edition", edition, "--out", str(out)]
    assert main(call) == MADE
    with pypdfium2.PdfDocument(out / f"{name}-{edition}.pdf") as pdf:
        pages = [" ".join(page.get_textpage().get_text_bounded().split()) for page in pdf]
        entries = [(e.level, e.get_title(), e.get_dest().get_index()) for e in pdf.get_toc()]
    assert all(title in pages[page] for _, title, page in entries)
    assert [page for *_, page in entries] == sorted(page for *_, page in entries)
    if len(pages) == 1:
        assert not entries
        return
    assert entries[0][::2] == (0, 0)
    on = {title: {page for _, own, page in entries if own == title} for _, title, _ in entries}
    tables = {n for n, text in enumerate(pages) if " Row by row " in text}
    assert on.get("Row by row", set()) == tables
    tiles = {n for n, text in enumerate(pages) if re.search(r" Rows \d+ to \d+ of the web", text)}
    assert {page for _, title, page in entries if title.startswith("Rows ")} == tiles
    # Tiles stand under the heading of their drawing, and so do the tables between them.
    parent = ""
    for level, title, _ in entries:
        parent = title if level == 0 else parent
        if title.startswith("Rows ") and edition == "loft":
            assert level == 1 and parent.startswith(("The hole", "The patch", "The s"))
        if title == "Row by row" and tiles:
            assert level == (parent.startswith("The sewing") and len(tables) > 1)


def test_each_spec_of_a_file_is_attached_alone(tmp_path: Path) -> None:
    (tmp_path / "two.yaml").write_text(f"{ROUND}---\n# the other\n{ROUND}...\n")
    out = tmp_path / "out"
    assert main(["cards", str(tmp_path / "two.yaml"), "--out", str(out)]) == MADE
    attached = []
    for name in names(out):
        with pikepdf.open(out / name) as pdf:
            attached += [file.get_file().read_bytes().decode() for file in pdf.attachments.values()]
    assert attached == [ROUND, f"---\n# the other\n{ROUND}...\n"]


def test_a_pdf_names_the_version_that_has_what_it_uses(belly: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert main(["cards", str(belly), "--out", str(out)]) == MADE
    # ISO 32000-1, 7.11.3: UF, the name of an attached file in Unicode, is of PDF 1.7.
    raw = (out / "belly-loft.pdf").read_bytes()
    assert b"/UF" in raw and raw.startswith(b"%PDF-1.7")


def test_cards_on_one_sheet_keep_their_size(belly: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert main(["cards", str(belly), "--per-sheet", "2", "--out", str(out)]) == MADE
    with pikepdf.open(out / "belly-loft.pdf") as pdf:
        box = [float(v) for v in pdf.pages[0].mediabox]
    # Two A5 upright make an A4 on its long side: ISO 216.
    assert box[2:] == pytest.approx([297 / 25.4 * 72, 210 / 25.4 * 72], abs=0.01)


def test_too_many_cards_for_one_sheet_are_refused(belly: Path, tmp_path: Path, capsys) -> None:
    out = tmp_path / "out"
    call = ["cards", str(belly), "--paper", "A4", "--per-sheet", "4", "--out", str(out)]
    assert main(call) == WRONG_CALL
    assert "fit on A3" in capsys.readouterr().err
    assert names(out) == []


@pytest.mark.parametrize("option", ["--bind=", "--bind= ", "--log=", "--log=-"])
def test_a_name_that_names_nothing_is_a_wrong_call(
    belly: Path, tmp_path: Path, capsys, option: str
) -> None:
    out = tmp_path / "out"
    assert main(["cards", str(belly), option, "--out", str(out)]) == WRONG_CALL
    assert f"argument {option.partition('=')[0]}: found" in capsys.readouterr().err
    assert not out.exists()


def test_the_picture_goes_to_a_file_or_to_standard_output(
    belly: Path, tmp_path: Path, monkeypatch
) -> None:
    assert main(["picture", str(belly), "-o", str(tmp_path / "belly.svg")]) == MADE
    stream = io.TextIOWrapper(io.BytesIO())
    monkeypatch.setattr(sys, "stdout", stream)
    assert main(["picture", str(belly)]) == MADE
    assert stream.buffer.getvalue() == (tmp_path / "belly.svg").read_bytes()


@pytest.mark.parametrize(
    "words, said",
    [(None, "words.yaml: found a file that cannot be read"), (b"\xff", "bytes that are not UTF-8")],
)
def test_a_word_list_that_cannot_be_read_is_named(
    words: bytes | None, said: str, belly: Path, tmp_path: Path, capsys
) -> None:
    own = tmp_path / "words.yaml"
    if words is not None:
        own.write_bytes(words)
    call = ["cards", str(belly), "--words", str(own), "--out", str(tmp_path / "out")]
    assert main(call) == WRONG_CALL
    (line,) = capsys.readouterr().err.splitlines()
    assert said in line and "; expected " in line and "Errno" not in line


def test_a_paper_too_small_names_the_spec(belly: Path, tmp_path: Path, capsys) -> None:
    """Of a batch only the card that does not fit is left out, and named."""
    large = Path(__file__).parents[1] / "specs" / "large.yaml"
    call = ["cards", str(large), str(belly), "--edition", "deck", "--paper", "A6"]
    assert main([*call, "--out", str(tmp_path / "out")]) == WRONG_CALL
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith(f"threebar: {large}: found a drawing of ")
    assert names(tmp_path / "out") == ["belly-deck.pdf"]


def test_an_unknown_paper_is_answered_with_the_papers_once(belly: Path, tmp_path: Path, capsys):
    assert main(["cards", str(belly), "--paper", "A9", "--out", str(tmp_path)]) == WRONG_CALL
    assert capsys.readouterr().err.count("half-letter-across") == 1
