"""Share a large drawing out over pages: tiles that overlap by one mesh, and an overview of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil

from cards.errors import PageError
from cards.grid import Hole, Stretch
from cards.picture import pen
from cards.picture.pen import Scale
from cards.picture.shapes import Area, Line, Point, Shape, Text
from cards.picture.type import CAP_HEIGHT, text_width
from cards.picture.web import Window

OVERLAP = 2  # half meshes: one mesh


@dataclass(frozen=True, slots=True)
class Tile:
    """One page's part of a drawing: its place in the array of tiles and its window."""

    across: int
    down: int
    window: Window


def tiles(whole: Window, columns: int, rows: int) -> list[Tile]:
    """Cut a window into tiles of at most `columns` by `rows` half meshes, row by row of tiles.

    One tile where the whole fits. Tiles are of even size, so that none is a mere sliver.

    Raises
    ------
    PageError
        When a tile would be too small to show anything.
    """
    if whole.columns <= columns and whole.rows <= rows:
        return [Tile(0, 0, whole)]
    if columns < 3 * OVERLAP or rows < 3 * OVERLAP:
        raise PageError("found paper too small for the drawing; expected a larger paper")
    across = list(_parts(whole.left, whole.right, columns))
    down = list(_parts(whole.top, whole.bottom, rows))
    return [
        Tile(i, j, Window(left, right, top, bottom))
        for j, (top, bottom) in enumerate(down)
        for i, (left, right) in enumerate(across)
    ]


def _parts(first: int, last: int, most: int) -> Iterator[tuple[int, int]]:
    length = last - first
    if length <= most:
        yield first, last
        return
    count = ceil((length - OVERLAP) / (most - OVERLAP))
    step = ceil((length - OVERLAP) / count)
    for number in range(count):
        begin = first + number * step
        yield begin, min(begin + step + OVERLAP, last)


@dataclass(frozen=True)
class Sketch:
    """An overview: its shapes and size in mm."""

    shapes: list[Shape]
    width: float
    height: float


def overview(
    hole: Hole,
    whole: Window,
    parts: list[Tile],
    pages: list[int],
    width: float,
    height: float,
    size: float,
) -> Sketch:
    """Draw all tiles small: the outline of the hole, the tiles with their pages, rows numbered."""
    label = text_width("8888", size, False) + 2
    pitch = min((width - 2 * label) / whole.columns, height / (whole.rows * 1.3))
    scale = Scale(pitch, pitch * 1.3, size * CAP_HEIGHT)
    shapes: list[Shape] = []

    def at(x: float, y: float) -> tuple[float, float]:
        return label + (x - whole.left) * scale.dx, (y - whole.top) * scale.dy

    for row, stretches in enumerate(hole.rows, hole.top):
        for left, right in stretches:
            shapes += [
                Line((at(left, row), at(left, row + 1)), pen.WEB, "hole edge"),
                Line((at(right, row), at(right, row + 1)), pen.WEB, "hole edge"),
            ]
        above = hole.row(row - 1)
        shapes += _edges(above, stretches, row, at)
    shapes += _edges(hole.rows[-1], (), hole.bottom, at)
    # Every few rows a number on both sides.
    every = next(n for n in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000) if n * scale.dy > size * 1.2)
    for number in range(1, len(hole.rows) + 1):
        if number == 1 or number % every == 0:
            y = at(0, hole.top + number - 0.5)[1] + size * CAP_HEIGHT / 2
            shapes.append(Text(label - 1, y, str(number), size, False, "end", "row number"))
            right_edge = label + whole.columns * scale.dx + 1
            shapes.append(Text(right_edge, y, str(number), size, False, "start", "row number"))
    for tile, page in zip(parts, pages):
        w = tile.window
        inset = 0.4
        x0, y0 = at(w.left, w.top)
        x1, y1 = at(w.right, w.bottom)
        corners = (
            (x0 + inset, y0 + inset), (x1 - inset, y0 + inset),
            (x1 - inset, y1 - inset), (x0 + inset, y1 - inset),
        )  # fmt: skip
        shapes.append(Area(corners, pen.RULE, role="tile", of=f"page {page}", dash=(1.6, 1.0)))
        middle = (y0 + y1) / 2 + size * CAP_HEIGHT
        big = size * 1.5
        shapes.append(Text((x0 + x1) / 2, middle, str(page), big, True, "middle", "tile page"))
    return Sketch(shapes, 2 * label + whole.columns * scale.dx, whole.rows * scale.dy)


def _edges(
    above: Sequence[Stretch],
    below: Sequence[Stretch],
    line: int,
    at: Callable[[float, float], Point],
) -> Iterator[Line]:
    """The level edges of the hole on a line: where one of the rows is broken and not the other."""
    marks: dict[int, int] = {}
    for weight, stretches in ((1, above), (2, below)):
        for left, right in stretches:
            marks[left] = marks.get(left, 0) + weight
            marks[right] = marks.get(right, 0) - weight
    state, begun = 0, 0
    for column in sorted(marks):
        if state in (1, 2):
            yield Line((at(begun, line), at(column, line)), pen.WEB, "hole edge")
        state += marks[column]
        begun = column
