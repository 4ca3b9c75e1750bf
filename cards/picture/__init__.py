"""Pictures: plain shapes in millimetres, built once, and the writers that know only shapes."""

from cards.picture.shapes import Area, Curve, Disc, Line, Picture, Shape, Text
from cards.picture.svg import svg_text
from cards.picture.web import picture_of

__all__ = [
    "Area",
    "Curve",
    "Disc",
    "Line",
    "Picture",
    "Shape",
    "Text",
    "picture_of",
    "svg_text",
]
