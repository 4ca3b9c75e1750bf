"""A hole: which bars are missing, row by row."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from typing import Iterable, Iterator, Mapping, Sequence

from cards.grid.knots import BARS, Bar, Knot, Stretch, name_of


@dataclass(frozen=True)
class Hole:
    """The missing bars of a web, as stretches in each row.

    Parameters
    ----------
    top
        Number of the first row, in half meshes down.
    rows
        For each row from `top` down its stretches, from the left, with at least one whole
        bar between two of them. The first and the last row have at least one.

    Examples
    --------
    >>> lost_knot = hole_of_bars([Bar(0, 0), Bar(0, 1), Bar(1, 0), Bar(1, 1)])
    >>> lost_knot.rows
    ((Stretch(left=0, right=2),), (Stretch(left=0, right=2),))
    >>> lost_knot.name_at(Knot(1, 1)), lost_knot.name_at(Knot(0, 0))
    ('lost', 'three-bar')
    """

    top: int
    rows: tuple[tuple[Stretch, ...], ...]

    @property
    def bottom(self) -> int:
        """The row after the last one."""
        return self.top + len(self.rows)

    @cached_property
    def left(self) -> int:
        """The leftmost column."""
        return min(row[0].left for row in self.rows if row)

    @cached_property
    def right(self) -> int:
        """The rightmost column."""
        return max(row[-1].right for row in self.rows if row)

    @cached_property
    def size(self) -> int:
        """How many bars are missing."""
        return sum(s.right - s.left for row in self.rows for s in row)

    @cached_property
    def enclosed(self) -> int:
        """How many bars lie between the outermost breaks of each row, the broken ones included."""
        return sum(row[-1].right - row[0].left for row in self.rows if row)

    def row(self, row: int) -> tuple[Stretch, ...]:
        """The stretches of a row; none outside the hole."""
        at = row - self.top
        return self.rows[at] if 0 <= at < len(self.rows) else ()

    def bars(self) -> Iterator[Bar]:
        """Every missing bar, row by row from the left."""
        for row, stretches in enumerate(self.rows, self.top):
            for left, right in stretches:
                for column in range(left, right):
                    yield Bar(row, column)

    def misses(self, row: int, column: int) -> bool:
        """Whether this bar is missing."""
        stretches = self.row(row)
        at = bisect_right(stretches, column, key=lambda s: s.left)
        return at > 0 and column < stretches[at - 1].right

    def missing_at(self, knot: tuple[int, int]) -> int:
        """Which bars the knot misses, as the sum of their bits (see `BARS`)."""
        x, y = knot
        return sum(bit for bit, (row, column) in BARS.items() if self.misses(y + row, x + column))

    def lost_at(self, knot: tuple[int, int]) -> bool:
        """Whether the knot misses all its bars."""
        x, y = knot
        return all(self.misses(row, column) for row in (y - 1, y) for column in (x - 1, x))

    def name_at(self, knot: tuple[int, int]) -> str:
        """What the knot is called."""
        return name_of(self.missing_at(knot))

    def knots(self) -> list[Knot]:
        """Every knot that misses a bar, line by line from the left."""
        lines: dict[int, set[int]] = {}
        for row, stretches in enumerate(self.rows, self.top):
            for left, right in stretches:
                even = left + ((left + row) & 1)
                odd = left + ((left + row + 1) & 1)
                lines.setdefault(row, set()).update(range(even, right + 1, 2))
                lines.setdefault(row + 1, set()).update(range(odd, right + 1, 2))
        return [Knot(x, y) for y in sorted(lines) for x in sorted(lines[y])]

    def mirrored(self) -> Hole:
        """The hole seen from behind: column x becomes -x."""
        return Hole(
            self.top,
            tuple(tuple(Stretch(-r, -l) for l, r in reversed(row)) for row in self.rows),
        )

    def moved(self, across: int, down: int) -> Hole:
        """The hole elsewhere in the web: so many columns to the right and lines down.

        Raises
        ------
        ValueError
            When `across` + `down` is odd: no knot of the web stands there.
        """
        if (across + down) & 1:
            raise ValueError("a knot stands only where x + y is even")
        return Hole(
            self.top + down,
            tuple(tuple(Stretch(l + across, r + across) for l, r in row) for row in self.rows),
        )

    def cornered(self) -> Hole:
        """The hole as in its smallest drawing with a whole bar round it.

        Its uppermost broken bar is in row 1, its leftmost in column 1 or 2: whichever leaves
        its bars leaning as they do.
        """
        down, across = 1 - self.top, 1 - self.left
        return self.moved(across + ((across + down) & 1), down)

    def plus(self, bars: Iterable[Bar]) -> Hole:
        """The hole with more bars cut."""
        return hole_of_bars([*self.bars(), *bars])


def hole_of_bars(bars: Iterable[tuple[int, int]]) -> Hole:
    """Gather bars (row, column), in any order, into a hole.

    Raises
    ------
    ValueError
        When there are none.
    """
    columns: dict[int, list[int]] = {}
    for row, column in bars:
        columns.setdefault(row, []).append(column)
    if not columns:
        raise ValueError("a hole has at least one broken bar")
    top, bottom = min(columns), max(columns)
    return Hole(top, tuple(_stretches(columns.get(row, ())) for row in range(top, bottom + 1)))


def hole_of_stretches(rows: Mapping[int, Iterable[tuple[int, int]]]) -> Hole:
    """Gather the stretches of rows into a hole; the rows at its top and its bottom have some.

    Examples
    --------
    >>> hole_of_stretches({0: [(3, 4), (1, 3)]}) == hole_of_bars([(0, 1), (0, 2), (0, 3)])
    True
    """
    top, bottom = min(rows), max(rows)
    return Hole(top, tuple(merged(rows.get(row, ())) for row in range(top, bottom + 1)))


def _stretches(columns: Sequence[int]) -> tuple[Stretch, ...]:
    stretches: list[Stretch] = []
    left = right = None
    for column in sorted(columns):
        if left is None or right is None or column > right:
            if left is not None and right is not None:
                stretches.append(Stretch(left, right))
            left = column
        right = column + 1
    if left is not None and right is not None:
        stretches.append(Stretch(left, right))
    return tuple(stretches)


def merged(stretches: Iterable[tuple[int, int]]) -> tuple[Stretch, ...]:
    """Join stretches that touch or overlap, in order from the left."""
    joined: list[Stretch] = []
    for left, right in sorted(stretches):
        if joined and left <= joined[-1].right:
            joined[-1] = Stretch(joined[-1].left, max(right, joined[-1].right))
        else:
            joined.append(Stretch(left, right))
    return tuple(joined)
