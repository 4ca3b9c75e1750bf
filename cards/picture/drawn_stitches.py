"""The stages of all stitches as they were drawn once: a file beside the words, to be read fast.

`python -m cards.picture.drawn_stitches` draws them anew from their strands and writes the file.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from math import dist

import msgspec

from cards.picture.shapes import Area, Disc, Line, Point, Shape
from cards.sew.sewing import Tying
from cards.shelf import shelf
from cards.trim import Side

FILE = "stitches.drawn.json"
UNIT = 0.01  # mm
TOLERANCE = 0.02  # mm that a line may be off for having fewer points


class Stroke(msgspec.Struct, array_like=True, frozen=True):
    """A line, or an area where `filled`; coordinates x, y, x, y ... in `UNIT`."""

    role: str
    of: str
    weight: int
    filled: bool
    at: list[int]


class Ring(msgspec.Struct, array_like=True, frozen=True):
    """A white disc with an outline, in `UNIT`, and after how many strokes it is drawn."""

    role: str
    x: int
    y: int
    radius: int
    weight: int
    after: int


class Drawing(msgspec.Struct, frozen=True):
    """One stage of a stitch."""

    strokes: list[Stroke]
    rings: list[Ring]


Drawings = dict[str, list[Drawing]]


def drawn_stage(stitch: Tying, going: Side, stage: int) -> tuple[Shape, ...]:
    """A stage of a stitch for the right hand, in mm from the left upper corner of its box."""
    return tuple(_shapes(_drawings()[f"{stitch}, {going}"][stage - 1]))


@lru_cache(maxsize=1)
def _drawings() -> Drawings:
    return msgspec.json.decode((shelf("templates") / FILE).read_bytes(), type=Drawings)


def _shapes(drawing: Drawing) -> Iterable[Shape]:
    rings = list(drawing.rings)
    for place in range(len(drawing.strokes) + 1):
        while rings and rings[0].after == place:
            ring = rings.pop(0)
            yield Disc(
                ring.x * UNIT,
                ring.y * UNIT,
                ring.radius * UNIT,
                ring.weight * UNIT,
                fill="white",
                role=ring.role,
            )
        if place < len(drawing.strokes):
            yield _stroke(drawing.strokes[place])


def _stroke(stroke: Stroke) -> Shape:
    at = stroke.at
    points = tuple([(x * UNIT, y * UNIT) for x, y in zip(at[::2], at[1::2])])
    if stroke.filled:
        return Area(points, fill="black", role=stroke.role, of=stroke.of)
    return Line(points, stroke.weight * UNIT, stroke.role, stroke.of)


def as_drawing(shapes: Iterable[Shape]) -> Drawing:
    """Shapes of a stage, their lines with no more points than they need.

    Raises
    ------
    TypeError
        For a shape that no stage of a stitch has.
    """
    strokes: list[Stroke] = []
    rings: list[Ring] = []
    for shape in shapes:
        if isinstance(shape, Disc):
            x, y, radius, weight = map(_units, (shape.x, shape.y, shape.radius, shape.weight))
            rings.append(Ring(shape.role, x, y, radius, weight, after=len(strokes)))
        elif isinstance(shape, (Line, Area)):
            points = shape.points if isinstance(shape, Area) else fewer(shape.points, TOLERANCE)
            at = [_units(value) for point in points for value in point]
            weight = _units(shape.weight)
            strokes.append(Stroke(shape.role, shape.of, weight, isinstance(shape, Area), at))
        else:
            raise TypeError(f"no {type(shape).__name__} in a stage of a stitch")
    return Drawing(strokes, rings)


def _units(mm: float) -> int:
    return round(mm / UNIT)


def fewer(points: tuple[Point, ...], tolerance: float) -> tuple[Point, ...]:
    """Leave out the points of a line that lie within `tolerance` mm of the line without them.

    References
    ----------
    D. H. Douglas, T. K. Peucker, Algorithms for the reduction of the number of points required to
    represent a digitized line or its caricature, Cartographica 10, 1973.

    Examples
    --------
    >>> fewer(((0, 0), (1, 0.001), (2, 0), (2, 1)), 0.01)
    ((0, 0), (2, 0), (2, 1))
    """
    kept = {0, len(points) - 1}
    waiting = [(0, len(points) - 1)]
    while waiting:
        first, last = waiting.pop()
        if last - first < 2:
            continue
        far, at = max(
            (_off(points[n], points[first], points[last]), n) for n in range(first + 1, last)
        )
        if far > tolerance:
            kept.add(at)
            waiting += [(first, at), (at, last)]
    return tuple(points[n] for n in sorted(kept))


def _off(point: Point, a: Point, b: Point) -> float:
    """How far a point is from the stretch from a to b."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    long = dx * dx + dy * dy
    part = ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / long if long else 0.0
    part = min(max(part, 0.0), 1.0)
    return dist(point, (a[0] + part * dx, a[1] + part * dy))


def draw_all() -> bytes:
    """Draw every stage of every stitch from its strands: the bytes of the file."""
    from cards.picture.stitches import STAGES, TURN, strand_shapes

    drawings = {
        f"{stitch}, {going}": [
            as_drawing(strand_shapes(stitch, going, stage)) for stage in range(1, STAGES + 1)
        ]
        for stitch in TURN
        for going in ("right", "left")
    }
    return msgspec.json.encode(drawings) + b"\n"


if __name__ == "__main__":
    (shelf("templates") / FILE).write_bytes(draw_all())
