"""What stands on every page in the same place: title block, eyelet, safety, check line, gauge."""

from __future__ import annotations

from collections.abc import Sequence
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
TICK = 1.5  # half length of a tick in mm
TICK_BRIEF = 1.0  # where there is little room
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


@dataclass(frozen=True)
class Imprint:
    """What a card says of itself on every page.

    Attributes
    ----------
    title, number
        Its title and its card number.
    hand
        The hand it is for, in words.
    dated
        Date, revision and author, as far as they are given.
    about
        Parts of the line under the title: panel, mesh, twine.
    bar
        The length of a bar in mm; None where it is not known.
    inches
        Whether lengths are told in inches.
    measures
        Whether the card is for one net, whose bar it measures.
    lean
        Whether what it shows leaves little room for anything else.
    kind
        What each of its pages says that it is of, where there is room.
    """

    title: str
    number: str
    hand: str
    dated: tuple[str, ...] = ()
    about: tuple[str, ...] = ()
    bar: float | None = None
    inches: bool = False
    measures: bool = True
    lean: bool = False
    kind: str = ""


def imprint(plan: Plan, words: Words) -> Imprint:
    """What the card of a plan says of itself."""
    spec, net = plan.spec, plan.spec.net
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
    dated = (
        spec.date and f"{words.say('label.date')} {spec.date}",
        spec.revision and f"{words.say('label.revision')} {spec.revision}",
        spec.author and f"{words.say('label.author')} {drawable(spec.author)}",
    )
    return Imprint(
        title=drawable(spec.title),
        number=plan.number,
        hand=words.say(f"label.{plan.hand}_hand"),
        dated=tuple(text for text in dated if text),
        about=(
            f"{words.say('label.panel')}: {drawable(net.panel) if net.panel else absent}",
            f"{words.say('label.mesh')}: {words.figure(str(net.mesh)) if net.mesh else absent}",
            f"{words.say('label.twine')}: {twine or absent}",
        ),
        bar=plan.reckoning.bar,
        inches=net.inches,
    )


def frame(own: Imprint, paper: Paper, sizes: Sizes, words: Words, page: int, pages: int) -> Frame:
    """Draw the frame of page `page` of `pages`.

    An upright paper has the title block above the room and the foot below it; one that lies has
    both beside it, in a column as narrow as their texts allow.
    """
    shapes: list[Shape] = []
    brief = own.lean or (paper.brief and page > 1)
    setting = _Setting(own, paper, sizes, words, brief)
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

    own: Imprint
    paper: Paper
    sizes: Sizes
    words: Words
    brief: bool

    @property
    def tick(self) -> float:
        """Half length of a tick in mm."""
        return TICK_BRIEF if self.brief else TICK


def _head(shapes: list[Shape], setting: _Setting, page: int, pages: int) -> float:
    """Draw the eyelet, and at its sides number and hand, page and date; return where they end."""
    own, paper, words = setting.own, setting.paper, setting.words
    left, right = MARGIN, paper.width - MARGIN
    middle = paper.width / 2
    centre = MARGIN + EYELET + pen.RULE
    shapes.append(Disc(middle, centre, EYELET, pen.RULE, role="eyelet"))
    side = middle - EYELET_CLEAR - left
    print_, looked_up = setting.sizes.label, setting.sizes.small
    most = 1 if setting.brief else 2  # lines
    number = f"{words.say('label.card')} {own.number}"
    hand = f"{own.hand} · {own.kind}" if own.kind else own.hand
    if text_width(hand, looked_up) > side:
        hand = own.hand
    lowest = centre + EYELET_CLEAR
    for x, anchor, texts in (
        (left, "start", ((number, print_, True), (hand, looked_up, False))),
        (
            right,
            "end",
            (
                (words.say("label.page", page=page, pages=pages), looked_up, True),
                (" · ".join(own.dated), print_, False),
            ),
        ),
    ):
        base = MARGIN + 0.4
        for text, size, bold in texts:
            lines = wrapped(text, size, side, bold) if bold else clipped(text, size, side, most)
            for line in lines if text else ():
                base += size * (CAP_HEIGHT if base == MARGIN + 0.4 else LEADING)
                role = "label" if size == print_ else "looked up"
                shapes += _lines([line], x, base, size, bold, anchor, role)
        lowest = max(lowest, base + print_ * 0.25)
    return lowest + 0.6


def _title_block(
    shapes: list[Shape], setting: _Setting, left: float, right: float, y: float
) -> float:
    """Draw title, net and the way the net hangs; return where they end."""
    sizes, own = setting.sizes, setting.own
    width = right - left
    title = sizes.heading if own.lean else sizes.plain if setting.brief else sizes.title
    lines = clipped(own.title, title, width, 1 if setting.brief else 2, True)
    for line in lines:
        y += title * 1.1
        shapes.append(Text(left, y, line, title, True, "start", "title"))
    label = sizes.label
    about = _net(setting, width)
    if own.lean and fits_beside(lines[-1], title, about, label, width):
        shapes.append(Text(right, y, about[0], label, False, "end", "net"))
        about = ()
    y += title * 0.2
    for line in about:
        y += label * LEADING
        shapes.append(Text(left, y, line, label, False, "start", "net"))
    y += label * 0.5
    shapes.append(Line(((left, y), (right, y)), pen.RULE, "rule"))
    return _orientation(shapes, setting, left, right, y)


def fits_beside(title: str, size: float, about: Sequence[str], label: float, width: float) -> bool:
    """Whether all that is told about a card fits on the line of its title."""
    both = text_width(title, size, True) + 3.0
    return len(about) == 1 and both + text_width(about[0], label) <= width


NET_LINES = 3  # most lines for panel, mesh and twine


def _net(setting: _Setting, width: float) -> Sequence[str]:
    """Panel, mesh and twine; the longest of them is cut short where they take too much room."""
    size, parts = setting.sizes.label, list(setting.own.about)
    joined = wrapped(" · ".join(parts), size, width)
    if len(joined) > 1 and not setting.paper.brief:
        single = tuple(line for part in parts for line in wrapped(part, size, width))
        if len(single) <= (NET_LINES if setting.paper.lies else len(joined)):
            return single
    most = NET_LINES - 1 if setting.brief else NET_LINES
    while len(joined) > most:
        longest = max(parts, key=len)
        parts[parts.index(longest)] = longest.rstrip("…")[:-2].rstrip(" ,") + "…"
        joined = wrapped(" · ".join(parts), size, width)
    return joined


def _orientation(
    shapes: list[Shape], setting: _Setting, left: float, right: float, y: float
) -> float:
    """An arrow to the top of the net, and the way the rows run; return the room's top."""
    words, sizes = setting.words, setting.sizes
    size = sizes.label if setting.own.lean else sizes.plain
    base = y + size * (LEADING - 0.1)
    high = size * CAP_HEIGHT
    arrow = ((left, base), (left + high * 1.1, base), (left + high * 0.55, base - high))
    shapes.append(Area(arrow, fill="black", role="top arrow"))
    x = left + high * 1.6
    top = words.say("label.top")
    shapes += _lines([top], x, base, size, True, "start", "orientation")
    after = x + text_width(top, size, True) + size
    sideways = words.say("label.sideways")
    role = "orientation"
    if setting.brief and after + text_width(sideways, size) > right:
        size, role = sizes.label, "label"  # small print, rather than a line more
    lines: Sequence[str] = (sideways,)
    if after + text_width(sideways, size) > right:
        base += size * LEADING
        after = x
        lines = wrapped(sideways, size, right - x)
    shapes += _lines(lines, after, base, size, False, "start", role)
    return base + (len(lines) - 1) * size * LEADING + size * 0.7


def _foot(
    shapes: list[Shape], setting: _Setting, left: float, right: float, y: float, bottom: float
) -> float:
    """Draw the gauge, the check line and the safety strip; return where the room ends."""
    sizes, words = setting.sizes, setting.words
    if setting.own.measures:
        y = _gauge(shapes, setting, left, right, y - setting.tick)
    y = _check_line(shapes, setting, left, right, y - setting.tick)
    bold = not setting.own.lean
    size = sizes.plain if bold else sizes.label
    strip = wrapped(words.say("safety.strip"), size, right - left, bold)
    depth = len(strip) * size * LEADING
    base = y - depth + size * (CAP_HEIGHT + LEADING) / 2 - 0.4
    shapes += _lines(strip, left, base, size, bold, "start", "safety" if bold else "label")
    y -= depth + 0.8
    shapes.append(Line(((left, y), (right, y)), pen.RULE, "rule"))
    return y - 1.0


def _check_line(
    shapes: list[Shape], setting: _Setting, left: float, right: float, y: float
) -> float:
    """A line of 50 mm, what it is for beside or above it; return where it ends."""
    label, tick, words = setting.sizes.label, setting.tick, setting.words
    said = words.say("label.check_line_brief" if setting.brief else "label.check_line")
    room = right - left - CHECK_LINE - 3
    if room >= LEAST_BESIDE:
        lines = wrapped(said, label, room)
        if len(lines) > 1 and not setting.paper.brief:
            lines = wrapped(words.say("label.check_line_brief"), label, room)
        tall = max(2 * tick, len(lines) * label * LEADING)
        middle = y + tick - tall / 2
        base = middle + label * CAP_HEIGHT / 2 - (len(lines) - 1) * label * LEADING / 2
        shapes += _lines(lines, left + CHECK_LINE + 3, base, label, False, "start")
        shapes += _measure(left, middle, CHECK_LINE, "check line", tick)
        return y + tick - tall - (0.6 if setting.brief else 1.0)
    shapes += _measure(left, y, CHECK_LINE, "check line", tick)
    lines = wrapped(said, label, right - left)
    base = y - tick - 0.9 - label * 0.2 - (len(lines) - 1) * label * LEADING
    shapes += _lines(lines, left, base, label, False, "start")
    return base - label * CAP_HEIGHT - 1.2


def _room_end(setting: _Setting, column: float, bottom: float) -> float:
    """Where the room beside a column ends: above a gauge that is longer than the column."""
    bar = setting.own.bar if setting.own.measures else None
    most = setting.paper.width - 2 * MARGIN
    if bar is None or not column < bar <= most - pen.RULE:
        return bottom
    return bottom - 2 * setting.tick - 1.0


def _gauge(shapes: list[Shape], setting: _Setting, left: float, right: float, y: float) -> float:
    """The length of a bar along the lower edge, its name beside or above; return where it ends."""
    words, sizes, tick = setting.words, setting.sizes, setting.tick
    label = sizes.label if setting.paper.brief else sizes.small
    bar = setting.own.bar
    most = setting.paper.width - 2 * MARGIN
    base = y + tick - label * 0.25
    if bar is None:
        text = words.say("label.gauge_unknown")
    else:
        fits = bar <= most - pen.RULE
        longer = "label.gauge_too_long_brief" if setting.brief else "label.gauge_too_long"
        length = words.figure(millimetres(bar, setting.own.inches))
        text = words.say("label.gauge" if fits else longer, length=length)
        if fits:
            shapes += _measure(left, y, bar, "gauge", tick)
            base = y - tick - 0.9 - label * 0.2
            told = words.say("label.gauge_told", length=length)
            if bar + 3 + text_width(told, label, True) <= right - left:
                text = told
            if bar + 3 + text_width(text, label, True) <= right - left:
                beside = y + label * CAP_HEIGHT / 2
                shapes += _lines([text], left + bar + 3, beside, label, True, "start", "gauge")
                return y - max(tick, label * CAP_HEIGHT / 2) - (0.8 if setting.brief else 1.6)
    lines = wrapped(text, label, right - left, True)
    base -= (len(lines) - 1) * label * LEADING
    shapes += _lines(lines, left, base, label, True, "start", "gauge")
    return base - label * CAP_HEIGHT - (0.8 if setting.brief else 1.6)


def _measure(x: float, y: float, length: float, role: str, tick: float) -> list[Shape]:
    """A line of a true length between two ticks, the first of them wholly right of `x`."""
    x += pen.RULE / 2
    return [
        Line(((x, y), (x + length, y)), pen.RULE, role),
        Line(((x, y - tick), (x, y + tick)), pen.RULE, f"{role} tick"),
        Line(((x + length, y - tick), (x + length, y + tick)), pen.RULE, f"{role} tick"),
    ]


def _lines(
    lines: Sequence[str],
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
