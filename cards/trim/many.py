"""The cheapest trim for several twines, and a bound where it cannot be proved.

A hole is taken apart where its breaks lie far from each other. Each part is trimmed with one twine
(`one`), and searched for a trim with several that is cheaper (`search`), unless the prices of its
breaks (`prices`) say that there is none.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from cards.grid import Hole, Stretch, hole_of_stretches
from cards.trim.binding import shares_loop
from cards.trim.one import trim_one
from cards.trim.prices import Prices
from cards.trim.run import Run, Side
from cards.trim.search import Found, Search

# Breaks further apart than the cost of a twine and this many bars are planned apart.
APART = 6
# And where no proof is found, those further apart than this are tried apart.
NEARER = (5, 1)
# Quick tries, where no other found anything: whether legs are taken as apart, states kept of a row.
TRIES = ((True, 3), (False, 6), (True, 12))


@dataclass(frozen=True, slots=True)
class Many:
    """The runs found, in the order of sewing, and a proved bound.

    Attributes
    ----------
    runs
        One a twine.
    cost
        Bars to sew + cost of a twine x twines.
    bound
        No trim costs less; equal to `cost` where the trim is proved to be the cheapest.
    """

    runs: tuple[Run, ...]
    cost: int
    bound: int


def trim_many(hole: Hole, twine_cost: int, start: Side | None = None) -> Many:
    """Trim a hole for any number of twines so that bars to sew + cost of twines is least.

    Parameters
    ----------
    hole
        The broken bars; islands have to be among them.
    twine_cost
        What a twine costs, in bars.
    start
        The side on which the twine sewn first starts; either where None.

    Returns
    -------
    Many
        The same for the same hole, whatever the machine: work is counted, not timed.

    Notes
    -----
    Parts so far from each other that joining them costs more than a twine are planned apart.
    """
    return _apart(_parts(hole, twine_cost + APART), twine_cost, start, NEARER)


def _apart(
    parts: list[Hole], twine_cost: int, start: Side | None, nearer: Sequence[int] = ()
) -> Many:
    """Plan parts one by one; those whose plans come too near to each other, together."""
    known: dict[tuple[Hole, Side | None], Many] = {}

    def planned(part: Hole, start: Side | None) -> Many:
        key = part, start
        if key not in known:
            if start is None:
                known[key] = _whole(part, twine_cost, None, nearer)
            else:
                free = planned(part, None)
                many = _started(free, start) or _whole(part, twine_cost, start, nearer)
                known[key] = Many(many.runs, many.cost, max(many.bound, free.bound))
        return known[key]

    while True:
        plans = [planned(part, None) for part in parts]
        bound = sum(many.bound for many in plans)
        first = None
        if start is not None:
            forced = [planned(part, start) for part in parts]
            bound += min(f.bound - many.bound for f, many in zip(forced, plans))
            n = min(range(len(parts)), key=lambda n: (forced[n].cost - plans[n].cost, n))
            plans[n] = forced[n]
            first = forced[n].runs[0]
        together = _near([many.runs for many in plans])
        if len(together) == len(parts):
            runs = _in_order([run for many in plans for run in many.runs], first)
            return Many(runs, sum(many.cost for many in plans), bound)
        parts = [_together([parts[n] for n in group]) for group in together]


def _whole(hole: Hole, twine_cost: int, start: Side | None, nearer: Sequence[int]) -> Many:
    """Plan one part: with one twine, or with several where that is cheaper.

    Where the plan is not proved, the part is tried in parts that lie nearer to each other.
    """
    sides: tuple[Side, ...] = (start,) if start else ("left", "right")
    one = min((trim_one(hole, side) for side in sides), key=lambda run: run.rank)
    bounds = _bounds(hole, twine_cost)
    best = Many((one,), one.size + twine_cost, hole.size + bounds.total)
    if best.bound >= best.cost:
        return Many(best.runs, best.cost, best.cost)
    best = _several(hole, twine_cost, start, best, bounds)
    for reach in nearer:
        parts = _parts(hole, reach) if best.bound < best.cost else []
        if len(parts) > 1:
            apart = _apart(parts, twine_cost, start)
            if apart.cost < best.cost:
                best = Many(apart.runs, apart.cost, best.bound)
    return best


def _several(hole: Hole, twine_cost: int, start: Side | None, one: Many, bounds: Prices) -> Many:
    """Look for a trim that is cheaper than with one twine; the hole is also tried upside down.

    Upside down a twine starts where it ended: what binds the twines is the same.
    """
    if start is not None:
        # A twine may begin in the row above.
        hole = Hole(hole.top - 1, ((), *hole.rows))
        bounds = _bounds(hole, twine_cost)
    upright = Search(hole, twine_cost, start, bounds)

    @cache
    def over() -> Search:
        turned = _upside_down(hole)
        return Search(turned, twine_cost, None, _bounds(turned, twine_cost))

    found: Found | None = None
    limit = one.cost - hole.size
    for guided, width in TRIES:
        found = upright.quickly(limit, guided, width)
        if found is None and start is None:
            found = _over(over().quickly(limit, guided, width))
        if found is not None:
            break
    best, limit = found or (one.runs, limit)
    bound = bounds.total
    if bound < limit:
        if start is None and over().bounds.total > bound:
            found, bound = over().surely(limit)
            found = _over(found)
        else:
            found, bound = upright.surely(limit)
        best, limit = found or (best, limit)
    many = Many(_in_order(best, None), hole.size + limit, hole.size + min(bound, limit))
    begun = many if start is None else _started(many, start)
    assert begun is not None, "the search lets a twine be first that starts there"
    return begun


def _started(many: Many, start: Side) -> Many | None:
    """The same with a twine first that starts on a side, or None where none can be."""
    for run in _sources(many.runs):
        if run.start == start or len(run.stretches) == 1:
            first = Run(run.top, run.stretches, start)
            others = [other for other in many.runs if other is not run]
            return Many(_in_order([first, *others], first), many.cost, many.bound)
    return None


def _bounds(hole: Hole, twine_cost: int) -> Prices:
    """The prices that make the higher bound."""
    prices = Prices(hole, twine_cost)
    if all(len(row) <= 1 for row in hole.rows):
        return prices
    return max(prices, Prices(hole, twine_cost, spread=True), key=lambda own: own.total)


def _upside_down(hole: Hole) -> Hole:
    return Hole(-hole.bottom, hole.rows[::-1])


def _over(found: Found | None) -> Found | None:
    """Runs found in the hole upside down, the right way up, and their cost."""
    if found is None:
        return None
    runs, cost = found
    return tuple(Run(-run.bottom, run.stretches[::-1], run.end) for run in runs), cost


# Parts


def _parts(hole: Hole, reach: int) -> list[Hole]:
    """Take a hole apart where the distance between breaks is more than `reach` half meshes."""
    found = _places(hole)
    begins = [0]
    for stretches in hole.rows:
        begins.append(begins[-1] + len(stretches))
    parent = list(range(len(found)))

    def root(n: int) -> int:
        while parent[n] != n:
            parent[n] = parent[parent[n]]
            n = parent[n]
        return n

    for n, (row, s) in enumerate(found):
        for below in range(row, min(row + reach + 1, hole.bottom)):
            stretches = hole.rows[below - hole.top]
            at = bisect_left(stretches, s.left - reach, key=lambda t: t.right)
            while at < len(stretches) and stretches[at].left <= s.right + reach:
                a, b = root(n), root(begins[below - hole.top] + at)
                parent[max(a, b)] = min(a, b)
                at += 1
    groups: dict[int, list[tuple[int, Stretch]]] = {}
    for n, place in enumerate(found):
        groups.setdefault(root(n), []).append(place)
    if len(groups) == 1:
        return [hole]
    return [_hole_of(group) for group in groups.values()]


def _places(hole: Hole) -> list[tuple[int, Stretch]]:
    return [(row, s) for row, stretches in enumerate(hole.rows, hole.top) for s in stretches]


def _hole_of(places: Sequence[tuple[int, Stretch]]) -> Hole:
    rows: dict[int, list[Stretch]] = {}
    for row, stretch in places:
        rows.setdefault(row, []).append(stretch)
    return hole_of_stretches(rows)


def _together(parts: Sequence[Hole]) -> Hole:
    if len(parts) == 1:
        return parts[0]
    return _hole_of([(row, s) for hole in parts for row, s in _places(hole)])


def _near(plans: Sequence[Sequence[Run]]) -> list[list[int]]:
    """Gather parts whose plans come nearer to each other than a mesh."""
    group = list(range(len(plans)))

    def root(n: int) -> int:
        while group[n] != n:
            n = group[n]
        return n

    rows: dict[int, list[tuple[Stretch, int]]] = {}
    for part, runs in enumerate(plans if len(plans) > 1 else ()):
        for run in runs:
            for row, stretch in enumerate(run.stretches, run.top):
                rows.setdefault(row, []).append((stretch, part))
    for row in sorted(rows):
        reach: dict[int, int] = {}
        for (left, right), part in sorted(rows[row] + rows.get(row + 1, [])):
            for own, end in list(reach.items()):
                if end < left:
                    del reach[own]
                elif own != part:
                    a, b = root(own), root(part)
                    group[max(a, b)] = min(a, b)
            reach[part] = max(right, reach.get(part, right))
    groups: dict[int, list[int]] = {}
    for n in range(len(plans)):
        groups.setdefault(root(n), []).append(n)
    return list(groups.values())


# Order of sewing


def _before(runs: Sequence[Run]) -> list[set[int]]:
    """For each run which others are sewn before it: they hang the loops that it ties."""
    rows: dict[int, list[tuple[Stretch, int]]] = {}
    for number, run in enumerate(runs):
        for row, stretch in enumerate(run.stretches, run.top):
            rows.setdefault(row, []).append((stretch, number))
    before: list[set[int]] = [set() for _ in runs]
    for row, above in rows.items():
        for stretch, number in above:
            for below, lower in rows.get(row + 1, ()):
                if lower != number and shares_loop(stretch, below, row + 1):
                    before[lower].add(number)
    return before


def _sources(runs: Sequence[Run]) -> list[Run]:
    return [run for run, before in zip(runs, _before(runs)) if not before]


def _in_order(runs: Sequence[Run], first: Run | None) -> tuple[Run, ...]:
    """Order runs so that loops hang before they are tied, the topmost first where it can be."""
    before = _before(runs)
    left = set(range(len(runs)))
    ordered: list[Run] = []
    while left:
        ready = [n for n in left if not before[n] & left]
        assert ready, "the search lets no order go round"
        n = min(ready, key=lambda n: (runs[n] != first, runs[n].top, runs[n].stretches))
        left.remove(n)
        ordered.append(runs[n])
    return tuple(ordered)
