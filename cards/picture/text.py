"""The drawing of a hole for a terminal: slashes and dots, with cuts and knot numbers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Collection, Mapping

from cards.grid import Hole
from cards.grid.drawn import drawn

# Rows and bars that a spec leaves empty before the hole are drawn up to so many.
EMPTY_LIMIT = 12
RULED = 5  # every fifth bar has its number above


@dataclass(frozen=True, slots=True)
class Signs:
    """The characters of the wide drawing: bars by their lean, and what else there is."""

    falling: str
    rising: str
    broken: str
    cut: str
    knot: str = "+"


ASCII = Signs("\\", "/", ".", "x")
LINES = Signs("╲", "╱", "·", "×")


def signs_for(encoding: str | None) -> Signs:
    """The signs that an encoding has; plain ASCII where it has not all.

    Examples
    --------
    >>> signs_for("utf-8").rising, signs_for("latin-1").rising, signs_for(None).rising
    ('╱', '/', '/')
    """
    try:
        "".join((LINES.falling, LINES.rising, LINES.broken, LINES.cut)).encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return ASCII
    return LINES


def counted(at: tuple[int, int], origin: tuple[int, int]) -> tuple[int, int]:
    """Row and bar of a bar (row, column), both from 1, as the spec's own drawing counts them."""
    row, column = at
    return row - origin[1] + 1, column - origin[0] + 1


def row_drawing(
    hole: Hole, origin: tuple[int, int], cuts: Collection[tuple[int, int]] = ()
) -> list[str]:
    """Draw a hole as a spec would, with the numbers of rows and bars beside it.

    Parameters
    ----------
    hole
        The broken bars.
    origin
        Column and row of the grid that is bar 1 of row 1.
    cuts
        Bars (row, column) to mark with ``x``.

    Examples
    --------
    >>> from cards.grid import hole_of_bars
    >>> print(*row_drawing(hole_of_bars([(1, 3), (1, 4), (1, 5)]), (0, 0)), sep="\\n")
             5
      1  \\/\\/\\/\\
      2  /\\/.../
      3  \\/\\/\\/\\
    """
    left = min([hole.left, *(column for _, column in cuts)]) - 1
    top = min([hole.top, *(row for row, _ in cuts)]) - 1
    corner = (
        origin[0] if left - EMPTY_LIMIT <= origin[0] <= left else left,
        origin[1] if top - EMPTY_LIMIT <= origin[1] <= top else top,
    )
    rows = drawn(hole, corner, cuts)
    last_row, last_bar = counted((corner[1] + len(rows) - 1, corner[0] + len(rows[0]) - 1), origin)
    wide = max(3, len(str(last_row)))
    ruler = ""
    for bar in range(RULED, last_bar + 1, RULED):
        place = bar - counted((0, corner[0]), (origin[0], 0))[1]
        if place - len(ruler) + 1 >= len(str(bar)):
            ruler += str(bar).rjust(place - len(ruler) + 1)
    lines = [" " * (wide + 2) + ruler] if ruler else []
    for at, row in enumerate(rows, corner[1]):
        number, _ = counted((at, 0), origin)
        lines.append(f"{number if number > 0 else '':>{wide}}  {row}")
    return lines


def knot_drawing(
    hole: Hole,
    numbers: Mapping[tuple[int, int], int],
    cuts: Collection[tuple[int, int]] = (),
    signs: Signs = ASCII,
) -> list[str]:
    """Draw the web wide, with the number of each knot that is tied.

    Parameters
    ----------
    hole
        The bars to sew, cuts among them.
    numbers
        The number of each knot tied, by its place.
    cuts
        Bars (row, column) to mark as cut.
    signs
        The characters to draw with.

    Examples
    --------
    >>> from cards.grid import hole_of_bars
    >>> print(*knot_drawing(hole_of_bars([(1, 1)]), {(1, 1): 1, (2, 2): 2}), sep="\\n")
    +   +
     \\ / \\
      1   +
     / . /
    +   2
     \\ / \\
      +   +
    """
    crossed = set(cuts)
    left, right, top, bottom = hole.left - 1, hole.right + 1, hole.top - 1, hole.bottom + 1
    digits = len(str(max(numbers.values(), default=0)))
    wide = max(2, (digits + 2) // 2)
    lines = []
    for line in range(top, bottom + 1):
        knots = [" "] * (wide * (right - left + 2))
        for x in range(left + ((left + line) & 1), right + 1, 2):
            number = numbers.get((x, line))
            lost = hole.lost_at((x, line))
            sign = str(number) if number else " " if lost else signs.knot
            begin = max(0, (x - left) * wide - (len(sign) - 1) // 2)
            knots[begin : begin + len(sign)] = sign
        lines.append("".join(knots).rstrip())
        if line == bottom:
            break
        bars = [" "] * (wide * (right - left + 2))
        for column in range(left, right):
            lean = signs.rising if (line + column) & 1 else signs.falling
            if (line, column) in crossed:
                lean = signs.cut
            elif hole.misses(line, column):
                lean = signs.broken
            bars[(column - left) * wide + wide // 2] = lean
        lines.append("".join(bars).rstrip())
    return lines


def stressed(line: str) -> str:
    """A line of a drawing with its cuts and numbers in bold, for a terminal."""
    return re.sub(r"[0-9]+|[x×]", "\x1b[1m\\g<0>\x1b[0m", line)
