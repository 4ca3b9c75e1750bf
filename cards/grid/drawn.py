"""A hole as a text drawing of the web: slashes for whole bars, dots for broken ones."""

from __future__ import annotations

from typing import Collection

from cards.grid.hole import Hole


def drawn(
    hole: Hole,
    corner: tuple[int, int] | None = None,
    marked: Collection[tuple[int, int]] = (),
    margin: int = 1,
) -> list[str]:
    """Draw a hole, a line of text a row, a character a bar.

    Parameters
    ----------
    hole
        The broken bars.
    corner
        Column and row of the first bar drawn; where None, `margin` bars outside.
    marked
        Bars (row, column) to mark with ``x``.
    margin
        How many whole bars are drawn beside the hole and the marks, and above and below.

    Examples
    --------
    >>> from cards.grid.hole import hole_of_bars
    >>> print(*drawn(hole_of_bars([(1, 1)]), marked=[(1, 2)]), sep="\\n")
    \\/\\/
    /.x\\
    \\/\\/
    """
    left = min([hole.left, *(column for _, column in marked)]) - margin
    right = max([hole.right, *(column + 1 for _, column in marked)]) + margin
    top = min([hole.top, *(row for row, _ in marked)]) - margin
    bottom = max([hole.bottom, *(row + 1 for row, _ in marked)]) + margin
    left, top = corner or (left, top)
    pair = "\\/" * ((right - left) // 2 + 2)
    crossed: dict[int, list[int]] = {}
    for row, column in marked:
        crossed.setdefault(row, []).append(column)
    lines = []
    for row in range(top, bottom):
        lean = (row + left) & 1
        line = list(pair[lean : lean + right - left])
        for stretch in hole.row(row):
            line[stretch.left - left : stretch.right - left] = "." * (stretch.right - stretch.left)
        for column in crossed.get(row, ()):
            line[column - left] = "x"
        lines.append("".join(line))
    return lines
