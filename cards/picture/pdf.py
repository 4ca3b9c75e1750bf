"""Write pictures as the pages of a PDF, at true size."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from reportlab import rl_config
from reportlab.pdfbase import pdfdoc, pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from cards.picture.shapes import Area, Curve, Disc, Line, Picture, Point, Shape, Text
from cards.picture.type import drawable, font_file, text_width

MM = 72 / 25.4  # points in a millimetre
FONTS = {False: "Hyperlegible", True: "Hyperlegible-Bold"}
GREY = {"black": 0, "white": 1}
VERSION = (1, 7)  # the first that names an attached file in Unicode (ISO 32000-1, 7.11.3)


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file that a PDF carries inside."""

    name: str
    content: bytes
    kind: str = "application/yaml"
    about: str = ""


@dataclass(frozen=True, slots=True)
class Bookmark:
    """An entry of the outline: a page, counted from 0, and its level."""

    title: str
    page: int
    level: int = 0


def pdf_bytes(
    pages: Iterable[Picture],
    *,
    title: str = "",
    subject: str = "",
    keywords: str = "",
    author: str = "",
    attachments: Sequence[Attachment] = (),
    bookmarks: Sequence[Bookmark] = (),
    language: str = "en",
) -> bytes:
    """Return pictures as a PDF, a page each as large as the picture.

    The same pages give the same bytes.
    """
    _register_fonts()
    with _plain_streams():
        target = io.BytesIO()
        # Else every page would name a font that is not inside.
        first_font: Any = FONTS[False]
        canvas = Canvas(
            target,
            pageCompression=1,
            invariant=1,
            lang=language,
            initialFontName=first_font,
            pdfVersion=VERSION,
        )
        canvas.setTitle(title)
        canvas.setSubject(subject)
        canvas.setKeywords(keywords)
        canvas.setAuthor(author or "threebar")
        canvas.setCreator("threebar")
        marks: dict[int, list[Bookmark]] = {}
        for mark in bookmarks:
            marks.setdefault(mark.page, []).append(mark)
        encoded: Encoded = {}
        for number, page in enumerate(pages):
            canvas.setPageSize((page.width * MM, page.height * MM))
            for place, mark in enumerate(marks.get(number, ())):
                key = f"page-{number}-{place}"
                canvas.bookmarkPage(key)
                canvas.addOutlineEntry(mark.title, key, level=mark.level)
            _draw(canvas, page.shapes, page.height, encoded)
            canvas.showPage()
        if bookmarks:
            canvas.showOutline()
        if attachments:
            _attach(canvas, attachments)
        canvas.save()
        return target.getvalue()


@contextmanager
def _plain_streams() -> Iterator[None]:
    """Keep streams as bytes: written as letters they are a quarter larger, and slow to make."""
    before = rl_config.useA85
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = before


@lru_cache(maxsize=1)
def _register_fonts() -> None:
    for bold, name in FONTS.items():
        pdfmetrics.registerFont(TTFont(name, str(font_file(bold))))


def _attach(canvas: Canvas, attachments: Sequence[Attachment]) -> None:
    document: Any = canvas._doc  # type: ignore[attr-defined]
    names: list[Any] = []
    for attachment in sorted(attachments, key=lambda a: a.name):
        stream = pdfdoc.PDFStream(
            dictionary=pdfdoc.PDFDictionary(
                {
                    "Type": pdfdoc.PDFName("EmbeddedFile"),
                    # A slash within a name is written by its number (ISO 32000-1, 7.3.5).
                    "Subtype": f"/{attachment.kind.replace('/', '#2F')}",
                    "Params": pdfdoc.PDFDictionary({"Size": len(attachment.content)}),
                }
            ),
            content=attachment.content,
            filters=[pdfdoc.PDFZCompress],
        )
        file = pdfdoc.PDFDictionary(
            {
                "Type": pdfdoc.PDFName("Filespec"),
                "F": pdfdoc.PDFString(attachment.name),
                "UF": pdfdoc.PDFString(attachment.name),
                "Desc": pdfdoc.PDFString(attachment.about),
                "EF": pdfdoc.PDFDictionary({"F": document.Reference(stream)}),
            }
        )
        names += [pdfdoc.PDFString(attachment.name), document.Reference(file)]
    tree = pdfdoc.PDFDictionary({"Names": pdfdoc.PDFArray(names)})
    document.Catalog.Names = pdfdoc.PDFDictionary({"EmbeddedFiles": document.Reference(tree)})


# Texts of a document as they are written, by text and weight: pages have many in common.
Encoded = dict[tuple[str, bool], list[tuple[str, str]]]


def _draw(canvas: Canvas, shapes: Sequence[Shape], height: float, encoded: Encoded) -> None:
    """Draw shapes as PDF operators (ISO 32000-1, Annex A).

    Neighbouring lines of one pen become one path. The operators go to the page as they are: the
    canvas's own way of drawing a line costs several times as much.
    """
    document: Any = canvas._doc  # type: ignore[attr-defined]
    code: list[str] = []
    pen: tuple[object, ...] | None = None
    open_path = False
    for shape in shapes:
        if isinstance(shape, (Line, Curve)):
            dash = shape.dash if isinstance(shape, Line) else ()
            own_pen = (shape.weight, dash, shape.paint, shape.round)
            if own_pen != pen:
                if open_path:
                    code.append("S")
                code.append(_pen(*own_pen))
                pen = own_pen
            open_path = True
            if isinstance(shape, Line) and len(shape.points) == 2:
                # Written out, as most shapes are of this kind.
                (ax, ay), (bx, by) = shape.points
                code.append(
                    f"{ax * MM:.3f} {(height - ay) * MM:.3f} m\n"
                    f"{bx * MM:.3f} {(height - by) * MM:.3f} l"
                )
                continue
            points = _all_at(shape.points, height)
            code.append(f"{points[0]} m")
            if isinstance(shape, Line):
                code += [f"{point} l" for point in points[1:]]
            else:
                code += [
                    f"{a} {b} {c} c" for a, b, c in zip(points[1::3], points[2::3], points[3::3])
                ]
            continue
        if open_path:
            code.append("S")
            open_path = False
        if isinstance(shape, Text):
            code.append(_text(document, shape, height, encoded))
            continue
        own_pen = (shape.weight, shape.dash, "black", False)
        if shape.weight and own_pen != pen:
            code.append(_pen(*own_pen))
            pen = own_pen
        code.append(_closed(shape, height))
    if open_path:
        code.append("S")
    canvas.addLiteral("\n".join(code))


def _all_at(points: Iterable[Point], height: float) -> list[str]:
    return [f"{x * MM:.3f} {(height - y) * MM:.3f}" for x, y in points]


def _pen(weight: float, dash: tuple[float, ...], paint: str, rounded: bool) -> str:
    lengths = " ".join(f"{d * MM:.3f}" for d in dash)
    ends = int(rounded)
    return f"{weight * MM:.3f} w [{lengths}] 0 d {GREY[paint]} G {ends} J {ends} j"


# A quarter of a circle as a cubic: its inner points lie this far along the tangents.
QUARTER = 0.5522847498


def _closed(shape: Area | Disc, height: float) -> str:
    if isinstance(shape, Disc):
        x, y, r = shape.x, shape.y, shape.radius
        q = r * QUARTER
        ring = [
            (x + r, y), (x + r, y + q), (x + q, y + r), (x, y + r), (x - q, y + r),
            (x - r, y + q), (x - r, y), (x - r, y - q), (x - q, y - r), (x, y - r),
            (x + q, y - r), (x + r, y - q), (x + r, y),
        ]  # fmt: skip
        at = _all_at(ring, height)
        path = [f"{at[0]} m", *(f"{a} {b} {c} c" for a, b, c in zip(at[1::3], at[2::3], at[3::3]))]
    else:
        at = _all_at(shape.points, height)
        path = [f"{at[0]} m", *[f"{point} l" for point in at[1:]]]
    if shape.fill == "none":
        return "\n".join([*path, "s" if shape.weight else "n"])
    paint = "b" if shape.weight else "f"
    if shape.fill == "white":
        return "\n".join(["1 g", *path, paint, "0 g"])
    return "\n".join([*path, paint])


def _text(document: Any, shape: Text, height: float, encoded: Encoded) -> str:
    text = drawable(shape.text)
    x = shape.x
    if shape.anchor != "start":
        width = text_width(text, shape.size, shape.bold)
        x -= width if shape.anchor == "end" else width / 2
    runs = encoded.get((text, shape.bold))
    if runs is None:
        font: Any = pdfmetrics.getFont(FONTS[shape.bold])
        runs = encoded[text, shape.bold] = [
            (font.getSubsetInternalName(subset, document), codes.hex())
            for subset, codes in font.splitString(text, document)
        ]
    parts = [f"{name} {shape.size * MM:.3f} Tf <{codes}> Tj" for name, codes in runs]
    return f"BT 1 0 0 1 {x * MM:.3f} {(height - shape.y) * MM:.3f} Tm {' '.join(parts)} ET"
