"""Every page of every edition on every paper is fit to print, and each measure sees its fault.

Sources: page sizes ISO 216 and ANSI/ASME Y14.1; inch: international yard and pound agreement, 1959;
a bar is half a mesh: ISO 1107 (from memory). Sizes of type, lines and margins: the project's own
rules for cards read wet at arm's length (common practice, no source).
"""

from __future__ import annotations

import io
import os
import random
import re
import shutil
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from math import hypot
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from reportlab.pdfgen.canvas import Canvas

from cards import load_text, plan
from cards.errors import PageError
from cards.job import Plan
from cards.picture import Area, Disc, Line, Picture, Text
from cards.picture.pdf import Attachment, pdf_bytes
from cards.picture.type import font_file
from cards.sheet import EDITIONS, card_pdf, compose
from tests import print_craft as craft
from tests.print_craft import MM, PAPERS, Print

NET = "net: {panel: lower belly, mesh: 120 mm, twine: {material: PE, diameter: 3.5 mm, rtex: 5200}}"
ROUND = rf"""title: Belly, starboard side
{NET}
mender: {{needle: 18 m, pace: 4}}
hole:
  drawing: |
    \/\/\/\/\/
    /\/..\/\/\
    \/....\/\/
    /.../\/./\
    \../\/..\/
    /\../\.\/\
    \/...../\/
    /\/\/\/\/\
"""
LONG = "A title as long as a title may well be when the mate writes it down in the log at night"
SPECS = {
    "round": ROUND,
    "bar": "{title: One bar, hole: {bars: [[[3, 3], [4, 4]]]}}",
    "knot": f"title: Lost knot\n{NET}\nhole: {{shape: {{kind: diamond, across: 1, down: 1}}}}",
    "across": "title: 'Fente, côté bâbord: Łódź ÆØÅ'\n"
    "hole: {shape: {kind: slit across, across: 7}}",
    "long": f"""title: {LONG}, and a little longer still, until the two lines are full
author: A. N. Other of the invented Harl Loft by the sea
date: 2025-01-31
revision: C
net:
  panel: {"lower belly behind the square, second strengthening panel from the codend " * 2}
  mesh: 9 in
  twine: {{material: polyethylene braided with a core of polyester, diameter: 5 mm, double: true}}
mender: {{hand: left, needle: 3 m}}
hole: {{shape: {{kind: rectangle, across: 5, down: 4}}}}
""",
    "patch": f"""title: Torn out
{NET.replace("mesh: 120 mm,", "mesh: 120 mm, tolerance: 3 mm,")}
mender: {{needle: 2 m, needle_width: 70 mm, pace: 4}}
method: patch
hole: {{shape: {{kind: diamond, across: 6, down: 5}}}}
""",
    "coarse": "{title: Wing, net: {mesh: 1200 mm}, hole: {shape: {kind: slit down, down: 3}}}",
}
WIDE = f"title: Wide\n{NET}\nhole: {{shape: {{kind: diamond, across: 16, down: 14}}}}"

INSTRUCTIONS = {"deck": 12.0}  # pt; 9 elsewhere
LOOKED_UP = {"deck": 12.0}  # pt; 8 elsewhere
NUMBERS = {"deck": 3.0}  # mm; 2.2 elsewhere
NUMBERED = {  # which numbers an edition shows
    "loft": ("knot number", "cut number"),
    "deck": ("cut number",),
    "class-key": ("knot number", "cut number"),
}


def ragged(seed: int) -> str:
    """The spec of a random hole: a walk that breaks bars as it goes."""
    chance = random.Random(seed)
    x, y, bars = 0, 0, set()
    for _ in range(chance.randrange(10, 70)):
        across, down = chance.choice((-1, 1)), chance.choice((-1, 1))
        ends = sorted(((x, y), (x + across, y + down)), key=lambda knot: knot[1])
        bars.add(tuple(ends))
        x, y = x + across, y + down
    listed = ", ".join(f"[[{a}, {b}], [{c}, {d}]]" for (a, b), (c, d) in sorted(bars))
    return f"title: Ragged {seed}\n{NET}\nhole: {{bars: [{listed}]}}"


@lru_cache(maxsize=64)
def planned(text: str) -> Plan:
    (spec,) = load_text(text)
    return plan(spec)


@lru_cache(maxsize=16)
def printed(text: str, edition: str, paper: str) -> Print:
    own = planned(text)
    return Print(card_pdf(own, edition, paper_name=paper), compose(own, edition, paper_name=paper))


def faults_of(text: str, edition: str, paper: str) -> list[str]:
    """All faults of a card."""
    own, made = planned(text), printed(text, edition, paper)
    faults = [
        *craft.small_type(made),
        *craft.small_instructions(
            made.pages, INSTRUCTIONS.get(edition, 9.0), LOOKED_UP.get(edition, 8.0)
        ),
        *craft.low_numbers(made, NUMBERS.get(edition, 2.2)),
        *craft.thin_lines(made),
        *craft.greys(made),
        *craft.solids(made),
        *craft.full_margins(made),
        *craft.eyelet_faults(made),
        *craft.crowded(made.pages),
        *craft.stray_cut_numbers(made.pages),
        *craft.marks_at_signs(made.pages),
        *craft.page_sizes(made, paper),
        *craft.check_line_faults(made),
        *craft.gauge_faults(made, own.reckoning.bar),
        *craft.page_counts(made),
        *craft.unsaid(made, ["Card", own.number, "Top of the net", "Rows of twine run sideways"]),
        *craft.unsaid(made, ["Panel", "Mesh size", "Twine", f"{own.hand.capitalize()} hand"]),
        *craft.unsaid(
            made, ["Knife away from body and other hand", "needle from eyes", "stopped, secured"]
        ),
        *craft.loose_fonts(made.pdf),
        *craft.unselectable(made),
        *craft.unnamed(made.pdf),
        *craft.unsound(made.pdf),
    ]
    # The last knot of a patch is tied on its first one, whose number stands there.
    closed = sum(twine.closed for twine in own.sewing.twines)
    counts = {"knot number": own.sewing.knots - closed, "cut number": len(own.cuts)}
    shown = NUMBERED.get(edition, ())
    if own.patch and edition == "deck":
        shown = (*shown, "knot number")  # a seam has no rows to follow
    for role in shown:
        faults += craft.number_faults(made, role, counts[role])
    if "knot number" in shown and edition != "class-key":
        faults += craft.stray_refills(made.pages, own.reckoning.refills)
    return faults


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("edition", EDITIONS)
def test_a_round_hole_prints_well_on_every_paper(edition: str, paper: str) -> None:
    assert faults_of(ROUND, edition, paper) == []


@pytest.mark.parametrize("paper", ["A6", "A5", "A5-across", "letter-across", "A4"])
@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("name", [name for name in SPECS if name != "round"])
def test_odd_specs_print_well(name: str, edition: str, paper: str) -> None:
    assert faults_of(SPECS[name], edition, paper) == []


@pytest.mark.parametrize("seed", range(8))
def test_random_holes_print_well(seed: int) -> None:
    edition = list(EDITIONS)[seed % len(EDITIONS)]
    for paper in random.Random(seed).sample(list(PAPERS), 3):
        assert faults_of(ragged(seed), edition, paper) == []


@pytest.mark.parametrize("edition, paper", [("loft", "A5"), ("loft", "A6-across"), ("deck", "A5")])
def test_a_wide_hole_prints_well_in_tiles(edition: str, paper: str) -> None:
    assert len(compose(planned(WIDE), edition, paper_name=paper)) > 4
    assert faults_of(WIDE, edition, paper) == []


# Invented holes that come with the project: several twines, uneven rims, both hands.
DEMO = [
    ("awkward-comb", "loft", "A5"),
    ("awkward-comb", "deck", "A4"),
    ("awkward-flap", "loft", "A6-across"),
    ("awkward-flap", "deck", "A6"),
    ("awkward-three-legs", "class-key", "A4"),
    ("awkward-two-tears", "deck", "A5-across"),
    ("left-handed", "class", "half-letter-across"),
    ("uneven-wide", "deck", "half-letter"),
]


@pytest.mark.parametrize("name, edition, paper", DEMO)
def test_demo_cards_print_well(name: str, edition: str, paper: str) -> None:
    assert faults_of(demo(name), edition, paper) == []


def demo(name: str) -> str:
    return (Path(__file__).parent.parent / "specs" / f"{name}.yaml").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["awkward-comb", "awkward-flap", "awkward-three-legs"])
@pytest.mark.parametrize("edition", ["loft", "deck"])
def test_each_twine_is_told_by_its_letter(name: str, edition: str) -> None:
    pages = compose(planned(demo(name)), edition)
    assert unlettered(planned(demo(name)), pages, edition) == []


@pytest.mark.parametrize("edition", ["loft", "deck"])
@pytest.mark.parametrize("twines", [5, 6])
def test_many_twines_are_told_in_few_words(twines: int, edition: str) -> None:
    lines = [
        "".join(
            "." if 2 <= x % 8 < 6 and 0 < y < 3 else "\\/"[(x + y) % 2] for x in range(8 * twines)
        )
        for y in range(4)
    ]
    own = planned(
        "twine_cost: 0\nhole:\n  drawing: |\n" + "".join(f"    {line}\n" for line in lines)
    )
    assert len(own.sewing.twines) == twines
    assert unlettered(own, compose(own, edition), edition) == []


def unlettered(own: Plan, pages: Sequence[Picture], edition: str) -> list[str]:
    """Starts, ends and rows that do not carry the letter of their twine."""
    faults = []
    said = [shape for page in pages for shape in page.shapes if isinstance(shape, Text)]
    names = [twine.name for twine in own.sewing.twines]
    first, *others = names
    then = "".join(f", then {name}" for name in others)
    if len(others) > 4:
        then = ", then the others in the order of their letters"
    turns = f"Sew twine {first} from its ring to its square{then} in the same way."
    if not any(turns in text for text in written(pages)):
        faults.append("does not say in which order the twines are sewn")
    for twine in own.sewing.twines:
        rows = {f"{twine.name}{n}" for n in range(1, len(twine.rows) + 1)}
        faults += [f"no row {row}" for row in rows - {shape.text for shape in said}]
        for kind, knot in (("start", twine.knots[0]), ("end", twine.knots[-1])):
            if edition == "deck":
                if f"{kind} {twine.name}" not in {s.of for s in said if s.text == twine.name}:
                    faults.append(f"no {kind} {twine.name}")
                continue
            # On the rim of a tile there may be no room for it; then another tile has it.
            lettered = [
                hypot(letter.x - number.x, letter.y - number.y) < 5 * number.size
                for page in pages
                for number in page.shapes
                if number.of == f"knot {knot.n}" and number.role == NUMBER
                for letter in page.shapes
                if letter.role == "twine letter" and letter.of == f"twine {twine.name}"
            ]
            if not any(lettered):
                faults.append(f"no letter {twine.name} at {kind} {knot.n}")
    return faults


NUMBER = "knot number"


def written(pages: Sequence[Picture]) -> list[str]:
    """The text of each page in one line."""
    return [" ".join(s.text for s in page.shapes if isinstance(s, Text)) for page in pages]


def test_beside_a_tile_stand_the_rows_that_it_shows_and_no_others() -> None:
    own = planned(demo("awkward-two-tears"))
    pages = compose(own, "loft", paper_name="A5")
    assert strange_rows(own, pages) == []
    rows = [s for page in pages for s in page.shapes if s.role == "row number" and s.of]
    other = {"A": "B", "B": "A"}
    swapped = [
        replace(
            page,
            shapes=tuple(
                s._replace(text=other[s.text[0]] + s.text[1:]) if s in rows else s
                for s in page.shapes
            ),
        )
        for page in pages
    ]
    assert strange_rows(own, swapped)


def strange_rows(own: Plan, pages: Sequence[Picture]) -> list[str]:
    """Numbers of rows beside the sewing of which the page shows no knot."""
    faults = []
    for number, page in enumerate(pages, 1):
        shown = {int(s.text) for s in page.shapes if s.role == NUMBER and s.of == f"knot {s.text}"}
        if not shown:
            continue
        for twine in own.sewing.twines:
            first, last = twine.first, twine.last
            if not shown & set(range(first, last + 1)):
                faults += [
                    f"page {number} names row {s.text}"
                    for s in page.shapes
                    if s.role == "row number" and s.of and s.text.startswith(twine.name)
                ]
    return faults


@pytest.mark.parametrize("role", ["twine letter", "row number", "text"])
def test_a_twine_without_its_letter_is_seen(role: str) -> None:
    own = planned(demo("awkward-flap"))
    pages = [
        replace(page, shapes=tuple(shape for shape in page.shapes if shape.role not in taken))
        for taken in ({role, "cell"} if role == "row number" else {role},)
        for page in compose(own, "loft")
    ]
    assert unlettered(own, pages, "loft")


def test_a_card_of_too_many_pages_names_a_paper_that_will_do() -> None:
    big = f"title: Big\n{NET}\nhole: {{shape: {{kind: rectangle, across: 60, down: 40}}}}"
    with pytest.raises(PageError, match=r"larger paper, such as A[34], or give") as error:
        compose(planned(big), "loft", paper_name="A6")
    named = re.search("such as (\\w+),", str(error.value))
    assert named and compose(planned(big), "loft", paper_name=named[1])


def test_digits_are_as_tall_as_the_measures_take_them_to_be() -> None:
    for bold in (False, True):
        font = TTFont(font_file(bold))
        glyphs, names = font["glyf"], font.getBestCmap()
        for digit in "0123456789":
            tall = glyphs[names[ord(digit)]].yMax / font["head"].unitsPerEm
            assert 0.66 <= tall <= 0.69, digit


def test_a_card_found_on_board_can_be_printed_again() -> None:
    for text in SPECS.values():
        (content,) = craft.attached(card_pdf(planned(text))).values()
        again = planned(content.decode())
        assert again.number == planned(text).number
        assert card_pdf(again) == card_pdf(planned(text))


# Each measure sees its fault: a sound page with one thing on it made wrong on purpose.

SOUND = next(
    page
    for page in compose(planned(ROUND), "loft", paper_name="A5")
    if any(shape.role == "row arrow" for shape in page.shapes)
)


def page_with(*shapes: object, without: str = "") -> Print:
    """A sound page with shapes added, and those of a role taken away."""
    kept = tuple(shape for shape in SOUND.shapes if not without or shape.role != without)
    page = replace(SOUND, shapes=(*kept, *shapes))
    return Print(pdf_bytes([page], title="t", subject="s", keywords="k"), [page])


def ink(draw) -> Print:
    """A page drawn with the PDF library itself."""
    target = io.BytesIO()
    canvas = Canvas(target, pagesize=(148 * MM, 210 * MM))
    draw(canvas)
    canvas.save()
    return Print(target.getvalue())


def test_the_sound_page_has_none_of_the_faults() -> None:
    page = page_with()
    found = [
        measure(page)
        for measure in (
            craft.small_type, craft.thin_lines, craft.greys, craft.solids, craft.full_margins,
            craft.eyelet_faults, craft.check_line_faults, craft.unselectable,
        )
    ]  # fmt: skip
    assert not any(found)


def test_small_type_is_seen() -> None:
    assert craft.small_type(page_with(Text(30, 100, "small", 7.9 / MM)))


def test_small_instructions_are_seen() -> None:
    page = page_with(Text(30, 100, "Tie it.", 8.5 / MM, role="text"))
    assert craft.small_instructions(page.pages, 9.0)
    places = page_with(Text(30, 100, "Beside: page 3", 8.5 / MM, role="tile places"))
    assert craft.small_instructions(places.pages, 9.0) == []
    assert craft.small_instructions(places.pages, 9.0, looked_up=12.0)


def test_low_numbers_are_seen() -> None:
    low = Text(30, 100, "7", 2.1 / 0.668, True, role="knot number", of="knot 7")
    assert craft.low_numbers(page_with(low), 2.2)
    assert craft.low_numbers(page_with(), 3.0)


def test_thin_lines_are_seen() -> None:
    assert craft.thin_lines(page_with(Line(((30, 100), (40, 100)), 0.19)))
    assert craft.thin_lines(page_with(Area(((30, 100), (40, 100), (35, 110)), 0.1)))


@pytest.mark.parametrize("shade", ["grey line", "grey area", "grey text", "red line", "image"])
def test_what_is_not_black_is_seen(shade: str, tmp_path: Path) -> None:
    def draw(canvas: Canvas) -> None:
        if shade == "grey line":
            canvas.setStrokeGray(0.6)
            canvas.line(100, 100, 200, 100)
        elif shade == "grey area":
            canvas.setFillGray(0.9)
            canvas.rect(100, 100, 50, 50, stroke=0, fill=1)
        elif shade == "grey text":
            canvas.setFillGray(0.3)
            canvas.drawString(100, 100, "grey")
        elif shade == "red line":
            canvas.setStrokeColorRGB(1, 0, 0)
            canvas.line(100, 100, 200, 100)
        else:
            from PIL import Image
            from reportlab.lib.utils import ImageReader

            canvas.drawImage(ImageReader(Image.new("L", (9, 9))), 100, 100)

    assert craft.greys(ink(draw))


def test_a_large_black_area_is_seen() -> None:
    assert craft.solids(page_with(Area(((60, 90), (66, 90), (66, 96), (60, 96)), fill="black")))
    assert craft.solids(page_with(Line(((60, 90), (70, 90)), 5.0)))


def test_ink_in_the_margin_is_seen() -> None:
    assert craft.full_margins(page_with(Line(((9.0, 50), (9.0, 60)), 0.3)))
    assert craft.full_margins(page_with(Text(139.5, 100, "wide", 3.3, anchor="middle")))


def test_a_missing_ring_and_a_crowded_one_are_seen() -> None:
    assert craft.eyelet_faults(page_with(without="eyelet"))
    ring = next(shape for shape in SOUND.shapes if isinstance(shape, Disc))
    assert craft.eyelet_faults(page_with(ring._replace(x=ring.x + 4), without="eyelet"))
    beside = Line(((ring.x + 4, ring.y - 3), (ring.x + 4, ring.y + 3)), 0.3)
    assert craft.eyelet_faults(page_with(beside))
    assert craft.eyelet_faults(page_with(Disc(ring.x, ring.y, 0.5, fill="black")))


def test_labels_that_touch_are_seen() -> None:
    number = next(s for s in SOUND.shapes if isinstance(s, Text) and s.role == "knot number")
    beside = number._replace(y=number.y + 1)
    assert craft.crowded(page_with(beside).pages)
    bar = next(s for s in SOUND.shapes if isinstance(s, Line) and s.role == "twine")
    (ax, ay), (bx, by) = bar.points
    assert craft.crowded(page_with(Text((ax + bx) / 2, (ay + by) / 2, "8", 3.3)).pages)


def test_a_number_that_is_not_plainly_by_its_cut_is_seen() -> None:
    page, *_ = compose(planned(demo("uneven-wide")))
    assert craft.stray_cut_numbers([page]) == []
    number = next(s for s in page.shapes if isinstance(s, Text) and s.of == "cut 12")
    mark, other = (
        next(s for s in page.shapes if isinstance(s, Line) and s.of == f"cut {n}") for n in (12, 13)
    )
    (ax, ay), (bx, by) = mark.points[1], other.points[0]
    between = number._replace(x=(ax + bx) / 2, y=(ay + by) / 2 + 1, anchor="middle")
    far = number._replace(y=number.y - 9)
    for astray in (between, far):
        shapes = tuple(astray if shape is number else shape for shape in page.shapes)
        assert craft.stray_cut_numbers([replace(page, shapes=shapes)])
    bare = tuple(shape for shape in page.shapes if shape is not mark)
    assert craft.stray_cut_numbers([replace(page, shapes=bare)])


def test_a_mark_at_a_sign_is_seen() -> None:
    page, *_ = compose(planned(demo("uneven-wide")))
    assert craft.marks_at_signs([page]) == []
    mark = next(s for s in page.shapes if isinstance(s, Line) and s.of == "cut 22")
    sign = next(s for s in page.shapes if isinstance(s, Area) and s.role == "sign end")
    (x, y), *_ = sign.points
    near = mark._replace(points=((x - 2, y), (x - 0.3, y)))
    shapes = tuple(near if shape is mark else shape for shape in page.shapes)
    assert craft.marks_at_signs([replace(page, shapes=shapes)])


def test_a_refill_that_does_not_lead_to_its_knot_is_seen() -> None:
    own = planned(demo("awkward-notch"))
    pages, (refill,) = compose(own), own.reckoning.refills
    assert craft.stray_refills(pages, [refill]) == []
    number, stem = next(
        (n, shape)
        for n, page in enumerate(pages)
        for shape in page.shapes
        if isinstance(shape, Line) and shape.role == "refill stem"
    )
    shapes = pages[number].shapes
    other = next(s for s in shapes if isinstance(s, Text) and s.of == f"knot {refill - 1}")
    elsewhere = stem._replace(points=((other.x, other.y), stem.points[1]))
    unmarked = tuple(s for s in shapes if s.role not in ("refill mark", "refill stem"))
    for changed in (
        tuple(elsewhere if s is stem else s for s in shapes),
        tuple(s for s in shapes if s is not stem),
        unmarked,
    ):
        page = replace(pages[number], shapes=changed)
        faulty = [*pages[:number], page, *pages[number + 1 :]]
        assert craft.stray_refills(faulty, [refill])


def test_signs_over_each_other_are_seen() -> None:
    sign = next(s for s in SOUND.shapes if isinstance(s, Area) and s.role.startswith("sign pickup"))
    moved = sign._replace(points=tuple((x + 2, y) for x, y in sign.points), of="knot 999")
    assert craft.overlaps(page_with(moved).pages[0])


def test_a_page_of_the_wrong_size_is_seen() -> None:
    assert craft.page_sizes(page_with(), "half-letter")
    assert craft.page_sizes(page_with(), "A5") == []


def test_a_check_line_or_gauge_of_the_wrong_length_is_seen() -> None:
    line = next(s for s in SOUND.shapes if s.role == "check line")
    (ax, y), (bx, _) = line.points
    wrong = line._replace(points=((ax, y), (bx - 0.2, y)))
    assert craft.check_line_faults(page_with(wrong, without="check line"))
    assert craft.check_line_faults(page_with(without="check line tick"))
    assert craft.gauge_faults(page_with(), 60.0) == []
    assert craft.gauge_faults(page_with(), 60.2)
    assert craft.gauge_faults(page_with(without="gauge"), 60.0)
    assert craft.gauge_faults(page_with(), None)


def test_a_page_without_its_words_is_seen() -> None:
    number = planned(ROUND).number
    assert craft.unsaid(page_with(), [number]) == []
    assert craft.unsaid(page_with(without="label"), [number])
    assert craft.page_counts(page_with())  # page 2 of a card, alone in a file


def test_a_missing_a_stray_and_a_scattered_number_are_seen() -> None:
    knots = planned(ROUND).sewing.knots
    assert craft.number_faults(page_with(), "knot number", knots) == []
    assert craft.number_faults(page_with(), "knot number", knots + 1)
    assert craft.number_faults(page_with(), "knot number", knots - 1)
    assert craft.number_faults(page_with(without="knot number"), "knot number", knots)
    twice = Print(pdf_bytes([SOUND, SOUND]), [SOUND, SOUND])
    assert craft.number_faults(twice, "knot number", knots)


def test_a_font_that_is_not_in_the_file_is_seen() -> None:
    assert craft.loose_fonts(ink(lambda canvas: canvas.drawString(100, 100, "loose")).pdf)


def test_text_that_cannot_be_selected_is_seen() -> None:
    page = replace(SOUND, shapes=(*SOUND.shapes, Text(30, 100, "not in the file", 3.3)))
    assert craft.unselectable(Print(pdf_bytes([SOUND]), [page]))


def test_a_file_without_a_title_is_seen() -> None:
    assert craft.unnamed(pdf_bytes([SOUND])) == ["no title", "no subject", "no keywords"]


def test_a_file_without_its_spec_is_seen() -> None:
    assert craft.attached(pdf_bytes([SOUND])) == {}
    other = Attachment("a.yaml", b"x")
    assert craft.attached(pdf_bytes([SOUND], attachments=[other])) == {"a.yaml": b"x"}


def test_a_broken_file_is_seen() -> None:
    whole = card_pdf(planned(ROUND))
    assert craft.unsound(whole[: len(whole) * 2 // 3])
    assert craft.unsound(whole.replace(b"application#2Fyaml", b"application/yaml"))


# The same input gives the same bytes.

MAKE = """
import hashlib, sys
from cards import load_text, plan
from cards.picture.svg import svg_text
from cards.picture.web import picture_of
from cards.sheet import EDITIONS, card_pdf
spec, = load_text(sys.stdin.read())
made = plan(spec)
for edition in EDITIONS:
    print(edition, hashlib.sha256(card_pdf(made, edition)).hexdigest())
print("svg", hashlib.sha256(svg_text(picture_of(made)).encode()).hexdigest())
"""


def made_by(python: str, seed: str) -> str:
    root = Path(__file__).resolve().parent.parent
    done = subprocess.run(
        [python, "-c", MAKE],
        input=ROUND,
        capture_output=True,
        text=True,
        check=True,
        cwd=root,
        env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(root)},
    )
    return done.stdout


def test_two_runs_give_the_same_bytes() -> None:
    first = made_by(sys.executable, "1")
    assert first.count("\n") == len(EDITIONS) + 1
    assert made_by(sys.executable, "2") == first


def another_python() -> str | None:
    """A second Python with what the cards need: THREEBAR_OTHER_PYTHON, or one on the path."""
    version = sys.version_info[:2]
    named = os.environ.get("THREEBAR_OTHER_PYTHON")
    names = [f"python3.{minor}" for minor in range(11, 16) if (3, minor) != version]
    for name in [named] if named else names:
        found = shutil.which(name)
        if (
            found
            and not subprocess.run(
                [found, "-c", "import reportlab, svgwrite, jinja2, yaml, msgspec"],
                capture_output=True,
                check=False,
            ).returncode
        ):
            return found
    return None


def test_two_pythons_give_the_same_bytes() -> None:
    other = another_python()
    if other is None:
        pytest.skip("no second Python with the libraries of the cards on this machine")
    assert made_by(other, "0") == made_by(sys.executable, "0")
