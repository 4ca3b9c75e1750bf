"""Knots and bars of the web, and what a knot is called by the bars it misses."""

from __future__ import annotations

from typing import NamedTuple


class Knot(NamedTuple):
    """A knot at column `x` and line `y`, in half meshes; x + y is even."""

    x: int
    y: int


class Bar(NamedTuple):
    """The bar of `row` between columns `column` and `column + 1`, in half meshes.

    Row k lies between lines k and k + 1. The bar leans ``\\`` where row + column is
    even and ``/`` where it is odd.

    Examples
    --------
    >>> Bar(0, 0).ends
    (Knot(x=0, y=0), Knot(x=1, y=1))
    >>> Bar(0, 1).lean, Bar(0, 1).ends
    ('/', (Knot(x=2, y=0), Knot(x=1, y=1)))
    """

    row: int
    column: int

    @property
    def lean(self) -> str:
        """``\\`` or ``/``."""
        return "/" if (self.row + self.column) & 1 else "\\"

    @property
    def ends(self) -> tuple[Knot, Knot]:
        """The two knots, upper first."""
        row, column = self
        lean = (row + column) & 1
        return Knot(column + lean, row), Knot(column + 1 - lean, row + 1)


class Stretch(NamedTuple):
    """An unbroken run of bars in one row: columns `left` up to, not with, `right`."""

    left: int
    right: int


# The four bars of a knot: bit, and where the bar lies from the knot (row, column).
UPPER_LEFT, UPPER_RIGHT, LOWER_LEFT, LOWER_RIGHT = 1, 2, 4, 8
BARS: dict[int, tuple[int, int]] = {
    UPPER_LEFT: (-1, -1),
    UPPER_RIGHT: (-1, 0),
    LOWER_LEFT: (0, -1),
    LOWER_RIGHT: (0, 0),
}
BITS: dict[tuple[int, int], int] = {place: bit for bit, place in BARS.items()}

WHOLE = "whole"
THREE_BAR = "three-bar"
HANGING = "pickup, hanging"
STANDING = "pickup, standing"
SIDER_LEFT = "sider on the left"
SIDER_RIGHT = "sider on the right"
OPPOSITE = "two opposite"
ONE_BAR = "one-bar"
LOST = "lost"

# What is missing at a knot names it: the sum of the missing bars' bits.
NAMES: tuple[str, ...] = tuple(
    {
        0: WHOLE,
        LOWER_LEFT | LOWER_RIGHT: HANGING,
        UPPER_LEFT | UPPER_RIGHT: STANDING,
        UPPER_RIGHT | LOWER_RIGHT: SIDER_LEFT,
        UPPER_LEFT | LOWER_LEFT: SIDER_RIGHT,
        UPPER_LEFT | LOWER_RIGHT: OPPOSITE,
        UPPER_RIGHT | LOWER_LEFT: OPPOSITE,
        15: LOST,
    }.get(missing, THREE_BAR if missing.bit_count() == 1 else ONE_BAR)
    for missing in range(16)
)


def name_of(missing: int) -> str:
    """Name a knot by the bits of its missing bars.

    Examples
    --------
    >>> name_of(LOWER_LEFT | LOWER_RIGHT), name_of(UPPER_LEFT)
    ('pickup, hanging', 'three-bar')
    """
    return NAMES[missing]


def kind_of(name: str) -> str:
    """What a knot is called without the side it is on.

    Examples
    --------
    >>> kind_of("pickup, hanging"), kind_of("sider on the left")
    ('pickup', 'sider')
    """
    return name.partition(",")[0].partition(" on ")[0]


def on_line(column: int, row: int) -> int:
    """Return the line, `row` or `row` + 1, on which that row has its knot at `column`."""
    return row + ((column + row) & 1)


def bar_between(a: tuple[int, int], b: tuple[int, int]) -> Bar:
    """Return the bar between two neighbouring knots.

    Raises
    ------
    ValueError
        When one of them is no knot (x + y odd) or they are no neighbours.
    """
    (ax, ay), (bx, by) = a, b
    if (ax + ay) & 1 or (bx + by) & 1:
        raise ValueError("a knot stands only where x + y is even")
    if abs(ax - bx) != 1 or abs(ay - by) != 1:
        raise ValueError("no bar joins these two knots")
    return Bar(min(ay, by), min(ax, bx))
