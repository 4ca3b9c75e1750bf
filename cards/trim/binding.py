"""What binds the twines of a hole to each other: three-bars kept clear, order, web held."""

from __future__ import annotations

from bisect import bisect_right
from typing import NamedTuple

from cards.grid import Stretch

FAR = 1 << 40
Before = frozenset[tuple[int, int]]


class Piece(NamedTuple):
    """A stretch of a row: its ends and which of them is joined to the row below (-1, 1; 0 none)."""

    left: int
    right: int
    joined: int


def shares_loop(above: Stretch | Piece, below: Stretch | Piece, line: int) -> bool:
    """Whether a knot on the line misses its upper bars to one stretch, its lower to the other."""
    low = max(above[0], below[0]) + 1
    return low + ((low + line) & 1) < min(above[1], below[1])


def loose_below(pieces: tuple[Piece, ...], line: int) -> list[int]:
    """Columns of the loose ends on the line under a row."""
    return [
        end
        for piece in pieces
        for end, side in ((piece.left, -1), (piece.right, 1))
        if piece.joined != side and (end + line) & 1 == 0
    ]


def touches(pieces: tuple[Piece, ...], end: int) -> bool:
    """Whether a knot at this column misses a bar to one of the pieces of the next row."""
    at = bisect_right(pieces, (end, FAR))
    return at > 0 and pieces[at - 1].right >= end


def order_below(
    above: tuple[Piece, ...],
    before_above: Before,
    pieces: tuple[Piece, ...],
    source: tuple[int, ...],
    line: int,
) -> tuple[Before, frozenset[int]] | None:
    """Which piece's twine is sewn before which, a row further down; None where it goes round.

    And the pieces whose twine is sewn after some other.
    """
    count = len(above)
    twine = [s if s >= 0 else count + n for n, s in enumerate(source)]
    before = set(before_above)
    first = 0
    for a, upper in enumerate(above):
        while first < len(pieces) and pieces[first].right <= upper.left:
            first += 1
        for b, lower in zip(twine[first:], pieces[first:]):
            if lower.left >= upper.right:
                break
            if a == b or (a, b) in before or not shares_loop(upper, lower, line):
                continue
            if (b, a) in before:
                return None
            earlier = [x for x, y in before if y == a] + [a]
            later = [y for x, y in before if x == b] + [b]
            before.update((x, y) for x in earlier for y in later)
    if not before:
        return frozenset(), frozenset()
    place = {t: n for n, t in enumerate(twine)}
    return (
        frozenset((place[a], place[b]) for a, b in before if a in place and b in place),
        frozenset(place[b] for _, b in before if b in place),
    )


def web_below(
    above: tuple[Piece, ...], web: tuple[int, ...], pieces: tuple[Piece, ...], line: int
) -> tuple[int, ...] | None:
    """Number the whole web between the pieces of the next row; None where some is cut loose."""
    if len(above) < 2 and len(pieces) < 2:
        return ()
    upper = _gaps(above)
    below = _gaps(pieces)
    if (
        not any(web)
        and len(upper) == len(below)
        and all(_meet(a, b, line) for a, b in zip(upper, below))
    ):
        return web
    label = [0, *web, 0] if above else [0]
    # Numbers of web: those of the row above, then one for each gap of the row below.
    most = max(label) + 1
    group = list(range(most + len(below)))

    def root(n: int) -> int:
        while group[n] != n:
            n = group[n]
        return n

    def join(a: int, b: int) -> None:
        a, b = root(a), root(b)
        group[max(a, b)] = min(a, b)

    join(0, most)
    join(0, most + len(below) - 1)
    reached = {0}
    first = 0
    for number, web_above in zip(label, upper):
        while below[first][1] < web_above[0]:
            first += 1
        for n in range(first, len(below)):
            if below[n][0] > web_above[1]:
                break
            if _meet(web_above, below[n], line):
                join(number, most + n)
                reached.add(number)
    held = {root(number) for number in reached}
    if any(root(number) not in held for number in label):
        return None
    numbers: dict[int, int] = {0: 0}
    return tuple(numbers.setdefault(root(most + n), len(numbers)) for n in range(1, len(below) - 1))


def hanging_below(
    above: tuple[Piece, ...], web: tuple[int, ...], line: int
) -> list[tuple[int, int]]:
    """Web between two pieces that is held by the row below or not at all: its knots from and to."""
    gaps = _gaps(above)[1:-1]
    return [
        (left + ((left + line) & 1), right - ((right + line) & 1))
        for number, (left, right) in zip(web, gaps)
        if number and web.count(number) == 1
    ]


def _meet(above: tuple[int, int], below: tuple[int, int], line: int) -> bool:
    """Whether whole web of two rows shares a knot on the line between them."""
    first = max(above[0], below[0])
    return first + ((first + line) & 1) <= min(above[1], below[1])


def _gaps(pieces: tuple[Piece, ...]) -> list[tuple[int, int]]:
    """The whole web of a row: columns from and to, the outer ones without end."""
    edges = [-FAR, *(end for piece in pieces for end in piece[:2]), FAR]
    return list(zip(edges[::2], edges[1::2]))
