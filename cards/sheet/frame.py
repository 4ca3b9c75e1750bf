"""What stands on every page in the same place: title block, eyelet, safety, check line, gauge."""

from __future__ import annotations

from dataclasses import dataclass

from cards.job import Plan
from cards.picture import pen
from cards.picture.shapes import Area, Disc, Line, Shape, Text
from cards.picture.type import CAP_HEIGHT, drawable, text_width, wrapped
from cards.sheet.blocks import LEADING
from cards.sheet.paper import EYELET, EYELET_CLEAR, MARGIN, Paper, Sizes
from cards.units import millimetres
from cards.words import Words

CHECK_LINE = 50.0  # mm
TICK = 1.5


@dataclass(frozen=True, slots=True)
class Room:
    """A rectangle of a page, in mm from its left upper corner."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Frame:
    """The shapes that stand on a page whatever it is about, and the room they leave."""

    shapes: list[Shape]
    room: Room


def frame(plan: Plan, paper: Paper, sizes: Sizes, words: Words, page: int, pages: int) -> Frame:
    """Draw the frame of page `page` of `pages`."""
    shapes: list[Shape] = []
    top = _title_block(shapes, plan, paper, sizes, words, page, pages)
    bottom = _foot(shapes, plan, paper, sizes, words)
    room = Room(MARGIN, top, paper.width - 2 * MARGIN, bottom - top)
    return Frame(shapes, room)


def _title_block(
    shapes: list[Shape],
    plan: Plan,
    paper: Paper,
    sizes: Sizes,
    words: Words,
    page: int,
    pages: int,
) -> float:
    """Draw the title block; return where the room below it begins."""
    left, right = MARGIN, paper.width - MARGIN
    middle = paper.width / 2
    centre = MARGIN + EYELET + pen.RULE
    shapes.append(Disc(middle, centre, EYELET, pen.RULE, role="eyelet"))
    side = middle - EYELET_CLEAR - left
    small = sizes.small
    base = MARGIN + small * CAP_HEIGHT + 0.4
    number = f"{words.say('label.card')} {plan.number}"
    shapes += _lines(_fitted(number, small, side, True), left, base, small, True, "start")
    count = words.say("label.page", page=page, pages=pages)
    shapes += _lines(_fitted(count, small, side, True), right, base, small, True, "end")
    spec = plan.spec
    dated = [
        text
        for text in (
            spec.date and f"{words.say('label.date')} {spec.date}",
            spec.revision and f"{words.say('label.revision')} {spec.revision}",
            spec.author and f"{words.say('label.author')} {spec.author}",
        )
        if text
    ]
    hand = words.say(f"label.{plan.hand}_hand")
    second = base + small * LEADING
    shapes += _lines(_fitted(hand, small, side), left, second, small, False, "start")
    deepest = max(second, centre + EYELET_CLEAR - small * 0.4)
    if dated:
        lines = _fitted(" · ".join(dated), small, side)
        shapes += _lines(lines, right, second, small, False, "end")
        deepest = max(deepest, second + (len(lines) - 1) * small * LEADING)
    y = deepest + small * 0.35
    for line in _fitted(drawable(spec.title), sizes.title, right - left, True)[:2]:
        y += sizes.title * 1.1
        shapes.append(Text(left, y, line, sizes.title, True, "start", "title"))
    y += sizes.title * 0.2
    for line in wrapped(_net(plan, words), small, right - left):
        y += small * LEADING
        shapes.append(Text(left, y, line, small, False, "start", "net"))
    y += small * 0.5
    shapes.append(Line(((left, y), (right, y)), pen.RULE, "rule"))
    return _orientation(shapes, paper, sizes, words, y)


def _net(plan: Plan, words: Words) -> str:
    net = plan.spec.net
    absent = words.say("label.not_given")
    mesh = str(net.mesh) if net.mesh else absent
    twine = ", ".join(
        text
        for text in (
            net.twine.material,
            net.twine.diameter and str(net.twine.diameter),
            net.twine.rtex and f"R{net.twine.rtex:g} tex",
            net.twine.double and words.say("materials.double"),
        )
        if text
    )
    return " · ".join(
        (
            f"{words.say('label.panel')}: {drawable(net.panel) if net.panel else absent}",
            f"{words.say('label.mesh')}: {mesh}",
            f"{words.say('label.twine')}: {twine or absent}",
        )
    )


def _orientation(shapes: list[Shape], paper: Paper, sizes: Sizes, words: Words, y: float) -> float:
    """An arrow to the top of the net, and the way the rows run; return the room's top."""
    small = sizes.small
    base = y + small * LEADING
    high = small * CAP_HEIGHT
    x = MARGIN
    arrow = ((x, base), (x + high * 1.1, base), (x + high * 0.55, base - high))
    shapes.append(Area(arrow, fill="black", role="top arrow"))
    x += high * 1.6
    top = words.say("label.top")
    shapes.append(Text(x, base, top, small, True, "start", "orientation"))
    after = x + text_width(top, small, True) + small
    sideways = words.say("label.sideways")
    if after + text_width(sideways, small) > paper.width - MARGIN:
        base += small * LEADING
        after = x
    shapes.append(Text(after, base, sideways, small, False, "start", "orientation"))
    return base + small * 0.7


def _foot(shapes: list[Shape], plan: Plan, paper: Paper, sizes: Sizes, words: Words) -> float:
    """Draw the gauge, the check line and the safety strip; return where the room ends."""
    small = sizes.small
    left, right = MARGIN, paper.width - MARGIN
    y = paper.height - MARGIN - TICK
    y = _gauge(shapes, plan, small, words, left, right, y)
    y -= TICK
    shapes += _measure(left, y, CHECK_LINE, "check line")
    room = right - left - CHECK_LINE - 3
    lines = wrapped(words.say("label.check_line"), small, room)
    base = y + small * CAP_HEIGHT / 2 - (len(lines) - 1) * small * LEADING / 2
    shapes += _lines(lines, left + CHECK_LINE + 3, base, small, False, "start")
    y -= max(TICK, len(lines) * small * LEADING / 2) + 1.0
    strip = wrapped(words.say("safety.strip"), small, right - left - 2, True)
    depth = len(strip) * small * LEADING
    base = y - depth + small * (CAP_HEIGHT + LEADING) / 2 - 0.6
    shapes += _lines(strip, left, base, small, True, "start", "safety")
    y -= depth + 1.2
    shapes.append(Line(((left, y), (right, y)), pen.RULE, "rule"))
    return y - 1.0


def _gauge(
    shapes: list[Shape], plan: Plan, small: float, words: Words, left: float, right: float, y: float
) -> float:
    """The length of a bar along the lower edge, its name above; return the height it ends at."""
    bar = plan.reckoning.bar
    base = y
    if bar is None:
        text = words.say("label.gauge_unknown")
    else:
        inches = bool(plan.spec.net.mesh and plan.spec.net.mesh.inches)
        fits = bar <= right - left
        key = "label.gauge" if fits else "label.gauge_too_long"
        text = words.say(key, length=millimetres(bar, inches))
        if fits:
            shapes += _measure(left, y, bar, "gauge")
            base = y - TICK - 0.7
            if bar + 3 + text_width(text, small, True) <= right - left:
                base = y + small * CAP_HEIGHT / 2
                shapes.append(Text(left + bar + 3, base, text, small, True, "start", "gauge"))
                return y - max(TICK, small * CAP_HEIGHT / 2) - 1.6
    lines = wrapped(text, small, right - left, True)
    base -= (len(lines) - 1) * small * LEADING
    shapes += _lines(lines, left, base, small, True, "start", "gauge")
    return base - small * CAP_HEIGHT - 1.6


def _measure(x: float, y: float, length: float, role: str) -> list[Shape]:
    """A line of a true length between two ticks."""
    return [
        Line(((x, y), (x + length, y)), pen.RULE, role),
        Line(((x, y - TICK), (x, y + TICK)), pen.RULE, f"{role} tick"),
        Line(((x + length, y - TICK), (x + length, y + TICK)), pen.RULE, f"{role} tick"),
    ]


def _fitted(text: str, size: float, width: float, bold: bool = False) -> list[str]:
    return wrapped(text, size, width, bold)


def _lines(
    lines: list[str],
    x: float,
    base: float,
    size: float,
    bold: bool,
    anchor: str,
    role: str = "label",
) -> list[Shape]:
    return [
        Text(x, base + number * size * LEADING, line, size, bold, anchor, role)  # type: ignore[arg-type]
        for number, line in enumerate(lines)
    ]
