"""Draw the web as it hangs on the loft wall: the hole as found with its cuts, and the sewing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain, product, repeat, tee
from math import cos, dist, hypot, pi, sin

from cards.grid import Bar, Hole, Knot
from cards.job import Plan
from cards.picture import pen
from cards.picture.pen import Scale
from cards.picture.room import Box, Taken, text_room
from cards.picture.shapes import Area, Curve, Line, Picture, Point, Shape, Text, moved
from cards.picture.type import size_for_height, text_width
from cards.sew import RowSewn, Tied, Twine, Tying
from cards.trim import Cut, Side
from cards.words import Words, words

INSET = 0.8  # mm from the outer line of a start or an end to its inner one
OVAL = 1.3, 1.57  # half axes of an oval round a rectangle, of its half width and height
LED = 1.5  # mm from its mark, from which on a number has a line that leads to it
OWN = 0.5  # mm by which a cut's number is nearer to its own mark than to any other
LEAST_CLEAR = 0.21  # mm that a cut's number keeps from all else
MARGIN = 2  # half meshes of whole web drawn round the hole


@dataclass(frozen=True, slots=True)
class Window:
    """The part of the web that is drawn: columns `left` to `right`, lines `top` to `bottom`."""

    left: int
    right: int
    top: int
    bottom: int

    @property
    def columns(self) -> int:
        """How many bars wide."""
        return self.right - self.left

    @property
    def rows(self) -> int:
        """How many rows high."""
        return self.bottom - self.top

    def holds(self, knot: tuple[int, int]) -> bool:
        """Whether a knot is drawn."""
        x, y = knot
        return self.left <= x <= self.right and self.top <= y <= self.bottom

    def on_rim(self, knot: tuple[int, int]) -> bool:
        """Whether a knot that is drawn is on the edge."""
        x, y = knot
        return x in (self.left, self.right) or y in (self.top, self.bottom)

    def holds_bar(self, bar: tuple[int, int]) -> bool:
        """Whether a bar is drawn."""
        row, column = bar
        return self.left <= column < self.right and self.top <= row < self.bottom


def window_round(hole: Hole) -> Window:
    """The window that shows a hole with some whole web round it."""
    return Window(hole.left - MARGIN, hole.right + MARGIN, hole.top - MARGIN, hole.bottom + MARGIN)


@dataclass(frozen=True)
class Web:
    """A drawing of the web in progress: where things are in mm, and what stands at which knot.

    The left upper corner of the window is the origin.
    """

    window: Window
    scale: Scale
    signs: dict[Knot, tuple[Point, ...]]

    def at(self, x: float, y: float) -> Point:
        """Place of a column and a line."""
        return (x - self.window.left) * self.scale.dx, (y - self.window.top) * self.scale.dy

    def ends(self, bar: Bar) -> tuple[Point, Point]:
        """The bar's ends as drawn: at the knots, or at the rim of the signs that stand there."""
        upper, lower = bar.ends
        dx, dy = (lower.x - upper.x) * self.scale.dx, self.scale.dy
        (ax, ay), (bx, by) = self.at(*upper), self.at(*lower)
        above, below = self.signs.get(upper), self.signs.get(lower)
        if above:
            reach = rim(above, (dx, dy))
            ax, ay = ax + dx * reach, ay + dy * reach
        if below:
            reach = rim(below, (-dx, -dy))
            bx, by = bx - dx * reach, by - dy * reach
        return (ax, ay), (bx, by)

    def middle(self, bar: Bar) -> Point:
        """The middle of a bar as drawn."""
        (ax, ay), (bx, by) = self.ends(bar)
        return (ax + bx) / 2, (ay + by) / 2

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the drawing in mm."""
        return self.window.columns * self.scale.dx, self.window.rows * self.scale.dy


@lru_cache(maxsize=1024)  # a knot has four bars, and the signs of a card are few
def rim(sign: tuple[Point, ...], way: Point) -> float:
    """How far along `way` from its middle the outline of a convex sign lies, as a part of `way`."""
    reach = 1.0
    for (ax, ay), (bx, by) in zip(sign, (*sign[1:], sign[0])):
        ex, ey = bx - ax, by - ay
        across = way[0] * ey - way[1] * ex
        if abs(across) < 1e-9:
            continue
        along = (ax * ey - ay * ex) / across
        on_edge = (ax * way[1] - ay * way[0]) / across
        if along > 1e-9 and -1e-9 <= on_edge <= 1 + 1e-9:
            reach = min(reach, along)
    return reach


# The signs of knots


@lru_cache(maxsize=64)
def sign_outline(kind: str, digits: int, height: float) -> tuple[Point, ...]:
    """Outline of a knot's shape round its number, about the middle of the knot."""
    size = size_for_height(height)
    w = text_width("8" * digits, size, True) / 2 + pen.CLEAR + pen.SHAPE
    h = height / 2 + pen.CLEAR + pen.SHAPE
    p = pen.POINT
    if kind == "pickup above":
        return ((-w, h), (-w, -h), (0, -h - p), (w, -h), (w, h))
    if kind == "pickup below":
        return ((-w, -h), (w, -h), (w, h), (0, h + p), (-w, h))
    if kind == "sider on the left":
        return ((w, -h), (w, h), (-w, h), (-w - p, 0), (-w, -h))
    if kind == "sider on the right":
        return ((-w, -h), (-w, h), (w, h), (w + p, 0), (w, -h))
    if kind == "start":
        # An oval whose inner line goes round the corners of the number's room.
        w, h = w * OVAL[0] + INSET, h * OVAL[1] + INSET
        angles = [2 * pi * step / 32 for step in range(32)]
        return tuple((w * cos(angle), h * sin(angle)) for angle in angles)
    w, h = w + INSET, h + INSET
    return ((-w, -h), (w, -h), (w, h), (-w, h))


def sign_height(digits: float) -> float:
    """How high the tallest sign is, in mm, with numbers `digits` mm tall."""
    return 2 * max(y for _, y in sign_outline("start", 1, digits)) + pen.SHAPE


def sign_width(kind: str, digits: int, height: float) -> tuple[float, float]:
    """How far a sign reaches to the left and to the right of its middle, in mm."""
    xs = [x for x, _ in sign_outline(kind, digits, height)]
    return pen.SHAPE / 2 - min(xs), pen.SHAPE / 2 + max(xs)


def sign_kind(stitch: Tying, going: Side) -> str:
    """The kind of shape for a knot: its stitch, and for a sider the side it is on."""
    if not stitch.startswith("sider"):
        return stitch.split(" ")[0] if stitch.startswith(("start", "end")) else stitch
    return "sider on the right" if going == "right" else "sider on the left"


def sign_shapes(
    kind: str, text: str, at: Point, height: float, *, of: str = "", digits: int | None = None
) -> Iterator[Shape]:
    """Draw a knot's shape with its number; start and end have a second line round them."""
    x, y = at
    outline = sign_outline(kind, digits or max(len(text), 1), height)
    points = tuple((x + px, y + py) for px, py in outline)
    yield Area(points, pen.SHAPE, role=f"sign {kind}", of=of)
    if kind in ("start", "end"):
        wide = max(px for px, _ in outline)
        high = max(py for _, py in outline)
        inner = tuple(
            (x + px * (1 - INSET / wide), y + py * (1 - INSET / high)) for px, py in outline
        )
        yield Area(inner, pen.SHAPE, role=f"sign {kind}", of=of)
    if text:
        size = size_for_height(height)
        yield Text(x, y + height / 2, text, size, True, "middle", "knot number", of)


# The hole as found


def bare_shapes(plan: Plan, scale: Scale, window: Window) -> list[Shape]:
    """The hole as found and nothing else: whole web and the stubs of broken bars."""
    return web_shapes(Web(window, scale, {}), plan.trim.found)


def found_shapes(plan: Plan, scale: Scale, window: Window) -> list[Shape]:
    """The hole as found: whole web, stubs of broken bars, cuts numbered, start and end ringed."""
    rings: list[tuple[str, str, Knot]] = []
    for twine in plan.sewing.twines:
        rings.append(("start", twine.name, twine.knots[0].at))
        if not twine.closed:
            rings.append(("end", twine.name, twine.knots[-1].at))
    rings = [ring for ring in rings if window.holds(ring[2])]
    signs = {at: sign_outline(kind, len(name), scale.digits) for kind, name, at in rings}
    web = Web(window, scale, signs)
    shapes = web_shapes(web, plan.trim.found)
    for kind, name, at in rings:
        shapes += sign_shapes(kind, name, web.at(*at), scale.digits, of=f"{kind} {name}")
    shapes += [_numbered_mark(web, cut.bar, f"cut {cut.n}") for cut in cuts_marked(plan, window)]
    return shapes + cut_shapes(web, [(c.bar, c.n) for c in cuts_shown(plan, window)], shapes)


def cuts_shown(plan: Plan, window: Window) -> list[Cut]:
    """The cuts that a window shows with their numbers.

    There is no room for the number of one in the last column; the next window shows it.
    """
    inner = replace(window, right=window.right - 1)
    return [cut for cut in plan.cuts if inner.holds_bar(cut.bar)]


def cuts_marked(plan: Plan, window: Window) -> list[Cut]:
    """The cuts that a window shows without their numbers: those in its last column."""
    last = replace(window, left=window.right - 1)
    return [cut for cut in plan.cuts if last.holds_bar(cut.bar)]


def cut_shapes(web: Web, cuts: Iterable[tuple[Bar, int]], drawn: Iterable[Shape]) -> list[Shape]:
    """The marks of cuts with their numbers, clear of what is drawn already."""
    shown = [(bar, n) for bar, n in cuts if web.window.holds_bar(bar)]
    marks = {bar: _numbered_mark(web, bar, f"cut {n}") for bar, n in shown}
    taken = Taken([*drawn, *marks.values()])
    shapes: list[Shape] = []
    for bar, n in shown:
        number = _cut_number(web, bar, n, marks, taken)
        taken.add(number)
        shapes += [marks[bar], number, *_leader(marks[bar], text_room(number), f"cut {n}")]
    return shapes


def web_shapes(web: Web, hole: Hole) -> list[Shape]:
    """Whole web, and the stubs of the bars that a hole misses."""
    shapes: list[Shape] = [
        Line(web.ends(bar), pen.WEB, "web", of_bar(bar)) for bar in _whole(web.window, hole)
    ]
    for bar in _missing(web.window, hole):
        shapes += _stubs(web, bar, hole)
    return shapes


def _whole(window: Window, hole: Hole) -> Iterator[Bar]:
    """The bars of a window that a hole does not miss."""
    for row in range(window.top, window.bottom):
        column = window.left
        for left, right in (*hole.row(row), (window.right, window.right)):
            for whole in range(column, min(left, window.right)):
                yield Bar(row, whole)
            column = max(column, right)


def _missing(window: Window, hole: Hole) -> Iterator[Bar]:
    """The bars of a window that a hole misses."""
    for row in range(window.top, window.bottom):
        for left, right in hole.row(row):
            for column in range(max(left, window.left), min(right, window.right)):
                yield Bar(row, column)


def of_bar(bar: Bar) -> str:
    """What a shape of a bar is of."""
    return f"bar {bar.row} {bar.column}"


def _stubs(web: Web, bar: Bar, hole: Hole) -> Iterator[Line]:
    """What is left of a broken bar at the knots that still hang on something."""
    (ax, ay), (bx, by) = web.ends(bar)
    dx, dy = (bx - ax) * pen.STUB_PART, (by - ay) * pen.STUB_PART
    upper, lower = bar.ends
    if not hole.lost_at(upper):
        yield Line(((ax, ay), (ax + dx, ay + dy)), pen.STUB, "stub", of_bar(bar))
    if not hole.lost_at(lower):
        yield Line(((bx, by), (bx - dx, by - dy)), pen.STUB, "stub", of_bar(bar))


def cut_mark(web: Web, bar: Bar, of: str) -> Line:
    """The mark across the middle of a bar that is to be cut."""
    return _mark_at(web, bar, web.middle(bar), of)


def _numbered_mark(web: Web, bar: Bar, of: str) -> Line:
    """A mark off the middle of its bar, on the side of the mesh that has its number.

    Where a sign stands at an end of the bar the mark is as near to that place as it is clear of it.
    """
    (ax, ay), (bx, by) = (web.at(*knot) for knot in bar.ends)
    wanted = 0.5 + pen.MARK_OFF * _towards_mesh(bar)
    signs = _signs_at(web, bar)
    marks = (
        _mark_at(web, bar, (ax + (bx - ax) * part, ay + (by - ay) * part), of)
        for part in sorted((n / 40 for n in range(8, 33)), key=lambda part: abs(part - wanted))
    )
    if not signs:
        return _mark_at(web, bar, (ax + (bx - ax) * wanted, ay + (by - ay) * wanted), of)
    room = pen.CLEAR + pen.SHAPE / 2 + pen.MARK / 2
    apart = (mark for mark in marks if all(_apart(mark.points, sign, room) for sign in signs))
    return next(apart, None) or cut_mark(web, bar, of)


def _signs_at(web: Web, bar: Bar) -> list[tuple[Point, ...]]:
    """The outlines of the signs at the ends of a bar."""
    return [
        tuple((x + px, y + py) for px, py in web.signs[knot])
        for knot in bar.ends
        if knot in web.signs
        for x, y in (web.at(*knot),)
    ]


def _mark_at(web: Web, bar: Bar, at: Point, of: str) -> Line:
    """A short line square to a bar."""
    (ax, ay), (bx, by) = (web.at(*knot) for knot in bar.ends)
    part = web.scale.digits * pen.MARK_HALF / hypot(bx - ax, by - ay)
    (x, y), across, down = at, (by - ay) * part, (ax - bx) * part
    return Line(((x - across, y - down), (x + across, y + down)), pen.MARK, "cut mark", of)


def _towards_mesh(bar: Bar) -> int:
    """Whether the mesh at the right of a bar has its middle below the bar's, 1, or above, -1."""
    return 1 if (bar.row + bar.column) & 1 else -1


def _cut_number(web: Web, bar: Bar, n: int, marks: dict[Bar, Line], taken: Taken) -> Text:
    """The number of a cut, at the right of its mark in the mesh beside the bar.

    A mesh has room for two numbers, of the bars on its left: their marks are moved towards its
    middle, those of the bars on its right away from it, so that each number is plainly by its own
    mark. Where something is in the way it stands at the nearest clear place that is.
    """
    mark = marks[bar]
    (left, top), (right, y) = mark.points
    width, high = text_width(str(n), web.scale.size, True), web.scale.digits
    others = [
        marks[other]
        for row in range(bar.row - 2, bar.row + 3)
        for column in range(bar.column - 3, bar.column + 4)
        if (other := Bar(row, column)) in marks and other != bar
    ]

    def text(place: Point) -> Text:
        x, at = place
        return Text(
            x, at + high / 2, str(n), web.scale.size, True, "start", "cut number", f"cut {n}"
        )

    def clear(number: Text) -> bool:
        return taken.clear(text_room(number), LEAST_CLEAR)

    usual = text(_usual_place(web, bar, mark, width))
    if clear(usual):
        return usual
    steps = web.scale.dx / 8, web.scale.dy / 16
    places = _places_round(round(right - left, 6), round(y - top, 6), width, high, steps)
    texts, again = tee(text((left + begin, y + level)) for begin, level in places)
    own = (text for text in texts if _plainly_own(mark, others, text_room(text)))
    return next(filter(clear, chain(own, again)), usual)


@lru_cache(maxsize=512)
def _places_round(
    across: float, down: float, width: float, high: float, steps: tuple[float, float]
) -> tuple[Point, ...]:
    """Places for a number round a mark that goes so far across and down, the nearest first.

    Each from the mark's left end to that of the number, and from its right end to the number's
    middle line.
    """
    mark = Line(((0.0, -down), (across, 0.0)), pen.MARK)
    begins = [across + pen.CLEAR + step * steps[0] for step in range(9)]
    begins += [-pen.CLEAR - width - step * steps[0] for step in range(9)]
    begins.append((across - width) / 2)
    places = [(begin, step * steps[1]) for begin in begins for step in range(-20, 21)]

    def order(place: Point) -> tuple[float, bool]:
        begin, level = place
        box = begin, level - high / 2, begin + width, level + high / 2
        return round(_far(mark, box), 2), begin < 0

    return tuple(sorted(places, key=order))


def _far(mark: Line, number: Box) -> float:
    """How far the box of a number is from the line of a mark, in mm."""
    left, top, right, bottom = number
    (ax, ay), (bx, by) = mark.points
    steps = ((ax + (bx - ax) * part / 4, ay + (by - ay) * part / 4) for part in range(5))
    return min(
        hypot(max(left - x, x - right, 0.0), max(top - y, y - bottom, 0.0)) for x, y in steps
    )


def _plainly_own(mark: Line, others: Iterable[Line], number: Box) -> bool:
    limit = _far(mark, number) + OWN
    return all(_far(other, number) > limit for other in others)


def _leader(mark: Line, number: Box, of: str) -> Iterator[Line]:
    """A fine line from the end of a mark to its number, where that is some way off."""
    left, top, right, bottom = number

    def nearest(end: Point) -> Point:
        return min(max(end[0], left), right), min(max(end[1], top), bottom)

    end = min(mark.points, key=lambda point: dist(point, nearest(point)))
    x, y = nearest(end)
    length = dist(end, (x, y))
    if length > LED:
        part = 1 - pen.CLEAR / length
        tip = end[0] + (x - end[0]) * part, end[1] + (y - end[1]) * part
        yield Line((end, tip), pen.FINE, "leader", of)


def _usual_place(web: Web, bar: Bar, mark: Line, width: float) -> Point:
    """Left end and middle line of a number at the right of a mark.

    On a level with it, or as far towards the middle of the mesh as it takes to be clear of the bar
    at the right, which leans away.
    """
    dx, dy, high = web.scale.dx, web.scale.dy, web.scale.digits
    way = _towards_mesh(bar)
    end, level = mark.points[1]
    x, y = web.at(bar.column + 0.5, bar.row + 0.5)
    begin = end + pen.CLEAR
    lacking = begin + width + pen.CLEAR + pen.WEB - (x + dx)
    off = max(way * (level - y), lacking * dy / dx + high / 2)
    return begin, y + way * min(off, (dy - high - pen.CLEAR) / 2)


# The sewing


def sewing_shapes(plan: Plan, scale: Scale, window: Window, *, refills: bool = True) -> list[Shape]:
    """The sewing: whole web thin, new twine heavy, each knot's number in the shape of its stitch.

    The last knot of a closed twine stands where its first one does, and has its number beside the
    sign of that. Without `refills` no knot is marked after which the needle is refilled.
    """
    signs: dict[Knot, tuple[Point, ...]] = {}
    labelled: list[tuple[str, str, Knot, str]] = []
    for twine in plan.sewing.twines:
        for knot in knots_shown(plan, twine, window):
            if twine.closed and knot.n == twine.last:
                continue
            text = str(knot.n)
            kind = sign_kind(knot.stitch, knot.going)
            signs[knot.at] = sign_outline(kind, len(text), scale.digits)
            labelled.append((kind, text, knot.at, f"knot {knot.n}"))
    web = Web(window, scale, signs)
    shapes: list[Shape] = [
        Line(web.ends(bar), pen.WEB, "web", of_bar(bar))
        for bar in _whole(window, plan.trim.trimmed)
    ]
    arrows: list[Shape] = []
    for twine in plan.sewing.twines:
        for row in twine.rows:
            left, right = sorted((row.begin, row.end))
            columns = range(max(left, window.left), min(right, window.right))
            if not window.top <= row.row < window.bottom:
                continue
            shapes += [
                Line(web.ends(bar), pen.TWINE, "twine", of_bar(bar))
                for bar in map(Bar, repeat(row.row), columns)
            ]
            arrows += row_arrow(web, row)
    shapes += arrows
    for kind, text, at, of in labelled:
        shapes += sign_shapes(kind, text, web.at(*at), scale.digits, of=of)
    shapes += _twine_letters(web, plan, shapes)
    return shapes + (_refill_marks(web, plan, shapes) if refills else [])


REFILL = 1.1  # mm from the middle of a refill's mark to its points
PLAINLY = 0.8  # mm by which its middle is nearer to its own knot than to any other
STEM_STEP = 0.5  # mm at which the line to its knot is looked at
REFILL_CLEAR = 0.3  # mm it keeps from all else


def refill_mark(x: float, y: float, of: str = "") -> Area:
    """The mark of a knot after which the needle is refilled: a small black lozenge."""
    r = REFILL
    points = ((x, y - r), (x + r, y), (x, y + r), (x - r, y))
    return Area(points, fill="black", role="refill mark", of=of)


def _refill_marks(web: Web, plan: Plan, shapes: list[Shape]) -> list[Shape]:
    """A mark beside each knot after which to refill, where there is room for it."""
    shown = [knot for knot in plan.refilled_after if knot.at in web.signs]
    if not shown:
        return []
    taken = Taken(_near(web, [knot.at for knot in shown], shapes))
    marks: list[Shape] = []
    for knot in shown:
        for shape in _refill_mark(web, knot, taken):
            taken.add(shape)
            marks.append(shape)
    return marks


def _refill_mark(web: Web, knot: Tied, taken: Taken) -> Iterator[Shape]:
    """The mark with its stem, at the nearest clear place: outwards first, where the row has come.

    It is plainly nearer to its own knot than to any other, where there is such a place. Where
    there is none at all a knot on the rim of a tile goes without: another tile has it further in.
    """
    (x, y), (width, high) = web.at(*knot.at), web.size
    outwards, reach = 1 if knot.going == "right" else -1, REFILL + REFILL_CLEAR
    others = [
        web.at(*other) for other in _knots_near(knot.at) if other in web.signs and other != knot.at
    ]
    places = [
        (x + dx, y + dy)
        for dx, dy in _beside(web.scale, outwards)
        if reach <= x + dx <= width - reach and reach <= y + dy <= high - reach
    ]

    def clear(at: Point) -> bool:
        box = at[0] - REFILL, at[1] - REFILL, at[0] + REFILL, at[1] + REFILL
        return taken.clear(box, REFILL_CLEAR) and _stem_clear(_stem(web, knot.at, at), taken)

    own = (
        at
        for at in places
        if all(dist(at, o) > dist(at, (x, y)) + PLAINLY for o in others) and clear(at)
    )
    place = next(own, None) or next(filter(clear, places), None)
    if place is None and not web.window.on_rim(knot.at):
        place = x + outwards * web.scale.dx, y
    if place is not None:
        of = f"knot {knot.n}"
        yield Line(_stem(web, knot.at, place), pen.SHAPE, "refill stem", of)
        yield refill_mark(*place, of=of)


def _knots_near(knot: Knot) -> Iterator[Knot]:
    """The places of knots about one, itself among them."""
    for y in range(knot.y - NEAR, knot.y + NEAR + 1):
        for x in range(knot.x - NEAR, knot.x + NEAR + 1):
            yield Knot(x, y)


def _stem(web: Web, knot: Knot, place: Point) -> tuple[Point, Point]:
    """From the rim of a knot's sign to the middle of the mark beside it."""
    x, y = web.at(*knot)
    way = place[0] - x, place[1] - y
    part = rim(web.signs[knot], way) if knot in web.signs else 0.0
    return (x + way[0] * part, y + way[1] * part), place


def _stem_clear(stem: tuple[Point, Point], taken: Taken) -> bool:
    """Whether a stem crosses nothing on its way from the rim of its sign."""
    (ax, ay), (bx, by) = stem
    length = dist(*stem)
    steps = int(length / STEM_STEP)
    return all(
        taken.clear((x, y, x, y), pen.SHAPE / 2)
        for step in range(2, steps)
        for x, y in ((ax + (bx - ax) * step / steps, ay + (by - ay) * step / steps),)
    )


NEAR = 4  # half meshes round a knot in which a place beside it is looked for, and one more


def _near(web: Web, knots: Sequence[Knot], shapes: Iterable[Shape]) -> Iterator[Shape]:
    """The shapes about some knots: what stands further off is in nobody's way."""
    wide, high = NEAR * web.scale.dx, NEAR * web.scale.dy
    cells = {
        (int(x / wide) + across, int(y / high) + down)
        for x, y in (web.at(*knot) for knot in knots)
        for across in (-1, 0, 1)
        for down in (-1, 0, 1)
    }
    for shape in shapes:
        x, y = shape.points[0] if isinstance(shape, (Line, Area, Curve)) else (shape.x, shape.y)
        if (int(x / wide), int(y / high)) in cells:
            yield shape


@lru_cache(maxsize=16)
def _beside(scale: Scale, outwards: int) -> tuple[Point, ...]:
    """Places beside a knot, the nearest first, those in the way the row has come before others."""
    places = [
        (dx * scale.dx / 8, dy * scale.dy / 8) for dx in range(-12, 13) for dy in range(-10, 11)
    ]
    return tuple(sorted(places, key=lambda at: (hypot(*at) - 0.1 * outwards * at[0], at)))


LETTER_CLEAR = 0.6  # mm between a sign and the letter of its twine, where there is room


def _twine_letters(web: Web, plan: Plan, drawn: Iterable[Shape]) -> Iterator[Text]:
    """The letter of each twine above its start and below its end, or at the nearest clear place.

    That is where there are several; of a closed twine the number of its last knot, at its first.
    """
    twines = plan.sewing.twines
    ends = [
        (str(twine.last) if twine.closed else twine.name, knot.at, way)
        for twine in twines
        for knot, way in ((twine.knots[0], -1), (twine.knots[-1], 1))[: 1 if twine.closed else 2]
        if knot.at in web.signs
        and (not web.window.on_rim(knot.at) if twine.closed else len(twines) > 1)
    ]
    if not ends:
        return
    taken = Taken(_near(web, [at for _, at, _ in ends], drawn))
    for name, at, way in ends:
        others = [
            web.at(*other)
            for _, other, _ in ends
            if other != at and abs(other.x - at.x) <= NEAR and abs(other.y - at.y) <= NEAR
        ]
        letter = _twine_letter(web, name, at, way, taken, others)
        if letter:
            taken.add(letter)
            yield letter


def _twine_letter(
    web: Web, name: str, at: Knot, way: int, taken: Taken, others: list[Point]
) -> Text | None:
    """A letter at a clear place that is plainly nearer to its own knot than to another end.

    A knot on the rim of a tile goes without where its letter would stand off: another tile has it
    further in.
    """
    x, y = web.at(*at)
    size, high, scale = web.scale.size, web.scale.digits, web.scale
    reach = max(py for _, py in web.signs[at]) + pen.SHAPE / 2 + LETTER_CLEAR + high / 2
    usual = x, y + way * reach
    wide, tall = web.size
    places = [
        (x + across * scale.dx / 6, y + down * scale.dy / 8)
        for across in range(-9, 10)
        for down in range(-12, 13)
    ]
    places.sort(key=lambda place: hypot(place[0] - usual[0], place[1] - usual[1]))
    plainly_own = (
        (px, py)
        for px, py in places
        if all(hypot(px - ox, py - oy) > hypot(px - x, py - y) + high for ox, oy in others)
    )
    tried = list(plainly_own)
    for room, (px, py) in product((LETTER_CLEAR, LEAST_CLEAR), (usual, *tried)):
        text = Text(px, py + high / 2, name, size, True, "middle", "twine letter", f"twine {name}")
        left, top, right, bottom = text_room(text)
        inside = left > 0 and right < wide and top > 0 and bottom < tall
        if inside and taken.clear((left, top, right, bottom), room):
            off = web.window.on_rim(at) and hypot(px - x, py - y) > reach + high
            return None if off else text
    return Text(*usual, name, size, True, "middle", "twine letter", f"twine {name}")


def knots_shown(plan: Plan, twine: Twine, window: Window) -> list[Tied]:
    """The knots of a twine that a window shows, in the order they are tied.

    One on its rim is shown where the twine is seen to lead to it.
    """
    hole = plan.trim.trimmed
    return [
        knot
        for row in twine.rows
        if window.top - 1 <= row.row <= window.bottom
        for knot in twine.knots_between(row, window.left, window.right)
        if window.holds(knot.at)
        and (not window.on_rim(knot.at) or _sewn_within(hole, knot.at, window))
    ]


def _sewn_within(hole: Hole, knot: Knot, window: Window) -> bool:
    """Whether one of the bars that a knot misses is in a window."""
    x, y = knot
    bars = ((row, column) for row in (y - 1, y) for column in (x - 1, x))
    return any(window.holds_bar(bar) and hole.misses(*bar) for bar in bars)


ARROW_HEADS = (1.3, 1.1, 0.95, 0.8, 0.7)  # half lengths of a row's arrowhead in mm, as fits
ARROW_CLEAR = 0.3  # mm from it to the middle of the outline of the signs at its ends


def row_arrow(web: Web, row: RowSewn) -> Iterator[Shape]:
    """An arrowhead in the middle of the first bar of a row, clear of the signs at its ends."""
    step = 1 if row.going == "right" else -1
    column = row.begin if step == 1 else row.begin - 1
    bar = Bar(row.row, column)
    if not web.window.holds_bar(bar):
        return
    a, b = web.ends(bar)
    if (a[0] < b[0]) != (step == 1):
        a, b = b, a
    length = hypot(b[0] - a[0], b[1] - a[1])
    way = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    middle = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    signs = _signs_at(web, bar)
    fits = (
        head
        for head in ARROW_HEADS
        if all(_apart(_arrowhead(middle, way, head), sign, ARROW_CLEAR) for sign in signs)
    )
    points = _arrowhead(middle, way, next(fits, ARROW_HEADS[-1]))
    yield Area(points, fill="black", role="row arrow", of=f"row {row.row}")


def _arrowhead(middle: Point, way: Point, head: float) -> tuple[Point, ...]:
    (x, y), (ux, uy), wide = middle, way, head * 0.82
    return (
        (x + ux * head, y + uy * head),
        (x - ux * head - uy * wide, y - uy * head + ux * wide),
        (x - ux * head + uy * wide, y - uy * head - ux * wide),
    )


def _apart(one: tuple[Point, ...], other: tuple[Point, ...], room: float) -> bool:
    """Whether a line parts two convex shapes with `room` mm between them.

    If any line does, one along an edge of either does (separating axis theorem).
    """
    for shape in (one, other):
        for (ax, ay), (bx, by) in zip(shape, (*shape[1:], shape[0])):
            length = hypot(bx - ax, by - ay)
            nx, ny = (by - ay) / length, (ax - bx) / length
            here = [x * nx + y * ny for x, y in one]
            there = [x * nx + y * ny for x, y in other]
            if min(there) - max(here) >= room or min(here) - max(there) >= room:
                return True
    return False


@dataclass(frozen=True, slots=True)
class RowLabel:
    """A row of twine beside a drawing: its number from the top, its way, its middle in mm.

    `side` is the side of the drawing on which it stands.
    """

    twine: str
    number: int
    going: Side
    y: float
    side: Side


def row_labels(plan: Plan, scale: Scale, window: Window) -> list[RowLabel]:
    """The rows of twine that a window shows, with their place beside it; a seam has none.

    A row stands on the side from which it is sewn. Where there are several twines each stands
    beside its own part of the hole: of several in one row of the web the left ones on the left, the
    right ones on the right, and one alone on the side of the half that holds all of it, or all that
    is seen of its twine where the other half has another twine.
    """
    middle = (window.left + window.right) / 2
    shown: dict[int, list[tuple[int, Twine, int, RowSewn]]] = {}
    for twine in plan.sewing.twines:
        for number, row in enumerate(() if twine.closed else twine.rows, 1):
            left, right = sorted((row.begin, row.end))
            seen = window.top <= row.row < window.bottom
            if seen and left < window.right and right > window.left:
                shown.setdefault(row.row, []).append((left, twine, number, row))
    halves = _halves(shown, window)
    labels: list[RowLabel] = []
    for web_row, sharing in sorted(shown.items()):
        sharing.sort(key=lambda one: one[0])
        y = (web_row + 0.5 - window.top) * scale.dy
        for place, (left, twine, number, row) in enumerate(sharing):
            side: Side = "left" if row.going == "right" else "right"
            if len(sharing) > 1:
                side = "left" if place < (len(sharing) + 1) // 2 else "right"
            elif len(plan.sewing.twines) > 1:
                right = max(row.begin, row.end)
                if window.left <= left and right <= middle:
                    side = "left"
                elif middle <= left and right <= window.right:
                    side = "right"
                elif len(set(halves.values())) > 1:
                    side = halves.get(twine.name, side)
            labels.append(RowLabel(twine.name, number, row.going, y, side))
    return labels


def _halves(
    shown: dict[int, list[tuple[int, Twine, int, RowSewn]]], window: Window
) -> dict[str, Side]:
    """In which half of a window a twine is, where all that is seen of it is in one."""
    middle = (window.left + window.right) / 2
    reach: dict[str, tuple[int, int]] = {}
    for left, twine, _, row in (one for sharing in shown.values() for one in sharing):
        right = max(row.begin, row.end)
        own = reach.get(twine.name, (left, right))
        reach[twine.name] = min(own[0], left), max(own[1], right)
    halves: dict[str, Side] = {}
    for name, (left, right) in reach.items():
        if min(right, window.right) <= middle:
            halves[name] = "left"
        elif middle <= max(left, window.left):
            halves[name] = "right"
    return halves


BORDER = 3.0  # mm of white round a picture of its own


def picture_of(plan: Plan, *, found: bool = False, word_list: Words | None = None) -> Picture:
    """Draw a plan as a picture of its own.

    Parameters
    ----------
    plan
        The plan of a mend.
    found
        The hole as found with its cuts, instead of the sewing with its knots.
    word_list
        The words of its description; English where None.

    Returns
    -------
    Picture
        In mm, at the size of a card for the bench.

    Examples
    --------
    >>> from cards import load_text, plan
    >>> spec, = load_text("hole: {shape: {kind: slit across, across: 2}}")
    >>> sum(shape.role == "twine" for shape in picture_of(plan(spec)).shapes)
    4
    """
    largest = len(plan.cuts) if found else plan.sewing.knots
    scale = pen.scale_for(largest, pen.BENCH)
    if found:
        scale = (scale.roomier() if plan.patch else scale).for_cuts(largest)
    window = window_round(plan.trim.trimmed)
    draw = found_shapes if found else sewing_shapes
    said = word_list or words()
    counts = {"cuts": len(plan.cuts), "bars": plan.sewing.bars, "knots": plan.sewing.knots}
    return Picture(
        window.columns * scale.dx + 2 * BORDER,
        window.rows * scale.dy + 2 * BORDER,
        tuple(moved(draw(plan, scale, window), BORDER, BORDER)),
        title=plan.spec.title,
        description=said.say("picture.found" if found else "picture.sewing", **counts),
        language=said.language,
    )
