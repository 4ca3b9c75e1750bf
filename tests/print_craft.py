"""Measure printed pages: each function returns the faults it finds, none where all is well.

What a PDF holds is read with pdfplumber and pikepdf, what it looks like with pypdfium2; what labels
touch is measured on the shapes (`clearance`). None of it uses the code that sets the pages.
"""

from __future__ import annotations

import io
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pdfplumber
import pikepdf
import pypdfium2
from shapely import STRtree
from shapely.geometry import LineString, MultiLineString, Polygon

from cards.picture.shapes import Area, Disc, Line, Picture, Text
from tests.clearance import text_box, touching

MM = 72 / 25.4  # points in a millimetre
DOTS = 120  # dots an inch of the pictures that are measured
DOT = 25.4 / DOTS  # mm

LEAST_TYPE = 8.0  # pt, anywhere
LEAST_LINE = 0.2  # mm
LEAST_MARGIN = 10.0  # mm
LEAST_CLEAR = 0.2  # mm between a label and anything else
EYELET = 3.0  # mm, radius of the ring
EYELET_CLEAR = 5.0  # mm, radius that is clear of all content
LARGEST_SOLID = 4.0  # mm, side of the largest square that is black all over: 16 mm2

# Width and height in mm. A sizes: ISO 216. Letter and half letter: ANSI/ASME Y14.1, 8.5 x 11 in and
# 5.5 x 8.5 in, an inch being 25.4 mm (international yard and pound agreement, 1959).
PAPERS = {
    "A6": (105, 148),
    "A5": (148, 210),
    "A4": (210, 297),
    "A3": (297, 420),
    "half-letter": (139.7, 215.9),
    "letter": (215.9, 279.4),
}
PAPERS |= {f"{name}-across": (high, wide) for name, (wide, high) in PAPERS.items()}


@dataclass
class Print:
    """A PDF to measure, and the pages of shapes that it was made from."""

    pdf: bytes
    pages: Sequence[Picture] = ()

    @cached_property
    def plumbed(self) -> pdfplumber.PDF:
        return pdfplumber.open(io.BytesIO(self.pdf))

    @cached_property
    def rendered(self) -> pypdfium2.PdfDocument:
        return pypdfium2.PdfDocument(self.pdf)

    @cached_property
    def texts(self) -> list[str]:
        """The text of each page, as a reader selects it."""
        return [page.get_textpage().get_text_range() for page in self.rendered]

    @cached_property
    def sight(self) -> list[np.ndarray]:
        """Each page as seen at `DOTS`: rows of dots, 0 black to 255 white, three colours."""
        return [
            np.asarray(page.render(scale=DOTS / 72, rev_byteorder=True).to_pil().convert("RGB"))
            for page in self.rendered
        ]

    @cached_property
    def grey(self) -> list[np.ndarray]:
        """The same, in one shade."""
        return [dots.mean(axis=2, dtype=np.float32) for dots in self.sight]


def on(number: int, fault: str) -> str:
    return f"page {number}: {fault}"


# Type and lines


def small_type(printed: Print, least: float = LEAST_TYPE) -> list[str]:
    """Letters smaller than `least` pt."""
    return [
        on(number, f"{size:.2f} pt: {''.join(letters)[:40]}")
        for number, page in enumerate(printed.plumbed.pages, 1)
        for size, letters in _by_size(page).items()
        if size < least - 0.005
    ]


def _by_size(page: pdfplumber.page.Page) -> dict[float, list[str]]:
    sizes: dict[float, list[str]] = {}
    for letter in page.chars:
        sizes.setdefault(round(letter["size"], 3), []).append(letter["text"])
    return sizes


# The small print of a title block and of the measures at the foot.
SMALL_PRINT = {"label", "net", "gauge", "blank"}
# What explains a sign or leads to a page: looked up, not worked from.
LOOKED_UP = {"legend", "row number", "tile page", "tile places", "looked up"}


def small_instructions(
    pages: Sequence[Picture], least: float, looked_up: float = LEAST_TYPE
) -> list[str]:
    """Words to work from that are set smaller than `least` pt, or to look up than `looked_up`."""
    return [
        on(number, f'{shape.role} "{shape.text[:40]}" in {shape.size * MM:.1f} pt')
        for number, page in enumerate(pages, 1)
        for shape in page.shapes
        if isinstance(shape, Text)
        and shape.role not in SMALL_PRINT | {"knot number", "cut number"}
        and shape.size * MM < (looked_up if shape.role in LOOKED_UP else least) - 0.005
    ]


def low_numbers(printed: Print, least: float) -> list[str]:
    """Knot and cut numbers lower than `least` mm, by the box of a printed digit.

    The digits of the typeface are 0.668 of its size tall: read from its own table by
    fontTools in `test_pages.py`.
    """
    faults = []
    for number, page in enumerate(printed.pages, 1):
        sizes = {
            (round(letter["x0"] / MM, 1), round(letter["bottom"] / MM, 1)): letter["size"]
            for letter in printed.plumbed.pages[number - 1].chars
        }
        known = set(sizes.values())
        for shape in page.shapes:
            if isinstance(shape, Text) and shape.role in ("knot number", "cut number"):
                nearest = min(known, key=lambda size: abs(size - shape.size * MM))
                if abs(nearest - shape.size * MM) > 0.01:
                    faults.append(on(number, f"{shape.of}: not printed at its size"))
                if nearest / MM * 0.668 < least - 0.002:
                    faults.append(on(number, f"{shape.of}: {nearest / MM * 0.668:.2f} mm tall"))
    return faults


def _drawn(page: pdfplumber.page.Page) -> Iterator[dict]:
    yield from page.lines
    yield from page.curves
    yield from page.rects


def thin_lines(printed: Print, least: float = LEAST_LINE) -> list[str]:
    """Lines thinner than `least` mm."""
    return [
        on(number, f"a line of {drawn['linewidth'] / MM:.3f} mm")
        for number, page in enumerate(printed.plumbed.pages, 1)
        for drawn in _drawn(page)
        if drawn["stroke"] and drawn["linewidth"] / MM < least - 0.001
    ]


BLACK = ({0}, {0, 1})  # grey 0; or cyan, magenta, yellow 0 and black 1


def greys(printed: Print) -> list[str]:
    """Ink that is neither black nor, to cover something, white; and pictures of dots."""
    faults = []
    for number, page in enumerate(printed.plumbed.pages, 1):
        inks: Counter[str] = Counter()
        for drawn in _drawn(page):
            if drawn["stroke"] and not _black(drawn["stroking_color"], white=True):
                inks[f"line {drawn['stroking_color']}"] += 1
            if drawn["fill"] and not _black(drawn["non_stroking_color"], white=True):
                inks[f"area {drawn['non_stroking_color']}"] += 1
        for letter in page.chars:
            if not _black(letter["non_stroking_color"], white=False):
                inks[f"text {letter['non_stroking_color']}"] += 1
        inks["image"] += len(page.images)
        faults += [on(number, f"{count} x {ink}") for ink, count in inks.items() if count]
    for number, dots in enumerate(printed.sight, 1):
        if np.ptp(dots.astype(int), axis=2).max() > 8:
            faults.append(on(number, "colour"))
    return faults


def _black(ink: object, *, white: bool) -> bool:
    values = tuple(ink) if isinstance(ink, (tuple, list)) else (ink or 0,)
    if len(values) == 4:
        return values == (0, 0, 0, 1) or (white and not any(values))
    return not any(values) or (white and all(value == 1 for value in values))


def solids(printed: Print, side: float = LARGEST_SOLID) -> list[str]:
    """Pages with a square of `side` mm that is black all over."""
    window = int(side / DOT)
    faults = []
    for number, dots in enumerate(printed.grey, 1):
        dark = (dots < 128).astype(np.int32)
        sums = np.pad(dark.cumsum(0).cumsum(1), ((1, 0), (1, 0)))
        inside = (
            sums[window:, window:]
            - sums[:-window, window:]
            - sums[window:, :-window]
            + sums[:-window, :-window]
        )
        if (inside == window * window).any():
            faults.append(on(number, f"a black area of more than {side * side:g} mm2"))
    return faults


# Room


def full_margins(printed: Print, margin: float = LEAST_MARGIN) -> list[str]:
    """Sides with ink nearer to the edge than `margin` mm, as rendered."""
    faults = []
    for number, dots in enumerate(printed.grey, 1):
        dark = dots < 200
        rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
        high, wide = dark.shape
        room = {
            "top": rows[0],
            "bottom": high - 1 - rows[-1],
            "left": columns[0],
            "right": wide - 1 - columns[-1],
        }
        faults += [
            on(number, f"{side} margin {dots_free * DOT:.1f} mm")
            for side, dots_free in room.items()
            if (dots_free + 1.5) * DOT < margin
        ]
    return faults


def eyelet_faults(printed: Print) -> list[str]:
    """Pages without a ring in the middle of the top, or with something in its room."""
    faults = []
    for number, dots in enumerate(printed.grey, 1):
        dark = dots < 160
        middle_x = dark.shape[1] / 2 - 0.5
        found = False
        for middle_y in np.arange(10.0, 25.0, DOT) / DOT:
            angles = np.linspace(0, 2 * np.pi, 60, endpoint=False)
            xs = np.rint(middle_x + EYELET / DOT * np.cos(angles)).astype(int)
            ys = np.rint(middle_y + EYELET / DOT * np.sin(angles)).astype(int)
            near = np.zeros(60, bool)
            for dx, dy in ((0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)):
                near |= dark[ys + dy, xs + dx]
            if near.mean() > 0.97:
                found = True
                break
        if not found:
            faults.append(on(number, "no ring for an eyelet"))
            continue
        y, x = np.ogrid[: dark.shape[0], : dark.shape[1]]
        away = np.hypot(x - middle_x, y - middle_y) * DOT
        if dark[(away > EYELET + 0.6) & (away < EYELET_CLEAR - 0.3)].any():
            faults.append(on(number, "something beside the eyelet"))
        if dark[away < EYELET - 0.6].any():
            faults.append(on(number, "something in the eyelet"))
    return faults


def crowded(pages: Sequence[Picture], clear: float = LEAST_CLEAR) -> list[str]:
    """Labels that touch each other or a line, and signs or arrows that lie over each other."""
    faults = []
    for number, page in enumerate(pages, 1):
        faults += [on(number, f"{a} at {b}") for a, b in touching(page, clear)]
        faults += [on(number, f"{a} over {b}") for a, b in overlaps(page)]
    return faults


def stray_cut_numbers(pages: Sequence[Picture], plainly: float = 0.4) -> list[str]:
    """Cut numbers not `plainly` mm nearer to their own mark, or its leader, than to any other's."""
    faults = []
    for number, page in enumerate(pages, 1):
        marks: dict[str, list] = {}
        for shape in page.shapes:
            if isinstance(shape, Line) and shape.role in ("cut mark", "leader"):
                marks.setdefault(shape.of, []).append(LineString(shape.points))
        drawn = {of: MultiLineString(lines) for of, lines in marks.items()}
        for shape in page.shapes:
            if not (isinstance(shape, Text) and shape.role == "cut number"):
                continue
            if shape.of not in drawn:
                faults.append(on(number, f"{shape.of} has no mark"))
                continue
            room = text_box(shape)
            own = drawn[shape.of].distance(room)
            other = min((d.distance(room) for of, d in drawn.items() if of != shape.of), default=99)
            if other < own + plainly:
                faults.append(on(number, f"{shape.of} is {own:.2f} mm from its mark, {other:.2f}"))
            if own > 1.6:
                faults.append(on(number, f"{shape.of} is {own:.2f} mm from its mark"))
    return faults


def marks_at_signs(pages: Sequence[Picture], clear: float = 0.25) -> list[str]:
    """Marks of cuts nearer than `clear` mm to the line round a start, an end or a knot."""
    faults = []
    for number, page in enumerate(pages, 1):
        signs = [
            Polygon(shape.points).buffer(shape.weight / 2)
            for shape in page.shapes
            if isinstance(shape, Area) and shape.role.startswith("sign ")
        ]
        tree = STRtree(signs)
        for shape in page.shapes:
            if isinstance(shape, Line) and shape.role == "cut mark":
                mark = LineString(shape.points).buffer(shape.weight / 2, cap_style="flat")
                near = [signs[n].distance(mark) for n in tree.query(mark.buffer(clear))]
                if min(near, default=clear) < clear:
                    faults.append(on(number, f"{shape.of} is {min(near):.2f} mm from a sign"))
    return faults


def stray_refills(pages: Sequence[Picture], refills: Sequence[int]) -> list[str]:
    """Marks of a refill without a clear line to the sign of their knot; those that are missing."""
    faults, marked = [], set()
    for number, page in enumerate(pages, 1):
        signs: dict[str, Polygon] = {}
        twines = []
        for shape in page.shapes:
            if isinstance(shape, Area) and shape.role.startswith("sign "):
                signs.setdefault(shape.of, Polygon(shape.points))
            elif isinstance(shape, Line) and shape.role == "twine":
                twines.append(LineString(shape.points))
        stems = {
            shape.of: LineString(shape.points)
            for shape in page.shapes
            if isinstance(shape, Line) and shape.role == "refill stem"
        }
        for shape in page.shapes:
            if not (isinstance(shape, Area) and shape.role == "refill mark" and shape.of):
                continue
            own, stem = shape.of, stems.get(shape.of)
            marked.add(own)
            if stem is None or stem.distance(Polygon(shape.points)) > 0.1:
                faults.append(on(number, f"refill of {own} has no line"))
            elif own not in signs or stem.distance(signs[own]) > 0.1:
                faults.append(on(number, f"refill of {own} does not reach its knot"))
            else:
                things = [sign for of, sign in signs.items() if of != own] + twines
                if any(stem.intersects(thing) for thing in things):
                    faults.append(on(number, f"refill of {own} crosses something"))
    missing = {f"knot {n}" for n in refills} - marked
    return faults + [f"no refill is marked at {of}" for of in sorted(missing)]


SIGNS = ("sign ", "row arrow", "side arrow", "knot")


def overlaps(page: Picture) -> list[tuple[str, str]]:
    """Pairs of signs, arrows and knots that lie over each other."""
    things: dict[str, list] = {}
    for shape in page.shapes:
        if isinstance(shape, Area) and shape.role.startswith(SIGNS):
            key = f"{shape.role} {shape.of}"  # a start has two lines, one in the other
            things.setdefault(key, []).append(Polygon(shape.points).buffer(shape.weight / 2))
        elif isinstance(shape, Disc) and shape.role == "knot":
            from shapely.geometry import Point

            things[f"{shape.role} {shape.of}"] = [Point(shape.x, shape.y).buffer(shape.radius)]
    names = list(things)
    bodies = [max(shapes, key=lambda body: body.area) for shapes in things.values()]
    tree = STRtree(bodies)
    return [
        (names[at], names[other])
        for at, body in enumerate(bodies)
        for other in tree.query(body)
        if other > at and bodies[other].intersects(body)
    ]


# True size


def page_sizes(printed: Print, paper: str) -> list[str]:
    """Pages that are not as large as `paper`, within a tenth of a millimetre."""
    wide, high = PAPERS[paper]
    faults = []
    with pikepdf.open(io.BytesIO(printed.pdf)) as pdf:
        for number, page in enumerate(pdf.pages, 1):
            x0, y0, x1, y1 = (float(value) for value in page.mediabox)
            own = (x1 - x0) / MM, (y1 - y0) / MM
            if max(abs(own[0] - wide), abs(own[1] - high)) > 0.1:
                faults.append(on(number, f"{own[0]:.1f} x {own[1]:.1f} mm"))
            if float(page.obj.get("/UserUnit", 1)) != 1 or int(page.obj.get("/Rotate", 0)):
                faults.append(on(number, "scaled or turned"))
    return faults


def measured_lines(page: pdfplumber.page.Page) -> list[float]:
    """Lengths in mm of the level lines of a page that end in a tick on both sides."""
    level = [line for line in page.lines if abs(line["top"] - line["bottom"]) < 0.01]
    upright = [line for line in page.lines if abs(line["x0"] - line["x1"]) < 0.01]

    def ticked(x: float, y: float) -> bool:
        return any(
            abs(tick["x0"] - x) < 0.05 and tick["top"] < y - 1 and tick["bottom"] > y + 1
            for tick in upright
        )

    return [
        (line["x1"] - line["x0"]) / MM
        for line in level
        if ticked(line["x0"], line["top"]) and ticked(line["x1"], line["top"])
    ]


def check_line_faults(printed: Print) -> list[str]:
    """Pages without a line of 50.0 mm and a sentence that says so."""
    return _measure_faults(printed, 50.0, "50 mm")


def gauge_faults(printed: Print, bar: float | None) -> list[str]:
    """Pages without a gauge as long as a bar, or a sentence that says why there is none."""
    faults = []
    for number, page in enumerate(printed.plumbed.pages, 1):
        text = " ".join(printed.texts[number - 1].split())
        if bar is None:
            if "mesh size not given" not in text:
                faults.append(on(number, "does not say why it has no gauge"))
        elif "longer than this edge" in text:
            if bar <= page.width / MM - 2 * LEAST_MARGIN:
                faults.append(on(number, f"has no gauge, though {bar:g} mm fit"))
        elif not any(abs(length - bar) < 0.05 for length in measured_lines(page)):
            faults.append(on(number, f"has no gauge of {bar:g} mm: {measured_lines(page)}"))
    return faults


def _measure_faults(printed: Print, length: float, said: str) -> list[str]:
    faults = []
    for number, page in enumerate(printed.plumbed.pages, 1):
        if not any(abs(found - length) < 0.05 for found in measured_lines(page)):
            faults.append(on(number, f"no line of {length} mm: {measured_lines(page)}"))
        if said not in " ".join(printed.texts[number - 1].split()):
            faults.append(on(number, f"does not say {said}"))
    return faults


# What is said on each page


def unsaid(printed: Print, wanted: Sequence[str]) -> list[str]:
    """Words that a page does not say, however its lines break."""
    return [
        on(number, f'does not say "{words}"')
        for number, text in enumerate(printed.texts, 1)
        for words in wanted
        if "".join(words.split()) not in "".join(text.split())
    ]


def page_counts(printed: Print, of: str = "of") -> list[str]:
    """Pages whose `n of m` is not theirs."""
    count = len(printed.texts)
    return [
        on(number, f"does not say {number} {of} {count}")
        for number, text in enumerate(printed.texts, 1)
        if not re.search(rf"(?<!\d){number} {of} {count}(?!\d)", " ".join(text.split()))
    ]


def numbers_printed(printed: Print, role: str) -> dict[int, set[int]]:
    """On which pages each knot or cut number stands, read from the PDF's text at its place."""
    places: dict[int, set[int]] = {}
    for number, page in enumerate(printed.pages, 1):
        wanted = [s for s in page.shapes if isinstance(s, Text) and s.role == role]
        if not wanted:
            continue
        text_page = printed.rendered[number - 1].get_textpage()
        for shape in wanted:
            name, _, own = shape.of.partition(" ")
            if name not in ("knot", "cut") or shape.text != own:
                continue
            width = shape.size * 0.62 * len(shape.text)
            left = shape.x - (width / 2 if shape.anchor == "middle" else 0)
            read = text_page.get_text_bounded(
                left=(left - 0.3) * MM,
                right=(left + width + 0.3) * MM,
                bottom=(page.height - shape.y - 0.5) * MM,
                top=(page.height - shape.y + shape.size * 0.668 + 0.5) * MM,
            )
            if read.strip() == own:
                places.setdefault(int(own), set()).add(number)
    return places


# How a page names its neighbours, in each language.
WAYS = "left|right|up|down|izquierda|derecha|arriba|abajo"


def number_faults(printed: Print, role: str, count: int) -> list[str]:
    """Numbers from 1 to `count` that are missing, or on two pages that are not neighbours.

    Which pages are neighbours is read from what they say themselves.
    """
    places = numbers_printed(printed, role)
    beside: dict[int, set[int]] = {}
    for number, text in enumerate(printed.texts, 1):
        said = " ".join(text.split())
        beside[number] = {int(page) for page in re.findall(rf"(?:{WAYS}) (?:page|p\.) (\d+)", said)}
    faults = [f"{role} {n} is on no page" for n in range(1, count + 1) if n not in places]
    faults += [f"{role} {n} is not in the plan" for n in places if not 1 <= n <= count]
    for n, pages in places.items():
        for a in pages:
            for b in pages - {a}:
                if b not in beside[a] and not beside[a] & beside[b]:
                    faults.append(f"{role} {n} is on pages {a} and {b}, that are not neighbours")
    return faults


# The file


def loose_fonts(pdf: bytes) -> list[str]:
    """Fonts that text is set in and that the file does not carry."""
    faults = []
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        for number, page in enumerate(opened.pages, 1):
            used = {
                str(operands[0])
                for operands, operator in pikepdf.parse_content_stream(page)
                if str(operator) == "Tf"
            }
            fonts = page.resources.get("/Font", {})
            for name in sorted(used):
                font = fonts[name]
                inner = font["/DescendantFonts"][0] if "/DescendantFonts" in font else font
                descriptor = inner.get("/FontDescriptor")
                if descriptor is None or not any(
                    key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3")
                ):
                    faults.append(on(number, f"font {font.get('/BaseFont')} is not embedded"))
                if "/ToUnicode" not in font:
                    faults.append(on(number, f"font {font.get('/BaseFont')} cannot be selected"))
    return faults


def unselectable(printed: Print) -> list[str]:
    """Texts of the shapes that cannot be read back from the page."""
    return [
        on(number, f'cannot select "{shape.text}"')
        for number, page in enumerate(printed.pages, 1)
        for shape in page.shapes
        if isinstance(shape, Text)
        and "".join(shape.text.split()) not in "".join(printed.texts[number - 1].split())
    ]


def unnamed(pdf: bytes) -> list[str]:
    """Which of title, subject and keywords the file does not carry."""
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        return [
            f"no {key[1:].lower()}"
            for key in ("/Title", "/Subject", "/Keywords")
            if not str(opened.docinfo.get(key, "")).strip()
        ]


def attached(pdf: bytes) -> dict[str, bytes]:
    """The files that a PDF carries."""
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        return {name: spec.get_file().read_bytes() for name, spec in opened.attachments.items()}


def unsound(pdf: bytes) -> list[str]:
    """What pikepdf and pypdfium2 complain about."""
    faults: list[str] = []
    try:
        with pikepdf.open(io.BytesIO(pdf), attempt_recovery=True) as opened:
            check = getattr(opened, "check_pdf_syntax", None) or opened.check
            faults += [str(problem) for problem in check()]
            faults += [str(warning) for warning in opened.get_warnings()]
            count = len(opened.pages)
    except pikepdf.PdfError as error:
        return [str(error)]
    try:
        rendered = pypdfium2.PdfDocument(pdf)
        if len(rendered) != count:
            faults.append(f"pypdfium2 finds {len(rendered)} pages, pikepdf {count}")
        for page in rendered:
            page.render(scale=0.2)
    except pypdfium2.PdfiumError as error:
        faults.append(str(error))
    return faults
