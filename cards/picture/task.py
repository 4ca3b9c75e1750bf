"""Draw the web of an exercise: what a pupil is given, and the same filled in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from math import cos, hypot, pi, sin

from cards.grid import Bar, Hole, Knot
from cards.picture import pen
from cards.picture.pen import Scale, scale_for
from cards.picture.shapes import Area, Line, Point, Shape, Text
from cards.picture.type import CAP_HEIGHT, size_for_height, text_width
from cards.picture.web import (
    Web,
    Window,
    cut_shapes,
    row_arrow,
    sign_outline,
    sign_shapes,
    web_shapes,
)
from cards.sew import RowSewn, Twine

RING = 3.1  # radius of a ring to write in, in mm
ROUND_BAR = 2.1  # radius of a ring round the middle of a bar, in mm
ARROW = 1.5  # half length of an arrowhead on a bar, in mm
STRIKE = 0.55  # mm from the middle of a bar to each of the two strokes that strike it out
NUMBERED = 5  # every so-manieth bar of the top row has its number


@dataclass(frozen=True)
class Marks:
    """What is drawn on the web of a sheet.

    Attributes
    ----------
    cuts
        Bars with the numbers of their cuts.
    rings
        Rings round knots, and what is written in each.
    ends
        Start and end of each twine: "start" or "end", the twine's letter, the knot.
    twines
        Twines drawn heavy, in the bars that the hole misses.
    struck
        Whole bars that are struck out.
    ringed
        A bar with a ring round its middle.
    towards
        A bar with an arrowhead, and the knot it points to.
    """

    cuts: Sequence[tuple[Bar, int]] = ()
    rings: Mapping[Knot, str] = field(default_factory=dict)
    ends: Sequence[tuple[str, str, Knot]] = ()
    twines: Sequence[Twine] = ()
    struck: Sequence[Bar] = ()
    ringed: Bar | None = None
    towards: tuple[Bar, Knot] | None = None


def task_scale(largest: int, digits: float) -> Scale:
    """The pitch at which rings stand clear of each other and leave the bars to be seen."""
    least = scale_for(largest, digits)
    return Scale(max(least.dx, 2 * RING), max(least.dy, 2.7 * RING), digits)


def task_shapes(hole: Hole, scale: Scale, window: Window, marks: Marks) -> list[Shape]:
    """Draw a hole with marks on it, the left upper corner of the window at the origin."""
    signs: dict[Knot, tuple[Point, ...]] = {
        knot: sign_outline(kind, len(name), scale.digits) for kind, name, knot in marks.ends
    }
    signs |= dict.fromkeys(marks.rings, _circle(RING))
    web = Web(window, scale, signs)
    shapes: list[Shape] = []
    if marks.twines:
        shapes += [own for own in web_shapes(web, hole) if own.role == "web"]
        shapes += _twines(web, hole, marks.twines)
    else:
        shapes += web_shapes(web, hole)
    for kind, name, knot in marks.ends:
        shapes += sign_shapes(kind, name, web.at(*knot), scale.digits, of=f"{kind} {name}")
    for knot, text in marks.rings.items():
        shapes += _ring(web, knot, text)
    for bar in marks.struck:
        shapes += _strike(web, bar)
    if marks.ringed is not None:
        x, y = web.middle(marks.ringed)
        points = tuple((x + px, y + py) for px, py in _circle(ROUND_BAR))
        shapes.append(Area(points, pen.RING, role="mistake"))
    if marks.towards is not None:
        shapes.append(_arrow(web, *marks.towards))
    return shapes + cut_shapes(web, marks.cuts, shapes)


def _twines(web: Web, hole: Hole, twines: Sequence[Twine]) -> Iterator[Shape]:
    for bar in hole.bars():
        yield Line(web.ends(bar), pen.TWINE, "twine", f"bar {bar.row} {bar.column}")
    rows: list[RowSewn] = [row for twine in twines for row in twine.rows]
    for row in rows:
        yield from row_arrow(web, row)


@lru_cache(maxsize=4)
def _circle(radius: float) -> tuple[Point, ...]:
    angles = [2 * pi * step / 32 for step in range(32)]
    return tuple((radius * cos(angle), radius * sin(angle)) for angle in angles)


def _ring(web: Web, knot: Knot, text: str) -> Iterator[Shape]:
    x, y = web.at(*knot)
    points = tuple((x + px, y + py) for px, py in _circle(RING))
    of = f"knot {text}" if text else ""
    yield Area(points, pen.SHAPE, role="sign ring", of=f"{knot.x} {knot.y}")
    if text:
        size = size_for_height(pen.BENCH)
        yield Text(x, y + pen.BENCH / 2, text, size, True, "middle", "knot number", of)


def _strike(web: Web, bar: Bar) -> Iterator[Shape]:
    """Two level strokes across a bar."""
    x, y = web.middle(bar)
    half = web.scale.digits * 0.45
    for off in (-STRIKE, STRIKE):
        points = ((x - half, y + off), (x + half, y + off))
        yield Line(points, pen.RING, "strike", f"bar {bar.row} {bar.column}")


def _arrow(web: Web, bar: Bar, knot: Knot) -> Area:
    (ax, ay), (bx, by) = web.ends(bar)
    if bar.ends[0] == knot:
        ax, ay, bx, by = bx, by, ax, ay
    length = hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / length, (by - ay) / length
    x, y = (ax + bx) / 2, (ay + by) / 2
    head, wide = ARROW, ARROW * 0.7
    points = (
        (x + ux * head, y + uy * head),
        (x - ux * head - uy * wide, y - uy * head + ux * wide),
        (x - ux * head + uy * wide, y - uy * head - ux * wide),
    )
    return Area(points, fill="black", role="way", of=f"bar {bar.row} {bar.column}")


SIDE = 1.6  # mm between the numbers of rows and bars and the web


def side_room(window: Window, size: float) -> tuple[float, float]:
    """How much room the numbers of rows and bars take, beside the web, and above as below it."""
    return text_width("8" * len(str(window.rows)), size) + SIDE, size * CAP_HEIGHT + SIDE


def counted_sides(window: Window, scale: Scale, size: float) -> Iterator[Shape]:
    """The numbers of the rows at the left, of every fifth bar above and below, from the corner."""
    for row in range(window.rows):
        base = (row + 0.5) * scale.dy + size * CAP_HEIGHT / 2
        yield Text(-SIDE, base, str(row + 1), size, False, "end", "row number")
    for bar in range(NUMBERED, window.columns + 1, NUMBERED):
        x = (bar - 0.5) * scale.dx
        below = window.rows * scale.dy + SIDE + size * CAP_HEIGHT
        for base in (-SIDE, below):
            yield Text(x, base, str(bar), size, False, "middle", "row number")
