"""A walk round a hole, knot by knot along whole bars with the hole on the right hand."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, get_args

from cards.grid.hole import Hole
from cards.grid.islands import islands
from cards.grid.knots import Stretch

Heading = Literal["down-right", "down-left", "up-left", "up-right"]

# In clockwise order, so that a right turn is the next one.
HEADINGS: tuple[Heading, ...] = get_args(Heading)
STEPS: tuple[tuple[int, int], ...] = ((1, 1), (-1, 1), (-1, -1), (1, -1))
# The bar along each heading, from the knot: (row, column).
AHEAD: tuple[tuple[int, int], ...] = ((0, 0), (0, -1), (-1, -1), (-1, 0))

# A knot that keeps 3 bars is passed straight on; each bar more is a quarter turn to the right.
STRAIGHT = 3
FULL_TURN = 4
WALK_LIMIT = 20_000  # knots


class WalkError(ValueError):
    """A walk that goes round no hole, or a hole that no walk goes round."""


@dataclass(frozen=True)
class Walk:
    """A walk round a hole.

    Parameters
    ----------
    counts
        For each knot in the order reached how many bars it has left, 1 to 4, counting as lost
        only those on the hole's side. The last is that of the knot set out from.
    first
        The heading of the first step, as an index into `HEADINGS`.
    """

    counts: tuple[int, ...]
    first: int = 0

    @cached_property
    def turning(self) -> int:
        """Quarter turns to the right less those to the left; 4 for a walk round a hole."""
        return sum(self.counts) - STRAIGHT * len(self.counts)

    @cached_property
    def headings(self) -> tuple[int, ...]:
        """The heading of each step, and last the one in which the walk would go on."""
        heading = self.first
        headings = [heading]
        for count in self.counts:
            heading = (heading + count - STRAIGHT) % 4
            headings.append(heading)
        return tuple(headings)

    @cached_property
    def knots(self) -> tuple[tuple[int, int], ...]:
        """The knots passed, from (0, 0) on, in half meshes."""
        x = y = 0
        knots = [(0, 0)]
        for heading in self.headings[:-1]:
            dx, dy = STEPS[heading]
            x, y = x + dx, y + dy
            knots.append((x, y))
        return tuple(knots)

    @property
    def gap(self) -> tuple[int, int]:
        """How far from its beginning the walk ends: columns right, lines down."""
        return self.knots[-1]

    @property
    def closes(self) -> bool:
        """Whether it ends where and as it began, after one turn to the right."""
        return self.turning == FULL_TURN and self.gap == (0, 0)


@dataclass(frozen=True, slots=True)
class Clash:
    """Two places of a closed walk that cannot both be right.

    Attributes
    ----------
    kind
        "lost": the walk goes along a bar that it counts as lost. "again": it goes along a bar a
        second time the same way.
    place
        Which step goes along the bar, from 1.
    against
        The count that says the bar is lost, from 1; or the step that was there before.
    """

    kind: Literal["lost", "again"]
    place: int
    against: int


def clash_of(walk: Walk) -> Clash | None:
    """Find where a closed walk crosses itself or contradicts its own counts.

    Notes
    -----
    A walk with neither kind of clash is the rim of one opening. For where two strands cross,
    one of them goes along a bar on the right hand of the other, which the other's count at that
    knot has as lost.
    """
    knots, headings = walk.knots, walk.headings
    steps: dict[tuple[int, int, int], int] = {}
    walked: dict[tuple[int, int], int] = {}
    for place, ((x, y), heading) in enumerate(zip(knots, headings[:-1]), 1):
        row, column = AHEAD[heading]
        step = (y + row, x + column, heading)
        if step in steps:
            return Clash("again", place, steps[step])
        steps[step] = place
        walked.setdefault(step[:2], place)
    for place, count in enumerate(walk.counts, 1):
        x, y = knots[place]
        for turn in range(1, 5 - count):
            row, column = AHEAD[(headings[place] + turn) % 4]
            step_there = walked.get((y + row, x + column))
            if step_there is not None:
                return Clash("lost", step_there, place)
    return None


def hole_inside(walk: Walk) -> Hole:
    """Return the hole that a walk goes round, in the walk's own knots.

    Raises
    ------
    WalkError
        When the walk does not close, clashes with itself, or goes round a whole mesh.

    Notes
    -----
    Along a row, a bar that is walked upwards has the hole on its right in the drawing, one
    that is walked downwards on its left, and one that is walked both ways stays in the midst of it.

    Examples
    --------
    >>> hole_inside(Walk((3, 4, 3, 4, 3, 4, 3, 4))).rows
    ((Stretch(left=-1, right=1),), (Stretch(left=-1, right=1),))
    """
    if not walk.closes:
        raise WalkError("the walk does not close")
    if clash_of(walk) is not None:
        raise WalkError("the walk crosses itself")
    ups: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    for (x, y), heading in zip(walk.knots, walk.headings[:-1]):
        row, column = AHEAD[heading]
        ups[y + row][x + column] += 1 if row else -1
    rows = {row: _between(ups[row]) for row in sorted(ups)}
    broken = [row for row, stretches in rows.items() if stretches]
    if not broken:
        raise WalkError("the walk goes round a whole mesh")
    top, bottom = broken[0], broken[-1]
    return Hole(top, tuple(rows.get(row, ()) for row in range(top, bottom + 1)))


def _between(ups: dict[int, int]) -> tuple[Stretch, ...]:
    """The bars of a row with the hole on both sides, from those that are walked."""
    stretches = []
    inside, last = 0, 0
    for column in sorted(ups):
        if inside and column > last + 1:
            stretches.append(Stretch(last + 1, column))
        inside += ups[column]
        last = column
    return tuple(stretches)


def walk_round(hole: Hole) -> tuple[Walk, tuple[int, int]]:
    """Return the walk round a hole and the knot it sets out from.

    The walk sets out from the uppermost knot of the rim, the leftmost of several, down-right.

    Raises
    ------
    WalkError
        When no single walk tells the hole: with why.

    Examples
    --------
    >>> from cards.grid.hole import hole_of_bars
    >>> walk_round(hole_of_bars([(1, 3)]))
    (Walk(counts=(4, 3, 4, 4, 3, 4), first=0), (4, 0))
    """
    number = len(openings(hole))
    if number > 1:
        raise WalkError(f"it is {number} separate openings, and a walk goes round one")
    loose = sum(right - left for row in islands(hole) for left, right in row)
    if loose:
        raise WalkError(
            f"{loose} whole {'bar hangs' if loose == 1 else 'bars hang'} on nothing inside it, "
            "and a walk passes only what hangs on the web. Mark what is loose as broken: "
            "it counts as broken"
        )
    left = hole.rows[0][0].left
    start = (left + ((left + hole.top + 1) & 1), hole.top - 1)
    counts: list[int] = []
    (x, y), heading = start, 0
    while True:
        x, y = x + STEPS[heading][0], y + STEPS[heading][1]
        heading, count = (heading + 1) % 4, 4
        while hole.misses(y + AHEAD[heading][0], x + AHEAD[heading][1]):
            heading, count = (heading - 1) % 4, count - 1
        counts.append(count)
        if len(counts) > WALK_LIMIT:
            raise WalkError(f"the way round it has more than {WALK_LIMIT} knots")
        if (x, y) == start and heading == 0:
            return Walk(tuple(counts)), start


def openings(hole: Hole) -> list[list[tuple[int, Stretch]]]:
    """Gather the stretches of a hole, each with its row, into separate openings.

    Notes
    -----
    Two broken bars belong to the same opening where a mesh lies between them. A mesh reaches
    over two rows, so stretches of neighbouring rows are one opening where a mesh whose middle
    is on the line between them lies within the reach of both. Linear in the number of stretches.
    """
    pieces = [(row, s) for row, stretches in enumerate(hole.rows, hole.top) for s in stretches]
    parent = list(range(len(pieces)))

    def root(piece: int) -> int:
        while parent[piece] != piece:
            parent[piece] = parent[parent[piece]]
            piece = parent[piece]
        return piece

    first, above = 0, range(0)
    for row, stretches in enumerate(hole.rows, hole.top):
        here = range(first, first + len(stretches))
        first = here.stop
        i, j = above.start, here.start
        while i < above.stop and j < here.stop:
            a, b = pieces[i][1], pieces[j][1]
            left, right = max(a.left, b.left), min(a.right, b.right)
            # Knots of the line stand where x + y is even; the middles of meshes between them.
            left += (left + row + 1) & 1
            if left <= right:
                parent[max(root(i), root(j))] = min(root(i), root(j))
            if a.right <= b.right:
                i += 1
            else:
                j += 1
        above = here
    gathered: dict[int, list[tuple[int, Stretch]]] = defaultdict(list)
    for number, piece in enumerate(pieces):
        gathered[root(number)].append(piece)
    return list(gathered.values())
