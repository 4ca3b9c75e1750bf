"""Judging a trim that somebody else made: what is still wrong with it, and the next cut."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace

from cards.grid import Bar, Hole, Knot, Stretch, name_of
from cards.grid.hole import merged
from cards.grid.islands import islands
from cards.grid.knots import (
    BARS,
    HANGING,
    LOST,
    LOWER_LEFT,
    LOWER_RIGHT,
    ONE_BAR,
    OPPOSITE,
    SIDER_LEFT,
    SIDER_RIGHT,
    STANDING,
    THREE_BAR,
    UPPER_LEFT,
    UPPER_RIGHT,
)
from cards.trim import Side, Trim, Twines, trim
from cards.trim.cuts import Cut, order_cuts

_UPPER, _LOWER = UPPER_LEFT | UPPER_RIGHT, LOWER_LEFT | LOWER_RIGHT


@dataclass(frozen=True, slots=True)
class Way:
    """The way a twine would have to take through missing bars.

    Attributes
    ----------
    bars
        In the order of the way.
    knots
        The knots it comes to, one more than the bars; for a ring the first is the last.
    ring
        Whether it closes on itself.
    climbs
        Whether it climbs, whichever end it begins at.
    """

    bars: tuple[Bar, ...]
    knots: tuple[Knot, ...]
    ring: bool
    climbs: bool


@dataclass(frozen=True, slots=True)
class Check:
    """What is to be said of a trim.

    Attributes
    ----------
    found
        The broken bars as given.
    cuts
        The cuts that were made or proposed.
    missing
        All missing bars, those of web cut loose among them.
    loose
        Whole bars that hang on nothing after the cuts.
    three_bars, one_bars, opposite
        Knots of that name, line by line from the left.
    ways
        The ways of the twines, from the top.
    order
        An order in which the ways can be sewn, as places in `ways`; None where there is none.
    best
        The trim that a plan would make of the hole as found.
    further
        The cuts still to make, in the order of the trade, where it cannot be sewn.
    """

    found: Hole
    cuts: tuple[Bar, ...]
    missing: Hole
    loose: tuple[Bar, ...]
    three_bars: tuple[Knot, ...]
    one_bars: tuple[Knot, ...]
    opposite: tuple[Knot, ...]
    ways: tuple[Way, ...]
    order: tuple[int, ...] | None
    best: Trim
    further: tuple[Cut, ...]

    @property
    def rings(self) -> tuple[Way, ...]:
        """The closed ways."""
        return tuple(way for way in self.ways if way.ring)

    @property
    def climbing(self) -> tuple[Way, ...]:
        """The open ways that climb."""
        return tuple(way for way in self.ways if way.climbs and not way.ring)

    @property
    def wrong(self) -> dict[Knot, str]:
        """Knots that are still wrong, with their names, line by line from the left.

        Three-bars that a twine starts or ends on are left out where it can be sewn.
        """
        wrong = [(k, ONE_BAR) for k in self.one_bars] + [(k, OPPOSITE) for k in self.opposite]
        if not self.sewable:
            wrong += [(k, THREE_BAR) for k in self.three_bars]
        return dict(sorted(wrong, key=lambda mark: (mark[0].y, mark[0].x)))

    @property
    def sewable(self) -> bool:
        """Whether it can be sewn as it stands."""
        return (
            not self.one_bars
            and not self.opposite
            and self.order is not None
            and not any(way.ring or way.climbs for way in self.ways)
        )

    @property
    def twines(self) -> int:
        """How many twines it takes; of use where it can be sewn."""
        return len(self.ways)

    @property
    def fallen(self) -> int:
        """How many whole bars the cuts let fall; a plan counts those as cut."""
        return sum(not self.best.found.misses(*bar) for bar in self.loose)

    @property
    def counted(self) -> int:
        """How many cuts were made, fallen bars counted as a plan counts them."""
        return len(self.cuts) + self.fallen

    @property
    def more(self) -> int:
        """How many cuts more than the plan's, those still to make counted too."""
        return self.counted + len(self.further) - self.best.cuts


def check_trim(
    found: Hole,
    cuts: Iterable[Bar],
    best: Trim,
    twine_cost: int,
    prefer: Side = "left",
    twines: Twines = "fewest-cost",
) -> Check:
    """Judge the cuts of a trim by the rules of sewing.

    Parameters
    ----------
    found
        The broken bars.
    cuts
        Whole bars that are cut.
    best
        The trim to compare with.
    twine_cost
        What a twine costs, in bars, for the cuts still to make.
    prefer, twines
        As for `trim`, for the cuts still to make.

    Returns
    -------
    Check
        Right for any set of bars.
    """
    check = judged(found, cuts, best)
    if check.sewable:
        return check
    rest = trim(check.missing, "auto", prefer, twines, twine_cost)
    return replace(check, further=order_cuts(rest))


def judged(found: Hole, cuts: Iterable[Bar], best: Trim) -> Check:
    """Judge cuts as `check_trim` does, without the cuts still to make."""
    made = tuple(cuts)
    opened = found.plus(made) if made else found
    lost = islands(opened)
    loose = tuple(
        Bar(row, column)
        for row, stretches in enumerate(lost, opened.top)
        for left, right in stretches
        for column in range(left, right)
    )
    missing = Hole(opened.top, tuple(merged((*row, *gone)) for row, gone in zip(opened.rows, lost)))
    named = named_knots(missing)
    ways = ways_of(missing)
    return Check(
        found=found,
        cuts=made,
        missing=missing,
        loose=loose,
        three_bars=tuple(named[THREE_BAR]),
        one_bars=tuple(named[ONE_BAR]),
        opposite=tuple(named[OPPOSITE]),
        ways=ways,
        order=_order(missing, ways),
        best=best,
        further=(),
    )


def named_knots(missing: Hole) -> defaultdict[str, list[Knot]]:
    """The knots that miss a bar by their names, line by line from the left."""
    named: defaultdict[str, list[Knot]] = defaultdict(list)
    for knot in missing.knots():
        named[missing.name_at(knot)].append(knot)
    return named


def ways_of(missing: Hole) -> tuple[Way, ...]:
    """Follow the missing bars from knot to knot as a twine would.

    A way ends at a three-bar, and where a knot has no stitch. It is told from its upper end; a ring
    from its topmost bar.
    """
    left_over = dict.fromkeys(missing.bars())
    ways: list[Way] = []
    for bar in list(left_over):
        if bar not in left_over:
            continue
        upper, lower = bar.ends
        there, ring = _follow(missing, bar, lower)
        back: list[tuple[Bar, Knot]] = []
        if not ring:
            back, _ = _follow(missing, bar, upper)
        bars = [b for b, _ in reversed(back)] + [bar] + [b for b, _ in there]
        knots = [k for _, k in reversed(back)] + [upper, lower] + [k for _, k in there]
        rows = [b.row for b in bars]
        falls, rises = rows == sorted(rows), rows == sorted(rows, reverse=True)
        if rises and not falls:
            bars.reverse()
            knots.reverse()
        for b in bars:
            left_over.pop(b)
        ways.append(Way(tuple(bars), tuple(knots), ring, not (falls or rises)))
    return tuple(ways)


def _follow(missing: Hole, bar: Bar, knot: Knot) -> tuple[list[tuple[Bar, Knot]], bool]:
    """The bars after `bar` from its end `knot`, each with the next knot; whether they close."""
    steps: list[tuple[Bar, Knot]] = []
    at = bar
    while True:
        following = _partner(missing, at, knot)
        if following is None:
            return steps, False
        if following == bar:
            return steps, True
        at = following
        knot = at.ends[1] if at.ends[0] == knot else at.ends[0]
        steps.append((at, knot))


def _partner(missing: Hole, bar: Bar, knot: Knot) -> Bar | None:
    """The missing bar that one pass of the twine joins to this one at a knot; None at an end."""
    gone = missing.missing_at(knot)
    name = name_of(gone)
    if name in (THREE_BAR, ONE_BAR, OPPOSITE):
        return None
    own = next(bit for bit, (row, column) in BARS.items() if (knot.y + row, knot.x + column) == bar)
    if name in (HANGING, STANDING, LOST):
        pair = _UPPER if own & _UPPER else _LOWER
    else:
        assert name in (SIDER_LEFT, SIDER_RIGHT)
        pair = gone
    row, column = BARS[pair ^ own]
    return Bar(knot.y + row, knot.x + column)


def _order(missing: Hole, ways: tuple[Way, ...]) -> tuple[int, ...] | None:
    """Order the ways so that every loop hangs before it is tied; None where they go round."""
    way_of = {bar: number for number, way in enumerate(ways) for bar in way.bars}
    before: list[set[int]] = [set() for _ in ways]
    for x, y in missing.knots():
        if missing.lost_at((x, y)):
            upper, lower = way_of[Bar(y - 1, x)], way_of[Bar(y, x)]
            if upper != lower:
                before[lower].add(upper)
    order: list[int] = []
    left = set(range(len(ways)))
    while left:
        ready = [number for number in sorted(left) if not before[number] & left]
        if not ready:
            return None
        order.append(ready[0])
        left.remove(ready[0])
    return tuple(order)


def stretches_of(bars: Iterable[Bar]) -> dict[int, tuple[Stretch, ...]]:
    """Bars gathered into stretches, row by row."""
    rows: dict[int, list[Stretch]] = {}
    for row, column in bars:
        rows.setdefault(row, []).append(Stretch(column, column + 1))
    return {row: merged(rows[row]) for row in sorted(rows)}
