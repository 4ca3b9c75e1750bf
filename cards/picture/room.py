"""Find room for a label: keep what is drawn by place, and ask whether a box is clear of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from itertools import pairwise
from math import hypot

from cards.picture.shapes import Area, Line, Point, Shape, Text
from cards.picture.type import CAP_HEIGHT, text_width

Box = tuple[float, float, float, float]  # left, top, right, bottom in mm

CELL = 8.0  # mm of the squares by which places are looked up


def text_room(text: Text) -> Box:
    """The box that a number takes."""
    width = text_width(text.text, text.size, text.bold)
    left = {"start": text.x, "middle": text.x - width / 2, "end": text.x - width}[text.anchor]
    return left, text.y - CAP_HEIGHT * text.size, left + width, text.y


class Taken:
    """What is drawn already: lines with their weight, polygons as they stand, numbers as boxes."""

    def __init__(self, shapes: Iterable[Shape]) -> None:
        self._edges: defaultdict[tuple[int, int], list[tuple[Point, Point, float]]]
        self._edges = defaultdict(list)
        for shape in shapes:
            self.add(shape)

    def add(self, shape: Shape) -> None:
        """Add a line, a polygon or a number."""
        if isinstance(shape, Text):
            left, top, right, bottom = text_room(shape)
            self._edge((left, top), (right, bottom), 0.0)
            self._edge((left, bottom), (right, top), 0.0)
            corners = ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))
            self._run(corners, 0.0)
        elif isinstance(shape, Line):
            # Its ends are flat: with half its weight on all sides it is as long as it is drawn.
            self._run(_shortened(shape.points, shape.weight / 2), shape.weight / 2)
        elif isinstance(shape, Area):
            self._run((*shape.points, shape.points[0]), shape.weight / 2)

    def _run(self, points: tuple[Point, ...], half: float) -> None:
        for a, b in pairwise(points):
            self._edge(a, b, half)

    def _edge(self, a: Point, b: Point, half: float) -> None:
        i, j, k, l = int(a[0] // CELL), int(a[1] // CELL), int(b[0] // CELL), int(b[1] // CELL)
        if i == k and j == l:  # as most are
            self._edges[i, j].append((a, b, half))
            return
        for across in range(min(i, k), max(i, k) + 1):
            for down in range(min(j, l), max(j, l) + 1):
                self._edges[across, down].append((a, b, half))

    def clear(self, box: Box, room: float) -> bool:
        """Whether nothing comes nearer to a box than `room` mm."""
        left, top, right, bottom = box
        for cell in _cells(_grown(box, CELL / 4)):
            for a, b, half in self._edges.get(cell, ()):
                by = room + half
                if _crosses(a, b, (left - by, top - by, right + by, bottom + by)):
                    return False
        return True


def _shortened(points: tuple[Point, ...], by: float) -> tuple[Point, ...]:
    """A line of one part, less `by` mm at both ends."""
    if len(points) != 2:
        return points
    (ax, ay), (bx, end_y) = points
    part = min(0.5, by / (hypot(bx - ax, end_y - ay) or 1.0))
    dx, dy = (bx - ax) * part, (end_y - ay) * part
    return (ax + dx, ay + dy), (bx - dx, end_y - dy)


def _grown(box: Box, by: float) -> Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _cells(box: Box) -> list[tuple[int, int]]:
    left, top, right, bottom = (int(value // CELL) for value in box)
    return [(i, j) for i in range(left, right + 1) for j in range(top, bottom + 1)]


def _crosses(a: Point, b: Point, box: Box) -> bool:
    """Whether a line from `a` to `b` comes into a box (clipped as Liang and Barsky do)."""
    if (a[0] < box[0] and b[0] < box[0]) or (a[0] > box[2] and b[0] > box[2]):
        return False  # most lines are far off
    first, last = 0.0, 1.0
    for start, way, low, high in (
        (a[0], b[0] - a[0], box[0], box[2]),
        (a[1], b[1] - a[1], box[1], box[3]),
    ):
        if abs(way) < 1e-12:
            if not low < start < high:
                return False
            continue
        enters, leaves = sorted(((low - start) / way, (high - start) / way))
        first, last = max(first, enters), min(last, leaves)
        if first >= last:
            return False
    return True
