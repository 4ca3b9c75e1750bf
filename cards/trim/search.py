"""The search for the cheapest trim with several twines: row by row, led by prices.

Each row of a trimmed hole has stretches of missing bars, each sewn by one twine. A stretch is
joined to the row below at one end by a sider, to the row above at the other; an end that
is not joined is the start or the end of a twine, a three-bar. A twine is therefore
a chain of columns, as in `one`, and the only things that bind the twines to each other are those in
`binding`.

The search keeps, for each way the last row can look, the cheapest trim down to it, and fills the
next row piece by piece from the left. What a trim costs at least is known all the way: what has been cut,
the prices of the breaks still to be sewn, and for each twine what its way on is worth (`prices`).
So the search is first made with no allowance above that bound, where hardly anything but the cheapest
trim is left to look at, then with more and more. Where that is too much work, only the best few ways
are kept in each row.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from cards.grid import Hole, Stretch
from cards.trim.binding import FAR, Before, Piece, loose_below, order_below, touches, web_below
from cards.trim.ends import Row, lefts_of, rights_of, rows_of
from cards.trim.prices import Prices
from cards.trim.run import Run, Side

# Pieces placed and states made, in all, after which the proof is given up.
WORK = 20_000
# How much more than the bound a trim may cost, in turn.
ALLOWANCES = (0, 1, 2, 4, 7, 12, 20)
# States kept of a row, and beginnings of a row, where not all are; and in the next try.
WIDTHS = (6, 30, 150)

_Siders = tuple[tuple[int, int], ...]


class _Choice(NamedTuple):
    """A way to fill a row, or the beginning of one: ordered by `rise`, how far it lifts the bound.

    `source` is the place among the siders above, or -1.
    """

    rise: int
    cost: int
    begun: int
    pieces: tuple[Piece, ...]
    source: tuple[int, ...]


@dataclass(slots=True)
class _State:
    """The cheapest trim known down to a row that ends in `pieces`.

    `before` holds pairs of pieces of which the twine of the first is sewn before that of the
    second. `web` numbers the whole web between two pieces; 0 hangs on the web outside.
    `first` tells for each piece whether its twine may be the first, begun on the side asked for;
    `begun` whether one that has ended was.
    """

    bound: int
    excess: int
    twines: int
    pieces: tuple[Piece, ...]
    before: Before
    web: tuple[int, ...]
    first: tuple[bool, ...]
    begun: bool
    parent: _State | None
    source: tuple[int, ...]

    @property
    def key(self) -> tuple[object, ...]:
        return (self.pieces, self.before, self.web, self.first, self.begun)

    @property
    def rank(self) -> tuple[object, ...]:
        return (self.bound, self.twines, self.excess, self.pieces, self.web, self.first, self.begun)


class _TooMuch(Exception):
    """The proof takes more work than it is given."""


class Search:
    """One search: the hole, what a twine costs, the side to start on, the prices.

    Costs are counted beyond the broken bars: good bars cut + cost of twines.
    """

    def __init__(self, hole: Hole, twine_cost: int, start: Side | None, prices: Prices) -> None:
        self.hole = hole
        self.top = hole.top
        self.twine_cost = twine_cost
        self.start = start
        self.prices = prices
        self.rows: list[Row] = []
        self.width: int | None = None
        self.choices: dict[tuple[int, tuple[Piece, ...]], tuple[int, list[_Choice]]] = {}
        self.work = 0

    def best(self, limit: int) -> tuple[tuple[Run, ...] | None, int]:
        """Find runs that cost less than `limit`, or None; and what no trim costs less than."""
        bound = self.prices.total
        self._begin(narrow=False)
        for allowance in ALLOWANCES:
            if bound >= limit:
                return None, limit
            self.choices.clear()
            most = min(limit, self.prices.total + allowance + 1)
            last, proved = self._down(most)
            if last is not None:
                return self._runs(last), last.excess
            bound = max(bound, proved)
            if proved < most:
                break
        for self.width in WIDTHS:
            self._begin(narrow=True)
            last, _ = self._down(limit)
            if last is not None:
                return self._runs(last), bound
        return None, bound

    def _begin(self, narrow: bool) -> None:
        self.choices.clear()
        self.rows = rows_of(self.hole, self.twine_cost, narrow)

    def _down(self, limit: int) -> tuple[_State | None, int]:
        """Go down the rows; return the best last state below the limit, and a bound."""
        bound = self.prices.total
        layer = [_State(bound, 0, 0, (), frozenset(), (), (), False, None, ())]
        for at in range(len(self.rows)):
            found: dict[tuple[object, ...], _State] = {}
            try:
                for state in layer:
                    self._extend(state, at, limit, found)
            except _TooMuch:
                return None, min(state.bound for state in layer)
            layer = sorted(found.values(), key=lambda state: state.rank)[: self.width]
        ends = [s for s in layer if self.start is None or s.begun or any(s.first)]
        best = min(ends, key=lambda s: s.rank, default=None)
        return best, best.excess if best else limit

    def _worked(self) -> None:
        """Count a step; stop where it takes too many."""
        self.work += 1
        if self.work > WORK and self.width is None:
            raise _TooMuch

    def _extend(
        self, state: _State, at: int, limit: int, found: dict[tuple[object, ...], _State]
    ) -> None:
        siders = tuple(
            (p.right if p.joined > 0 else p.left, p.joined) for p in state.pieces if p.joined
        )
        origin = [n for n, p in enumerate(state.pieces) if p.joined]
        line = self.top + at
        slack = limit - 1 - state.bound
        for choice in self._choices_for(at, state.pieces, siders, slack):
            if choice.rise > slack:
                break
            self._worked()
            source = tuple(origin[n] if n >= 0 else -1 for n in choice.source)
            order = order_below(state.pieces, state.before, choice.pieces, source, line)
            if order is None:
                continue
            before, late = order
            web = web_below(state.pieces, state.web, choice.pieces, line)
            if web is None:
                continue
            first, begun = self._first_below(state, choice.pieces, source, late)
            new = _State(
                state.bound + choice.rise,
                state.excess + choice.cost,
                state.twines + choice.begun,
                choice.pieces,
                before,
                web,
                first,
                begun,
                state,
                source,
            )
            known = found.get(new.key)
            if known is None or (new.excess, new.twines) < (known.excess, known.twines):
                found[new.key] = new

    def _first_below(
        self,
        state: _State,
        pieces: tuple[Piece, ...],
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
        begins: list[Piece] = []
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
        return tuple(runs)

    # Choices of a row

    def _choices_for(
        self, at: int, above: tuple[Piece, ...], siders: _Siders, slack: int
    ) -> list[_Choice]:
        """Ways to fill the row below some pieces that lift the bound by `slack` at most."""
        known = self.choices.get((at, above))
        if known is not None and known[0] >= slack:
            return known[1]
        choices = self._fill(at, above, siders, slack)
        self.choices[at, above] = slack, choices
        return choices

    def _fill(
        self, at: int, above: tuple[Piece, ...], siders: _Siders, slack: int
    ) -> list[_Choice]:
        """Fill a row piece by piece from the left; beginnings that reach as far are ranked."""
        row = self.rows[at]
        line = self.top + at
        clear = loose_below(above, line)
        end = len(siders), len(row.breaks)
        waiting: dict[tuple[int, int], list[_Choice]] = {(0, 0): [_Choice(0, 0, 0, (), ())]}
        while len(waiting) > 1 or end not in waiting:
            if not waiting:
                return []
            place = min(waiting, key=lambda p: (p == end, p[0] + p[1]))
            for filled in sorted(waiting.pop(place))[: self.width]:
                for piece, origin, taken, rise, good in self._next(
                    at, siders, place, filled, slack - filled.rise
                ):
                    self._worked()
                    if any(piece.left <= c <= piece.right for c in clear):
                        continue
                    side = siders[origin][1] if origin >= 0 else 0
                    if any(
                        own not in (piece.joined, side)
                        and (c + line) & 1 == 0
                        and touches(above, c)
                        for c, own in ((piece.left, -1), (piece.right, 1))
                    ):
                        continue
                    reached = (place[0] if origin < 0 else origin + 1), taken
                    waiting.setdefault(reached, []).append(
                        _Choice(
                            filled.rise + rise,
                            filled.cost + good + self.twine_cost * (origin < 0),
                            filled.begun + (origin < 0),
                            (*filled.pieces, piece),
                            (*filled.source, origin),
                        )
                    )
        return sorted(waiting[end])[: self.width]

    def _next(
        self, at: int, siders: _Siders, place: tuple[int, int], filled: _Choice, slack: int
    ) -> Iterator[tuple[Piece, int, int, int, int]]:
        """The pieces that can come next: piece, its sider, next break, rise, good bars."""
        row = self.rows[at]
        sider, broken = place
        edge = filled.pieces[-1].right + 1 if filled.pieces else -FAR
        for piece, origin, taken, good in self._pieces(row, siders, place, edge, at, slack):
            rise = good - sum(self.prices.prices[at][broken:taken])
            if origin < 0:
                rise += self.twine_cost
            else:
                rise -= self.prices.way_on(at, -siders[sider][1], siders[sider][0])
            if piece.joined:
                column = piece.right if piece.joined > 0 else piece.left
                rise += self.prices.way_on(at + 1, -piece.joined, column)
            if rise <= slack:
                yield piece, origin, taken, rise, good

    def _pieces(
        self,
        row: Row,
        siders: _Siders,
        place: tuple[int, int],
        edge: int,
        at: int,
        slack: int,
    ) -> Iterator[tuple[Piece, int, int, int]]:
        """The pieces that can come next: piece, its sider, next break, good bars."""
        sider, broken = place
        breaks = row.breaks
        prices = self.prices.prices[at]
        limit, going = siders[sider] if sider < len(siders) else (FAR, 0)
        first = breaks[broken].left if broken < len(breaks) else FAR
        # No way on is worth more than `most`; what a sider's was worth is given back.
        room = slack + self.prices.most
        held = room + self.prices.way_on(at, -going, limit) if going else room
        if going < 0 and edge <= limit <= first:
            # From the sider on the left, going right.
            stop = siders[sider + 1][0] if sider + 1 < len(siders) else FAR
            for end, joined, taken, good in rights_of(row, limit, broken, stop, held, prices, None):
                if joined or taken > broken:
                    yield Piece(limit, end, joined), sider, taken, good
        if going > 0:
            # To the sider on the right; the breaks before it are all within.
            taken = broken
            while taken < len(breaks) and breaks[taken].left < limit:
                taken += 1
            if taken == broken or breaks[taken - 1].right <= limit:
                missing = sum(s.right - s.left for s in breaks[broken:taken])
                outer = min(first, limit - 1)
                held += sum(prices[broken:taken])
                for end, joined in lefts_of(row, outer, edge, limit, taken == broken):
                    good = limit - end - missing
                    if good > held:
                        break
                    if joined or taken > broken:
                        yield Piece(end, limit, joined), sider, taken, good
        if first < limit:
            # A new twine over the next breaks.
            room = slack - self.twine_cost
            for left, left_joined in lefts_of(row, first, edge, FAR, False):
                lead = first - left
                if lead > room + 2 * self.prices.most:
                    break
                if left_joined:
                    # It comes from the right, where more breaks may make up for good bars.
                    more = room - lead - self.prices.way_on(at + 1, 1, left)
                    spare = self.prices.spare[at]
                else:
                    more, spare = room - lead + self.prices.most, None
                for right, joined, taken, good in rights_of(
                    row, first, broken, limit, more, prices, spare
                ):
                    if not (left_joined and joined):
                        piece = Piece(left, right, left_joined or joined)
                        yield piece, -1, taken, lead + good
