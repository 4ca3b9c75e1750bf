"""Specs and word lists made to do harm: refused, or taken as plain text on paper and screen."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
import time
from pathlib import Path
from xml.etree import ElementTree

import pikepdf
import pypdfium2
import pytest

from cards import load_text, plan
from cards.command import MADE, WRONG_CALL, main
from cards.errors import SpecError
from cards.picture.svg import svg_text
from cards.picture.web import picture_of
from cards.sheet import card_pdf
from cards.sheet.compose import EDITIONS
from cards.spec.load import plain_name

ROOT = Path(__file__).parent.parent
HOLE = "hole: {shape: {kind: slit across, across: 2}}\n"
PATIENCE = 20.0  # seconds: a guard against a hang, on a slow machine too
TEXT_FIELDS = ["title", "author", "date", "revision", "note", "panel", "material"]


def with_text(field: str, text: str) -> str:
    """A spec with a text in one of its fields."""
    said = json.dumps(text, ensure_ascii=max(text) <= "\uffff")
    if field == "panel":
        return f"net: {{panel: {said}}}\n{HOLE}"
    if field == "material":
        return f"net: {{twine: {{material: {said}}}}}\n{HOLE}"
    return f"{field}: {said}\n{HOLE}"


# YAML


def bomb(levels: int) -> str:
    """Nine times nine times nine ... as in the billion laughs (Klein 2002, from memory)."""
    lines = ["a0: &a0 [lol, lol, lol, lol, lol, lol, lol, lol, lol]"]
    for n in range(1, levels):
        lines.append(f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]")
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (bomb(12), "found an alias (*a0)"),
        ("hole: &a [*a]", "found an alias (*a)"),
        ("base: &b {title: x}\n<<: *b\n" + HOLE, "found an alias (*b)"),
        ("{" * 100_000, "groups within groups"),
        ("[" * 100_000, "groups within groups"),
        ("- " * 20_000, "groups within groups"),
        ("".join(f"{' ' * n}a:\n" for n in range(1000)), "groups within groups"),
        (f"title: !!python/object/apply:os.system ['touch x']\n{HOLE}", "found a tag"),
        (f"title: !!python/name:os.system\n{HOLE}", "found a tag"),
        (f"title: !!binary aGVsbG8=\n{HOLE}", "found a tag"),
        (f"title: !!timestamp 2001-01-01\n{HOLE}", "found a tag"),
        (f"title: !include /etc/passwd\n{HOLE}", "found a tag"),
        (f"%TAG ! tag:yaml.org,2002:python/\n---\ntitle: !name:os.system x\n{HOLE}", "found a tag"),
        (f"? [a, b]\n: c\n{HOLE}", "the name of a field"),
        (f"title: a\ntitle: b\n{HOLE}", "a second time"),
    ],
)
def test_yaml_builds_nothing_but_text(text: str, said: str) -> None:
    begun = time.process_time()
    with pytest.raises(SpecError) as raised:
        load_text(text)
    assert said in str(raised.value)
    assert time.process_time() - begun < PATIENCE


def test_a_bomb_takes_no_memory() -> None:
    # 9 ** 60 strings would not fit anywhere.
    program = (
        "import sys, resource\n"
        "from cards import load_text, SpecError\n"
        "resource.setrlimit(resource.RLIMIT_DATA, (150 << 20,) * 2)\n"
        "try:\n    load_text(sys.stdin.read())\n"
        "except SpecError:\n    sys.exit(7)\n"
    )
    call = [sys.executable, "-c", program]
    done = subprocess.run(call, input=bomb(60), text=True, cwd=ROOT, check=False)
    assert done.returncode == 7


@pytest.mark.parametrize("number", ["9" * 5000, "1e400", "-1e400", "nan", "inf", "-inf"])
@pytest.mark.parametrize(
    "spec",
    [
        "net: {mesh: NUMBER mm}\n" + HOLE,
        "net: {twine: {diameter: NUMBER mm}}\n" + HOLE,
        "net: {twine: {rtex: {n}}}\n" + HOLE,
        "mender: {pace: {n}}\n" + HOLE,
        "mender: {needle: NUMBER m}\n" + HOLE,
        "hole: {shape: {kind: slit across, across: {n}}}\n",
        "hole: {bars: [[[NUMBER, 0], [1, 1]]]}\n",
        "hole: {first: '/', rows: ['1-NUMBER']}\n",
        "hole: {walk: 3xNUMBER 4}\n",
    ],
)
def test_numbers_beyond_all_measure_are_refused(spec: str, number: str) -> None:
    with pytest.raises(SpecError) as raised:
        load_text(spec.replace("NUMBER", number))
    assert all(len(line) < 600 for line in raised.value.lines())


def test_bars_at_the_ends_of_the_world_are_planned_or_refused() -> None:
    far = 2**62
    (spec,) = load_text(f"hole: {{bars: [[[{far}, 0], [{far + 1}, 1]]]}}")
    assert plan(spec).sewing.bars >= 1
    with pytest.raises(SpecError, match="found a hole of"):
        load_text(f"hole: {{bars: [[[0, 0], [1, 1]], [[{far}, 0], [{far + 1}, 1]]]}}")


# Text

HARMFUL = {
    "NUL": "a\x00b",
    "bell": "a\x07b",
    "escape": "a\x1b[31mb",
    "newline": "a\nb",
    "next line": "a\x85b",
    "line separator": "a\u2028b",
    "right-to-left override": "invoice\u202egnp.exe",
    "right-to-left mark": "a\u200fb",
    "isolate": "a\u2066b\u2069",
    "zero width": "a\u200bb",
    "byte order mark": "a\ufeffb",
    "tag letters": "a\U000e0041b",
    "private use": "a\ue000b",
    "no character": "a\ufdd0b",
}


@pytest.mark.parametrize("field", TEXT_FIELDS)
@pytest.mark.parametrize("name", HARMFUL)
def test_characters_that_show_nothing_are_refused(field: str, name: str) -> None:
    if (field, name) == ("note", "newline"):
        return  # a note may have several lines
    with pytest.raises(SpecError) as raised:
        load_text(with_text(field, HARMFUL[name]))
    (line,) = raised.value.lines()
    assert f"{field}: found a control character" in line or "no text has" in line
    assert line.isprintable()


def test_half_a_character_is_refused() -> None:
    with pytest.raises(SpecError):
        load_text(f'title: "\\ud800"\n{HOLE}')


MARKUP = [
    "<b>&amp;</b>",
    "<script>alert(1)</script>",
    "]]><!-- -->",
    '" onload="alert(1)',
    "<para><img src='file:///etc/passwd'/></para>",
    "&lol; &#0; &lt;",
    "(a) Tj ET Q \\) \\\\",
    ">> endobj trailer <<",
    "{{ 7 * 7 }} {% raw %}",
    "%s %d {0} $HOME",
]


def in_pdf(content: bytes) -> str:
    document = pypdfium2.PdfDocument(content)
    return "\n".join(page.get_textpage().get_text_range() for page in document)


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


@pytest.mark.parametrize("text", MARKUP)
@pytest.mark.parametrize("field", ["title", "panel"])
def test_markup_stands_on_the_card_as_it_was_written(field: str, text: str) -> None:
    (spec,) = load_text(with_text(field, text))
    content = card_pdf(plan(spec))
    assert squeezed(text) in squeezed(in_pdf(content))
    with pikepdf.open(io.BytesIO(content)) as pdf:
        if field == "title":
            assert str(pdf.docinfo["/Title"]) == text


@pytest.mark.parametrize("text", MARKUP)
@pytest.mark.parametrize("field", TEXT_FIELDS)
def test_markup_makes_no_part_of_a_file(field: str, text: str) -> None:
    plain_spec, *_ = load_text(with_text(field, "plain"))
    (spec,) = load_text(with_text(field, text))
    for edition in EDITIONS:
        with pikepdf.open(io.BytesIO(card_pdf(plan(spec), edition))) as pdf:
            assert not any(page.get("/Annots") for page in pdf.pages)
            assert set(pdf.Root.keys()) <= {
                "/Lang", "/MarkInfo", "/Metadata", "/Names", "/Outlines", "/PageMode", "/Pages",
                "/Type", "/ViewerPreferences", "/PageLayout", "/Version",
            }  # fmt: skip
            assert list(pdf.Root.Names.keys()) == ["/EmbeddedFiles"]
    drawn = ElementTree.fromstring(svg_text(picture_of(plan(spec))).split("?>", 1)[1])
    plain_drawn = ElementTree.fromstring(svg_text(picture_of(plan(plain_spec))).split("?>", 1)[1])
    assert [e.tag for e in drawn.iter()] == [e.tag for e in plain_drawn.iter()]
    assert [sorted(e.attrib) for e in drawn.iter()] == [
        sorted(e.attrib) for e in plain_drawn.iter()
    ]
    if field == "title":
        assert text in [e.text for e in drawn.iter()]


# Names of files


@pytest.mark.parametrize(
    "name",
    [
        "../../etc/passwd", "..", ".", "/", "a/b", "a\\b", "C:\\x", "CON", "con", "nul", "LPT1",
        "com9", "-rf", "--out", "~", "$HOME", "`x`", "a;b", "a|b", "a\x00b", "a\nb", "x" * 5000,
        "\u202eabc", "e\u0301", "日本", "\udcff", "", " ", "...", "name.", "name ", "*", "?",
    ],
)  # fmt: skip
def test_any_text_makes_a_plain_file_name(name: str) -> None:
    plain = plain_name(name)
    assert re.fullmatch(r"[A-Za-z0-9_][A-Za-z0-9_-]{0,90}", plain)
    assert not re.fullmatch(r"(?i)con|prn|aux|nul|com\d|lpt\d", plain)


@pytest.mark.parametrize(
    "name", [b"\xff\xfe.yaml", "Łódź –.yaml".encode(), b"-rf.yaml", b"a b;c.yaml", b"CON.yaml"]
)
def test_a_spec_of_any_name_makes_a_card_of_a_plain_name(name: bytes, tmp_path: Path) -> None:
    path = os.path.join(os.fsencode(tmp_path), name)
    try:
        with open(path, "wb") as file:
            file.write(HOLE.encode())
    except OSError:
        pytest.skip("the file system has no such names")
    out = tmp_path / "out"
    call = [sys.executable, "-m", "cards", "cards", os.fsdecode(path), "--out", str(out)]
    done = subprocess.run(call, cwd=ROOT, capture_output=True, check=False)
    assert done.returncode == MADE, done.stderr
    (made,) = out.iterdir()
    assert re.fullmatch(r"[A-Za-z0-9_-]+-loft\.pdf", made.name)


# Places


def test_links_in_the_way_are_left_alone(tmp_path: Path, capsys) -> None:
    out, spec = tmp_path / "out", tmp_path / "belly.yaml"
    out.mkdir()
    spec.write_text(HOLE)
    kept = tmp_path / "kept"
    kept.write_text("mine")
    for target in (kept, tmp_path / "nowhere", Path("/dev/null"), tmp_path):
        link = out / "belly-loft.pdf"
        link.symlink_to(target)
        assert main(["cards", str(spec), "--out", str(out)]) != MADE
        assert "no plain file" in capsys.readouterr().err
        assert link.readlink() == target
        link.unlink()
    assert kept.read_text() == "mine"
    assert not (tmp_path / "nowhere").exists()


def test_a_stray_that_is_a_link_is_not_followed(tmp_path: Path) -> None:
    out, kept = tmp_path / "out", tmp_path / "kept"
    out.mkdir()
    kept.write_text("mine")
    link = out / ".threebar-x.part"
    link.symlink_to(kept)
    os.utime(link, (0, 0), follow_symlinks=False)
    (tmp_path / "belly.yaml").write_text(HOLE)
    assert main(["cards", str(tmp_path / "belly.yaml"), "--out", str(out)]) == MADE
    assert kept.read_text() == "mine"
    assert not link.is_symlink()


@pytest.mark.parametrize(
    "place", ["/dev/zero", "/dev/null", "/dev/urandom", "/dev/tty", "/proc/self/mem"]
)
def test_a_device_is_no_spec(place: str, capsys) -> None:
    if not os.path.exists(place):
        pytest.skip("not here")
    begun = time.monotonic()
    assert main(["plan", place]) == WRONG_CALL
    assert time.monotonic() - begun < PATIENCE
    assert "; expected a spec file" in capsys.readouterr().err


def test_standard_input_without_end_is_cut_off(tmp_path: Path) -> None:
    with open("/dev/zero", "rb") as endless:
        done = subprocess.run(
            [sys.executable, "-m", "cards", "plan", "-"],
            stdin=endless,
            capture_output=True,
            text=True,
            cwd=ROOT,
            timeout=20,
            check=False,
        )
    assert done.returncode == WRONG_CALL
    assert done.stderr.startswith("threebar: standard input: found more than 4000000 bytes")


def test_a_folder_named_as_a_spec_is_a_folder(tmp_path: Path, capsys) -> None:
    inner = tmp_path / "specs" / "inner.yaml"
    inner.mkdir(parents=True)
    (tmp_path / "specs" / "belly.yaml").write_text(HOLE)
    (inner / "deep.yaml").write_text(HOLE)
    out = tmp_path / "out"
    assert main(["cards", str(tmp_path / "specs"), "--out", str(out)]) == MADE
    assert [path.name for path in out.iterdir()] == ["belly-loft.pdf"]
    assert main(["cards", str(inner), "--out", str(out)]) == MADE
    assert sorted(path.name for path in out.iterdir()) == ["belly-loft.pdf", "deep-loft.pdf"]


def test_a_spec_behind_a_ring_of_links_is_named(tmp_path: Path, capsys) -> None:
    (tmp_path / "a.yaml").symlink_to(tmp_path / "b.yaml")
    (tmp_path / "b.yaml").symlink_to(tmp_path / "a.yaml")
    assert main(["plan", str(tmp_path / "a.yaml")]) == WRONG_CALL
    (line,) = capsys.readouterr().err.splitlines()
    assert "a.yaml" in line


# Word lists


@pytest.mark.parametrize("place", ["/dev/zero", "pipe", "folder", "missing", "large"])
def test_a_word_list_that_is_no_file_is_named(place: str, tmp_path: Path) -> None:
    spec, path = tmp_path / "belly.yaml", tmp_path / place
    spec.write_text(HOLE)
    if place == "pipe":
        os.mkfifo(path)
    elif place == "folder":
        path.mkdir()
    elif place == "large":
        path.write_bytes(b"#" * 5_000_000)
    call = ["cards", str(spec), "--out", str(tmp_path / "out"), "--words", str(path)]
    done = subprocess.run(
        [sys.executable, "-m", "cards", *call],
        capture_output=True,
        text=True,
        cwd=ROOT,
        timeout=20,
        check=False,
    )
    assert done.returncode == WRONG_CALL
    assert len(done.stderr.splitlines()) == 1
    assert "Traceback" not in done.stderr
