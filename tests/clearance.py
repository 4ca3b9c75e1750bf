"""Measure, from a picture's own shapes, what its labels touch.

The room of a text is its ink: digits and capitals from the baseline to their height, other
letters with their descenders. Lines are as wide as their weight. Shapely does the geometry.
"""

from __future__ import annotations

from shapely import STRtree
from shapely.geometry import LineString, Point, Polygon, box

from cards.picture.shapes import Area, Curve, Disc, Line, Picture, Text
from cards.picture.type import CAP_HEIGHT, DESCENT, text_width


def text_box(text: Text):
    """The room of a text in mm."""
    width = text_width(text.text, text.size, text.bold)
    left = {"start": text.x, "middle": text.x - width / 2, "end": text.x - width}[text.anchor]
    deep = 0 if text.text.isdigit() or text.text.isupper() else DESCENT * text.size
    bearing = 0.04 * text.size
    return box(
        left + bearing, text.y - CAP_HEIGHT * text.size, left + width - bearing, text.y + deep
    )


def ink(shape):
    """What a shape that is not text covers."""
    if isinstance(shape, Line):
        return LineString(shape.points).buffer(shape.weight / 2, cap_style="flat")
    if isinstance(shape, Curve):
        return LineString(shape.points).buffer(shape.weight / 2)
    if isinstance(shape, Disc):
        disc = Point(shape.x, shape.y)
        outer = disc.buffer(shape.radius + shape.weight / 2)
        if shape.fill == "black":
            return outer
        return outer.difference(disc.buffer(shape.radius - shape.weight / 2))
    assert isinstance(shape, Area)
    area = Polygon(shape.points)
    if shape.fill == "black":
        return area.buffer(shape.weight / 2)
    return area.exterior.buffer(shape.weight / 2)


def touching(picture: Picture, clear: float = 0.0) -> list[tuple[str, str]]:
    """Every pair of a text and a shape, or of two texts, nearer than `clear` mm to each other."""
    texts = [shape for shape in picture.shapes if isinstance(shape, Text)]
    others = [shape for shape in picture.shapes if not isinstance(shape, Text)]
    boxes = [text_box(text) for text in texts]
    inks = [ink(shape) for shape in others]
    faults = []
    if inks:
        tree = STRtree(inks)
        for text, own in zip(texts, boxes):
            for at in tree.query(own.buffer(clear)):
                if inks[at].distance(own) < clear or inks[at].intersects(own):
                    faults.append((named(text), named(others[at])))
    tree = STRtree(boxes)
    for number, (text, own) in enumerate(zip(texts, boxes)):
        for at in tree.query(own.buffer(clear)):
            if at > number and (boxes[at].distance(own) < clear or boxes[at].intersects(own)):
                faults.append((named(text), named(texts[at])))
    return faults


def named(shape) -> str:
    """How a fault names a shape."""
    words = f' "{shape.text}"' if isinstance(shape, Text) else ""
    return f"{shape.role} {shape.of}{words}".strip()
