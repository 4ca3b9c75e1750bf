"""What stands on every page in the same place: title block, eyelet, safety, check line, gauge."""

from __future__ import annotations

from dataclasses import dataclass

from cards.job import Plan
from cards.picture import pen
from cards.picture.shapes import Area, Disc, Line, Shape, Text
from cards.picture.type import CAP_HEIGHT, clipped, drawable, text_width, wrapped
from cards.sheet.blocks import LEADING
from cards.sheet.paper import EYELET, EYELET_CLEAR, MARGIN, Paper, Sizes
from cards.units import millimetres
from cards.words import Words

CHECK_LINE = 50.0  # mm
TICK = 1.5
SIDE_SHARE = 0.22  # of a paper that lies, for the column beside the room
BESIDE = 5.0  # mm between that column and the room
LEAST_BESIDE = 25.0  # mm to set the words of the check line beside it, not above


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
    """Draw the frame of page `page` of `pages`.

    An upright paper has the title block above the room and the foot below it; one that lies has
    both beside it, in a column as narrow as their texts allow.
    """
    shapes: list[Shape] = []
    brief = paper.brief and page > 1
    setting = _Setting(plan, paper, sizes, words, brief)
    top = _head(shapes, setting, page, pages)
    left, right = MARGIN, paper.width - MARGIN
    bottom = paper.height - MARGIN
    if not paper.lies:
        bottom = _foot(shapes, setting, left, right, bottom, bottom)
        top = _title_block(shapes, setting, left, right, top)
        return Frame(shapes, Room(left, top, right - left, bottom - top))
    # A gauge wider than the column lies below column and room, along the edge.
    column = max(CHECK_LINE, SIDE_SHARE * paper.width)
    while True:
        side: list[Shape] = []
        edge = _foot(side, setting, left, left + column, bottom, bottom)
        end = _title_block(side, setting, left, left + column, top)
        lowest = _room_end(setting, column, bottom)
        if end <= edge or column > (right - left) * 0.6:
            break
        column += 3.0
    rule_x = left + column + BESIDE / 2
    side.append(Line(((rule_x, top), (rule_x, lowest)), pen.RULE, "rule"))
    first = left + column + BESIDE
    return Frame([*shapes, *side], Room(first, top, right - first, lowest - top))


@dataclass(frozen=True)
class _Setting:
    """What a frame is set from."""

    plan: Plan
    paper: Paper
    sizes: Sizes
    words: Words
    brief: bool


def _head(shapes: list[Shape], setting: _Setting, page: int, pages: int) -> float:
    """Draw the eyelet, and at its sides number and hand, page and date; return where they end."""
    plan, paper, words = setting.plan, setting.paper, setting.words
    left, right = MARGIN, paper.width - MARGIN
    middle = paper.width / 2
    centre = MARGIN + EYELET + pen.RULE
    shapes.append(Disc(middle, centre, EYELET, pen.RULE, role="eyelet"))
    side = middle - EYELET_CLEAR - left
    size = setting.sizes.label
    spec = plan.spec
    dated = [
        text
        for text in (
            spec.date and f"{words.say('label.date')} {spec.date}",
            spec.revision and f"{words.say('label.revision')} {spec.revision}",
            spec.author and f"{words.say('label.author')} {drawable(spec.author)}",
        )
        if text
    ]
    number = f"{words.say('label.card')} {plan.number}"
    lowest = centre + EYELET_CLEAR
    for x, anchor, name, more in (
        (left, "start", number, words.say(f"label.{plan.hand}_hand")),
        (right, "end", words.say("label.page", page=page, pages=pages), " · ".join(dated)),
    ):
        lines = wrapped(name, size, side, True)
        base = MARGIN + size * CAP_HEIGHT + 0.4
        shapes += _lines(lines, x, base, size, True, anchor)
        base += len(lines) * size * LEADING
        if more:
            rest = clipped(more, size, side, 2)
            shapes += _lines(rest, x, base, size, False, anchor)
            base += len(rest) * size * LEADING
        lowest = max(lowest, base - size * (LEADING - 0.25))
    return lowest + 0.6


def _title_block(
    shapes: list[Shape], setting: _Setting, left: float, right: float, y: float
) -> float:
    """Draw title, net and the way the net hangs; return where they end."""
    sizes, words = setting.sizes, setting.words
    width = right - left
    title = sizes.plain if setting.brief else sizes.title
    text = drawable(setting.plan.spec.title)
    for line in clipped(text, title, width, 1 if setting.brief else 2, True):
        y += title * 1.1
        shapes.append(Text(left, y, line, title, True, "start", "title"))
    y += title * 0.2
    label = sizes.label
    for line in _net(setting, width):
        y += label * LEADING
        shapes.append(Text(left, y, line, label, False, "start", "net"))
    y += label * 0.5
    shapes.append(Line(((left, y), (right, y)), pen.RULE, "rule"))
    return _orientation(shapes, sizes, words, left, right, y)


NET_LINES = 3  # most lines for panel, mesh and twine


def _net(setting: _Setting, width: float) -> list[str]:
    """Panel, mesh and twine; the longest of them is cut short where they take too much room."""
    words, size = setting.words, setting.sizes.label
    net = setting.plan.spec.net
    absent = words.say("label.not_given")
    twine = ", ".join(
        text
        for text in (
            net.twine.material and drawable(net.twine.material),
            net.twine.diameter and words.figure(str(net.twine.diameter)),
            net.twine.rtex and words.figure(f"R{net.twine.rtex:g} tex"),
            net.twine.double and words.say("materials.double"),
        )
        if text
    )
    parts = [
        f"{words.say('label.panel')}: {drawable(net.panel) if net.panel else absent}",
        f"{words.say('label.mesh')}: {words.figure(str(net.mesh)) if net.mesh else absent}",
        f"{words.say('label.twine')}: {twine or absent}",
    ]
    joined = wrapped(" · ".join(parts), size, width)
    if len(joined) > 1 and not setting.paper.brief:
        single = [line for part in parts for line in wrapped(part, size, width)]
        if len(single) <= NET_LINES:
            return single
    while len(joined) > NET_LINES:
        longest = max(parts, key=len)
        parts[parts.index(longest)] = longest.rstrip("…")[:-2].rstrip(" ,") + "…"
        joined = wrapped(" · ".join(parts), size, width)
    return joined


def _orientation(
    shapes: list[Shape], sizes: Sizes, words: Words, left: float, right: float, y: float
) -> float:
    """An arrow to the top of the net, and the way the rows run; return the room's top."""
    size = sizes.plain
    base = y + size * (LEADING - 0.1)
    high = size * CAP_HEIGHT
    arrow = ((left, base), (left + high * 1.1, base), (left + high * 0.55, base - high))
    shapes.append(Area(arrow, fill="black", role="top arrow"))
    x = left + high * 1.6
    top = words.say("label.top")
    shapes += _lines([top], x, base, size, True, "start", "orientation")
    after = x + text_width(top, size, True) + size
    sideways = words.say("label.sideways")
    lines = [sideways]
    if after + text_width(sideways, size) > right:
        base += size * LEADING
        after = x
        lines = wrapped(sideways, size, right - x)
    shapes += _lines(lines, after, base, size, False, "start", "orientation")
    return base + (len(lines) - 1) * size * LEADING + size * 0.7


def _foot(
    shapes: list[Shape], setting: _Setting, left: float, right: float, y: float, bottom: float
) -> float:
    """Draw the gauge, the check line and the safety strip; return where the room ends."""
    sizes, words = setting.sizes, setting.words
    label = sizes.label
    if not setting.brief:
        y = _gauge(shapes, setting, left, right, y - TICK)
        y -= TICK
        room = right - left - CHECK_LINE - 3
        said = words.say("label.check_line")
        if room >= LEAST_BESIDE:
            lines = wrapped(said, label, room)
            tall = max(2 * TICK, len(lines) * label * LEADING)
            middle = y + TICK - tall / 2
            base = middle + label * CAP_HEIGHT / 2 - (len(lines) - 1) * label * LEADING / 2
            shapes += _lines(lines, left + CHECK_LINE + 3, base, label, False, "start")
            shapes += _measure(left, middle, CHECK_LINE, "check line")
            y += TICK - tall - 1.0
        else:
            shapes += _measure(left, y, CHECK_LINE, "check line")
            lines = wrapped(said, label, right - left)
            base = y - TICK - 0.9 - label * 0.2 - (len(lines) - 1) * label * LEADING
            shapes += _lines(lines, left, base, label, False, "start")
            y = base - label * CAP_HEIGHT - 1.2
    size = sizes.plain
    strip = wrapped(words.say("safety.strip"), size, right - left, True)
    depth = len(strip) * size * LEADING
    base = y - depth + size * (CAP_HEIGHT + LEADING) / 2 - 0.4
    shapes += _lines(strip, left, base, size, True, "start", "safety")
    y -= depth + 0.8
    shapes.append(Line(((left, y), (right, y)), pen.RULE, "rule"))
    return y - 1.0


def _room_end(setting: _Setting, column: float, bottom: float) -> float:
    """Where the room beside a column ends: above a gauge that is longer than the column."""
    bar = setting.plan.reckoning.bar
    most = setting.paper.width - 2 * MARGIN
    if setting.brief or bar is None or not column < bar <= most:
        return bottom
    return bottom - 2 * TICK - 1.0


def _gauge(shapes: list[Shape], setting: _Setting, left: float, right: float, y: float) -> float:
    """The length of a bar along the lower edge, its name beside or above; return where it ends."""
    plan, words, label = setting.plan, setting.words, setting.sizes.label
    bar = plan.reckoning.bar
    most = setting.paper.width - 2 * MARGIN
    base = y + TICK - label * 0.25
    if bar is None:
        text = words.say("label.gauge_unknown")
    else:
        inches = bool(plan.spec.net.mesh and plan.spec.net.mesh.inches)
        fits = bar <= most
        length = words.figure(millimetres(bar, inches))
        text = words.say("label.gauge" if fits else "label.gauge_too_long", length=length)
        if fits:
            shapes += _measure(left, y, bar, "gauge")
            base = y - TICK - 0.9 - label * 0.2
            if bar + 3 + text_width(text, label, True) <= right - left:
                beside = y + label * CAP_HEIGHT / 2
                shapes += _lines([text], left + bar + 3, beside, label, True, "start", "gauge")
                return y - max(TICK, label * CAP_HEIGHT / 2) - 1.6
    lines = wrapped(text, label, right - left, True)
    base -= (len(lines) - 1) * label * LEADING
    shapes += _lines(lines, left, base, label, True, "start", "gauge")
    return base - label * CAP_HEIGHT - 1.6


def _measure(x: float, y: float, length: float, role: str) -> list[Shape]:
    """A line of a true length between two ticks."""
    return [
        Line(((x, y), (x + length, y)), pen.RULE, role),
        Line(((x, y - TICK), (x, y + TICK)), pen.RULE, f"{role} tick"),
        Line(((x + length, y - TICK), (x + length, y + TICK)), pen.RULE, f"{role} tick"),
    ]


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
