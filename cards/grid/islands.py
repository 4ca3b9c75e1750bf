"""Web cut loose from everything: islands inside a hole."""

from __future__ import annotations

from cards.grid.hole import Hole, merged
from cards.grid.knots import Stretch


def islands(hole: Hole) -> tuple[tuple[Stretch, ...], ...]:
    """Find the whole bars inside a hole that hang on nothing.

    Returns
    -------
    tuple
        For each row of the hole, from `hole.top`, the stretches of whole bars that no way
        along whole bars joins to the web outside.

    Notes
    -----
    Linear in the number of stretches: the whole bars of a row between two stretches hang
    together, and two such pieces in neighbouring rows do where they share a knot on the
    line between the rows.
    """
    if all(len(row) < 2 for row in hole.rows):
        return ((),) * len(hole.rows)  # what hangs on nothing lies between two breaks of its row
    pieces: list[tuple[int, Stretch]] = []
    parent: list[int] = [0]  # piece 0 is the web outside

    def root(piece: int) -> int:
        while parent[piece] != piece:
            parent[piece] = parent[parent[piece]]
            piece = parent[piece]
        return piece

    def join(a: int, b: int) -> None:
        a, b = root(a), root(b)
        parent[max(a, b)] = min(a, b)

    left, right = hole.left - 2, hole.right + 2
    above: list[tuple[Stretch, int]] = [(Stretch(left, right), 0)]
    for row in range(hole.top, hole.bottom + 1):
        here: list[tuple[Stretch, int]] = []
        start = left
        for stretch in (*hole.row(row), Stretch(right, right)):
            if start == left or stretch.left == right:
                number = 0
            else:
                number = len(parent)
                parent.append(number)
                pieces.append((row, Stretch(start, stretch.left)))
            here.append((Stretch(start, stretch.left), number))
            start = stretch.right
        i = j = 0
        while i < len(above) and j < len(here):
            (a, a_number), (b, b_number) = above[i], here[j]
            first, last = max(a.left, b.left), min(a.right, b.right)
            first += (first + row) & 1
            if first <= last:
                join(a_number, b_number)
            if a.right <= b.right:
                i += 1
            else:
                j += 1
        above = here
    loose: list[list[Stretch]] = [[] for _ in hole.rows]
    for number, (row, piece) in enumerate(pieces, 1):
        if root(number):
            loose[row - hole.top].append(piece)
    return tuple(map(tuple, loose))


def with_islands(hole: Hole) -> tuple[Hole, int]:
    """Count islands as broken: the hole with them, and how many bars they were."""
    loose = islands(hole)
    lost = sum(right - left for row in loose for left, right in row)
    if not lost:
        return hole, 0
    rows = tuple(merged((*row, *gone)) for row, gone in zip(hole.rows, loose))
    return Hole(hole.top, rows), lost
