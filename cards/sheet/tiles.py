"""Share a large drawing out over pages: tiles that overlap by one mesh, and an overview of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil

from cards.errors import PageError
from cards.grid import Hole, Stretch
from cards.limits import TILE_LIMIT
from cards.picture import pen
from cards.picture.pen import Scale
from cards.picture.shapes import Line, Point, Shape, Text
from cards.picture.type import CAP_HEIGHT, text_width
from cards.picture.web import Window

OVERLAP = 2  # half meshes: one mesh
LEAST_TILE = 2 * OVERLAP


@dataclass(frozen=True, slots=True)
class Tile:
    """One page's part of a drawing: its place in the array of tiles and its window."""

    across: int
    down: int
    window: Window


def tiles(whole: Window, columns: int, rows: int, paper: str) -> list[Tile]:
    """Cut a window into tiles of at most `columns` by `rows` half meshes, row by row of tiles.

    One tile where the whole fits. Tiles are of even size, so that none is a mere sliver.

    Raises
    ------
    PageError
        When a tile would be too small to show anything, or there would be too many; the message
        names the `paper`.
    """
    if whole.columns <= columns and whole.rows <= rows:
        return [Tile(0, 0, whole)]
    if min(columns, rows) < LEAST_TILE:
        raise PageError(f"found paper {paper} too small for the drawing; expected a larger paper")
    across = list(_parts(whole.left, whole.right, columns))
    down = list(_parts(whole.top, whole.bottom, rows))
    if len(across) * len(down) > TILE_LIMIT:
        raise PageError(
            f"found a drawing of {len(across)} by {len(down)} pages of {paper}; "
            f"expected at most {TILE_LIMIT} in all. Take a larger paper, "
            "or give the tear in parts, a spec for each."
        )
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
    own = length - OVERLAP
    count = ceil(own / (most - OVERLAP))
    for number in range(count):
        yield first + own * number // count, first + own * (number + 1) // count + OVERLAP


@dataclass(frozen=True)
class Sketch:
    """An overview: its shapes and size in mm."""

    shapes: list[Shape]
    width: float
    height: float
    bands: bool = False  # whether only the first page of each band of tiles is named


def overview(
    hole: Hole,
    rows: range,
    whole: Window,
    parts: list[Tile],
    pages: list[int],
    width: float,
    height: float,
    size: float,
) -> Sketch:
    """Draw all tiles small: the outline of the hole, the tiles with their pages, rows numbered.

    `rows` are those of the web that are numbered, whether or not the hole reaches into all of them.
    """
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
    # Every few rows a number on both sides: 1, 3, 5, or 1, 5, 10, the second clear of the first.
    every = next(
        n
        for n in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
        if (n if n <= 2 else n - 1) * scale.dy > size * 1.2
    )
    right_edge = label + whole.columns * scale.dx + 1
    frames = [_own_part(tile.window, whole) for tile in parts]
    bands = _too_many(frames, pages, scale, size)
    for number in range(1, len(rows) + 1):
        if number == 1 or number % every == (1 if every == 2 else 0):
            y = at(0, rows.start + number - 0.5)[1] + size * CAP_HEIGHT / 2
            shapes.append(Text(label - 1, y, str(number), size, False, "end", "row number"))
            if not bands:
                shapes.append(Text(right_edge, y, str(number), size, False, "start", "row number"))
    sides: dict[tuple[Point, Point], int] = {}  # of two frames it is drawn once: dashes would fill
    for own, page in zip(frames, pages):
        x0, y0, x1, y1 = *at(own.left, own.top), *at(own.right, own.bottom)
        level = (((x0, y0), (x1, y0)), ((x0, y1), (x1, y1)))
        for side in (*level, ((x0, y0), (x0, y1)), ((x1, y0), (x1, y1))):
            sides.setdefault(side, page)
    for side, page in sides.items():
        shapes.append(Line(side, pen.RULE, "tile", f"page {page}", dash=(1.6, 1.0)))
    if bands:
        lowest = -size
        for top, page in _band_pages(frames, pages):
            y = at(0, top)[1] + size * 1.1
            if y - lowest >= size * 1.1:
                lowest = y
                shapes.append(Text(right_edge, y, str(page), size, True, "start", "tile page"))
        width = 2 * label + whole.columns * scale.dx
        return Sketch(shapes, width, whole.rows * scale.dy, bands=True)
    if len(set(pages)) < len(pages):
        # All have one number while the pages are only counted: nothing has to stand well yet.
        return Sketch(shapes, 2 * label + whole.columns * scale.dx, whole.rows * scale.dy)
    areas = [(*at(own.left, own.top), *at(own.right, own.bottom)) for own in frames]
    _put_page_numbers(shapes, areas, [str(page) for page in pages], size)
    return Sketch(shapes, 2 * label + whole.columns * scale.dx, whole.rows * scale.dy)


def _own_part(window: Window, whole: Window) -> Window:
    """A tile up to the middle of the strips that it shares with its neighbours."""
    half = OVERLAP // 2
    return Window(
        window.left + (half if window.left > whole.left else 0),
        window.right - (half if window.right < whole.right else 0),
        window.top + (half if window.top > whole.top else 0),
        window.bottom - (half if window.bottom < whole.bottom else 0),
    )


def _too_many(frames: list[Window], pages: list[int], scale: Scale, size: float) -> bool:
    """Whether the tiles are too small for the numbers of their pages: then only bands are named."""
    half, high = _half(str(max(pages)), size)
    return (
        min(own.columns for own in frames) * scale.dx < 2 * half
        or min(own.rows for own in frames) * scale.dy < 2 * high
    )


def _band_pages(frames: list[Window], pages: list[int]) -> list[tuple[int, int]]:
    """The top line and the first page of each band of tiles."""
    firsts: dict[int, int] = {}
    for own, page in zip(frames, pages):
        firsts.setdefault(own.top, page)
    return sorted(firsts.items())


Frame = tuple[float, float, float, float]  # left, top, right, bottom
NUMBER_CLEAR = 0.5  # mm round the number of a page


def _put_page_numbers(
    shapes: list[Shape], frames: list[Frame], texts: list[str], size: float
) -> None:
    """Put the numbers of pages into their tiles, as large as all stand clear of the hole's edges.

    Where one nowhere does, the edges make way for it.
    """
    edges = [shape for shape in shapes if isinstance(shape, Line) and shape.role == "hole edge"]
    walls = [_extent(edge) for edge in edges]
    near = [_near(frame, walls) for frame in frames]
    for larger in (1.5, 1.25, 1.0):
        places = []
        for frame, text, own in zip(frames, texts, near):
            places.append(_clear_place(frame, text, size * larger, own))
            if places[-1] is None and larger > 1.0:
                break
        else:
            size *= larger
            break
    for frame, text, clear in zip(frames, texts, places):
        place = clear
        if place is None:
            x, y = (frame[0] + frame[2]) / 2, (frame[1] + frame[3]) / 2
            half, high = _half(text, size)
            in_way = {id(edge) for edge in edges if _meets(_extent(edge), x, y, half, high)}
            shapes[:] = [shape for shape in shapes if id(shape) not in in_way]
            place = x, y + size * CAP_HEIGHT / 2
        shapes.append(Text(*place, text, size, True, "middle", "tile page"))


def _half(text: str, size: float) -> tuple[float, float]:
    return (
        text_width(text, size, True) / 2 + NUMBER_CLEAR,
        size * CAP_HEIGHT / 2 + NUMBER_CLEAR,
    )


def _extent(edge: Line) -> Frame:
    (ax, ay), (bx, by) = edge.points
    return min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)


def _meets(wall: Frame, x: float, y: float, half: float, high: float) -> bool:
    left, top, right, bottom = wall
    return left < x + half and right > x - half and top < y + high and bottom > y - high


def _near(frame: Frame, walls: Sequence[Frame]) -> list[Frame]:
    """The walls that come into a frame."""
    x0, y0, x1, y1 = frame
    middle = (x0 + x1) / 2, (y0 + y1) / 2
    return [wall for wall in walls if _meets(wall, *middle, (x1 - x0) / 2, (y1 - y0) / 2)]


def _clear_place(frame: Frame, text: str, size: float, walls: Sequence[Frame]) -> Point | None:
    """The place nearest to the middle of a frame where a text keeps clear of all walls."""
    x0, y0, x1, y1 = frame
    half, high = _half(text, size)
    if x1 - x0 < 2 * half or y1 - y0 < 2 * high:
        return None
    middle = (x0 + x1) / 2, (y0 + y1) / 2
    steps = 15
    places = [
        (
            x0 + half + (x1 - x0 - 2 * half) * i / (steps - 1),
            y0 + high + (y1 - y0 - 2 * high) * j / (steps - 1),
        )
        for i in range(steps)
        for j in range(steps)
    ]
    places.sort(key=lambda p: (p[0] - middle[0]) ** 2 + (p[1] - middle[1]) ** 2)
    for x, y in places:
        if not any(_meets(wall, x, y, half, high) for wall in walls):
            return x, y + size * CAP_HEIGHT / 2
    return None


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
