"""Where the ends of stretches may lie: a few columns of each row, beside breaks."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field

from cards.grid import Hole, Stretch

FAR = 1 << 40


@dataclass
class Row:
    """What the search knows of a row beforehand: its breaks and the columns where ends may lie.

    Columns right of a piece and left of it, joined to the row below and loose, in order.
    `line` is the line under the row.
    """

    breaks: tuple[Stretch, ...]
    line: int
    joined_right: list[int] = field(default_factory=list)
    joined_left: list[int] = field(default_factory=list)
    loose_right: list[int] = field(default_factory=list)
    loose_left: list[int] = field(default_factory=list)


def rows_of(hole: Hole, twine_cost: int) -> list[Row]:
    """Work out for each row where ends may lie.

    A sider further out than the breaks of its two rows could be moved in by a mesh and save two
    bars, unless one of its two stretches is a single bar through whole web. So it lies
    next to a break of the two rows, or a single bar beside the sider above or below. A loose
    end lies next to a break of its row, or as near as it can beside a stretch of a
    neighbouring row, whose ends lie as near to breaks themselves.
    """
    rows = [Row(breaks, row + 1) for row, breaks in enumerate(hole.rows, hole.top)]
    count = len(rows)
    rights = [[s.right for s in row.breaks] for row in rows]
    lefts = [[s.left for s in row.breaks] for row in rows]
    # Bars through whole web, upwards from a sider: column and how many rows still.
    climbing: tuple[dict[int, int], dict[int, int]] = ({}, {})
    for at in range(count - 1, -1, -1):
        row = rows[at]
        if at + 1 == count:
            joined: tuple[dict[int, int], dict[int, int]] = ({}, {})
        else:
            joined = (
                {e: twine_cost for v in rights[at] + rights[at + 1] for e in (v, v + 1)},
                {e: twine_cost for u in lefts[at] + lefts[at + 1] for e in (u, u - 1)},
            )
            lower = rows[at + 1].breaks
            for column, still in climbing[1].items():
                if still and not _is_broken(lower, column):
                    joined[0][column + 1] = max(still - 1, joined[0].get(column + 1, -1))
            for column, still in climbing[0].items():
                if still and not _is_broken(lower, column - 1):
                    joined[1][column - 1] = max(still - 1, joined[1].get(column - 1, -1))
        climbing = tuple(  # type: ignore[assignment]
            {c: still for c, still in side.items() if (c + row.line) & 1 == 0} for side in joined
        )
        # On the line under the row the breaks of the next row have to leave an end its name.
        lower = rows[at + 1].breaks if at + 1 < count else ()
        further = rows[at + 2].breaks if at + 2 < count else ()
        row.joined_right = sorted(c for c in climbing[0] if not _is_broken(lower, c))
        row.joined_left = sorted(c for c in climbing[1] if not _is_broken(lower, c - 1))
        near = range(max(0, at - 2), min(count, at + 3))
        loose_right = {e for v in rights[at] for e in (v, v + 1)} | {
            v + d for n in near if n != at for v in rights[n] for d in (1, 2, 3)
        }
        loose_left = {e for u in lefts[at] for e in (u, u - 1)} | {
            u - d for n in near if n != at for u in lefts[n] for d in (1, 2, 3)
        }
        row.loose_right, row.loose_left = (
            sorted(c for c in columns if (c + row.line) & 1 or not _blocked(lower, further, c))
            for columns in (loose_right, loose_left)
        )
    return rows


def _blocked(lower: tuple[Stretch, ...], further: tuple[Stretch, ...], c: int) -> bool:
    """Whether breaks further down keep a knot at column `c` of the line above from being loose.

    A stretch of the next row that has to end beside it, at c - 1 or c + 1, needs a whole bar there
    in the row after.
    """
    return (
        _is_broken(lower, c - 1)
        or _is_broken(lower, c)
        or (_is_broken(lower, c - 2) and _is_broken(further, c - 1))
        or (_is_broken(lower, c + 1) and _is_broken(further, c))
    )


def _is_broken(breaks: tuple[Stretch, ...], column: int) -> bool:
    at = bisect_right(breaks, column, key=lambda s: s.left)
    return at > 0 and column < breaks[at - 1].right


def rights_of(
    row: Row,
    left: int,
    broken: int,
    stop: int,
    room: int,
    prices: list[int],
    spare: list[int] | None,
) -> Iterator[tuple[int, int, int, int]]:
    """Right ends of a piece from column `left`: (end, joined, breaks taken, good bars within)."""
    breaks = row.breaks
    taken, held = broken, 0
    columns = [(c, 0) for c in row.loose_right[bisect_right(row.loose_right, left) :]]
    columns += [(c, 1) for c in row.joined_right[bisect_right(row.joined_right, left) :]]
    if (left + row.line) & 1 and (left + 1, 1) not in columns:
        columns.append((left + 1, 1))
    columns.sort()
    for end, joined in columns:
        if end >= stop:
            break
        while taken < len(breaks) and breaks[taken].left < end:
            held += breaks[taken].right - breaks[taken].left
            room += prices[taken]
            taken += 1
        if taken > broken and breaks[taken - 1].right > end:
            continue
        if taken < len(breaks) and breaks[taken].left <= end:
            continue
        more = end - left - held
        if more > room:
            # Breaks further on may make up for the good bars up to the last one taken.
            beyond = end - breaks[taken - 1].right if taken > broken else more
            if spare is None or more - beyond > room + spare[taken]:
                break
            continue
        yield end, joined, taken, more


def lefts_of(row: Row, outer: int, edge: int, sider: int, whole: bool) -> Iterator[tuple[int, int]]:
    """Left ends of a piece at `outer` or left of it, from the right: (end, joined).

    Where the piece crosses whole web only, one that is a bar long is among them.
    """
    columns = [(c, 0) for c in row.loose_left[: bisect_right(row.loose_left, outer)]]
    columns += [(c, -1) for c in row.joined_left[: bisect_right(row.joined_left, outer)]]
    if whole and (sider + row.line) & 1 and (sider - 1, -1) not in columns:
        columns.append((sider - 1, -1))
    columns.sort(key=lambda end: (-end[0], end[1]))
    for end, joined in columns:
        if end < edge:
            return
        yield end, joined
