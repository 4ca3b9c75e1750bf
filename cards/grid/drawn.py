"""A hole as a text drawing of the web: slashes for whole bars, dots for broken ones."""

from __future__ import annotations

from typing import Iterable

from cards.grid.hole import Hole


def drawn(
    hole: Hole,
    corner: tuple[int, int] | None = None,
    marked: Iterable[tuple[int, int]] = (),
    margin: int = 1,
) -> list[str]:
    """Draw a hole, a line of text a row, a character a bar.

    Parameters
    ----------
    hole
        The broken bars.
    corner
        Column and row of the first bar drawn; where None, `margin` bars outside the hole.
    marked
        Bars (row, column) to mark with ``x``.
    margin
        Whole bars drawn on the right of the hole and below it.

    Examples
    --------
    >>> from cards.grid.hole import hole_of_bars
    >>> print(*drawn(hole_of_bars([(1, 1)])), sep="\\n")
    \\/\\
    /./
    \\/\\
    """
    left, top = corner or (hole.left - margin, hole.top - margin)
    right, bottom = hole.right + margin, hole.bottom + margin
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
            if left <= column < right:
                line[column - left] = "x"
        lines.append("".join(line))
    return lines
