"""The stitches as drawings: each knot of a mend in four stages, the last one pulled tight.

One knot is drawn here: the sheet bend of a pickup above, sewn to the right by the right hand,
and its double. All others are that knot turned, never mirrored, so that all knots of one hand have
one form:

- going left it is the same knot seen from behind, so the needle enters from in front;
- a sider is the knot lying on its side; where the seam of a patch leads up again its ends cross, as
  those of a pickup below;
- a pickup below is the knot upside down. Turned so, its two ends lie on the far sides; they
  cross once above the point, the end with the needle on the needle's side, where the twine
  leads on.
- a start that begins with a bar up is the start upside down, an end that is come to from below the
  end upside down; where the twine has to go past the third bar of the old knot it crosses it;
- the start of a seam is a start on a pickup, which has no third bar.

The left hand's knots are the mirror image of the right hand's.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from cards.errors import PageError
from cards.picture.drawn_stitches import drawn_stage
from cards.picture.pen import FINE
from cards.picture.shapes import (
    Area,
    Disc,
    Line,
    Picture,
    Point,
    Shape,
    Text,
    mirrored,
    moved,
    scaled,
)
from cards.picture.strands import Pass, Pen, Strand, Tangle, drawn, turned
from cards.picture.type import size_for_height
from cards.sew.sewing import Hand, Tying
from cards.trim import Side

STAGES = 4
BOX = 38.0  # a stage is drawn in a square of this side, mm

WEB = Pen(width=2.5, outline=0.45, gap=0.5)
TWINE = Pen(width=2.7, outline=0.65, gap=0.5, lay=1.3, mark=0.3)
# The double knot has more turns beside each other: thinner ropes, outlines as heavy.
PENS: dict[bool, tuple[Pen, Pen]] = {
    False: (WEB, TWINE),
    True: (WEB._replace(width=2.1), TWINE._replace(width=2.3, lay=1.15)),
}
KNOT = 2.3  # radius of the old knot that a start or an end is tied round, mm
ARROW = 3.6  # length of an arrow, mm
NUMBER = 3.0  # height of a stage's number, mm
GAP = 2.0  # between two stages, mm

Lay = Literal["loose", "tight"]

# The sheet bend as told in words: what the twine does from its beginning to its needle.
# The point (under); its own last part (over); one bar (over); both bars (under, under); the
# other bar (over); its own first part (under); the point (over).
SINGLE: tuple[Pass, ...] = ("under", "over", "over", "under", "under", "over", "under", "over")
# The double goes behind both bars and under its own first part twice.
DOUBLE: tuple[Pass, ...] = (
    *("under", "over", "over", "over", "under", "under", "over", "under"),
    *("over", "under", "under", "over", "under", "over"),
)

# Two bars that go up, and the point in which they meet; x to the right, y downwards, from the
# middle of the box.
WEBS: dict[tuple[bool, Lay], tuple[Point, ...]] = {
    (False, "loose"): (
        *((-13.5, -18.2), (-10, -13), (-8.6, -7), (-8.2, -1), (-7, 5.6), (-4, 9.6), (0, 10.8)),
        *((4, 9.6), (7, 5.6), (8.2, -1), (8.6, -7), (10, -13), (13.5, -18.2)),
    ),
    (False, "tight"): (
        *((-15, -18.2), (-10.8, -13.5), (-7.2, -8.4), (-6.2, -3), (-6.2, 3), (-4.6, 7.8), (0, 10)),
        *((4.6, 7.8), (6.2, 3), (6.2, -3), (7.2, -8.4), (10.8, -13.5), (15, -18.2)),
    ),
    (True, "loose"): (
        *((-10.8, -18.2), (-9.4, -14), (-8.4, -9), (-8, -3), (-7.5, 3), (-4.8, 8), (0, 12)),
        *((4.8, 8), (7.5, 3), (8, -3), (8.4, -9), (9.4, -14), (10.8, -18.2)),
    ),
    (True, "tight"): (
        *((-13, -18.2), (-9.6, -14), (-7.8, -9.6), (-7.2, -3.6), (-7, 2.6), (-4.7, 7.2), (0, 11.4)),
        *((4.7, 7.2), (7, 2.6), (7.2, -3.6), (7.8, -9.6), (9.6, -14), (13, -18.2)),
    ),
}

# The twine between its two leads.
CORES: dict[tuple[bool, Lay], tuple[Point, ...]] = {
    (False, "loose"): (
        *((-3.6, 9.8), (-0.2, 6), (3.6, 1), (8.3, -2.6), (12.4, -4), (13.6, -6.8), (12.2, -9.8)),
        *((9.2, -10.4), (0, -10.6), (-9.2, -10.4), (-12.2, -9.8), (-13.6, -7.2), (-12.4, -4.9)),
        *((-8.3, -3.7), (-4.2, -0.4), (0.4, 5.2), (3.6, 9.8)),
    ),
    (False, "tight"): (
        *(
            (-3.3, 9.2),
            (-1.3, 5.8),
            (1.6, 1.6),
            (6.2, -2.4),
            (9.4, -3.4),
            (10.6, -5.8),
            (9.4, -8.2),
        ),
        *((7, -8.8), (0, -8.9), (-7, -8.8), (-9.4, -8.2), (-10.6, -5.6), (-9.4, -3)),
        *((-6.2, -1.8), (-2, 1.4), (1, 5.2), (3.3, 9.2)),
    ),
    (True, "loose"): (
        *((-4.8, 8), (-2.2, 5), (1.5, -1), (8, -5.9), (11.4, -6.6), (12.4, -8.2), (11.4, -9.9)),
        *((8.5, -10.4), (0, -10.5), (-8.5, -10.4), (-11.4, -9.8), (-12.5, -7.8), (-11.5, -5.9)),
        *((-8.1, -5.3), (-3, -4.1), (1.8, -2), (7.7, 1.8), (12.2, 2.3), (15.8, -1), (16.5, -6.2)),
        *((14.6, -12.2), (9.6, -14.3), (0, -14.5), (-9.6, -14.3), (-14.6, -12.2), (-16.5, -6.2)),
        *((-15.8, -1), (-12.4, 2), (-7.7, 3), (-2.6, 5), (1.4, 6.4), (4.8, 8)),
    ),
    (True, "tight"): (
        *(
            (-4.7, 7.2),
            (-2.3, 4.2),
            (1.1, -0.9),
            (7.3, -5.3),
            (10.4, -5.9),
            (11.2, -7.7),
            (10.3, -9.5),
        ),
        *((7.9, -10), (0, -10.1), (-7.9, -10), (-10.3, -9.4), (-11.2, -7.5), (-10.4, -5.6)),
        *((-7.3, -5.4), (-3, -4.1), (1.6, -2), (7.1, 1.3), (11, 1.5), (14.2, -1.6), (15, -6.7)),
        *((13.4, -12.1), (9.2, -13.6), (0, -13.7), (-9.2, -13.6), (-13.4, -12.1), (-15, -6.7)),
        *((-14.2, -1.6), (-11, 1.4), (-7, 2.2), (-2.6, 3.8), (1.2, 5.2), (4.7, 7.2)),
    ),
}

# The points of the twine, counted from the first of its core, at which stages 1 and 2 end.
TIPS: dict[Tying, tuple[float, float]] = {
    "start": (1.2, 17.5),
    "start on a pickup": (1.2, 17.5),
    "start below": (1.2, 17.5),
    "pickup above": (1.3, 10.8),
    "pickup below": (1.3, 10.8),
    "sider": (1.3, 14.2),
    "sider up": (1.3, 14.2),
    "end": (1.2, 17.5),
    "end above": (1.2, 17.5),
}

# The leads: where the twine comes from and where it leads on, from the edge of the box to the knot.
PLAIN: tuple[Point, ...] = ((-15, 17.6), (-11, 15), (-6.8, 12))
CROSSED: tuple[Point, ...] = ((17, 17.4), (9, 16.6), (1.5, 14), (-3.6, 9.8))
PAST_A_BAR: tuple[Point, ...] = ((17, 17.3), (7, 17.2), (-1, 16.4), (-6.4, 13), (-7, 10.2))
# The same for the end with the needle, which leaves room for its arrow.
ON_PAST_A_BAR: tuple[Point, ...] = ((17, 16.9), (7, 17), *PAST_A_BAR[2:])
TAIL: tuple[Point, ...] = ((-12.5, 13.2), (-8, 11.2))
THIRD_BAR: tuple[Point, ...] = ((-6, 15), (-12.6, 18))  # from the old knot
STEEP_BAR: tuple[Point, ...] = ((-4.6, 14.6), (-10.4, 18))

# Where something passes the point outside, the knot stands so much farther in.
ROOM = {"pickup below": 4.0, "sider up": 4.0, "start below": 0.6, "end": 0.6}

# Turns of the first knot: rows of a matrix, and whether the other face is seen.
AS_DRAWN = ((1, 0), (0, 1))
UPSIDE_DOWN = ((-1, 0), (0, -1))
ON_ITS_SIDE = ((0, -1), (1, 0))  # the two bars lie to the right
FROM_BEHIND = ((-1, 0), (0, 1))

TURN: dict[Tying, tuple[Point, Point]] = {
    "start": AS_DRAWN,
    "start on a pickup": AS_DRAWN,
    "pickup above": AS_DRAWN,
    "pickup below": UPSIDE_DOWN,
    "sider": ON_ITS_SIDE,
    "sider up": ON_ITS_SIDE,
    "start below": UPSIDE_DOWN,
    "end": UPSIDE_DOWN,
    "end above": AS_DRAWN,
}

# The knots tied double: round an old knot, from which a third bar leads away, or on a pickup.
TAILS: tuple[Tying, ...] = ("start", "start on a pickup", "start below")
CUT: tuple[Tying, ...] = ("end", "end above")
DOUBLED = (*TAILS, *CUT)


@dataclass(frozen=True)
class Stage:
    """One stage of tying a stitch with the right hand.

    Attributes
    ----------
    tangle
        The strands: the web's, then the twine as far as it has come.
    double
        Whether the knot is a double one.
    tail
        Whether the twine's beginning is a cut end.
    done
        Whether its other end is a cut end too: nothing leads on.
    """

    tangle: Tangle
    double: bool
    tail: bool
    done: bool


@lru_cache(maxsize=64)
def stages(stitch: Tying, going: Side) -> tuple[Stage, ...]:
    """The stages of tying a stitch with the right hand, the last one pulled tight.

    Parameters
    ----------
    stitch
        Its name.
    going
        The way of the row.

    Returns
    -------
    tuple of Stage
        Four; x to the right, y downwards, in mm from the middle of a box of `BOX` mm.
    """
    loose, tight = (_turned_knot(stitch, going, lay) for lay in ("loose", "tight"))
    twine = loose.strands[-1]
    before = len(_lead_in(stitch))
    shown = [loose.until(twine.along_of(before + tip)) for tip in TIPS[stitch]]
    double, tail, done = stitch in DOUBLED, stitch in TAILS, stitch in CUT
    return (
        *(Stage(tangle, double, tail, done=False) for tangle in shown),
        Stage(_short(loose), double, tail, done=False),
        Stage(tight if done else _short(tight), double, tail, done),
    )


def _short(tangle: Tangle) -> Tangle:
    """Leave room for the arrow in the box."""
    return tangle.until(tangle.strands[-1].length - ARROW)


def _turned_knot(stitch: Tying, going: Side, lay: Lay) -> Tangle:
    knot = turned(_knot(stitch, lay), TURN[stitch], seen_from_behind=False)
    if going == "left":
        knot = turned(knot, FROM_BEHIND, seen_from_behind=True)
    return knot


def _knot(stitch: Tying, lay: Lay) -> Tangle:
    """A stitch before it is turned to its place: its two bars go up."""
    double = stitch in DOUBLED
    room = ROOM.get(stitch, 0.0)
    first, *between, last = WEBS[double, lay]
    if room:  # the bars still run straight to the edge of the box
        between = between[1:-1]
        first, last = (0.86 * first[0], first[1]), (0.86 * last[0], last[1])
    bars = (first, *((x, y - room) for x, y in between), last)
    web = [Strand("web", bars)]
    if double and stitch != "start on a pickup":
        web.append(Strand("bar", (bars[len(bars) // 2], *_third_bar(stitch))))
    core = ((x, y - room) for x, y in CORES[double, lay])
    twine = (*_lead_in(stitch), *core, *_lead_out(stitch))
    passes = DOUBLE if double else SINGLE
    if stitch in ("pickup below", "sider up"):
        passes = ("under", *passes, "over")
    elif stitch == "end":
        passes = ("under", *passes)
    elif stitch == "start below":
        passes = (*passes, "over")
    return Tangle((*web, Strand("twine", twine)), passes)


# Where the twine leads past the third bar it is steep, and on the other side of a start.
def _third_bar(stitch: Tying) -> tuple[Point, ...]:
    steep = {"end": STEEP_BAR, "start below": _other_side(STEEP_BAR)}
    return steep.get(stitch) or (_other_side(THIRD_BAR) if stitch in CUT else THIRD_BAR)


def _lead_in(stitch: Tying) -> tuple[Point, ...]:
    leads = {"pickup below": CROSSED, "sider up": CROSSED, "end": PAST_A_BAR}
    return TAIL if stitch in TAILS else leads.get(stitch, PLAIN)


def _lead_out(stitch: Tying) -> tuple[Point, ...]:
    leads = {"pickup below": CROSSED, "sider up": CROSSED, "start below": ON_PAST_A_BAR}
    lead = TAIL if stitch in CUT else leads.get(stitch, PLAIN)
    return _other_side(lead)[::-1]


def _other_side(points: tuple[Point, ...]) -> tuple[Point, ...]:
    return tuple((-x, y) for x, y in points)


def stage_shapes(
    stitch: Tying, going: Side, hand: Hand, stage: int, side: float = BOX
) -> list[Shape]:
    """Draw one stage of a stitch.

    Parameters
    ----------
    stitch, going, hand
        Which knot, the way of the row, and the hand that sews.
    stage
        1 to 4; 4 is the finished knot.
    side
        Side of the box in mm.

    Returns
    -------
    list of Shape
        In mm from the left upper corner of the box.

    Raises
    ------
    PageError
        When lines would be thinner than a card allows.
    """
    scale = side / BOX
    if scale * TWINE.mark < FINE:
        raise PageError(
            f"found {side:.1f} mm for a stage of a stitch; "
            f"expected at least {BOX * FINE / TWINE.mark:.1f} mm"
        )
    return list(_stage_shapes(stitch, going, hand, stage, side))


@lru_cache(maxsize=256)
def _stage_shapes(
    stitch: Tying, going: Side, hand: Hand, stage: int, side: float
) -> tuple[Shape, ...]:
    right_going: Side = going if hand == "right" else ("left" if going == "right" else "right")
    shapes = scaled(drawn_stage(stitch, right_going, stage), side / BOX)
    return tuple(mirrored(shapes, side / 2) if hand == "left" else shapes)


def strand_shapes(stitch: Tying, going: Side, stage: int) -> list[Shape]:
    """Draw one stage for the right hand from its strands, in a box of `BOX` mm."""
    return list(_right_hand(stages(stitch, going)[stage - 1]))


def stitch_picture(
    stitch: Tying,
    going: Side,
    hand: Hand,
    width: float,
    *,
    shown: Sequence[int] = (1, 2, 3, 4),
    across: int = 4,
) -> Picture:
    """Draw the stages of a stitch side by side, each with its number.

    Parameters
    ----------
    stitch, going, hand
        Which knot, the way of the row, and the hand that sews.
    width
        Width of the picture in mm.
    shown
        Which stages; ``(4,)`` is the finished knot alone, without a number.
    across
        How many stages stand in one line.

    Returns
    -------
    Picture
        Its height follows from its width.

    Examples
    --------
    >>> picture = stitch_picture("pickup above", "right", "right", 128)
    >>> round(picture.height, 1)
    26.0
    """
    across = min(across, len(shown))
    numbered = len(shown) > 1
    strip = NUMBER + 1.5 if numbered else 0.0
    side = (width - GAP * (across - 1)) / across - strip
    shapes: list[Shape] = []
    for place, stage in enumerate(shown):
        x = (place % across) * (strip + side + GAP)
        y = (place // across) * (side + GAP)
        if numbered:
            shapes.append(number_text(x, y, stage))
        shapes += moved(stage_shapes(stitch, going, hand, stage, side), x + strip, y)
    lines = -(-len(shown) // across)
    return Picture(width, lines * side + (lines - 1) * GAP, tuple(shapes))


def number_text(x: float, y: float, stage: int) -> Text:
    """The number of a stage, its left upper corner at (x, y)."""
    size = size_for_height(NUMBER)
    return Text(x, y + NUMBER, str(stage), size, bold=True, role="number", of=f"stage {stage}")


def _right_hand(stage: Stage) -> Iterator[Shape]:
    web, twine_pen = PENS[stage.double]
    strands = tuple(strand.placed(1.0, BOX / 2, BOX / 2) for strand in stage.tangle.strands)
    pens = [web] * (len(strands) - 1) + [twine_pen]
    yield from drawn(Tangle(strands, stage.tangle.passes), pens)
    for bar in strands[1:-1]:
        x, y = bar.points[0]
        yield Disc(x, y, KNOT, web.outline, fill="white", role="old knot")
    twine = strands[-1]
    if stage.tail:
        yield _cap(twine, 0.0, twine_pen)
    if stage.done:
        yield _cap(twine, twine.length, twine_pen)
    else:
        yield _arrow(twine, ARROW)


def _cap(twine: Strand, along: float, pen: Pen) -> Line:
    """A cut end."""
    (x, y), (ux, uy) = twine.at(along), twine.way(along)
    half = (pen.width + pen.outline) / 2
    ends = ((x - half * uy, y + half * ux), (x + half * uy, y - half * ux))
    return Line(ends, pen.outline, role="cut end")


def _arrow(twine: Strand, length: float) -> Area:
    """The arrow at the needle's end of the twine, and the way it points."""
    (x, y), (ux, uy) = twine.at(twine.length), twine.way(twine.length)
    half = 0.64 * length
    points = (
        (x - half * uy, y + half * ux),
        (x + length * ux, y + length * uy),
        (x + half * uy, y - half * ux),
    )
    return Area(points, fill="black", role="arrow")
