"""What trimming costs at least: a price for every break, so that no twine sews more than it costs.

Take any prices of the breaks such that no twine, wherever it begins and whichever breaks it
sews, costs less than the prices of these breaks together. As every break is sewn, no trim
costs less than all prices together. This is the weak duality of linear programmes (G. B. Dantzig,
Linear Programming and Extensions, Princeton, 1963; from memory). What binds the twines to each
other is left out, so legs of a hole are reckoned one by one, however many there are.

The prices are found upwards from the last row. Each is as high as the twines allow that begin in
its row. For a twine that comes down into a row its way on from there is worth what it costs
less the prices of what it sews: that is what a search wants to know of a twine.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from cards.grid import Hole, Stretch

# No way on.
NEVER = 1 << 40
# A loose end lies so many bars from a break at most, as far as the prices know.
MOST_LOOSE = 4
# Where tongues are kept a twine goes on to a break so many columns away at most.
NEAR = 3
# A price is spread over so many rows, where there are as many.
SPREAD = 4


class Prices:
    """Prices of the breaks of a hole, and what the way on is worth to a twine that comes down.

    Parameters
    ----------
    hole
        The broken bars.
    twine_cost
        What a twine costs, in bars.
    spread
        Whether what a twine costs is asked where most breaks lie side by side, a part of it in
        each of a few rows. Otherwise it is asked as far down as can be.

    Notes
    -----
    Costs are counted beyond the broken bars: good bars cut, and twines. Columns to the right
    are dealt with as they are, to the left in the mirror: a side is 1 or -1, and a column is
    multiplied with it. Linear in the number of breaks.
    """

    def __init__(
        self, hole: Hole, twine_cost: int, spread: bool = False, tongues: bool = False
    ) -> None:
        self.top = hole.top
        self.count = len(hole.rows)
        self.twine_cost = twine_cost
        self.tongues = tongues
        # A twine begins a few bars from a break at most: no way on is worth more.
        self.most = twine_cost + MOST_LOOSE
        mirrored = hole.mirrored()
        self.rows = {1: hole.rows, -1: mirrored.rows}
        self.lefts = {
            side: [[s.left for s in row] for row in rows] for side, rows in self.rows.items()
        }
        self.prices: list[list[int]] = [[] for _ in range(self.count)]
        # For each break of a row, and after them: how much it and breaks right of it can be
        # worth, beyond the good bars before them.
        self.spare: list[list[int]] = [[] for _ in range(self.count)]
        # For each row and side: from the left end of a break on, that break sewn.
        self.from_break: dict[int, list[list[int]]] = {
            side: [[] for _ in range(self.count)] for side in (1, -1)
        }
        # For each side and break: see `_ends`.
        self.ends: dict[int, list[list[list[int]]]] = {
            side: [[] for _ in range(self.count)] for side in (1, -1)
        }
        # For each side and break: good bars between it and a loose right end.
        self.loose_ends: dict[int, list[list[int]]] = {
            side: [[] for _ in range(self.count)] for side in (1, -1)
        }
        # Prices of a row and all below.
        self.below = [0] * (self.count + 1)
        # For each side and row: what the way on is worth from a sider, where that is anything.
        self.ways: dict[int, list[dict[int, int]]] = {
            side: [{} for _ in range(self.count)] for side in (1, -1)
        }
        self.gaps = [_gaps(hole, row, tongues) for row in range(self.count)]
        reserves = _reserves(hole, twine_cost) if spread else None
        for row in range(self.count - 1, -1, -1):
            self._price(row, reserves[row] if reserves else None)
            self.below[row] = self.below[row + 1] + sum(self.prices[row])
            for side in (1, -1):
                self.ways[side][row] = self._ways(row, side)

    @property
    def total(self) -> int:
        """No trim costs less beyond the broken bars."""
        return self.below[0]

    def way_on(self, row: int, side: int, column: int) -> int:
        """What the way on costs at least, less prices, from a sider into a row (from the top one).

        The sider is at the left end of the row's stretch where `side` is 1, else at the right.
        """
        if row >= self.count:
            return NEVER
        way = self.ways[side][row].get(column * side)
        if way is None:
            way = NEVER if self._ends_in(row, side, column * side) else 1
        return way

    def _ends_in(self, row: int, side: int, column: int) -> bool:
        """Whether a sider cannot lie at a left end, as the bar beside it is broken."""
        at = bisect_left(self.lefts[side][row], column)
        return at > 0 and column <= self.rows[side][row][at - 1].right

    def way_beside(self, row: int, side: int, column: int, loose: int) -> int:
        """The same where the row's stretch has to keep clear of a loose end above, in its way."""
        way = self.way_on(row, side, column)
        if row >= self.count:
            return way
        lefts = self.lefts[side][row]
        at = bisect_left(lefts, column * side)
        if at == len(lefts) or lefts[at] - column * side > 1:
            return way
        # Straight on to a break.
        up_to = self.ends[side][row][at]
        bars = loose * side - 1 - self.rows[side][row][at].right
        if bars < 0:
            return NEVER
        if bars >= len(up_to) - 1:
            return way
        price = self.prices[row][at if side > 0 else len(lefts) - 1 - at]
        return max(way, lefts[at] - column * side - price + up_to[bars])

    def worth(self, row: int, left: int, right: int, joined: int) -> int:
        """What the way on into a row is worth from a stretch of the row above, joined on a side."""
        exit, other = (right, left) if joined > 0 else (left, right)
        if (other + self.top + row) & 1:
            return self.way_on(row, -joined, exit)
        return self.way_beside(row, -joined, exit, other)

    def needed(self, row: int, left: int, right: int, joined: int) -> int:
        """The break that a stretch of the row above has to go on to, as it leads nowhere else.

        Counted from 1; less than 0 for one joined on the right; 0 for none.
        """
        if row >= self.count:
            return 0
        column = -right if joined > 0 else left
        lefts = self.lefts[-joined][row]
        at = bisect_left(lefts, column)
        if at == len(lefts) or lefts[at] - column > 1:
            return 0
        return at + 1 if joined < 0 else at - len(lefts)

    def _ways(self, row: int, side: int) -> dict[int, int]:
        """What the way on into a row is worth, from each left end where that is anything."""
        breaks = self.rows[side][row]
        exits = (
            {-column: worth for column, worth in self.ways[-side][row + 1].items() if worth < 0}
            if row + 1 < self.count and not self.tongues
            else {}
        )
        order = sorted(exits)
        ways: dict[int, int] = {}
        for n in range(len(breaks), -1, -1):
            # The good web from right to left, from the break beyond it.
            least = breaks[n - 1].right + 1 if n else -NEVER
            if n < len(breaks):
                column, worth = breaks[n].left, self.from_break[side][row][n]
                if (column + self.top + row) & 1 == 0:
                    ways[column] = worth
            else:
                column, worth = NEVER, 0
            while True:
                column, worth = column - 1, worth + 1
                if worth > 0:
                    at = bisect_right(order, column)
                    if not at:
                        break
                    column = order[at - 1]
                    worth = exits[column]
                elif column in exits:
                    worth = min(worth, exits[column])
                if column < least or (self.tongues and column < breaks[n].left - NEAR):
                    break
                if (column + self.top + row) & 1 == 0:
                    ways[column] = worth
        return ways

    def _end(self, row: int, side: int, right: int, bars: int, last: int, least: int) -> int:
        """The cheapest end of a stretch, so many bars right of a break or more, to column `last`.

        `least` is the cost of another way.
        """
        for end in range(right + bars, last + 1):
            if end - right - self.most >= least:
                break
            if (end + self.top + row) & 1:
                # The sider is the right end of this row and of the next.
                least = min(least, end - right + self.way_on(row + 1, -side, end * side))
        return least

    def _price(self, row: int, reserves: Sequence[int] | None) -> None:
        """Price the breaks of a row."""
        count = len(self.rows[1][row])
        gaps = self.gaps[row]
        for side in (1, -1):
            self.ends[side][row] = self._ends(row, side)
        loose = {side: self._loose(row, side, True) for side in (1, -1)}
        prices = self.prices[row] = [0] * count
        right = self.from_break[1][row] = [0] * count
        # The least for a twine that began further right in this row and comes to a break.
        arriving = NEVER
        for n in range(count - 1, -1, -1):
            m = count - 1 - n
            out = self.ends[1][row][n][-1]
            begun = min(self._begun(row, 1, n), self._begun(row, -1, m))
            begun = min(begun + self.twine_cost, arriving + self.ends[-1][row][m][-1])
            if n + 1 < count:
                across = gaps[n + 1] + right[n + 1]
                begun = min(begun, self.twine_cost + loose[1][n] + across)
                out = min(out, across)
            prices[n] = begun - (reserves[n] if reserves else 0)
            right[n] = out - prices[n]
            if n:
                arriving = min(arriving, self.twine_cost + loose[-1][m]) + gaps[n] - prices[n]
        left = self.from_break[-1][row] = [0] * count
        for n in range(count):
            m = count - 1 - n
            out = self.ends[-1][row][m][-1]
            if n:
                out = min(out, gaps[n] + left[m + 1])
            left[m] = out - prices[n]
        spare = self.spare[row] = [0] * (count + 1)
        for n in range(count - 1, 0, -1):
            spare[n] = max(0, prices[n] - gaps[n] + spare[n + 1])

    def _ends(self, row: int, side: int) -> list[list[int]]:
        """For each break the cheapest end in the good web right of it.

        Of the ends no more than 0, 1, 2, ... bars from the break, and last of all.
        """
        breaks = self.rows[side][row]
        loose = self.loose_ends[side][row] = self._loose(row, -side, False)[::-1]
        ends = []
        for n, own in enumerate(breaks):
            last = breaks[n + 1].left - 1 if n + 1 < len(breaks) else NEVER
            least, up_to = NEVER, []
            for bars in range(MOST_LOOSE):
                if own.right + bars > last:
                    break
                if bars >= loose[n]:
                    least = min(least, bars)
                if (own.right + bars + self.top + row) & 1:
                    way = self.way_on(row + 1, -side, (own.right + bars) * side)
                    least = min(least, bars + way)
                up_to.append(least)
            least = min(least, max(loose[n], MOST_LOOSE))
            up_to.append(self._end(row, side, own.right, MOST_LOOSE, last, least))
            ends.append(up_to)
        return ends

    def _begun(self, row: int, side: int, n: int) -> int:
        """The least for a twine that begins left of a break and goes on right, no break between.

        A loose end on the line below has to keep clear of the twine's own stretch of the next row.
        """
        breaks = self.rows[side][row]
        out = self.ends[side][row][n][-1]
        least = MOST_LOOSE + out
        for bars in range(MOST_LOOSE):
            column = breaks[n].left - bars
            if bars + out >= least or (n and column <= breaks[n - 1].right):
                break
            if (column + self.top + row) & 1:
                if not self._touches(row + 1, side, column):
                    least = min(least, bars + self._out_beside(row, side, n, column))
            elif not self._touches(row - 1, side, column):
                least = min(least, bars + out)
            elif not self._touches(row - 1, side, column, column + 1):
                least = min(least, bars + 1 + out)
        return least

    def _out_beside(self, row: int, side: int, n: int, column: int) -> int:
        """The cheapest end right of a break where the next row's stretch ends right of a column."""
        breaks = self.rows[side][row]
        last = breaks[n + 1].left - 1 if n + 1 < len(breaks) else NEVER
        own = breaks[n].right
        # A single row is a twine as well.
        least = self.loose_ends[side][row][n]
        for end in range(own, last + 1):
            if end - own - self.most >= least:
                break
            if (end + self.top + row) & 1:
                way = self.way_beside(row + 1, -side, end * side, column * side)
                least = min(least, end - own + way)
        return least

    def _loose(self, row: int, side: int, begins: bool) -> list[int]:
        """For each break how many good bars lie between it and a loose left end at least.

        A twine that begins may come from a single bar in good web above instead; one that ends
        goes on into good web below by itself.
        """
        loose = []
        for n, (left, _) in enumerate(self.rows[side][row]):
            room = left - self.rows[side][row][n - 1].right if n else MOST_LOOSE
            bars = 0
            while bars < min(room, MOST_LOOSE):
                column = left - bars
                lower = (column + self.top + row) & 1
                if not self._touches(row + 1 if lower else row - 1, side, column):
                    break
                if begins and not lower and not self._touches(row - 1, side, column, column + 1):
                    bars += 1
                    break
                bars += 1
            loose.append(bars)
        return loose

    def _touches(self, row: int, side: int, column: int, to: int | None = None) -> bool:
        """Whether a break of a row has a bar at the knot in this column on a line beside it.

        Or, with `to`, at any knot from this column to that one.
        """
        if not 0 <= row < self.count:
            return False
        at = bisect_left(self.lefts[side][row], (column if to is None else to) + 1)
        return at > 0 and column <= self.rows[side][row][at - 1].right


def _gaps(hole: Hole, row: int, tongues: bool) -> list[int]:
    """Good bars before each break of a row; none can be cut where a tongue is to be kept."""
    breaks = hole.rows[row]
    above = hole.rows[row - 1] if row and tongues else ()
    gaps = [0] * len(breaks)
    m = 1
    for n in range(1, len(breaks)):
        gaps[n] = breaks[n].left - breaks[n - 1].right
        while m < len(above) and above[m].left < breaks[n - 1].right:
            m += 1
        if m < len(above) and above[m - 1].right <= breaks[n].left:
            gaps[n] = NEVER
    return gaps


def _reserves(hole: Hole, twine_cost: int) -> list[list[int]]:
    """For each break how much of a twine's cost is asked only further up.

    Breaks that touch from row to row are gathered into chains, each break with one below it at
    most. The cost of a twine is asked once in each chain: in the last of its rows that have
    the most breaks, and in the ones before it.
    """
    chains: list[list[tuple[int, int]]] = []
    above: list[int] = []
    for row, breaks in enumerate(hole.rows):
        heirs = _heirs(hole.rows[row - 1] if row else (), breaks)
        here = []
        for n in range(len(breaks)):
            if heirs[n] >= 0:
                number = above[heirs[n]]
            else:
                number = len(chains)
                chains.append([])
            chains[number].append((row, n))
            here.append(number)
        above = here
    reserves = [[0] * len(breaks) for breaks in hole.rows]
    for chain in chains:
        most = max(len(hole.rows[row]) for row, _ in chain)
        full = [row for row, _ in chain if len(hole.rows[row]) == most][-SPREAD:]
        for row, n in chain:
            asked = sum(1 for r in full if r >= row)
            reserves[row][n] = twine_cost - -(-twine_cost * asked // len(full))
    return reserves


def _heirs(above: Sequence[Stretch], below: Sequence[Stretch]) -> list[int]:
    """For each break the one above that it carries on, or -1: each carries on one at most."""
    heirs = [-1] * len(below)
    n = 0
    for m, upper in enumerate(above):
        while n < len(below) and below[n].right < upper.left:
            n += 1
        if n < len(below) and below[n].left <= upper.right:
            heirs[n] = m
            n += 1
    return heirs
