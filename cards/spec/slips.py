"""Likely slips in a walk that does not close: the single miscounts that would explain it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import Iterator, Literal, get_args

from cards.grid import Hole
from cards.grid.walk import FULL_TURN, STRAIGHT, Walk, WalkError, hole_inside

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
        left out, the second of the knot counted twice.
    last
        The last place of a run of equal counts where the same slip gives the same walk.
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


@dataclass(frozen=True, slots=True)
class _Repair:
    kind: Kind
    place: int
    last: int
    count: int
    counts: tuple[int, ...]
    odds: float


def likely_slips(walk: Walk, wanted: int = 3, tries: int = 60) -> list[Slip]:
    """List the slips that would explain a walk that is wrong, likeliest first.

    Notes
    -----
    Turning is multiplication by a power of i where right is x and down is y, so to put right one
    count turns all that follows about that knot; it closes the walk only where that knot is the
    one point that such a turn leaves in place. A knot more or less is found in the same way. All
    places are tried in one pass along the walk.

    How likely a slip is: each kind as likely as the others and each knot as any other, so where
    several knots in a row have the same count the slip is so many times as likely. A slip counts
    only where the hole it gives is possible at all: rim without crossing, counts that agree.
    """
    repairs = sorted(_repairs(walk), key=lambda repair: -repair.odds)
    slips: list[Slip] = []
    seen: set[Hole] = set()
    for repair in repairs[:tries]:
        mended = Walk(repair.counts, walk.first)
        try:
            hole = hole_inside(mended).cornered()
        except WalkError:
            continue
        if hole in seen:
            continue
        seen.add(hole)
        slips.append(Slip(repair.kind, repair.place, repair.last, repair.count, mended, hole))
        if len(slips) == wanted:
            break
    return slips


def _repairs(walk: Walk) -> Iterator[_Repair]:
    """Every single change that makes the walk close."""
    counts = walk.counts
    n = len(counts)
    at = [complex(x, y) for x, y in walk.knots]
    step = [(1 + 1j) * 1j**heading for heading in walk.headings]
    end = at[-1]
    more = FULL_TURN - walk.turning
    # The runs of equal counts: for each place where its run begins and ends.
    runs: list[tuple[int, int]] = []
    for _, run in groupby(counts):
        length = len(list(run))
        runs += [(len(runs) + 1, len(runs) + length)] * length
    if more and -3 <= more <= 3:
        turn = 1j ** (more % 4)
        for i, count in enumerate(counts, 1):
            if 1 <= count + more <= 4 and at[i] + turn * (end - at[i]) == 0:
                put = (*counts[: i - 1], count + more, *counts[i:])
                yield _Repair("one count wrong", i, i, count + more, put, 1 / (3 * n))
    missing = STRAIGHT + more
    if 1 <= missing <= 4:
        turn = 1j ** (more % 4)
        for j in range(n + 1):
            # Within a run of the same count any place gives the same walk: the run's beginning.
            if j and counts[j - 1] == missing:
                continue
            if at[j] + step[j] + turn * (end - at[j]) == 0:
                put = (*counts[:j], missing, *counts[j:])
                last = runs[j][1] + 1 if j < n and counts[j] == missing else j + 1
                odds = (last - j) / (n + 1)
                yield _Repair("one knot left out", j + 1, last, missing, put, odds)
    extra = STRAIGHT - more
    if 1 <= extra <= 4:
        turn = 1j ** (more % 4)
        for i, count in enumerate(counts, 1):
            first, last = runs[i - 1]
            if count != extra or i != first:
                continue
            again = last > first
            if not again and not (i == 1 and counts[-1] == count):
                continue
            if at[i - 1] + turn * (end - at[i]) == 0:
                put = (*counts[: i - 1], *counts[i:])
                odds = (last - first) / (n - 1) if again else 0.5 / (n - 1)
                yield _Repair("one knot counted twice", i, last, count, put, odds)
