"""The cards in Spanish: nothing is lacking, nothing is left in English, and they print as well.

What a page says is read back from its PDF by PDFium and by pdfplumber. Decimal comma: Spanish use
(common practice, no source). That the knots are told right is read off their drawings, as for the
English sentences in `test_stitches`.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

import jinja2
import pdfplumber
import pikepdf
import pypdfium2
import pytest
import yaml
from jinja2 import nodes
from lxml import etree
from msgspec.structs import replace

from cards import Spec, load, load_text, plan
from cards.command import MADE, main
from cards.job import Plan
from cards.sheet import EDITIONS, card_pdf, compose
from cards.sheet.stitch_cards import stitch_cards_pdf, stitch_sentences
from cards.shelf import shelf
from cards.words import words
from tests import print_craft as craft
from tests.print_craft import Print
from tests.test_pages import INSTRUCTIONS, NUMBERED, NUMBERS, ROUND
from tests.test_stitches import EVERY, OTHER, STITCHES, WAYS, finished, places, read

SPECS = Path(__file__).resolve().parent.parent / "specs"
SPANISH = words("es")

# Sentences that are the same in both languages, because the word is: panel, rev.
SAME = {"label.panel", "label.revision", "materials.hours", "materials.minutes"}
# Symbols of units, the same in all languages: SI (BIPM, SI Brochure, 9th edition), tex ISO 1144,
# inch, foot and ounce by their international symbols.
SYMBOLS = ("mm", "m", "g", "kg", "min", "h", "tex", "in", "ft", "oz")
UNITS = re.compile(rf"\d\s+(?:{'|'.join(SYMBOLS)})\b")
CARD_NUMBER = re.compile(r"\b[0-9A-Z]{5}-[0-9A-Z]{5}\b")


# What a sentence is made of


def sentences(path: Path) -> dict[str, str]:
    """The sentences of a words file by group and name."""
    groups = yaml.safe_load(path.read_text(encoding="utf-8"))
    return {
        f"{group}.{name}": text or ""
        for group, members in groups.items()
        if isinstance(members, dict)
        for name, text in members.items()
    }


def english_files() -> list[Path]:
    return sorted(
        path for path in shelf("templates").glob("*.yaml") if path.stem.split(".")[-1] == "en"
    )


def spanish_of(path: Path) -> Path:
    return path.with_name(re.sub(r"\ben\.yaml$", "es.yaml", path.name))


def variables(text: str) -> tuple[set[str], set[str]]:
    """The names that a sentence fills in, and the terms that it uses."""
    tree = jinja2.Environment().parse(text)
    names = {node.name for node in tree.find_all(nodes.Name)} - {"t"}
    return names, {node.attr for node in tree.find_all(nodes.Getattr)}


def differences(english: dict[str, str], spanish: dict[str, str]) -> list[str]:
    """What has to be done so that every English sentence is there in Spanish."""
    found = [f"add {key}: {english[key]!r}" for key in english if key not in spanish]
    found += [f"take out {key}" for key in spanish if key not in english]
    for key in english.keys() & spanish.keys():
        (names, terms), (own_names, own_terms) = variables(english[key]), variables(spanish[key])
        lacking = sorted(names - own_names)
        strange = sorted(own_names - names)
        if lacking or strange:
            found.append(f"{key}: lacks {lacking}, has {strange} that English does not give")
        if terms - own_terms:
            found.append(f"{key}: does not use the terms {sorted(terms - own_terms)}")
        said = said_of(english[key])
        if key != "number.decimal" and bool(english[key]) > bool(spanish[key]):
            found.append(f"{key}: empty")
        if set(said) - set(SYMBOLS) and said == said_of(spanish[key]) and key not in SAME:
            found.append(f"{key}: the same as in English: {english[key]!r}")
    return sorted(found)


def said_of(text: str) -> list[str]:
    """The words of a sentence without what is filled in."""
    return letters_of(re.sub(r"\{\{.*?\}\}|\{%.*?%\}", " ", text))


def letters_of(text: str) -> list[str]:
    """Words of two letters and more, in small letters."""
    return [word.lower() for word in re.findall(r"[^\W\d_]{2,}", text)]


@pytest.mark.parametrize("path", english_files(), ids=lambda path: path.name)
def test_every_english_sentence_is_there_in_spanish(path: Path) -> None:
    other = spanish_of(path)
    spanish = sentences(other) if other.is_file() else {}
    todo = differences(sentences(path), spanish)
    assert not todo, f"in {other.name}:\n" + "\n".join(todo)


def test_a_sentence_that_is_lacking_or_left_in_english_is_listed() -> None:
    english = {"a.b": "Cut the {{ t.bar }} {{ n }}.", "a.c": "Knots"}
    assert differences(english, {"a.b": "Corta la {{ t.bar }} {{ n }}.", "a.c": "Nudos"}) == []
    assert differences(english, {"a.c": "Nudos"}) == ["add a.b: 'Cut the {{ t.bar }} {{ n }}.'"]
    assert differences(english, {"a.b": "Corta {{ m }}.", "a.c": "Knots"}) == [
        "a.b: does not use the terms ['bar']",
        "a.b: lacks ['n'], has ['m'] that English does not give",
        "a.c: the same as in English: 'Knots'",
    ]
    assert differences({}, {"a.d": "Mallas"}) == ["take out a.d"]


# What stands on the pages


@lru_cache(maxsize=2)
def vocabulary(language: str = "es") -> frozenset[str]:
    """All words of a language's files, its terms in the plural too."""
    known: set[str] = set()
    for path in english_files():
        own = path if language == "en" else spanish_of(path)
        for key, text in sentences(own).items():
            bare = re.sub(r"\{\{.*?\}\}|\{%.*?%\}", " ", text)
            # An ending behind what is filled in is no word of its own.
            joined = re.sub(r"\{%.*?%\}", "", text)
            known |= set(letters_of(bare)) | set(letters_of(re.sub(r"\{\{.*?\}\}", " ", joined)))
            if key.startswith("terms."):
                known |= {f"{word}s" for word in letters_of(text)}
    return frozenset(known)


def foreign(text: str, own: Plan | None = None) -> list[str]:
    """Words on a page that are none of the Spanish files or the spec, and no units of a figure."""
    known = set(vocabulary("es")) | set(SYMBOLS)
    text = re.sub(r"\b[0-9A-Z]{5}-[0-9A-Z]{5}\b", " ", text)  # the number of a card
    if own is not None:
        net = own.spec.net
        written = (own.spec.title, net.panel, net.twine.material, own.spec.author, own.spec.note)
        known |= set(letters_of(" ".join(str(part or "") for part in written)))
    bare = CARD_NUMBER.sub(" ", UNITS.sub(" ", text))
    return sorted({word for word in letters_of(bare) if word not in known})


def read_back(pdf: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(pdf)
    texts = [document[n].get_textpage().get_text_bounded() for n in range(len(document))]
    # The names of twines, A, B ..., stand close to words and to each other in a legend.
    parted = [re.sub(r"(?<=[a-zñ])(?=[A-Z])", " ", text) for text in texts]
    return [re.sub(r"\b[A-D]{2,}\b", " ", text) for text in parted]


def in_spanish(spec: Spec) -> Spec:
    """A demo whose own texts are Spanish, so that no English word on a page comes from it."""
    net = replace(spec.net, panel="Petrel Gris, vientre bajo" if spec.net.panel else None)
    own = {"title": "Rasgón de popa", "author": "Escuela inventada", "date": "2025"}
    return replace(spec, net=net, note="Rozado por un grillete" if spec.note else None, **own)


def demos() -> Iterator[tuple[str, Spec]]:
    for path in sorted(SPECS.glob("*.yaml")):
        for number, spec in enumerate(load(path), 1):
            yield f"{path.stem}-{number}", in_spanish(spec)


DEMOS = dict(demos())
SMALL = [name for name in DEMOS if not name.startswith("large")]

# Pages of all kinds: tiles and bands, brief papers, papers that lie, two tears, inches.
PAGES = [
    *((name, edition, None) for name in SMALL for edition in EDITIONS),
    *(("uneven-wide-1", edition, paper) for edition in EDITIONS for paper in ("A6", "A6-across")),
    *(("inches-1", edition, "letter-across") for edition in EDITIONS),
    *(("awkward-two-tears-1", edition, "half-letter") for edition in EDITIONS),
    ("large-1", "deck", None),
]


@lru_cache(maxsize=64)
def planned(name: str) -> Plan:
    return plan(DEMOS[name])


@pytest.mark.parametrize(("name", "edition", "paper"), PAGES)
def test_no_word_on_a_card_is_left_in_english(name: str, edition: str, paper: str | None) -> None:
    own = planned(name)
    pdf = card_pdf(own, edition, paper_name=paper, word_list=SPANISH)
    text = "\n".join(read_back(pdf))
    assert foreign(text, own) == []
    assert set(letters_of(UNITS.sub(" ", text))) & (vocabulary("en") - vocabulary("es")) == set()
    assert not re.search(r"\d\.\d", text), "a decimal point"


@pytest.mark.parametrize("hand", WAYS)
def test_no_word_on_a_stitch_card_is_left_in_english(hand: str) -> None:
    pages = read_back(stitch_cards_pdf(hand, SPANISH))
    assert len(pages) == 8
    assert foreign("\n".join(pages)) == []


LITTLE = "{mesh: 120 mm, twine: {diameter: 3.5 mm}}\nmender: {needle: 5 cm}"
ISLAND = rf"""net: {LITTLE}
hole:
  drawing: |
    \/\/\/\/\/\/
    /\......../\
    \/.../....\/
    /\......../\
    \/........\/
    /\/\/\/\/\/\
"""
FLAP = rf"""net: {LITTLE}
hole:
  drawing: |
    \/\/\/\/\/\/
    /\.\/\/\/./\
    \/./\/\/\.\/
    /\.\/\/\/./\
    \/........\/
    /\/\/\/\/\/\
"""


def test_every_note_is_in_spanish() -> None:
    (island,), (flap,) = load_text(ISLAND), load_text(FLAP)
    for spec, note in (
        (island, "no cuelga de nada"),
        (flap, "de los cortes son de barras enteras"),
    ):
        own = plan(in_spanish(spec), twines="one")
        text = "\n".join(read_back(card_pdf(own, "loft", word_list=SPANISH)))
        flat = " ".join(text.split())
        assert note in flat
        assert "no llega para un nudo" in flat
        assert foreign(text, own) == []


@pytest.mark.parametrize(
    "key, left",
    [
        ("check.five", "Pull on every new {{ t.knot }}. None may slip."),
        ("sewing.refill", "Refill"),
        ("terms.sider", "side knot"),
        ("label.page", "{{ page }} of {{ pages }}"),
    ],
)
def test_a_sentence_left_in_english_is_caught(key: str, left: str) -> None:
    few = planned("rectangle-1")
    needle = load_text("{mender: {needle: 2 m}, hole: {shape: {kind: slit down, down: 1}}}")[0]
    own = plan(replace(few.spec, mender=needle.mender))
    slipped = SPANISH.replaced({key: left}, "slip")
    text = "\n".join(read_back(card_pdf(own, "loft", word_list=slipped)))
    caught = set(said_of(left)) - vocabulary("es")
    assert caught
    assert set(foreign(text, own)) == caught


# What programs read in the file


def test_the_file_names_its_language_and_speaks_it() -> None:
    own = planned("rectangle-1")
    with pikepdf.open(io.BytesIO(card_pdf(own, word_list=SPANISH))) as opened:
        assert str(opened.Root.Lang) == "es"
        told = " ".join(str(opened.docinfo[key]) for key in ("/Subject", "/Keywords"))
        about = [str(opened.attachments[name].description) for name in opened.attachments]
    assert foreign(" ".join([told, *about]), own) == []
    with pikepdf.open(io.BytesIO(card_pdf(own))) as opened:
        assert str(opened.Root.Lang) == "en"


def test_stitch_cards_name_their_language_and_speak_it() -> None:
    with pikepdf.open(io.BytesIO(stitch_cards_pdf("left", SPANISH))) as opened:
        assert str(opened.Root.Lang) == "es"
        told = [str(opened.docinfo["/Title"]), str(opened.docinfo["/Subject"])]
        with opened.open_outline() as outline:
            told += [str(entry.title) for entry in outline.root]
    assert len(told) == 10
    assert foreign(" ".join(told)) == []


def test_a_bound_file_names_its_language_and_speaks_it(tmp_path: Path) -> None:
    spec = tmp_path / "uno.yaml"
    spec.write_text("{title: Banda de popa, hole: {shape: {kind: slit down, down: 2}}}", "utf-8")
    asked = ["cards", str(spec), "--bind", "Cuaderno", "--language", "es", "--out", str(tmp_path)]
    assert main(asked) == MADE
    with pikepdf.open(tmp_path / "Cuaderno-loft.pdf") as opened:
        assert str(opened.Root.Lang) == "es"
        with opened.open_outline() as outline:
            told = [str(entry.title) for entry in outline.root]
        told += [str(opened.docinfo["/Keywords"])]
        told += [str(opened.attachments[name].description) for name in opened.attachments]
    assert set(foreign(" ".join(told))) <= {"banda", "popa", "cuaderno"}


def test_a_picture_names_its_language_and_speaks_it(capfdbinary: pytest.CaptureFixture) -> None:
    spec = str(SPECS / "rectangle.yaml")
    for asked in ([], ["--found"]):
        assert main(["picture", spec, "--language", "es", *asked]) == MADE
        root = etree.fromstring(capfdbinary.readouterr().out)
        assert root.get("{http://www.w3.org/XML/1998/namespace}lang") == "es"
        said = root.findtext("{http://www.w3.org/2000/svg}desc")
        assert said
        assert foreign(said) == []


def test_only_the_spanish_card_asks_to_be_read_over() -> None:
    own = planned("rectangle-1")
    asks = "aún debe revisarlo un redero que lo hable"
    spanish, english = (
        " ".join(" ".join(read_back(card_pdf(own, word_list=words(tag)))).split())
        for tag in ("es", "en")
    )
    assert asks in spanish
    assert asks not in english
    assert not words("en").say("safety.wording")


# Letters and figures

LETTERS = "áéíóúüñ ÁÉÍÓÚÜÑ ¿¡"


@pytest.mark.parametrize("edition", EDITIONS)
def test_accented_letters_print_and_are_read_back(edition: str) -> None:
    (spec,) = load_text(ROUND)
    own = plan(replace(spec, title=f"¿Paño de Ñuño? ¡Sí! {LETTERS}"))
    pdf = card_pdf(own, edition, word_list=SPANISH)
    assert craft.loose_fonts(pdf) == []
    with pdfplumber.open(io.BytesIO(pdf)) as plumbed:
        plumbed_texts = [page.extract_text() for page in plumbed.pages]
    for texts in (read_back(pdf), plumbed_texts):
        for text in texts:
            assert set(LETTERS.replace(" ", "")) <= set(text)
            assert "¿Paño de Ñuño? ¡Sí!" in text


def test_figures_have_a_decimal_comma() -> None:
    (spec,) = load_text(
        "net: {mesh: 4.5 in, twine: {material: PE, diameter: 0.14 in, rtex: 5200.5}}\n"
        "mender: {needle: 9.5 ft, pace: 2.5}\n"
        "hole: {shape: {kind: rectangle, across: 4, down: 3}}"
    )
    own = plan(spec)
    text = " ".join(" ".join(read_back(card_pdf(own, word_list=SPANISH))).split())
    for figure in ("4,5 in", "0,14 in", "R5200,5 tex", "9,5 ft", "a 2,5 nudos", "2,25 in", " oz"):
        assert figure in text
    assert not re.search(r"\d\.\d", text)
    assert "4.5 in" in " ".join(read_back(card_pdf(own)))


def test_one_knot_a_minute_is_one() -> None:
    def told(pace: str) -> str:
        (spec,) = load_text(
            f"{{mender: {{pace: {pace}}}, hole: {{shape: {{kind: slit down, down: 1}}}}}}"
        )
        return " ".join(" ".join(read_back(card_pdf(plan(spec), word_list=SPANISH))).split())

    assert "a 1 nudo por minuto" in told("1")
    assert "a 1,5 nudos por minuto" in told("1.5")
    assert "y quite una barra, con" in SPANISH.say("class.right_too", cuts=1, twines=1)


# Print


def faults_of(own: Plan, edition: str, paper: str) -> list[str]:
    pages = compose(own, edition, paper_name=paper, word_list=SPANISH)
    made = Print(card_pdf(own, edition, paper_name=paper, word_list=SPANISH), pages)
    hand = {"right": "Mano derecha", "left": "Mano izquierda"}[own.hand]
    faults = [
        *craft.small_type(made),
        *craft.small_instructions(made.pages, INSTRUCTIONS.get(edition, 9.0)),
        *craft.low_numbers(made, NUMBERS.get(edition, 2.2)),
        *craft.full_margins(made),
        *craft.eyelet_faults(made),
        *craft.crowded(made.pages),
        *craft.page_sizes(made, paper),
        *craft.check_line_faults(made),
        *craft.gauge_faults(made, own.reckoning.bar),
        *craft.page_counts(made, "de"),
        *craft.unsaid(made, ["Ficha", own.number, "Arriba de la red", "Filas de hilo a lo ancho"]),
        *craft.unsaid(made, ["Panel", "Malla", "Hilo", hand]),
        *craft.unsaid(
            made, ["Cuchillo lejos del cuerpo y la otra mano", "de los ojos", "parado y firme"]
        ),
        *craft.unsaid(made, ["Normas locales primero"]),
        *craft.loose_fonts(made.pdf),
        *craft.unselectable(made),
        *craft.unnamed(made.pdf),
    ]
    counts = {"knot number": own.sewing.knots, "cut number": len(own.cuts)}
    for role in NUMBERED.get(edition, ()):
        faults += craft.number_faults(made, role, counts[role])
    return faults


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize(
    ("name", "paper"),
    [
        ("ragged-round-1", "A5"),
        ("left-handed-1", "A6-across"),
        ("lost-knot-1", "A6-across"),
        ("awkward-island-1", "A6"),
        ("awkward-two-legs-1", "A4"),
        ("inches-1", "letter-across"),
        ("rectangle-1", "half-letter"),
        ("slit-down-1", "half-letter-across"),
    ],
)
def test_spanish_cards_print_well(name: str, paper: str, edition: str) -> None:
    assert faults_of(planned(name), edition, paper) == []


# The knots as they are told

SIDES = {"izquierda": "left", "derecha": "right", "de arriba": "upper", "de abajo": "lower"}
SIDE = f"({'|'.join(SIDES)})"
TOLD = [
    (r"[Pp]asa detrás de la punta\.", []),
    (r"Cruza la punta por delante\.", []),
    (r"Rodea el nudo, (delante|detrás) de su tercera barra\.", []),
    (r"desde atrás por la malla", [("under", "point")]),
    (r"desde delante por la malla", [("over", "point")]),
    (rf"Cruza la (?:barra )?{SIDE}", [("over", None)]),
    (rf"[Pp]asa detrás de la (?:barra )?{SIDE}", [("under", None)]),
    (rf"y detrás de la {SIDE}", [("under", None)]),
    (r"[Pp]asar? detrás de ambas", ["under both"]),
    (r"Cruza (?:otra vez )?ambas", ["over both"]),
    (r"Pasa bajo el primer tramo", [("under", "own")]),
    (r"Pasa sobre el primer tramo", [("over", "own")]),
    (r"Sal delante", [("over", "point")]),
    (r"Sal detrás", [("under", "point")]),
    (r", sobre el primer tramo", [("over", "own")]),
    (r", detrás del primer tramo", [("under", "own")]),
]


def passes(stitch: str, going: str, hand: str) -> list[tuple[str, str]]:
    told: list[str] = stitch_sentences(stitch, going, hand, SPANISH)  # type: ignore[arg-type]
    return read(told, TOLD, SIDES.__getitem__)


@pytest.mark.parametrize("hand", WAYS)
@pytest.mark.parametrize(("stitch", "going"), EVERY)
def test_the_sentences_tell_the_drawing_pass_by_pass(stitch: str, going: str, hand: str) -> None:
    as_right = going if hand == "right" else OTHER[going]
    assert passes(stitch, going, hand) == places(finished(stitch, as_right), stitch, hand)


@pytest.mark.parametrize("stitch", STITCHES)
def test_sentences_of_the_other_way_tell_another_drawing(stitch: str) -> None:
    assert passes(stitch, "left", "right") != places(finished(stitch, "right"), stitch, "right")
