"""Write pictures as the pages of a PDF, at true size."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from reportlab.pdfbase import pdfdoc, pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from cards.picture.shapes import Area, Curve, Disc, Line, Picture, Shape, Text
from cards.picture.type import drawable, font_file, text_width

MM = 72 / 25.4  # points in a millimetre
FONTS = {False: "Hyperlegible", True: "Hyperlegible-Bold"}
GREY = {"black": 0, "white": 1}


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
    target = io.BytesIO()
    canvas = Canvas(target, pageCompression=1, invariant=1, lang=language)
    canvas.setTitle(title)
    canvas.setSubject(subject)
    canvas.setKeywords(keywords)
    canvas.setAuthor(author or "threebar")
    canvas.setCreator("threebar")
    marks: dict[int, list[Bookmark]] = {}
    for mark in bookmarks:
        marks.setdefault(mark.page, []).append(mark)
    for number, page in enumerate(pages):
        canvas.setPageSize((page.width * MM, page.height * MM))
        for mark in marks.get(number, ()):
            key = f"page-{number}-{mark.level}"
            canvas.bookmarkPage(key)
            canvas.addOutlineEntry(mark.title, key, level=mark.level)
        _draw(canvas, page.shapes, page.height)
        canvas.showPage()
    if bookmarks:
        canvas.showOutline()
    if attachments:
        _attach(canvas, attachments)
    canvas.save()
    return target.getvalue()


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
                    "Subtype": pdfdoc.PDFName(attachment.kind),
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


def _draw(canvas: Canvas, shapes: Sequence[Shape], height: float) -> None:
    """Draw shapes; neighbouring lines of one pen become one path."""
    pen: tuple[object, ...] | None = None
    path: Any = None

    def finish() -> None:
        nonlocal path
        if path is not None:
            canvas.drawPath(path, stroke=1, fill=0)
            path = None

    for shape in shapes:
        if isinstance(shape, (Line, Curve)):
            dash = shape.dash if isinstance(shape, Line) else ()
            own_pen = (shape.weight, dash, shape.paint, shape.round)
            if path is None or own_pen != pen:
                finish()
                if own_pen != pen:
                    _set_pen(canvas, *own_pen)
                    pen = own_pen
                path = canvas.beginPath()
            points = [(x * MM, (height - y) * MM) for x, y in shape.points]
            path.moveTo(*points[0])
            if isinstance(shape, Line):
                for point in points[1:]:
                    path.lineTo(*point)
            else:
                for a, b, c in zip(points[1::3], points[2::3], points[3::3]):
                    path.curveTo(*a, *b, *c)
            continue
        finish()
        if isinstance(shape, Text):
            _text(canvas, shape, height)
        else:
            own_pen = (shape.weight, shape.dash, "black", False)
            if shape.weight and own_pen != pen:
                _set_pen(canvas, *own_pen)
                pen = own_pen
            _closed(canvas, shape, height)
    finish()


def _set_pen(
    canvas: Canvas, weight: float, dash: tuple[float, ...], paint: str, rounded: bool
) -> None:
    canvas.setLineWidth(weight * MM)
    canvas.setDash([d * MM for d in dash])
    canvas.setStrokeGray(GREY[paint])
    canvas.setLineCap(1 if rounded else 0)
    canvas.setLineJoin(1 if rounded else 0)


def _closed(canvas: Canvas, shape: Area | Disc, height: float) -> None:
    stroke, fill = int(shape.weight > 0), int(shape.fill != "none")
    if fill:
        canvas.setFillGray(GREY[shape.fill])
    if isinstance(shape, Disc):
        centre = shape.x * MM, (height - shape.y) * MM
        canvas.circle(*centre, shape.radius * MM, stroke=stroke, fill=fill)
    else:
        path = canvas.beginPath()
        first, *rest = [(x * MM, (height - y) * MM) for x, y in shape.points]
        path.moveTo(*first)
        for point in rest:
            path.lineTo(*point)
        path.close()
        canvas.drawPath(path, stroke=stroke, fill=fill)
    if fill:
        canvas.setFillGray(0)


def _text(canvas: Canvas, shape: Text, height: float) -> None:
    text = drawable(shape.text)
    x = shape.x
    if shape.anchor != "start":
        width = text_width(text, shape.size, shape.bold)
        x -= width if shape.anchor == "end" else width / 2
    canvas.setFont(FONTS[shape.bold], shape.size * MM)
    canvas.drawString(x * MM, (height - shape.y) * MM, text)
