"""The SVG of a picture is valid, true to size, and looks as the PDF does.

Sources: SVG 1.1 (W3C Recommendation), by svgwrite's table of its elements and attributes; lxml for
well-formed XML; the SVG is rendered by resvg, the PDF by PDFium: two programs that share no code.
"""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pypdfium2
import pytest
import resvg_py
from lxml import etree
from PIL import Image, ImageFilter
from svgwrite.validator2 import get_validator

from cards.picture import Area, Curve, Disc, Line, Picture, Text
from cards.picture.pdf import pdf_bytes
from cards.picture.svg import svg_text
from cards.picture.type import font_file
from cards.picture.web import picture_of
from cards.sheet import compose
from tests.test_pages import ROUND, SPECS, planned, ragged

SVG = "{http://www.w3.org/2000/svg}"
XML = "{http://www.w3.org/XML/1998/namespace}"
DOTS = 150  # an inch
BLUR = 1.0  # dots
DIFFERENT = 64  # of 255 grey levels, between two dots that differ
TOLERANCE = 0.0002  # share of the dots that may differ in a drawing
PAGE_TOLERANCE = 0.005  # and on a page of text, which is half a dot larger in one of the two

TEXTS = [*SPECS.values(), ragged(3), ragged(11)]


@pytest.mark.parametrize("found", [False, True])
@pytest.mark.parametrize("text", TEXTS)
def test_svg_is_valid_and_shows_every_bar_of_the_plan(text: str, found: bool) -> None:
    plan = planned(text)
    picture = picture_of(plan, found=found)
    svg = svg_text(picture)
    assert faults(svg) == []
    root = etree.fromstring(svg.encode())
    for name, size in (("width", picture.width), ("height", picture.height)):
        assert root.get(name).endswith("mm")
        assert float(root.get(name).removesuffix("mm")) == pytest.approx(size, abs=0.001)
    box = [float(part) for part in root.get("viewBox").replace(",", " ").split()]
    assert box == pytest.approx([0, 0, picture.width, picture.height], abs=0.001)
    assert root.findtext(f"{SVG}title") == plan.spec.title
    assert str(plan.sewing.knots) in root.findtext(f"{SVG}desc")
    heavy = [
        line for line in root.iter(f"{SVG}polyline") if line.get("stroke-width") == "0.9"
    ]  # new twine is the only line of 0.9 mm
    assert len(heavy) == (0 if found else plan.sewing.bars)
    numbers = {text.text for text in root.iter(f"{SVG}text")}
    # The last knot of a patch is tied on its first one, whose number stands there.
    tied = plan.sewing.knots - sum(twine.closed for twine in plan.sewing.twines)
    last = len(plan.cuts) if found else tied
    assert numbers >= {str(n) for n in range(1, last + 1)}


def faults(svg: str) -> list[str]:
    """What SVG 1.1 does not allow: elements, their attributes and values, what stands in what."""
    known = get_validator("full")
    found = []
    root = etree.fromstring(svg.encode())
    for element in root.iter(etree.Element):
        name = etree.QName(element).localname
        try:
            # A role for screen readers comes from WAI-ARIA, which SVG 1.1 does not know.
            own = {
                key.replace(XML, "xml:"): value
                for key, value in element.attrib.items()
                if key != "role"
            }
            known.check_all_svg_attribute_values(name, own)
        except (TypeError, ValueError, KeyError) as error:
            found.append(f"{name}: {error}")
        parent = element.getparent()
        if parent is not None:
            try:
                known.check_valid_children(etree.QName(parent).localname, name)
            except (ValueError, KeyError) as error:
                found.append(f"{name}: {error}")
    return found


@pytest.mark.parametrize(
    "wrong, right",
    [
        ("<rect", "<rectangle"),
        ('fill="white"', 'fill="snowy white"'),
        ('stroke-width="0.9"', 'stroke-width="thick"'),
        ("<polyline ", '<polyline colour="black" '),
    ],
)
def test_svg_that_is_not_valid_is_seen(wrong: str, right: str) -> None:
    svg = svg_text(picture_of(planned(ROUND))).replace(wrong, right)
    if "rectangle" in right:
        svg = svg.replace("</rect>", "</rectangle>")
    assert faults(svg)


# SVG and PDF of one picture look the same.


def svg_seen(picture: Picture) -> np.ndarray:
    png = resvg_py.svg_to_bytes(
        svg_string=svg_text(picture),
        dpi=DOTS,
        background="white",
        skip_system_fonts=True,
        font_files=[str(font_file(False)), str(font_file(True))],
    )
    return _blurred(Image.open(io.BytesIO(bytes(png))))


def pdf_seen(picture: Picture) -> np.ndarray:
    (page,) = pypdfium2.PdfDocument(pdf_bytes([picture]))
    return _blurred(page.render(scale=DOTS / 72).to_pil())


def _blurred(image: Image.Image) -> np.ndarray:
    return np.asarray(image.convert("L").filter(ImageFilter.GaussianBlur(BLUR)), dtype=int)


def unlike(a: np.ndarray, b: np.ndarray) -> float:
    """The share of the dots that differ."""
    assert abs(a.shape[0] - b.shape[0]) <= 2 and abs(a.shape[1] - b.shape[1]) <= 2
    high, wide = min(a.shape[0], b.shape[0]), min(a.shape[1], b.shape[1])
    return float((abs(a[:high, :wide] - b[:high, :wide]) > DIFFERENT).mean())


PICTURES = [picture_of(planned(ROUND)), picture_of(planned(ROUND), found=True)]
PAGES = [
    *compose(planned(ROUND), "loft", paper_name="A5"),
    compose(planned(SPECS["across"]), "deck")[0],
]


@pytest.mark.parametrize("picture", PICTURES)
def test_svg_and_pdf_of_a_drawing_look_the_same(picture: Picture) -> None:
    assert unlike(svg_seen(picture), pdf_seen(picture)) < TOLERANCE


@pytest.mark.parametrize("page", PAGES)
def test_svg_and_pdf_of_a_page_look_the_same(page: Picture) -> None:
    assert unlike(svg_seen(page), pdf_seen(page)) < PAGE_TOLERANCE


def test_letters_spaced_otherwise_are_seen() -> None:
    def wider(shape: object) -> object:
        return shape._replace(size=shape.size * 1.02) if isinstance(shape, Text) else shape

    page = PAGES[-2]
    other = replace(page, shapes=tuple(map(wider, page.shapes)))
    assert unlike(svg_seen(page), pdf_seen(other)) > PAGE_TOLERANCE


def test_all_shapes_look_the_same_in_svg_and_pdf() -> None:
    shapes = (
        Line(((5, 5), (20, 8), (35, 5)), 0.9, dash=(2, 1)),
        Line(((5, 12), (20, 15), (35, 12)), 1.5, round=True),
        Curve(((5, 20), (10, 30), (20, 10), (30, 20)), 0.7),
        Curve(((5, 26), (10, 36), (20, 16), (30, 26)), 2.0),
        Curve(((5, 26), (10, 36), (20, 16), (30, 26)), 1.0, paint="white"),
        Area(((5, 35), (15, 35), (10, 42)), fill="black"),
        Area(((20, 35), (30, 35), (25, 42)), 0.5, dash=(1, 1)),
        Disc(12, 50, 4, 0.4),
        Disc(25, 50, 2, fill="black"),
        Text(35, 20, "start 0O1lI", 4),
        Text(50, 30, "middle 689", 4, True, "middle"),
        Text(65, 40, "énd Łódź", 4, anchor="end"),
    )
    picture = Picture(76.2, 63.5, shapes)  # whole dots
    assert unlike(svg_seen(picture), pdf_seen(picture)) < TOLERANCE


@pytest.mark.parametrize("moved", ["a number", "a bar left out", "a sign left out"])
def test_a_picture_that_differs_is_seen(moved: str) -> None:
    picture = picture_of(planned(ROUND))
    shapes = list(picture.shapes)
    role = {"a number": "knot number", "a bar left out": "twine"}.get(moved, "sign start")
    at = next(n for n, shape in enumerate(shapes) if shape.role == role)
    if moved == "a number":
        shapes[at] = shapes[at]._replace(text="8" if shapes[at].text != "8" else "1", size=5.5)
    else:
        del shapes[at]
    other = replace(picture, shapes=tuple(shapes))
    assert unlike(svg_seen(picture), pdf_seen(other)) > TOLERANCE
