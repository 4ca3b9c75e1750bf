"""From a trimmed hole to knots in the order they are tied.

In row k the twine runs from one end of its stretch to the other, in turn through a knot on line
k and one on line k + 1. On line k it ties: a pickup that hangs from the web, or a loop that
was hung in the row above. On line k + 1 it ties a pickup that stands on whole
web; where the web below is missing too it only hangs a loop, tied when the next row comes by.
"""

from __future__ import annotations

from abc import abstractmethod
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from itertools import count, cycle, repeat
from typing import Literal, NamedTuple, TypeVar

from cards.grid import Hole, Knot, Stretch
from cards.trim import Run, Side, Trim

Hand = Literal["right", "left"]
Stitch = Literal["start", "pickup above", "pickup below", "sider", "end"]
# How a knot is tied: its stitch, and for a start or an end where its first or last bar lies. A
# start leads down, "start below" leads up; an end is come to from above, "end above" from below.
# The seam of a patch starts on a pickup, which has no third bar. Its last side leads up again: a
# sider that the twine leaves upwards is a "sider up".
Tying = Literal[
    "start",
    "start on a pickup",
    "start below",
    "pickup above",
    "pickup below",
    "sider",
    "sider up",
    "end",
    "end above",
]
Needle = Literal["from behind", "from in front"]
Made = TypeVar("Made")


class Tied(NamedTuple):
    """One knot as it is tied.

    `going` is the way of the row in which the twine comes to the knot; for the start, of the row it
    begins. `row` counts rows of the web as in `Bar`.
    """

    n: int
    at: Knot
    stitch: Stitch
    going: Side
    needle: Needle
    row: int


class RowSewn(NamedTuple):
    """One row of a twine.

    Attributes
    ----------
    row
        The row of the web.
    going
        Which way it is sewn.
    begin, end
        The columns of its first and last knot on the path.
    first, last
        Numbers of the first and the last knot tied in this row. A sider counts to the row that
        comes to it, so only the first row counts the knot it begins on.
    path
        Place on the twine's path of the knot at which the row begins.
    """

    row: int
    going: Side
    begin: int
    end: int
    first: int
    last: int
    path: int


def needle_side(going: Side, hand: Hand) -> Needle:
    """Which side the needle enters from.

    A right-hander's needle enters from behind going right and from in front going left; a
    left-hander does the mirror image (common practice, no source).
    """
    return "from behind" if going == hand else "from in front"


@dataclass(frozen=True)
class Twine:
    """One twine's way through the hole.

    Attributes
    ----------
    name
        A letter: A for the twine sewn first.
    hand
        The hand that sews.
    rows
        Its rows, from the top.
    path
        Every knot the twine comes to as (x, y), bottoms of loops included: each two in turn are
        the ends of a bar.
    tied_at
        For each knot in the order they are tied its place on `path`.
    stitches
        For each knot in the order they are tied its stitch.
    first
        Number of its first knot; numbers run on through the twines.
    """

    name: str
    hand: Hand
    rows: tuple[RowSewn, ...]
    path: Sequence[tuple[int, int]]
    tied_at: list[int]
    stitches: list[Stitch]
    first: int

    @property
    def bars(self) -> int:
        """How many bars are sewn."""
        return len(self.path) - 1

    @cached_property
    def closed(self) -> bool:
        """Whether it ends on the knot it starts on, as the seam of a patch does."""
        return self.path[0] == self.path[-1]

    @property
    def last(self) -> int:
        """Number of its last knot."""
        return self.first + len(self.tied_at) - 1

    @cached_property
    def knots(self) -> Sequence[Tied]:
        """The knots in the order they are tied."""
        return _Knots(self)

    def tying(self, knot: Tied) -> Tying:
        """How a knot of this twine is tied."""
        if knot.n == self.first and self.closed:
            return "start on a pickup"
        if knot.n == self.first and self.path[1][1] < knot.at.y:
            return "start below"
        if knot.n == self.last and self.path[-2][1] > knot.at.y:
            return "end above"
        # Only a seam leads up again.
        at = self.tied_at[knot.n - self.first]
        if knot.stitch == "sider" and self.closed and self.path[at + 1][1] < knot.at.y:
            return "sider up"
        return knot.stitch

    def knots_of(self, row: RowSewn) -> list[Tied]:
        """The knots of one row, in the order they are tied."""
        return list(self.knots[row.first - self.first : row.last - self.first + 1])

    def knots_between(self, row: RowSewn, left: int, right: int) -> list[Tied]:
        """The knots of one row at columns `left` to `right`, in the order they are tied."""
        step, near, far = (1, left, right) if row.going == "right" else (-1, right, left)
        own = row.first - self.first, row.last - self.first + 1
        first = bisect_left(self.tied_at, row.path + (near - row.begin) * step, *own)
        last = bisect_right(self.tied_at, row.path + (far - row.begin) * step, *own)
        # The tiles of a large drawing ask for parts of the same rows again and again.
        made = self._made_of.get(row.first)
        if made is None:
            made = self._made_of[row.first] = self.knots_of(row)
        return made[first - own[0] : last - own[0]]

    @cached_property
    def _made_of(self) -> dict[int, list[Tied]]:
        """The knots of the rows that parts were asked of, by the first knot's number."""
        return {}


class _AsAsked(Sequence[Made]):
    """A sequence whose members are made as they are asked for: a large hole has many."""

    def __getitem__(self, at):  # type: ignore[no-untyped-def]
        if isinstance(at, slice):
            begin, end, step = at.indices(len(self))
            if step == 1:
                return list(self._between(begin, end))
            return [self[i] for i in range(begin, end, step)]
        if at < 0:
            at += len(self)
        if not 0 <= at < len(self):
            raise IndexError(at)
        return next(self._between(at, at + 1))

    def __iter__(self) -> Iterator[Made]:
        return self._between(0, len(self))

    @abstractmethod
    def _between(self, begin: int, end: int) -> Iterator[Made]:
        """Make the members from `begin` up to, not with, `end`."""


class _Knots(_AsAsked[Tied]):
    """A twine's knots, made as they are asked for: a large hole has many."""

    def __init__(self, twine: Twine) -> None:
        self._twine = twine
        self._ends = [row.last for row in twine.rows]

    def __len__(self) -> int:
        return len(self._twine.tied_at)

    def _between(self, begin: int, end: int) -> Iterator[Tied]:
        twine = self._twine
        for row in twine.rows[bisect_left(self._ends, twine.first + begin) :]:
            own = max(begin, row.first - twine.first), min(end, row.last - twine.first + 1)
            if own[0] >= own[1]:
                break
            places = twine.tied_at[slice(*own)]
            begun = places[0]
            path = twine.path[begun : places[-1] + 1]
            yield from map(
                _made_tied,
                zip(
                    count(twine.first + own[0]),
                    map(_made_knot, [path[place - begun] for place in places]),
                    twine.stitches[slice(*own)],
                    repeat(row.going),
                    repeat(needle_side(row.going, twine.hand)),
                    repeat(row.row),
                ),
            )


# Made from a tuple at once, without a call in Python for each: a large hole has many.
_made_tied: Callable[[tuple[object, ...]], Tied] = partial(tuple.__new__, Tied)
_made_knot: Callable[[tuple[int, int]], Knot] = partial(tuple.__new__, Knot)


class _Path(_AsAsked[tuple[int, int]]):
    """The knots that a run comes to, row by row, worked out from its rows as they are asked for."""

    def __init__(self, rows: Sequence[RowSewn]) -> None:
        self._rows = rows
        self._begins = [row.path for row in rows]

    def __len__(self) -> int:
        last = self._rows[-1]
        return last.path + abs(last.end - last.begin) + 1

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and list(self) == list(other)

    __hash__ = None  # type: ignore[assignment]

    def _between(self, begin: int, end: int) -> Iterator[tuple[int, int]]:
        for row in self._rows[max(0, bisect_right(self._begins, begin) - 1) :]:
            step = 1 if row.going == "right" else -1
            # The knot at which a row begins is the last one of the row before, if there is one.
            skip = max(begin - row.path, 1 if row.path > begin else 0)
            left = min(end - row.path, abs(row.end - row.begin) + 1)
            if left <= skip:
                break
            xs = range(row.begin + skip * step, row.begin + left * step, step)
            on_row = (xs[0] + row.row) & 1
            yield from zip(xs, cycle((row.row + on_row, row.row + 1 - on_row)))


@dataclass(frozen=True)
class Sewing:
    """All twines of a mend, in the order they are sewn."""

    twines: tuple[Twine, ...]

    @property
    def knots(self) -> int:
        """How many knots are tied."""
        return sum(len(twine.tied_at) for twine in self.twines)

    @property
    def bars(self) -> int:
        """How many bars are sewn."""
        return sum(twine.bars for twine in self.twines)


def twine_name(number: int) -> str:
    """A, B, ... Z, AA, AB, ... for 0, 1, ...

    Examples
    --------
    >>> [twine_name(n) for n in (0, 25, 26, 701, 702)]
    ['A', 'Z', 'AA', 'ZZ', 'AAA']
    """
    name = ""
    number += 1
    while number:
        number, letter = divmod(number - 1, 26)
        name = chr(ord("A") + letter) + name
    return name


def sew(trim: Trim, hand: Hand = "right") -> Sewing:
    """Number the knots of a trimmed hole in the order they are tied.

    Parameters
    ----------
    trim
        A trimmed hole.
    hand
        The hand that sews.

    Returns
    -------
    Sewing
        Linear in the number of bars.
    """
    twines: list[Twine] = []
    number = 1
    for order, run in enumerate(trim.runs):
        twine = _sew_run(trim.trimmed, run, twine_name(order), hand, number)
        twines.append(twine)
        number = twine.last + 1
    return Sewing(tuple(twines))


def _sew_run(trimmed: Hole, run: Run, name: str, hand: Hand, first: int) -> Twine:
    tied_at: list[int] = []
    stitches: list[Stitch] = []
    rows: list[RowSewn] = []
    place = 0  # on the path, of the knot at which the row begins
    for row, stretch in enumerate(run.stretches, run.top):
        to_right = run.begins(row) == "left"
        begin, end = stretch if to_right else (stretch.right, stretch.left)
        step = 1 if to_right else -1
        before = first + len(tied_at)
        if not rows:
            tied_at.append(0)
            stitches.append("start")
        for x_from, x_to, both in _tied_parts(stretch, row, trimmed.row(row + 1), to_right):
            _tie(tied_at, stitches, place - begin * step, row, range(x_from, x_to, step), both)
        tied_at.append(place + abs(end - begin))
        stitches.append("sider")
        rows.append(
            RowSewn(
                row=row,
                going="right" if to_right else "left",
                begin=begin,
                end=end,
                first=before,
                last=first + len(tied_at) - 1,
                path=place,
            )
        )
        place += abs(end - begin)
    stitches[-1] = "end"
    return Twine(name, hand, tuple(rows), _Path(rows), tied_at, stitches, first)


def _tied_parts(
    stretch: Stretch, row: int, below: tuple[Stretch, ...], to_right: bool
) -> list[tuple[int, int, bool]]:
    """Cut the inner columns of a row into parts where its lower knots are tied and where not.

    Returns (from, to, both), in the order of sewing; `both` is false over a stretch of the
    next row, where the lower knots are loops left hanging.
    """
    parts: list[tuple[int, int, bool]] = []
    at = stretch.left + 1
    first = bisect_right(below, at, key=lambda s: s.right)
    for left, right in below[first:]:
        if left + 1 >= stretch.right:
            break
        inner = max(left + 1, at), min(right, stretch.right)
        if at < inner[0]:
            parts.append((at, inner[0], True))
        if inner[0] < inner[1]:
            parts.append((*inner, False))
        at = max(at, inner[1])
    if at < stretch.right:
        parts.append((at, stretch.right, True))
    if to_right:
        return parts
    return [(b - 1, a - 1, both) for a, b, both in reversed(parts)]


def _tie(
    tied_at: list[int],
    stitches: list[Stitch],
    offset: int,
    row: int,
    xs: range,
    both: bool,
) -> None:
    """Tie the knots at columns `xs`: those on the upper line, and on the lower if `both`."""
    if not xs:
        return
    step = xs.step
    upper_first = (xs[0] + row) & 1 == 0
    if both:
        pair: tuple[Stitch, Stitch] = ("pickup above", "pickup below")
        if not upper_first:
            pair = pair[::-1]
        stitches.extend((pair * (len(xs) // 2 + 1))[: len(xs)])
    else:
        xs = xs[(0 if upper_first else 1) :: 2]
        stitches.extend(repeat("pickup above", len(xs)))
    if xs:
        begin = offset + xs[0] * step
        stride = abs(xs.step)
        tied_at.extend(range(begin, begin + stride * len(xs), stride))
