"""Write a picture as SVG, at true size."""

from __future__ import annotations

import base64

import svgwrite
from svgwrite.base import BaseElement

from cards.picture.shapes import Area, Curve, Disc, Line, Paint, Picture, Point, Text
from cards.picture.type import FAMILY, drawable, font_file

# Letters as far apart as their own widths say, as in the PDF and in the reckoning of room.
PLAIN = "text{font-kerning:none;font-variant-ligatures:none}"


def svg_text(picture: Picture) -> str:
    """Return a picture as the text of an SVG file, its typeface inside.

    Parameters
    ----------
    picture
        Shapes in mm.

    Returns
    -------
    str
        SVG 1.1, one user unit a millimetre, width and height in mm.
    """
    drawing = svgwrite.Drawing(
        size=(f"{_number(picture.width)}mm", f"{_number(picture.height)}mm"),
        viewBox=f"0 0 {_number(picture.width)} {_number(picture.height)}",
        debug=False,
    )
    drawing.set_desc(title=picture.title or None, desc=picture.description or None)
    drawing["role"] = "img"
    drawing["xml:lang"] = picture.language
    weights = {shape.bold for shape in picture.shapes if isinstance(shape, Text)}
    if weights:
        faces = "".join(_font_face(bold) for bold in sorted(weights))
        drawing.defs.add(drawing.style(PLAIN + faces))
    drawing.add(drawing.rect((0, 0), ("100%", "100%"), fill="white"))
    for shape in picture.shapes:
        drawing.add(_element(drawing, shape))
    return f'<?xml version="1.0" encoding="utf-8"?>\n{drawing.tostring()}\n'


def _font_face(bold: bool) -> str:
    font = base64.b64encode(font_file(bold).read_bytes()).decode("ascii")
    weight = "bold" if bold else "normal"
    return (
        f'@font-face{{font-family:"{FAMILY}";font-weight:{weight};'
        f"src:url(data:font/ttf;base64,{font})}}"
    )


def _element(drawing: svgwrite.Drawing, shape: object) -> BaseElement:
    if isinstance(shape, Text):
        element = drawing.text(
            drawable(shape.text),
            insert=(_number(shape.x), _number(shape.y)),
            font_family=f"'{FAMILY}', sans-serif",
            font_size=_number(shape.size),
            text_anchor=shape.anchor,
            fill="black",
        )
        if shape.bold:
            element["font-weight"] = "bold"
    elif isinstance(shape, Disc):
        element = drawing.circle(
            (_number(shape.x), _number(shape.y)), _number(shape.radius), fill=shape.fill
        )
        _stroke(element, shape.weight, shape.dash)
    elif isinstance(shape, Area):
        element = drawing.polygon([_point(p) for p in shape.points], fill=shape.fill)
        _stroke(element, shape.weight, shape.dash)
    elif isinstance(shape, Line):
        element = drawing.polyline([_point(p) for p in shape.points], fill="none")
        _stroke(element, shape.weight, shape.dash, shape.paint, shape.round)
    elif isinstance(shape, Curve):
        first, *rest = [" ".join(map(str, _point(p))) for p in shape.points]
        element = drawing.path(f"M {first} C {' '.join(rest)}", fill="none")
        _stroke(element, shape.weight, (), shape.paint, shape.round)
    else:
        raise TypeError(f"no SVG for {type(shape).__name__}")
    return element


def _stroke(
    element: BaseElement,
    weight: float,
    dash: tuple[float, ...],
    paint: Paint = "black",
    rounded: bool = False,
) -> None:
    if not weight:
        return
    element["stroke"] = paint
    element["stroke-width"] = _number(weight)
    if dash:
        element["stroke-dasharray"] = " ".join(str(_number(d)) for d in dash)
    if rounded:
        element["stroke-linecap"] = "round"
        element["stroke-linejoin"] = "round"


def _number(value: float) -> float | int:
    """Micrometres are enough."""
    rounded = round(value, 3)
    return int(rounded) if rounded == int(rounded) else rounded


def _point(point: Point) -> tuple[float, float]:
    return _number(point[0]), _number(point[1])
