"""Drawings of the web as blocks, with row numbers at the sides and a legend; whole or in tiles."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from cards.job import Plan
from cards.picture import pen
from cards.picture.patch import CORNER, patch_shapes, top_mark
from cards.picture.pen import Scale
from cards.picture.shapes import Anchor, Area, Disc, Line, Shape, Text
from cards.picture.type import CAP_HEIGHT, size_for_height, text_width
from cards.picture.web import (
    Window,
    found_shapes,
    refill_mark,
    row_labels,
    sign_height,
    sign_shapes,
    window_round,
)
from cards.sheet.blocks import Drawing
from cards.sheet.frame import Room
from cards.sheet.pages import Look
from cards.sheet.tiles import LEAST_TILE, Tile, tiles

Draw = Callable[[Plan, Scale, Window], list[Shape]]


STACKED = 2  # numbers of rows, one above the other, beside one row of the web
STACK_GAP = 0.8  # mm between them


def side_width(plan: Plan, scale: Scale) -> float:
    """Room in mm beside a drawing for the numbers of the rows."""
    return _lane_width(plan, scale) * -(-_sharing(plan) // STACKED)


def _lane_width(plan: Plan, scale: Scale) -> float:
    rows = max(len(twine.rows) for twine in plan.sewing.twines)
    label = str(rows) if len(plan.sewing.twines) == 1 else f"W{rows}"
    return text_width("8" * len(label), scale.size, True) + scale.digits * 0.9 + 1.6


def _sharing(plan: Plan) -> int:
    """How many rows of twine stand on one side of a row of the web at the most."""
    rows = Counter(row.row for twine in plan.sewing.twines for row in twine.rows)
    return -(-max(rows.values()) // 2)


def tiles_for(
    plan: Plan,
    look: Look,
    scale: Scale,
    room: Room,
    above: float,
    sides: bool,
    draw: Draw = found_shapes,
) -> list[Tile]:
    """Share a plan's web out over pages whose drawing may be `room` less `above` mm high.

    Raises
    ------
    PageError
        When the paper is too small for the web, or it takes too many pages.
    """
    whole = window_round(plan.trim.trimmed)
    columns, rows = _capacity(plan, scale, room, above, sides)
    if not fits_whole(plan, scale, room, above, sides):
        columns, rows = _tile_capacity(plan, scale, room, above, sides, draw)
    return tiles(whole, columns, rows, look.paper.name)


def tiles_fit(plan: Plan, scale: Scale, room: Room, above: float, sides: bool) -> bool:
    """Whether a tile holds more than the mesh that it shares with its neighbour."""
    return min(_tile_capacity(plan, scale, room, above, sides, found_shapes)) >= LEAST_TILE


def tile_scale(
    plan: Plan,
    least: Scale,
    room: Room,
    above: float,
    sides: bool,
    parts: Sequence[Tile],
    draw: Draw = found_shapes,
) -> Scale:
    """The largest scale, from the least legible one up, at which all tiles fit on their pages."""
    wide = max(tile.window.columns for tile in parts)
    high = max(tile.window.rows for tile in parts)
    for step in range(round(GROWTH * 10), 10, -1):
        scale = least.grown(step / 10)
        columns, rows = _tile_capacity(plan, scale, room, above, sides, draw)
        if wide <= columns and high <= rows:
            return scale
    return least


def _tile_capacity(
    plan: Plan, scale: Scale, room: Room, above: float, sides: bool, draw: Draw
) -> tuple[int, int]:
    """How many columns and rows a tile may have, its signs on the rim within the room."""
    across, down = rim_width(plan, scale, draw)
    less = Room(room.x, room.y, room.width - 2 * across, room.height - 2 * down)
    return _capacity(plan, scale, less, above, sides)


def fits_whole(plan: Plan, scale: Scale, room: Room, above: float, sides: bool) -> bool:
    """Whether a plan's web fits whole into `room` less `above` mm of its height."""
    whole = window_round(plan.trim.trimmed)
    columns, rows = _capacity(plan, scale, room, above, sides)
    return whole.columns <= columns and whole.rows <= rows


def _capacity(plan: Plan, scale: Scale, room: Room, above: float, sides: bool) -> tuple[int, int]:
    """How many columns and rows fit."""
    side = side_width(plan, scale) if sides else 0.0
    return (
        int((room.width - 2 * side - 1) / scale.dx),
        int((room.height - above - 1) / scale.dy),
    )


GROWTH = 1.7  # how much larger than the least legible size a drawing is made where there is room


def fitting_scale(plan: Plan, least: Scale, room: Room, above: float, sides: bool) -> Scale:
    """The largest scale, from the least legible one up, at which a plan's web fits on one page."""
    for step in range(round(GROWTH * 10), 10, -1):
        scale = least.grown(step / 10)
        if fits_whole(plan, scale, room, above, sides):
            return scale
    return least


def web_drawing(plan: Plan, scale: Scale, window: Window, draw: Draw, sides: bool) -> Drawing:
    """Draw a window of the web with the numbers of its rows at the sides.

    Signs on the rim of a tile reach beyond it; a whole web has none there.
    """
    whole = window == window_round(plan.trim.trimmed)
    across, down = (0.0, 0.0) if whole else rim_width(plan, scale, draw)
    side = side_width(plan, scale) if sides else 0.0
    shapes = draw(plan, scale, window)
    width, high = window.columns * scale.dx, window.rows * scale.dy
    if sides:
        shapes += _side_labels(plan, scale, window, across, width)
    origin = side + across, down
    return Drawing(shapes, width + 2 * origin[0], high + 2 * down, at=origin)


def rim_width(plan: Plan, scale: Scale, draw: Draw) -> tuple[float, float]:
    """How far a sign on the rim of a tile reaches beyond it, across and down, in mm."""
    if draw is patch_shapes:
        return CORNER, CORNER
    digits = "8" * len(str(plan.sewing.knots))
    more = pen.CLEAR + 2 * pen.SHAPE + pen.POINT
    return text_width(digits, scale.size, True) / 2 + more, scale.digits / 2 + more


def _side_labels(
    plan: Plan, scale: Scale, window: Window, across: float, width: float
) -> list[Shape]:
    """The numbers of the rows beside a drawing `width` mm wide whose signs reach `across` out."""
    shapes: list[Shape] = []
    several = len(plan.sewing.twines) > 1
    lane_width = _lane_width(plan, scale)
    labels = row_labels(plan, scale, window)
    sharing = Counter((label.y, label.side) for label in labels)
    placed: Counter[tuple[float, str]] = Counter()
    for label in labels:
        place = label.y, label.side
        lane, level = divmod(placed[place], STACKED)
        placed[place] += 1
        stacked = min(STACKED, sharing[place] - lane * STACKED)
        y = label.y + (level - (stacked - 1) / 2) * (scale.digits + STACK_GAP)
        text = f"{label.twine}{label.number}" if several else str(label.number)
        outwards = -1 if label.side == "left" else 1
        edge = -across if label.side == "left" else width + across
        edge += outwards * (lane * lane_width + 0.8)
        shapes += row_label(edge, y, text, label.going, outwards, scale.digits)
    return shapes


def row_label(
    x: float, y: float, text: str, going: str, outwards: int, high: float
) -> tuple[Area, Text]:
    """The number of a row of twine with an arrow in its way, outwards from (x, y)."""
    far = x + outwards * high * 0.9
    tip, back = (max(x, far), min(x, far)) if going == "right" else (min(x, far), max(x, far))
    points = ((tip, y), (back, y - high / 2), (back, y + high / 2))
    of = f"row {text}"
    arrow = Area(points, fill="black", role="side arrow", of=of)
    anchor: Anchor = "end" if outwards < 0 else "start"
    size, at = size_for_height(high), (far + outwards * 0.7, y + high / 2)
    return arrow, Text(*at, text, size, True, anchor, "row number", of)


@dataclass(frozen=True, slots=True)
class Key:
    """An entry of a legend: how to draw the sign, and what it says."""

    sign: str
    text: str


def legend(keys: Sequence[Key], look: Look, width: float) -> Drawing:
    """Signs with their meaning, side by side in as many lines as it takes.

    They stand closer where that saves a line.
    """
    apart = [_legend(keys, look, width, gap) for gap in KEY_GAPS]
    return min(apart, key=lambda own: own.height)


KEY_GAPS = (4.0, 3.0)  # mm from a meaning to the next sign


def _legend(keys: Sequence[Key], look: Look, width: float, gap: float) -> Drawing:
    size = look.sizes.small
    height = max(sign_height(look.sizes.digits), size * 1.6) + 0.8
    room = 9.0
    shapes: list[Shape] = []
    x = y = 0.0
    for key in keys:
        own = room + text_width(key.text, size) + gap
        if x and x + own - gap > width:
            x, y = 0.0, y + height
        middle = y + height / 2
        shapes += _sample(key.sign, x + room / 2 - 1, middle, look.sizes.digits)
        base = middle + size * CAP_HEIGHT / 2
        shapes.append(Text(x + room, base, key.text, size, False, "start", "legend"))
        x += own
    return Drawing(shapes, width, y + height)


STUBS = ((-1.0, -0.4), (0.4, 1.0))  # where they begin and end on a bar from -1 to 1, in its sample


def _sample(sign: str, x: float, y: float, digits: float) -> list[Shape]:
    """A small specimen of a sign, its middle at (x, y)."""
    half = 3.0
    if sign == "web":
        return [Line(((x - half, y), (x + half, y)), pen.WEB, "web sample")]
    if sign == "patch":
        return [Line(((x - half, y), (x + half, y)), pen.PATCH, "patch sample")]
    if sign.startswith("row"):
        text = sign.partition(":")[2]
        arrow, label = row_label(x + half + 0.6, y, text, "right", -1, digits)
        return [arrow._replace(of=""), label._replace(role="sample number", of="")]
    if sign == "refill":
        stem = Line(((x - half * 0.8, y), (x, y)), pen.SHAPE, "refill sample")
        return [stem, refill_mark(x, y)]
    if sign == "corner":
        return [Disc(x, y, CORNER, fill="black", role="corner sample")]
    if sign == "top":
        return [Area(top_mark(x, y, digits * 0.5), fill="black", role="top sample")]
    if sign == "twine":
        return [Line(((x - half, y), (x + half, y)), pen.TWINE, "twine sample")]
    if sign == "stub":
        # What is left of a leaning bar at its two knots.
        dx, dy = half * 0.5, -half * 0.8
        ends = (((x + by * dx, y + by * dy), (x + to * dx, y + to * dy)) for by, to in STUBS)
        return [Line(points, pen.STUB, "stub sample") for points in ends]
    if sign.startswith("cut"):
        _, _, number = sign.partition(" ")
        x -= 0.9 if number else 0.0
        shapes: list[Shape] = [
            Line(((x - half * 0.5, y + half * 0.8), (x + half * 0.5, y - half * 0.8)), pen.WEB),
            Line(((x - 0.9, y - 0.55), (x + 0.9, y + 0.55)), pen.MARK, "cut sample"),
        ]
        if number:  # on the side of its mark on which it stands in the drawing
            size, at = size_for_height(digits), (x + 1.05 + 2 * pen.CLEAR, y + digits / 2)
            shapes.append(Text(*at, number, size, True, "start", "sample number"))
        return shapes
    kind, _, text = sign.partition(":")
    return list(sign_shapes(kind, text, (x, y), digits))
