"""The cheapest trim for several twines: a search down the rows, and a bound where it stops early.

Each row of a trimmed hole has stretches of missing bars, each sewn by one twine. A stretch is
joined to the row below at one end by a sider, to the row above at the other; an end that
is not joined is the start or the end of a twine, a three-bar. A twine is therefore
a chain of columns, as in `one`, and the only things that bind the twines to each other are: a whole
bar between two stretches of a row, three-bars that keep clear of the stretches beyond them, an
order of sewing in which every loop hangs before it is tied, and no web cut loose.

The search goes row by row and keeps, for each way the last row can look, the cheapest
trim down to it. What is to come costs no less than its broken bars, half of its odd knots
in cuts (a T-join: J. Edmonds, E. L. Johnson, Matching, Euler tours and the Chinese
postman, Mathematical Programming 5, 1973), so a state that cannot beat the best trim known is left.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from cards.grid import Hole, Stretch
from cards.grid.hole import merged
from cards.trim.one import trim_one
from cards.trim.run import Run, Side

# The first way down keeps this many states of a row, of each no more choices than
# about so many, and none that costs so much more than the best (on top of a twine).
WIDTH = 8
CHOICES = 12
MARGIN = 4
SHARES = (4, 1)
WIDER = 5  # times as many of each where the first way down comes to an end
NEAREST = 2  # columns tried for an end of a kind
# Pieces placed and states made, in all, after which the proof is given up.
WORK = 30_000
# The same for the ways down before it.
WAYS_WORK = 70_000
# Breaks further apart than the cost of a twine and this many bars are planned apart.
APART = 6
FAR = 1 << 40


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


class _Piece(NamedTuple):
    """A stretch of a row: its ends and which of them is joined to the row below (-1, 1; 0 none)."""

    left: int
    right: int
    joined: int


class _Choice(NamedTuple):
    """A way to fill a row: its rank, cost, the twines begun, the pieces, and where each comes from.

    `source` is the place among the siders above, or -1.
    """

    rank: int
    cost: int
    begun: int
    pieces: tuple[_Piece, ...]
    source: tuple[int, ...]


@dataclass(slots=True)
class _State:
    """The cheapest trim known down to a row that ends in `pieces`.

    `before` holds pairs of pieces of which the twine of the first is sewn before that of the
    second. `web` numbers the whole web between two pieces; 0 hangs on the web outside.
    `first` tells for each piece whether its twine may be the first, begun on the side asked for;
    `begun` whether one that has ended was.
    """

    excess: int
    twines: int
    pieces: tuple[_Piece, ...]
    before: frozenset[tuple[int, int]]
    web: tuple[int, ...]
    first: tuple[bool, ...]
    begun: bool
    parent: _State | None
    source: tuple[int, ...]
    bound: int = 0

    @property
    def key(self) -> tuple[object, ...]:
        return (self.pieces, tuple(sorted(self.before)), self.web, self.first, self.begun)


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
    parts = _parts(hole, twine_cost + APART)
    while True:
        planned = [_whole(part, twine_cost, None) for part in parts]
        clash = _clash([many.runs for many in planned])
        if clash is None:
            break
        a, b = clash
        parts = [part for n, part in enumerate(parts) if n not in clash] + [
            _together(parts[a], parts[b])
        ]
    first = None
    if start is not None and planned:
        forced = [_whole(part, twine_cost, start) for part in parts]
        first = min(range(len(parts)), key=lambda n: (forced[n].cost - planned[n].cost, n))
        planned[first] = forced[first]
    runs = [run for many in planned for run in many.runs]
    return Many(
        _in_order(runs, planned[first].runs[0] if first is not None else None),
        sum(many.cost for many in planned),
        sum(many.bound for many in planned),
    )


def _whole(hole: Hole, twine_cost: int, start: Side | None) -> Many:
    """Plan one part: the one-twine plan unless the search finds a cheaper one."""
    sides: tuple[Side, ...] = (start,) if start else ("left", "right")
    one = min((trim_one(hole, side) for side in sides), key=lambda run: run.size)
    best = Many((one,), one.size + twine_cost, one.size + twine_cost)
    search = _Search(hole, twine_cost, start)
    floor = hole.size + 2 * twine_cost + max(0, (search.odd_knots - 3) // 2)
    if best.cost <= floor:
        return best
    runs, bound = search.best(best.cost - hole.size)
    if runs is None:
        return Many(best.runs, best.cost, min(best.cost, hole.size + bound))
    cost = sum(run.size for run in runs) + twine_cost * len(runs)
    if start is not None:
        runs = _turned(runs, start)
    return Many(runs, cost, min(cost, hole.size + bound))


def _turned(runs: tuple[Run, ...], start: Side) -> tuple[Run, ...]:
    first = next(run for run in _sources(runs) if run.start == start)
    return _in_order(runs, first)


# Parts


def _parts(hole: Hole, reach: int) -> list[Hole]:
    """Take a hole apart where the distance between breaks is more than `reach` half meshes."""
    found = [(row, s) for row, stretches in enumerate(hole.rows, hole.top) for s in stretches]
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


def _hole_of(places: Sequence[tuple[int, Stretch]]) -> Hole:
    rows: dict[int, list[Stretch]] = {}
    for row, stretch in places:
        rows.setdefault(row, []).append(stretch)
    top, bottom = min(rows), max(rows)
    return Hole(top, tuple(merged(rows.get(row, ())) for row in range(top, bottom + 1)))


def _together(a: Hole, b: Hole) -> Hole:
    return _hole_of(
        [(row, s) for hole in (a, b) for row in range(hole.top, hole.bottom) for s in hole.row(row)]
    )


def _clash(plans: Sequence[Sequence[Run]]) -> tuple[int, int] | None:
    """Two parts whose plans come nearer than a mesh; None where all keep apart."""
    rows: dict[int, list[tuple[Stretch, int]]] = {}
    if len(plans) == 1:
        return None
    for part, runs in enumerate(plans):
        for run in runs:
            for row, stretch in enumerate(run.stretches, run.top):
                rows.setdefault(row, []).append((stretch, part))
    for row in sorted(rows):
        near = sorted(rows[row] + rows.get(row + 1, []))
        reach: dict[int, int] = {}
        for (left, right), part in near:
            for own, end in reach.items():
                if own != part and left <= end:
                    return min(own, part), max(own, part)
            reach[part] = max(right, reach.get(part, right))
    return None


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
                if lower != number and _shares_loop(stretch, below, row + 1):
                    before[lower].add(number)
    return before


def _shares_loop(above: tuple[int, ...], below: tuple[int, ...], line: int) -> bool:
    """Whether a knot on the line misses its upper bars to one stretch, its lower to the other."""
    low = max(above[0], below[0]) + 1
    return low + ((low + line) & 1) < min(above[1], below[1])


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


# The search


@dataclass
class _Row:
    """What the search knows of a row beforehand: its breaks and the columns where ends may lie.

    Columns right of a piece and left of it, joined to the row below and loose, in order.
    `line` is the line under the row, `odd` the odd knots below that line, `more` whether rows
    below have breaks.
    """

    breaks: tuple[Stretch, ...]
    line: int
    most: int
    joined_right: list[int] = field(default_factory=list)
    joined_left: list[int] = field(default_factory=list)
    loose_right: list[int] = field(default_factory=list)
    loose_left: list[int] = field(default_factory=list)
    odd: int = 0
    more: bool = False


class _TooMuch(Exception):
    """The proof takes more work than it is given."""


class _Search:
    """One search: the rows, what a twine costs, and the choices already worked out."""

    def __init__(self, hole: Hole, twine_cost: int, start: Side | None) -> None:
        self.hole = hole
        self.top = hole.top
        self.twine_cost = twine_cost
        self.start = start
        self.proving = False
        self.weight = twine_cost
        self.least = FAR
        self.wider = 1
        self.rows = _rows_of(hole, twine_cost, narrow=True)
        self.odd_knots = _odd_knots(hole)
        self.choices: dict[tuple[int, tuple[_Piece, ...]], tuple[int, list[_Choice]]] = {}
        self.work = 0

    def best(self, limit: int) -> tuple[tuple[Run, ...] | None, int]:
        """Find runs of less excess than `limit`, or None; and a bound of the excess.

        The excess is good bars cut + cost of twines. First a way down that keeps few states finds
        a good trim, once for each share of a twine's cost by which states are ranked; then one
        that keeps all that could be better proves it or finds the best.
        """
        runs = None
        for share in SHARES:
            self.weight = self.twine_cost * share // SHARES[0]
            self.work = 0
            for self.wider in (1, WIDER):
                self.choices.clear()
                last, _ = self._down(limit)
                if last is not None:
                    runs, limit = self._runs(last), last.excess
                if runs is not None:
                    break
        self.weight = self.twine_cost
        self.proving, self.work = True, 0
        self.choices.clear()
        self.rows = _rows_of(self.hole, self.twine_cost, narrow=False)
        last, bound = self._down(limit)
        if last is not None:
            runs = self._runs(last)
        return runs, bound

    def _down(self, limit: int) -> tuple[_State | None, int]:
        """Go down the rows; return the best last state below the limit, and a bound."""
        layer = [_State(0, 0, (), frozenset(), (), (), False, None, ())]
        for at in range(len(self.rows)):
            found: dict[tuple[object, ...], _State] = {}
            self.least = FAR
            try:
                for state in layer:
                    self._extend(state, at, limit, found)
            except _TooMuch:
                return None, min(limit, *(state.bound for state in layer))
            unweighed = self.twine_cost - self.weight
            layer = sorted(
                found.values(),
                key=lambda s: (s.bound - unweighed * s.twines, s.excess, s.twines, s.pieces),
            )
            if not self.proving:
                layer = layer[: WIDTH * self.wider]
        ends = [s for s in layer if self.start is None or s.begun or any(s.first)]
        best = min(ends, key=lambda s: (s.excess, s.twines, s.pieces), default=None)
        return best, best.excess if best else limit

    def _worked(self) -> None:
        """Count a step; stop where it takes too many."""
        self.work += 1
        if self.work > (WORK if self.proving else WAYS_WORK):
            raise _TooMuch

    def _extend(
        self, state: _State, at: int, limit: int, found: dict[tuple[object, ...], _State]
    ) -> None:
        siders = tuple(
            (p.right if p.joined > 0 else p.left, p.joined) for p in state.pieces if p.joined
        )
        origin = [n for n, p in enumerate(state.pieces) if p.joined]
        row = self.rows[at]
        line = self.top + at
        room = limit - 1 - state.excess
        if self.twine_cost:
            room -= max(0, (row.odd - len(siders) + 1) // 2)
        rank = state.excess - (self.twine_cost - self.weight) * state.twines
        for choice in self._choices_for(at, state, siders, room):
            excess = choice.cost
            if excess - choice.begun > room:
                continue
            if not self.proving and rank + choice.rank > self.least + self.twine_cost + MARGIN:
                break
            self._worked()
            live = sum(1 for p in choice.pieces if p.joined)
            ahead = 0
            if self.twine_cost:
                ahead = max(0, (row.odd - live + 1) // 2)
                if row.more and not live:
                    ahead = max(ahead, self.twine_cost + max(0, (row.odd - 1) // 2))
            bound = state.excess + excess + ahead
            if bound >= limit:
                continue
            source = tuple(origin[n] if n >= 0 else -1 for n in choice.source)
            order = _order_below(state, choice.pieces, source, line)
            if order is None:
                continue
            before, late = order
            web = _web_below(state, choice.pieces, line)
            if web is None:
                continue
            first, begun = self._first_below(state, choice.pieces, source, late)
            new = _State(
                state.excess + excess,
                state.twines + choice.begun,
                choice.pieces,
                before,
                web,
                first,
                begun,
                state,
                source,
                bound,
            )
            self.least = min(self.least, rank + choice.rank)
            known = found.get(new.key)
            if known is None or (new.excess, new.twines) < (known.excess, known.twines):
                found[new.key] = new

    def _first_below(
        self,
        state: _State,
        pieces: tuple[_Piece, ...],
        source: tuple[int, ...],
        late: frozenset[int],
    ) -> tuple[tuple[bool, ...], bool]:
        if self.start is None:
            return (), False
        wanted = -1 if self.start == "left" else 1
        first = tuple(
            n not in late and (state.first[s] if s >= 0 else p.joined in (-wanted, 0))
            for n, (p, s) in enumerate(zip(pieces, source))
        )
        ended = any(f for n, f in enumerate(state.first) if n not in source)
        return first, state.begun or ended

    def _runs(self, last: _State) -> tuple[Run, ...]:
        """Follow the states back up and read the runs off them."""
        states: list[_State] = []
        state: _State | None = last
        while state is not None and state.parent is not None:
            states.append(state)
            state = state.parent
        states.reverse()
        tops: list[int] = []
        begins: list[_Piece] = []
        chains: list[list[Stretch]] = []
        above: list[int] = []
        for row, own in enumerate(states, self.top):
            here: list[int] = []
            for piece, source in zip(own.pieces, own.source):
                if source < 0:
                    number = len(chains)
                    tops.append(row)
                    begins.append(piece)
                    chains.append([])
                else:
                    number = above[source]
                chains[number].append(Stretch(piece.left, piece.right))
                here.append(number)
            above = here
        runs = []
        for top, piece, chain in zip(tops, begins, chains):
            side: Side = "right" if piece.joined < 0 else "left"
            if piece.joined == 0 and self.start is not None:
                side = self.start
            runs.append(Run(top, tuple(chain), side))
        return _in_order(runs, None)

    # Choices of a row

    def _choices_for(
        self, at: int, state: _State, siders: tuple[tuple[int, int], ...], room: int
    ) -> list[_Choice]:
        """Ways to fill the row below a state with at most `room` excess, cheapest first."""
        known = self.choices.get((at, state.pieces))
        if known is not None and known[0] >= room:
            return known[1]
        choices = self._fill(at, state, siders, room)
        self.choices[at, state.pieces] = room, choices
        return choices

    def _fill(
        self, at: int, state: _State, siders: tuple[tuple[int, int], ...], room: int
    ) -> list[_Choice]:
        """Fill a row piece by piece from the left; beginnings that reach as far are ranked."""
        row = self.rows[at]
        line = self.top + at
        # A twine begun may spare half a cut further down.
        spare = 1 if self.twine_cost else 0
        clear = _loose_below(state.pieces, line)
        end = len(siders), len(row.breaks)
        waiting: dict[tuple[int, int], list[_Filled]] = {(0, 0): [_Filled(0, 0, 0, (), (), 0)]}
        while len(waiting) > 1 or end not in waiting:
            if not waiting:
                return []
            place = min(waiting, key=lambda p: (p == end, p[0] + p[1]))
            filled_here = sorted(waiting.pop(place))
            if not self.proving:
                filled_here = filled_here[: CHOICES * self.wider]
            for filled in filled_here:
                left = room - filled.cost + spare * filled.begun
                for piece, origin, sider, broken, good in self._next(
                    row, siders, place, filled, left
                ):
                    self._worked()
                    if any(piece.left <= c <= piece.right for c in clear):
                        continue
                    side = siders[origin][1] if origin >= 0 else 0
                    if any(
                        own not in (piece.joined, side)
                        and (c + line) & 1 == 0
                        and _touches(state.pieces, c)
                        for c, own in ((piece.left, -1), (piece.right, 1))
                    ):
                        continue
                    waiting.setdefault((sider, broken), []).append(
                        _Filled(
                            filled.rank + good + self.weight * (origin < 0),
                            filled.cost + good + self.twine_cost * (origin < 0),
                            filled.begun + (origin < 0),
                            (*filled.pieces, piece),
                            (*filled.source, origin),
                            filled.excess + good,
                        )
                    )
        choices = [
            _Choice(f.rank, f.cost, f.begun, f.pieces, f.source) for f in sorted(waiting[end])
        ]
        return choices if self.proving else choices[: CHOICES * self.wider]

    def _next(
        self,
        row: _Row,
        siders: tuple[tuple[int, int], ...],
        place: tuple[int, int],
        filled: _Filled,
        room: int,
    ) -> Iterator[tuple[_Piece, int, int, int, int]]:
        """The pieces that can come next: piece, its sider, next sider, next break, good bars."""
        sider, broken = place
        edge = filled.pieces[-1].right + 1 if filled.pieces else -FAR
        breaks = row.breaks
        limit, going = siders[sider] if sider < len(siders) else (FAR, 0)
        first = breaks[broken].left if broken < len(breaks) else FAR
        if going < 0 and edge <= limit <= first:
            # From the sider on the left, going right.
            stop = siders[sider + 1][0] if sider + 1 < len(siders) else FAR
            for end, joined, taken, good in _rights(row, limit, broken, stop, room):
                if joined or taken > broken:
                    yield _Piece(limit, end, joined), sider, sider + 1, taken, good
        if going > 0:
            # To the sider on the right; the breaks before it are all within.
            taken = broken
            while taken < len(breaks) and breaks[taken].left < limit:
                taken += 1
            if taken == broken or breaks[taken - 1].right <= limit:
                held = sum(s.right - s.left for s in breaks[broken:taken])
                outer = min(first, limit - 1)
                for end, joined in _lefts(row, outer, edge, limit, taken == broken):
                    good = limit - end - held
                    if good > room:
                        break
                    if joined or taken > broken:
                        yield _Piece(end, limit, joined), sider, sider + 1, taken, good
        room -= self.twine_cost - (1 if self.twine_cost else 0)
        if first < limit and room >= 0:
            # A new twine over the next breaks.
            for left, left_joined in _lefts(row, first, edge, FAR, False):
                lead = first - left
                if lead > room:
                    break
                for right, joined, taken, good in _rights(row, first, broken, limit, room - lead):
                    if not (left_joined and joined):
                        piece = _Piece(left, right, left_joined or joined)
                        yield piece, -1, sider, taken, lead + good


class _Filled(NamedTuple):
    """The beginning of a row, filled from the left; ordered by its rank."""

    rank: int
    cost: int
    begun: int
    pieces: tuple[_Piece, ...]
    source: tuple[int, ...]
    excess: int


def _rights(
    row: _Row, left: int, broken: int, stop: int, room: int
) -> Iterator[tuple[int, int, int, int]]:
    """Right ends of a piece from column `left`: (end, joined, breaks taken, good bars within)."""
    breaks = row.breaks
    taken, held = broken, 0
    yielded: dict[tuple[int, int], int] = {}
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
            taken += 1
        if taken > broken and breaks[taken - 1].right > end:
            continue
        if taken < len(breaks) and breaks[taken].left <= end:
            continue
        more = end - left - held
        if more > room:
            break
        count = yielded.get((taken, joined), 0)
        if count < row.most:
            yielded[taken, joined] = count + 1
            yield end, joined, taken, more


def _lefts(row: _Row, outer: int, edge: int, sider: int, whole: bool) -> Iterator[tuple[int, int]]:
    """Left ends of a piece at `outer` or left of it, from the right: (end, joined).

    Where the piece crosses whole web only, one that is a bar long is among them.
    """
    columns = [(c, 0) for c in row.loose_left[: bisect_right(row.loose_left, outer)]]
    columns += [(c, -1) for c in row.joined_left[: bisect_right(row.joined_left, outer)]]
    if whole and (sider + row.line) & 1 and (sider - 1, -1) not in columns:
        columns.append((sider - 1, -1))
    columns.sort(key=lambda end: (-end[0], end[1]))
    yielded = [0, 0]
    for end, joined in columns:
        if end < edge:
            return
        if yielded[joined] < row.most:
            yielded[joined] += 1
            yield end, joined


def _loose_below(pieces: tuple[_Piece, ...], line: int) -> list[int]:
    """Columns of the loose ends on the line under a row."""
    return [
        end
        for piece in pieces
        for end, side in ((piece.left, -1), (piece.right, 1))
        if piece.joined != side and (end + line) & 1 == 0
    ]


def _touches(pieces: tuple[_Piece, ...], end: int) -> bool:
    """Whether a knot at this column misses a bar to one of the pieces of the next row."""
    return any(left <= end <= right for left, right, _ in pieces)


def _order_below(
    state: _State, pieces: tuple[_Piece, ...], source: tuple[int, ...], line: int
) -> tuple[frozenset[tuple[int, int]], frozenset[int]] | None:
    """Which piece's twine is sewn before which, a row further down; None where it goes round.

    And the pieces whose twine is sewn after some other.
    """
    count = len(state.pieces)
    twine = [s if s >= 0 else count + n for n, s in enumerate(source)]
    before = set(state.before)
    for a, upper in enumerate(state.pieces):
        for b, lower in zip(twine, pieces):
            if a == b or (a, b) in before or not _shares_loop(upper, lower, line):
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


def _web_below(state: _State, pieces: tuple[_Piece, ...], line: int) -> tuple[int, ...] | None:
    """Number the whole web between the pieces of the next row; None where some is cut loose."""
    if len(state.pieces) < 2 and len(pieces) < 2:
        return ()
    above = _gaps(state.pieces)
    below = _gaps(pieces)
    if (
        not any(state.web)
        and len(above) == len(below)
        and all(_meet(a, b, line) for a, b in zip(above, below))
    ):
        return state.web
    label = [0, *state.web, 0] if state.pieces else [0]
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
    for number, (left, right) in zip(label, above):
        for n, gap in enumerate(below):
            if _meet((left, right), gap, line):
                join(number, most + n)
                reached.add(number)
    held = {root(number) for number in reached}
    if any(root(number) not in held for number in label):
        return None
    numbers: dict[int, int] = {0: 0}
    return tuple(numbers.setdefault(root(most + n), len(numbers)) for n in range(1, len(below) - 1))


def _meet(above: tuple[int, int], below: tuple[int, int], line: int) -> bool:
    """Whether whole web of two rows shares a knot on the line between them."""
    first = max(above[0], below[0])
    return first + ((first + line) & 1) <= min(above[1], below[1])


def _gaps(pieces: tuple[_Piece, ...]) -> list[tuple[int, int]]:
    """The whole web of a row: columns from and to, the outer ones without end."""
    edges = [-FAR, *(end for piece in pieces for end in piece[:2]), FAR]
    return list(zip(edges[::2], edges[1::2]))


# What is known beforehand


def _rows_of(hole: Hole, twine_cost: int, narrow: bool) -> list[_Row]:
    """Work out for each row where ends may lie.

    A sider further out than the breaks of its two rows could be moved in by a mesh and save two
    bars, unless one of its two stretches is a single bar through whole web. So it lies
    next to a break of the two rows, or a single bar beside the sider above or below. A loose
    end lies next to a break of its row, or as near as it can beside a stretch of a
    neighbouring row, whose ends lie as near to breaks themselves. `narrow` leaves out what is
    seldom needed: single bars through whole web beside breaks.
    """
    rows = [
        _Row(breaks, row + 1, NEAREST if narrow else FAR)
        for row, breaks in enumerate(hole.rows, hole.top)
    ]
    count = len(rows)
    rights = [[s.right for s in row.breaks] for row in rows]
    lefts = [[s.left for s in row.breaks] for row in rows]
    odd = _odd_by_line(hole)
    below = 0
    # Bars through whole web, upwards from a sider: column and how many rows still.
    climbing: tuple[dict[int, int], dict[int, int]] = ({}, {})
    for at in range(count - 1, -1, -1):
        row = rows[at]
        row.odd = below
        below += odd.get(row.line, 0)
        row.more = at + 1 < count
        if at + 1 == count:
            joined: tuple[dict[int, int], dict[int, int]] = ({}, {})
        else:
            joined = (
                {e: twine_cost for v in rights[at] + rights[at + 1] for e in (v, v + 1)},
                {e: twine_cost for u in lefts[at] + lefts[at + 1] for e in (u, u - 1)},
            )
            lower = rows[at + 1].breaks
            if narrow and lower:
                climbing = ({}, {})
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


def _odd_by_line(hole: Hole) -> dict[int, int]:
    """How many knots of each line miss an odd number of bars."""
    ends: dict[int, set[int]] = {}
    for row, stretches in enumerate(hole.rows, hole.top):
        for stretch in stretches:
            for column in stretch:
                ends.setdefault(row + ((column + row) & 1), set()).symmetric_difference_update(
                    {column}
                )
    return {line: len(columns) for line, columns in ends.items()}


def _odd_knots(hole: Hole) -> int:
    return sum(_odd_by_line(hole).values())
