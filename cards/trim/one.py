"""The fewest cuts for one twine: a dynamic programme down the sides of the hole.

For one twine the missing bars of each row are one stretch, and neighbouring rows are joined
by a sider, on one side and the other by turns. So a trim is a chain of columns: where the
twine starts, the siders from line to line, where it ends. Each column of the chain
ends one stretch of the row above it and one of the row below it, and its parity is fixed, as
a sider stands on the line between its two rows. Every good bar in a stretch is a cut.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from cards.grid import Hole, Stretch
from cards.trim.run import Run, Side


@dataclass(frozen=True, slots=True)
class _Loose:
    """A loose end of the chain: its column, and whether it keeps clear of the next row."""

    column: int
    clear: bool


def trim_one(hole: Hole, start: Side) -> Run:
    """Trim a hole for one twine that starts on the given side, with the fewest cuts.

    Parameters
    ----------
    hole
        The broken bars; islands have to be among them.
    start
        The side of the first row on which the twine starts.

    Returns
    -------
    Run
        The bars to sew. No other run that starts there and sews every broken bar has fewer. Where
        it saves cuts, the run begins with a single bar in the row above the hole, which brings
        the start to the side asked for.

    Notes
    -----
    Linear in the number of rows where every row has a broken bar. Across rows with none the
    columns between the two ends of the gap are tried one by one.

    Examples
    --------
    >>> from cards.grid import Bar, hole_of_bars
    >>> trim_one(hole_of_bars([Bar(0, 0), Bar(1, 0)]), "left").stretches
    (Stretch(left=0, right=1), Stretch(left=0, right=1))
    """
    if start == "right":
        return trim_one(hole.mirrored(), "left").mirrored()
    straight = _from_left(hole)
    turned = _from_left(hole.mirrored(), outer_start=True).mirrored()
    # The row above turns a start on the right, on the outer line, into one on the left.
    begin = turned.stretches[0].right
    above = (Stretch(begin - 1, begin), *turned.stretches)
    return min(straight, Run(hole.top - 1, above, "left"), key=lambda run: run.size)


def _from_left(hole: Hole, outer_start: bool = False) -> Run:
    """The best run that starts on the left of the first broken row."""
    best: tuple[int, list[int]] | None = None
    for first in _loose_ends(hole, 0):
        if outer_start and first.clear:
            continue
        for last in _loose_ends(hole, len(hole.rows)):
            chain = _chain(hole, first, last)
            if chain and (best is None or chain[0] < best[0]):
                best = chain
    assert best is not None, "a loose end on the outer line always leaves a way"
    return Run(hole.top, _stretches_of(best[1]), "left")


def _stretches_of(chain: list[int]) -> tuple[Stretch, ...]:
    return tuple(Stretch(min(pair), max(pair)) for pair in pairwise(chain))


def _is_left(place: int) -> bool:
    """Whether this place of the chain is on the left: the start is, then every other one."""
    return place % 2 == 0


def _loose_ends(hole: Hole, place: int) -> list[_Loose]:
    """Where the chain can begin (place 0) or end (place n): two columns at most.

    A loose end misses one bar only. On the outer line it always does. On the inner line it
    does where the stretch of the next row stays clear of it.
    """
    row = hole.top if place == 0 else hole.bottom - 1
    outer_line = hole.top + place
    stretches = hole.row(row)
    if _is_left(place):
        edge, outward = stretches[0].left, -1
    else:
        edge, outward = stretches[-1].right, 1
    if (edge + outer_line) % 2 == 0:
        return [_Loose(edge, clear=False)]
    return [_Loose(edge, clear=True), _Loose(edge + outward, clear=False)]


def _chain(hole: Hole, first: _Loose, last: _Loose) -> tuple[int, list[int]] | None:
    """Return the cheapest chain between two loose ends and its bars, or None."""
    count = len(hole.rows)
    columns = _columns_open(hole, first, last)
    if first.clear and count >= 2:
        columns[2] = [c for c in columns[2] if c > first.column]
    if last.clear and count >= 2:
        keep_left = _is_left(count)
        columns[count - 2] = [
            c for c in columns[count - 2] if (c > last.column if keep_left else c < last.column)
        ]
    if not all(columns):
        return None
    # cost[i] of ending row `place - 1` at columns[place][i], and the choice that led there.
    cost = [0] * len(columns[0])
    choices: list[list[int]] = []
    for place in range(1, count + 1):
        before, here = columns[place - 1], columns[place]
        if len(before) == 1 and len(here) == 1:
            length = before[0] - here[0] if _is_left(place) else here[0] - before[0]
            if length < 1:
                return None
            cost = [cost[0] + length]
            choices.append([0])
        else:
            cost, chosen = _step(before, here, cost, to_left=_is_left(place))
            choices.append(chosen)
    best = min(range(len(cost)), key=cost.__getitem__)
    if cost[best] >= _NEVER:
        return None
    total, at = cost[best], best
    chain = [columns[count][at]]
    for place in range(count, 0, -1):
        at = choices[place - 1][at]
        chain.append(columns[place - 1][at])
    chain.reverse()
    return total, chain


_NEVER = 1 << 60


def _step(
    before: list[int], here: list[int], cost: list[int], *, to_left: bool
) -> tuple[list[int], list[int]]:
    """Extend the cheapest chains by one row, from columns `before` to columns `here`."""
    if to_left:
        mirrored_before = [-c for c in reversed(before)]
        mirrored_here = [-c for c in reversed(here)]
        costs, chosen = _step(mirrored_before, mirrored_here, cost[::-1], to_left=False)
        return costs[::-1], [len(before) - 1 - c if c >= 0 else c for c in reversed(chosen)]
    # Going right the row is here - before long: the best start is that of least cost - before.
    costs, chosen = [], []
    i, best, least, count = 0, -1, _NEVER, len(before)
    for column in here:
        while i < count and before[i] < column:
            slack = cost[i] - before[i]
            if slack <= least:
                best, least = i, slack
            i += 1
        costs.append(least + column if least + column < _NEVER else _NEVER)
        chosen.append(best)
    return costs, chosen


def _columns_open(hole: Hole, first: _Loose, last: _Loose) -> list[list[int]]:
    """For each place of the chain the columns it may take, from the left.

    Between two rows with broken bars the column nearest to them that has the right parity is
    the best: one further out costs a bar in both rows. Next to a row without a broken bar the
    chain may have to reach out to the other end of the gap, so all columns up to there are open.
    """
    count = len(hole.rows)
    columns: list[list[int]] = [[first.column]]
    place = 1
    while place < count:
        gap = place
        while gap < count and not hole.rows[gap]:
            gap += 1
        if gap == place:
            above, below = _edge(hole, place, above=True), _edge(hole, place)
            tight = min(above, below) if _is_left(place) else max(above, below)
            columns.append([_even_out(tight, hole.top + place, _is_left(place))])
            place += 1
            continue
        anchors = {place: _edge(hole, place, above=True), gap: _edge(hole, gap)}
        reach = [*anchors.values()]
        if place == 1:
            reach.append(first.column)
        if gap == count - 1:
            reach.append(last.column)
        low, high = min(reach) - 3, max(reach) + 3
        for k in range(place, gap + 1):
            bottom, top = low, high
            if k in anchors:
                bottom, top = (low, anchors[k]) if _is_left(k) else (anchors[k], high)
            bottom += (bottom + hole.top + k) % 2
            columns.append(list(range(bottom, top + 1, 2)))
        place = gap + 1
    columns.append([last.column])
    return columns


def _edge(hole: Hole, place: int, above: bool = False) -> int:
    """The outermost broken column, on the side of this place, of the row below or above it."""
    stretches = hole.rows[place - 1 if above else place]
    return stretches[0].left if _is_left(place) else stretches[-1].right


def _even_out(column: int, line: int, left: bool) -> int:
    """Step outwards by one where no knot stands at this column of the line."""
    return column + (-1 if left else 1) * ((column + line) % 2)
