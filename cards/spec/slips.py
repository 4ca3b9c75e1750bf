"""Likely slips in a walk that does not close: the single miscounts that would explain it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from math import log
from typing import Iterator, Literal, get_args

from cards.grid import Hole
from cards.grid.walk import FULL_TURN, STEPS, STRAIGHT, Walk, WalkError, hole_inside

Kind = Literal["one count wrong", "one knot left out", "one knot counted twice"]
KINDS: tuple[Kind, ...] = get_args(Kind)


@dataclass(frozen=True, slots=True)
class Slip:
    """One miscount that would explain a walk.

    Attributes
    ----------
    kind
        What went wrong.
    place
        The count in the walk as written, from 1: the wrong one, the one before which a knot is
        left out, the one that is counted twice.
    last
        The last place where the same slip gives the same walk, as it does all along a run of
        equal counts.
    count
        What should have been counted there.
    walk
        The walk put right.
    hole
        The hole it then gives.
    """

    kind: Kind
    place: int
    last: int
    count: int
    walk: Walk
    hole: Hole


# Of walks with one knot more there are about twice as many, so any one of them is half as likely;
# and so on, less steeply, for the bars broken inside it. Found by trial on random holes.
ODDS_OF_A_KNOT_MORE = 0.5
ODDS_OF_A_BAR_MORE = 0.9

# How many repairs are looked at closely: all of a short walk, fewer where each takes longer.
MOST_TRIED, LEAST_TRIED, KNOTS_TRIED = 60, 8, 150_000


@dataclass(frozen=True, slots=True)
class _Repair:
    kind: Kind
    place: int
    last: int
    count: int
    odds: float

    def of(self, counts: tuple[int, ...]) -> tuple[int, ...]:
        """The counts put right."""
        before = counts[: self.place - 1]
        if self.kind == "one count wrong":
            return (*before, self.count, *counts[self.place :])
        if self.kind == "one knot left out":
            return (*before, self.count, *counts[self.place - 1 :])
        return (*before, *counts[self.place :])


def likely_slips(walk: Walk, wanted: int = 3) -> list[Slip]:
    """List the slips that would explain a walk that does not close, likeliest first.

    Parameters
    ----------
    walk
        A walk that does not close.
    wanted
        How many slips to list, at most; each gives another hole.

    Notes
    -----
    Turning is multiplication by a power of i where right is x and down is y, so to put right one
    count turns all that follows about that knot; it closes the walk only where that knot is the
    one point that such a turn leaves in place. A knot more or less is found in the same way. All
    places are tried in one pass along the walk.

    How likely a slip is: each kind as likely as the others and each knot as any other, so where
    several knots in a row have the same count the slip is so many times as likely; times how
    likely the hole is beside others, a small one being likelier than any one larger. A slip
    counts only where the hole it gives is possible at all: a rim without crossing, counts that
    agree.
    """
    tries = min(MOST_TRIED, max(LEAST_TRIED, KNOTS_TRIED // len(walk.counts)))
    repairs = sorted(_repairs(walk), key=lambda repair: -repair.odds)
    weighed: list[tuple[float, Slip]] = []
    for repair in repairs[:tries]:
        mended = Walk(repair.of(walk.counts), walk.first)
        try:
            hole = hole_inside(mended).cornered()
        except WalkError:
            continue
        # In logarithms, for a large hole's odds are too small to hold.
        weight = log(repair.odds) + log(ODDS_OF_A_BAR_MORE) * hole.size
        slip = Slip(repair.kind, repair.place, repair.last, repair.count, mended, hole)
        weighed.append((weight, slip))
    weighed.sort(key=lambda pair: -pair[0])
    slips: dict[Hole, Slip] = {}
    for _, slip in weighed:
        slips.setdefault(slip.hole, slip)
    return list(slips.values())[:wanted]


def _repairs(walk: Walk) -> Iterator[_Repair]:
    """Every single change that makes the walk close."""
    counts = walk.counts
    n = len(counts)
    at = [complex(x, y) for x, y in walk.knots]
    step = [complex(*STEPS[heading]) for heading in walk.headings]
    end = at[-1]
    more = FULL_TURN - walk.turning
    # The runs of equal counts: for each place where its run begins and ends.
    runs: list[tuple[int, int]] = []
    for _, run in groupby(counts):
        length = len(list(run))
        runs += [(len(runs) + 1, len(runs) + length)] * length
    turn = (1, 1j, -1, -1j)[more % 4]
    if more:
        for i, count in enumerate(counts, 1):
            if 1 <= count + more <= 4 and at[i] + turn * (end - at[i]) == 0:
                yield _Repair("one count wrong", i, i, count + more, 1 / (3 * n))
    missing = STRAIGHT + more
    if 1 <= missing <= 4:
        for j in range(n + 1):
            # Within a run of the same count any place gives the same walk: the run's beginning.
            if j and counts[j - 1] == missing:
                continue
            if at[j] + step[j] + turn * (end - at[j]) == 0:
                last = runs[j][1] + 1 if j < n and counts[j] == missing else j + 1
                odds = ODDS_OF_A_KNOT_MORE * (last - j) / (n + 1)
                yield _Repair("one knot left out", j + 1, last, missing, odds)
    extra = STRAIGHT - more
    if 1 <= extra <= 4:
        for i, count in enumerate(counts, 1):
            first, last = runs[i - 1]
            if count != extra or i != first:
                continue
            again = last > first
            if not again and not (i == 1 and counts[-1] == count):
                continue
            if at[i - 1] + turn * (end - at[i]) == 0:
                odds = ((last - first) if again else 0.5) / ((n - 1) * ODDS_OF_A_KNOT_MORE)
                yield _Repair("one knot counted twice", i, last, count, odds)
