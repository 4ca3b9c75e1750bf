"""The stitches that a card uses, as blocks of a page: each drawn stage by stage with its words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cards.job import Plan
from cards.picture.pen import FINE
from cards.picture.shapes import Shape, Text, moved
from cards.picture.stitches import BOX, STAGES, TWINE, stage_shapes
from cards.picture.type import CAP_HEIGHT, size_for_height, text_width, wrapped
from cards.picture.web import sign_height, sign_kind, sign_shapes, sign_width
from cards.sew import Hand, Stitch, Tied, needle_side
from cards.sheet.blocks import LEADING, Block, Columns, Gap, Placed
from cards.sheet.pages import Look
from cards.sheet.say import stitch_sentences, stitch_title

LEAST_SIDE = BOX * FINE / TWINE.mark + 0.05  # mm of a stage's side at which every line prints
LARGEST_SIDE = 32.0  # mm; from there on a larger drawing tells no more
GUTTER = 2.0  # mm between two stages side by side
BESIDE = 6.0  # mm between two stitches side by side
UNDER = 1.0  # mm between a drawing and its words
BELOW = 2.5  # mm below the words
LEAST_WORDS = 24.0  # mm of width for the words under a stage


def stitches_used(plan: Plan) -> list[Tied]:
    """The first knot of each stitch and way that a plan sews, in the order of sewing."""
    first: dict[tuple[Stitch, str], Tied] = {}
    for twine in plan.sewing.twines:
        for row in twine.rows:
            begin, end = row.first - twine.first, row.last - twine.first + 1
            own = twine.stitches[begin:end]
            for stitch in set(own):
                if (stitch, row.going) not in first:
                    first[stitch, row.going] = twine.knots[begin + own.index(stitch)]
    return sorted(first.values())


def stitch_blocks(plan: Plan, look: Look, width: float, height: float) -> list[Block]:
    """Draw the stitches that a plan uses.

    Parameters
    ----------
    plan
        The plan of a mend.
    look
        Paper, sizes and words.
    width, height
        The room of a page in mm.

    Returns
    -------
    list of Block
        A stitch each, or several side by side on a wide paper. One that is no higher than the room
        stays on one page; of a higher one, a line of stages with its words does.
    """
    across = max(1, int((width + BESIDE) / (_strip(STAGES) + BESIDE)))
    own = (width - BESIDE * (across - 1)) / across
    stages = STAGES if own >= _strip(STAGES) else STAGES // 2
    shown = [_Shown(look, plan.hand, knot, stages) for knot in stitches_used(plan)]
    blocks: list[Block] = []
    for place in range(0, len(shown), across):
        beside = shown[place : place + across]
        if across == 1:
            block: Block = replace(beside[0], whole=beside[0].height(own) <= height)
        else:
            empty: list[tuple[Block, ...]] = [(Gap(0.0),)] * (across - len(beside))
            block = Columns((*((stitch,) for stitch in beside), *empty), BESIDE)
        blocks += [block, Gap(1.5)]
    return blocks[:-1]


def _strip(stages: int) -> float:
    """The least width of a line of stages."""
    return stages * max(LEAST_SIDE, LEAST_WORDS) + (stages - 1) * GUTTER


@dataclass(frozen=True)
class _Shown:
    """A stitch: its sign and name, then lines of stages, each stage over its words.

    `across` stages stand in a line; `first` is the first stage still to be drawn.
    """

    look: Look
    hand: Hand
    knot: Tied
    across: int
    first: int = 1
    whole: bool = False
    keep: float = 0.0

    def height(self, width: float) -> float:
        """How high it is in mm."""
        return self.place(width, 1e6).height

    def place(self, width: float, height: float) -> Placed:
        """Whole lines of stages as many as fit, the name above the first of them."""
        shapes, y = self._name(width)
        for first in range(self.first, STAGES + 1, self.across):
            line, high = self._stages(range(first, first + self.across), width)
            if y + high > height + 1e-6:
                if self.whole or first == self.first:
                    return Placed([], 0, self)
                return Placed(shapes, y, replace(self, first=first))
            shapes += moved(line, 0, y)
            y += high
        return Placed(shapes, y)

    def _name(self, width: float) -> tuple[list[Shape], float]:
        """The sign of the stitch, as it stands in the drawing of the sewing, and its name."""
        sizes, words, knot = self.look.sizes, self.look.words, self.knot
        text, kind = str(knot.n), sign_kind(knot)
        high = sign_height(sizes.digits)
        left, right = sign_width(kind, len(text), sizes.digits)
        shapes = list(sign_shapes(kind, text, (left, high / 2), sizes.digits))
        after = left + right + 2.5
        title = stitch_title(knot.stitch, knot.going, words)
        entry = words.say(f"stitches.{needle_side(knot.going, self.hand).replace(' ', '_')}")
        base = high / 2 + sizes.heading * CAP_HEIGHT / 2
        shapes.append(Text(after, base, title, sizes.heading, True, role="heading"))
        wide = after + text_width(title, sizes.heading, True)
        if wide + 4 + text_width(entry, sizes.plain) <= width:
            shapes.append(Text(width, base, entry, sizes.plain, anchor="end", role="needle side"))
            return shapes, high + UNDER
        base += sizes.plain * LEADING
        shapes.append(Text(after, base, entry, sizes.plain, role="needle side"))
        return shapes, max(high, base + sizes.plain * 0.3) + UNDER

    def _stages(self, stages: range, width: float) -> tuple[list[Shape], float]:
        """Stages side by side, each with its number and its words below."""
        knot, size = self.knot, self.look.sizes.plain
        column = (width - GUTTER * (self.across - 1)) / self.across
        side = min(column, LARGEST_SIDE)
        sentences = stitch_sentences(knot.stitch, knot.going, self.hand, self.look.words)
        shapes: list[Shape] = []
        deepest = 0
        for place, stage in enumerate(stages):
            x = place * (column + GUTTER)
            inset = (column - side) / 2
            drawing = stage_shapes(knot.stitch, knot.going, self.hand, stage, side)
            shapes += moved(drawing, x + inset, 0)
            step = _step(stage, sentences[stage - 1], size, column, f"{knot.n} stage {stage}")
            shapes += moved(step.shapes, x, side + UNDER)
            deepest = max(deepest, step.lines)
        return shapes, side + UNDER + deepest * LEADING * size + BELOW


@dataclass(frozen=True)
class _Step:
    shapes: Sequence[Shape]
    lines: int


def _step(stage: int, sentence: str, size: float, width: float, of: str) -> _Step:
    """The words of a stage, its number before the first of them."""
    number = size_for_height(2.3)
    indent = text_width(f"{stage}", number, True) + 1.4
    lines = wrapped(sentence, size, width - indent)
    base = size * (CAP_HEIGHT + LEADING) / 2
    shapes: list[Shape] = [Text(0, base, str(stage), number, True, role="step", of=of)]
    for n, line in enumerate(lines):
        shapes.append(Text(indent, base + n * LEADING * size, line, size, role="step", of=of))
    return _Step(shapes, len(lines))
