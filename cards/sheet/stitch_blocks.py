"""The stitches that a card uses, as blocks of a page: each drawn stage by stage with its words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from cards.job import Plan
from cards.picture.pen import FINE
from cards.picture.shapes import Shape, Text, moved
from cards.picture.stitches import BOX, STAGES, TWINE, stage_shapes
from cards.picture.type import CAP_HEIGHT, size_for_height, text_width, wrapped
from cards.picture.web import sign_height, sign_kind, sign_shapes, sign_width
from cards.sew import Hand, Tied, Tying
from cards.sheet.blocks import LEADING, Block, Columns, Gap, Placed
from cards.sheet.pages import Look
from cards.sheet.say import needle_entry, stitch_sentences, stitch_title
from cards.trim import Side

LEAST_SIDE = BOX * FINE / TWINE.mark + 0.05  # mm of a stage's side at which every line prints
LARGEST_SIDE = 32.0  # mm; from there on a larger drawing tells no more
GUTTER = 3.0  # mm between two stages side by side
BESIDE = 6.0  # mm between two stitches side by side
RIM = 0.8  # mm by which the ink of a stage may reach beyond its square, both sides together
UNDER = 1.0  # mm between a drawing and its words
BELOW = 2.5  # mm below the words
BETWEEN = 1.5  # mm between two stitches
SIDES = 10  # sizes of a stage that are tried
WIDER = 1.0  # mm by which a column grows to make its words lower


def stitches_used(plan: Plan) -> list[tuple[Tied, Tying]]:
    """The first knot of each stitch and way that a plan sews, in the order of sewing."""
    first: dict[tuple[Tying, Side], Tied] = {}
    for twine in plan.sewing.twines:
        for row in twine.rows:
            begin, end = row.first - twine.first, row.last - twine.first + 1
            own = twine.stitches[begin:end]
            for stitch in set(own):
                knot = twine.knots[begin + own.index(stitch)]
                first.setdefault((twine.tying(knot), row.going), knot)
    return sorted((knot, tying) for (tying, _), knot in first.items())


def stitch_blocks(
    plan: Plan,
    look: Look,
    width: float,
    height: float,
    head: float = 0.0,
    used: float = 0.0,
    on: Mapping[int, int] | None = None,
) -> list[Block]:
    """Draw the stitches that a plan uses.

    Parameters
    ----------
    plan
        The plan of a mend.
    look
        Paper, sizes and words.
    width, height
        The room of a page in mm.
    head
        How high what stands above the first stitch is in mm; it goes where that goes.
    used
        How much of the height of the first page is taken already, in mm.
    on
        The page of the drawing on which the first knot of each stitch is, where it has several.

    Returns
    -------
    list of Block
        A stitch each, or several side by side on a wide paper. One that is no higher than the room
        stays on one page; of a higher one, a line of stages with its words does.
    """
    across = max(1, int((width + BESIDE) / (_strip(STAGES) + BESIDE)))
    own = (width - BESIDE * (across - 1)) / across
    pages = on or {}
    for stages in (STAGES, STAGES // 2, 1):
        shown = [
            Shown(
                look,
                plan.hand,
                tying,
                knot.going,
                stages,
                LEAST_SIDE,
                knot.n,
                pages.get(knot.n),
                on_start=plan.patch is not None and knot.n == plan.sewing.knots,
            )
            for knot, tying in stitches_used(plan)
        ]
        if own >= _strip(stages) and all(stitch.tallest(own) <= height for stitch in shown):
            break
    side = largest_side(shown, across, own, height, head, used)
    shown = [replace(stitch, side=side) for stitch in shown]
    blocks: list[Block] = []
    for place in range(0, len(shown), across):
        beside = shown[place : place + across]
        if across == 1:
            block: Block = replace(beside[0], whole=beside[0].height(own) <= height)
        else:
            empty: list[tuple[Block, ...]] = [(Gap(0.0),)] * (across - len(beside))
            block = Columns((*((stitch,) for stitch in beside), *empty), BESIDE)
        blocks += [block, Gap(BETWEEN)]
    return blocks[:-1]


def _strip(stages: int) -> float:
    """The least width of a line of stages."""
    return stages * (LEAST_SIDE + RIM) + (stages - 1) * GUTTER


def largest_side(
    shown: list[Shown],
    across: int,
    width: float,
    height: float,
    head: float = 0.0,
    used: float = 0.0,
) -> float:
    """The largest side of a stage at which the stitches take no more pages than at the least."""
    stages = shown[0].across
    most = min(LARGEST_SIDE, (width - (stages - 1) * GUTTER) / stages - RIM)
    sides = [most - (most - LEAST_SIDE) * step / SIDES for step in range(SIDES + 1)]

    def pages(side: float) -> int:
        own = [replace(stitch, side=side).height(width) for stitch in shown]
        count, y = 1, used + head
        for place in range(0, len(own), across):
            deep = max(own[place : place + across])
            if y > (0.0 if place else head) and y + deep - BELOW > height:
                count, y = count + 1, 0.0 if place else head
            count += y + deep - BELOW > height  # parted, or the heading stays behind
            y += deep + BETWEEN
        return count

    def fit(side: float) -> bool:
        return all(replace(stitch, side=side).tallest(width) <= height for stitch in shown)

    fewest = pages(sides[-1])
    return next((side for side in sides if pages(side) == fewest and fit(side)), sides[-1])


@dataclass(frozen=True)
class Shown:
    """A stitch: its sign and name, then lines of stages, each stage over its words.

    `across` stages, each a square of `side` mm, stand in a line; `first` is the first one still to
    be drawn. The sign has the number `n` of a knot in it, which is on some `page` of the drawing;
    without it there is no sign and no name. One tied on the start has the start's sign.
    """

    look: Look
    hand: Hand
    stitch: Tying
    going: Side
    across: int
    side: float
    n: int = 0
    page: int | None = None
    on_start: bool = False
    first: int = 1
    whole: bool = False
    keep: float = 0.0

    def height(self, width: float) -> float:
        """How high it is in mm."""
        high = self._name(width)[1]
        for first in range(self.first, STAGES + 1, self.across):
            words = self._words(range(first, first + self.across), width)
            high += self._line_height(words)
        return high

    def tallest(self, width: float) -> float:
        """How high its highest line of stages is in mm, the name above it."""
        lines = range(self.first, STAGES + 1, self.across)
        words = [self._words(range(first, first + self.across), width) for first in lines]
        return self._name(width)[1] + max(map(self._line_height, words))

    def place(self, width: float, height: float) -> Placed:
        """Whole lines of stages as many as fit, the name above the first of them."""
        shapes, y = self._name(width)
        for first in range(self.first, STAGES + 1, self.across):
            words = self._words(range(first, first + self.across), width)
            high = self._line_height(words)
            if y + high - BELOW > height + 1e-6:
                if self.whole or first == self.first:
                    return Placed([], 0, self)
                return Placed(shapes, min(y, height), replace(self, first=first))
            shapes += self._stages(range(first, first + self.across), words, y)
            y += high
        return Placed(shapes, min(y, height))  # nothing has to follow the last words

    def _name(self, width: float) -> tuple[list[Shape], float]:
        """The sign of the stitch, as it stands in the drawing of the sewing, and its name."""
        if not self.n:
            return [], 0.0
        sizes, words = self.look.sizes, self.look.words
        text, kind = str(self.n), sign_kind(self.stitch, self.going)
        if self.on_start:
            kind = "start"  # it is tied on the first, and has its number beside that
        high = sign_height(sizes.digits)
        left, right = sign_width(kind, len(text), sizes.digits)
        shapes = list(sign_shapes(kind, text, (left, high / 2), sizes.digits))
        after = left + right + 2.5
        title = stitch_title(self.stitch, self.going, words)
        entry = needle_entry(self.going, self.hand, words)
        if self.page:
            entry = f"{entry} · {words.say('stitches.on_page', page=self.page)}"
        base = high / 2 + sizes.heading * CAP_HEIGHT / 2
        first, *others = wrapped(title, sizes.heading, width - after, True)
        shapes.append(Text(after, base, first, sizes.heading, True, role="heading", of=title))
        for line in others:
            base += sizes.heading * LEADING
            shapes.append(Text(after, base, line, sizes.heading, True, role="heading", of=title))
        wide = after + text_width(title, sizes.heading, True)
        if wide + 4 + text_width(entry, sizes.plain) <= width:
            shapes.append(Text(width, base, entry, sizes.plain, anchor="end", role="needle side"))
            return shapes, high + UNDER
        base += sizes.plain * LEADING
        shapes.append(Text(after, base, entry, sizes.plain, role="needle side"))
        return shapes, max(high, base + sizes.plain * 0.3) + UNDER

    def _words(self, stages: range, width: float) -> _Words:
        return _set(
            tuple(stages),
            tuple(stitch_sentences(self.stitch, self.going, self.hand, self.look.words)),
            self.look.sizes.plain,
            width,
            self.side,
        )

    def _line_height(self, words: _Words) -> float:
        deepest = max(map(len, words.lines))
        return self.side + UNDER + deepest * LEADING * self.look.sizes.plain + BELOW

    def _stages(self, stages: range, words: _Words, y: float) -> Iterator[Shape]:
        """Stages side by side, each with its number and its words below."""
        size, side = self.look.sizes.plain, self.side
        x = 0.0
        for stage, column, lines in zip(stages, words.columns, words.lines):
            drawing = stage_shapes(self.stitch, self.going, self.hand, stage, side)
            yield from moved(drawing, x + (column - side) / 2, y)
            base = y + side + UNDER + size * (CAP_HEIGHT + LEADING) / 2
            of = f"stage {stage}"
            yield Text(x, base, str(stage), NUMBER, True, role="step", of=of)
            for n, line in enumerate(lines):
                at = base + n * LEADING * size
                yield Text(x + _indent(stage), at, line, size, role="step", of=of)
            x += column + GUTTER


NUMBER = size_for_height(2.3)  # size of the number before the words of a stage


def _indent(stage: int) -> float:
    """Where the words of a stage begin, after its number, in mm."""
    return text_width(str(stage), NUMBER, True) + 1.4


@dataclass(frozen=True, slots=True)
class _Words:
    """The words of a line of stages, in lines, and how wide the column of each is in mm."""

    columns: tuple[float, ...]
    lines: tuple[tuple[str, ...], ...]


@lru_cache(maxsize=512)
def _set(
    stages: tuple[int, ...], sentences: tuple[str, ...], size: float, width: float, side: float
) -> _Words:
    """Share a width out so that the words of all stages are about as high.

    The stage with the most lines gets a wider column, as long as there is room.
    """
    free = width - GUTTER * (len(stages) - 1)
    columns = [side + RIM] * len(stages)

    def lines(place: int, column: float) -> tuple[str, ...]:
        stage = stages[place]
        return wrapped(sentences[stage - 1], size, column - _indent(stage))

    own = [lines(place, side + RIM) for place in range(len(stages))]
    while sum(columns) + WIDER <= free:
        deepest = max(range(len(stages)), key=lambda place: len(own[place]))
        columns[deepest] += WIDER
        own[deepest] = lines(deepest, columns[deepest])
    spare = (free - sum(columns)) / len(stages)
    columns = [column + spare for column in columns]
    return _Words(tuple(columns), tuple(map(lines, range(len(stages)), columns)))
