"""The search for the cheapest trim with several twines: row by row, led by prices.

Each row of a trimmed hole has stretches of missing bars, each sewn by one twine. A stretch is
joined to the row below at one end by a sider, to the row above at the other; an end that
is not joined is the start or the end of a twine, a three-bar. A twine is therefore
a chain of columns, as in `one`, and the only things that bind the twines to each other are those
in `binding`.

The search keeps, for each way the last row can look, the cheapest trim down to it, and fills the
next row piece by piece from the left. What a trim costs at least is known all the way: what has
been cut, the prices of the breaks still to be sewn, and for each twine what its way on is worth
(`prices`). So the sure search first allows nothing above that bound, where hardly anything but
the cheapest trim is left to look at, then more and more. The quick one keeps only the best few
ways in each row.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from cards.grid import Hole, Stretch
from cards.trim.binding import (
    FAR,
    Before,
    Piece,
    hanging_below,
    loose_below,
    order_below,
    touches,
    web_below,
)
from cards.trim.ends import Row, lefts_of, rights_of, rows_of
from cards.trim.prices import Prices
from cards.trim.run import Run, Side

# Pieces placed and states made, in all, after which the proof is given up.
WORK = 28_000
# How much more than the bound a trim may cost, in turn.
ALLOWANCES = (0, 1, 2, 4, 7, 12, 20, 35, 60, 100, 1000)
# Pieces tried next in a quick search, for each state kept.
OPTIONS = 4
# The same as WORK for each break, in a quick search, on top.
QUICK_WORK = 250

# Runs and what they cost beyond the broken bars.
Found = tuple[tuple[Run, ...], int]
# Columns of siders, their sides, and what the way on is worth.
_Siders = tuple[tuple[int, int, int], ...]


class _Choice(NamedTuple):
    """A way to fill a row, or the beginning of one: ordered by `rise`, how far it lifts the bound.

    `source` is the place among the siders above, or -1.
    """

    rise: int
    cost: int
    begun: int
    pieces: tuple[Piece, ...]
    source: tuple[int, ...]


class _Option(NamedTuple):
    """A piece that can come next.

    Attributes
    ----------
    rise
        How far it lifts the bound.
    piece
        The stretch.
    going
        The side of its sider above; 0 where its twine begins.
    taken
        The break after it.
    cost
        Good bars, and the twine if it begins.
    needs
        Counted from 1, the break of the row below that it has to go on to, if any: from its left,
        or less than 0 from its right.
    """

    rise: int
    piece: Piece
    going: int
    taken: int
    cost: int
    needs: int


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
    def is_asked(self) -> bool:
        """Whether a twine may be sewn first that begins on the side asked for."""
        return self.begun or any(self.first)

    @property
    def rank(self) -> tuple[object, ...]:
        return (self.bound, self.twines, self.excess, self.pieces, self.web, self.first, self.begun)


class _TooMuch(Exception):
    """The proof takes more work than it is given."""


class Search:
    """One search: the hole, what a twine costs, the side to start on, the prices.

    Costs are counted beyond the broken bars: good bars cut + cost of twines.
    """

    def __init__(self, hole: Hole, twine_cost: int, start: Side | None, bounds: Prices) -> None:
        self.hole = hole
        self.top = hole.top
        self.twine_cost = twine_cost
        self.start = start
        self.bounds = bounds
        self.prices = bounds
        self.rows = rows_of(hole, twine_cost)
        self.width: int | None = None
        self.choices: dict[tuple[object, ...], tuple[int, list[_Choice]]] = {}
        self.options: dict[tuple[int, ...], list[_Option]] = {}
        self.slack = 0
        self.work = 0

    @cached_property
    def guide(self) -> Prices:
        """Prices that take legs as apart."""
        return Prices(self.hole, self.twine_cost, tongues=True)

    def quickly(self, limit: int, guided: bool, width: int) -> Found | None:
        """Find runs that cost less than `limit` with a few states of a row kept, or None."""
        self.prices, self.width = self.guide if guided else self.bounds, width
        self.work = -sum(QUICK_WORK * len(row.breaks) for row in self.rows)
        last, _ = self._down(limit)
        return None if last is None else (self._runs(last), last.excess)

    def surely(self, limit: int) -> tuple[Found | None, int]:
        """Find the runs that cost least, and less than `limit`; and what no trim costs less than.

        No runs where there are none, or where that takes too much work.
        """
        self.prices, self.width, self.work = self.bounds, None, 0
        bound = self.bounds.total
        for allowance in ALLOWANCES:
            if bound >= limit:
                break
            most = min(limit, self.bounds.total + allowance + 1)
            last, proved = self._down(most)
            if last is not None:
                return (self._runs(last), last.excess), last.excess
            bound = max(bound, proved)
            if proved < most:
                break
        return None, min(bound, limit)

    def _down(self, limit: int) -> tuple[_State | None, int]:
        """Go down the rows; return the best last state below the limit, and a bound."""
        bound = self.prices.total
        self.slack = limit - 1 - bound
        self.choices.clear()
        self.options.clear()
        layer = [_State(bound, 0, 0, (), frozenset(), (), (), False, None, ())]
        for at in range(len(self.rows)):
            found: dict[tuple[object, ...], _State] = {}
            try:
                for state in layer:
                    self._extend(state, at, limit, found)
            except _TooMuch:
                return None, min(state.bound for state in layer)
            layer = sorted(found.values(), key=lambda state: state.rank)
            if self.width and self.start is None:
                layer = layer[: self.width]
            elif self.width:
                # As many of those in which the first twine starts on the side asked for.
                asked = [state for state in layer if state.is_asked]
                others = [state for state in layer if not state.is_asked]
                layer = asked[: self.width] + others[: self.width]
        ends = [state for state in layer if self.start is None or state.is_asked]
        best = min(ends, key=lambda s: s.rank, default=None)
        return best, best.excess if best else limit

    def _worked(self) -> None:
        """Count a step; stop where it takes too many."""
        self.work += 1
        if self.work > WORK:
            raise _TooMuch

    def _extend(
        self, state: _State, at: int, limit: int, found: dict[tuple[object, ...], _State]
    ) -> None:
        siders = tuple(
            (p.right if p.joined > 0 else p.left, p.joined, self.prices.worth(at, *p))
            for p in state.pieces
            if p.joined
        )
        origin = [n for n, p in enumerate(state.pieces) if p.joined]
        line = self.top + at
        slack = limit - 1 - state.bound
        self._worked()
        for choice in self._choices_for(at, state, siders, slack):
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
        first = tuple(
            n not in late and (state.first[s] if s >= 0 else self._is_asked(p))
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

    def _choices_for(self, at: int, state: _State, siders: _Siders, slack: int) -> list[_Choice]:
        """Ways to fill the row below a state that lift the bound by `slack` at most."""
        key = at, state.pieces, state.web, state.is_asked
        known = self.choices.get(key)
        if known is not None and known[0] >= slack:
            return known[1]
        choices = self._fill(at, state, siders, slack)
        self.choices[key] = slack, choices
        return choices

    def _fill(self, at: int, state: _State, siders: _Siders, slack: int) -> list[_Choice]:
        """Fill a row piece by piece from the left; beginnings that reach as far are ranked."""
        row = self.rows[at]
        line = self.top + at
        above = state.pieces
        clear = loose_below(above, line)
        hanging = hanging_below(above, state.web, line)
        end = len(siders), len(row.breaks)
        starts = [o for o in self._starts(at, state) if _fits(o, above, clear, hanging, line)]
        lower = self.rows[at + 1].breaks if at + 1 < len(self.rows) else ()
        done: dict[bool, list[_Choice]] = {False: [], True: []}
        # Beginnings by the next sider, the next break, whether a twine begins in good web, which
        # break of the row below the last sider on a left side needs, and whether a twine begins
        # on the side asked for.
        waiting = {(0, 0, False, 0, False): [_Choice(0, 0, 0, (), ())]}
        while waiting:
            place = min(waiting, key=lambda p: (p[0] + p[1], p))
            filled_here = sorted(waiting.pop(place))[: self.width]
            if place[:2] == end:
                done[place[4]] += filled_here
            most = slack - filled_here[0].rise
            options: list[_Option] = []
            for option in self._options(at, siders, place):
                if option.rise > most or (self.width and len(options) >= OPTIONS * self.width):
                    break
                self._worked()
                if _fits(option, above, clear, hanging, line):
                    options.append(option)
            if starts and not place[2]:
                options = sorted(options + [o._replace(taken=place[1]) for o in starts])
            for filled in filled_here:
                edge = filled.pieces[-1].right if filled.pieces else -FAR
                left = slack - filled.rise
                for rise, piece, going, taken, cost, needs in options:
                    self._worked()
                    if rise > left:
                        break
                    if piece.left <= edge or needs == -place[3] < 0:
                        continue
                    fresh = not going
                    in_web = place[2] or (fresh and taken == place[1])
                    needed = max(needs, place[3])
                    if needed and lower[needed - 1].right <= piece.right:
                        # No sider further right can need it.
                        needed = 0
                    begun = place[4] or (fresh and self._is_asked(piece))
                    reached = place[0] + (not fresh), taken, in_web, needed, begun
                    waiting.setdefault(reached, []).append(
                        _Choice(
                            filled.rise + rise,
                            filled.cost + cost,
                            filled.begun + fresh,
                            (*filled.pieces, piece),
                            (*filled.source, -1 if fresh else place[0]),
                        )
                    )
        return sorted(choice for own in done.values() for choice in sorted(own)[: self.width])

    def _is_asked(self, piece: Piece) -> bool:
        """Whether a twine that begins with a piece begins on the side asked for."""
        if self.start is None:
            return False
        return piece.joined in (0, 1 if self.start == "left" else -1)

    def _starts(self, at: int, state: _State) -> list[_Option]:
        """Single bars in good web that bring the first start to the side asked for."""
        if self.start is None or state.is_asked:
            return []
        row = self.rows[at]
        left = self.start == "left"
        starts = []
        for column in row.joined_right if left else row.joined_left:
            piece = Piece(column - 1, column, 1) if left else Piece(column, column + 1, -1)
            worth = self.prices.worth(at + 1, *piece)
            clear = not any(l <= piece.right and piece.left <= r for l, r in row.breaks)
            if worth < 0 and clear:
                cost = 1 + self.twine_cost
                needs = self.prices.needed(at + 1, *piece)
                starts.append(_Option(cost + worth, piece, 0, 0, cost, needs))
        return starts

    def _options(
        self, at: int, siders: _Siders, place: tuple[int, int, bool, int, bool]
    ) -> list[_Option]:
        """The pieces that can come next, those first that lift the bound least."""
        sider, broken = place[:2]
        column, going, worth = siders[sider] if sider < len(siders) else (FAR, 0, 0)
        stop = siders[sider + 1][0] if sider + 1 < len(siders) else FAR
        key = at, broken, column, going, worth, stop
        known = self.options.get(key)
        if known is None:
            prices = self.prices
            row = self.rows[at]
            known = []
            for piece, fresh, taken, good in self._pieces(row, key, self.slack):
                rise = good - sum(prices.prices[at][broken:taken])
                rise += self.twine_cost if fresh else -worth
                if piece.joined:
                    rise += prices.worth(at + 1, *piece)
                if rise <= self.slack:
                    cost = good + self.twine_cost * fresh
                    needs = prices.needed(at + 1, *piece) if piece.joined else 0
                    known.append(_Option(rise, piece, 0 if fresh else going, taken, cost, needs))
            known.sort()
            self.options[key] = known
        return known

    def _pieces(
        self,
        row: Row,
        place: tuple[int, int, int, int, int, int],
        slack: int,
    ) -> Iterator[tuple[Piece, bool, int, int]]:
        """The pieces that can come next: piece, whether its twine begins, next break, good bars."""
        at, broken, limit, going, worth, stop = place
        breaks = row.breaks
        edge = breaks[broken - 1].right + 1 if broken else -FAR
        prices = self.prices.prices[at]
        first = breaks[broken].left if broken < len(breaks) else FAR
        # No way on is worth more than `most`; what a sider's was worth is given back.
        room = slack + self.prices.most
        held = room + worth
        if going < 0 and edge <= limit <= first:
            # From the sider on the left, going right.
            for end, joined, taken, good in rights_of(row, limit, broken, stop, held, prices, None):
                if joined or taken > broken:
                    yield Piece(limit, end, joined), False, taken, good
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
                        yield Piece(end, limit, joined), False, taken, good
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
                        yield piece, True, taken, lead + good


def _fits(
    option: _Option,
    above: tuple[Piece, ...],
    clear: list[int],
    hanging: list[tuple[int, int]],
    line: int,
) -> bool:
    """Whether a piece keeps clear of the loose ends above, and its own of the pieces above.

    And whether it leaves a knot of all web that is held from below only.
    """
    (left, right, joined), going = option.piece, option.going
    for column in clear:
        if left <= column <= right:
            return False
    for first, last in hanging:
        if left < first and last < right:
            return False
    if joined >= 0 and going >= 0 and not (left + line) & 1 and touches(above, left):
        return False
    return joined > 0 or going > 0 or (right + line) & 1 == 1 or not touches(above, right)
