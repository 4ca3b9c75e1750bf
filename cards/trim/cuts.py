"""The cuts of a trim in the order a mender makes them, and what each of them does."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Iterator, Literal

from cards.grid import Bar, Hole, Knot, Stretch, name_of
from cards.grid.knots import BARS, HANGING, ONE_BAR, STANDING, THREE_BAR
from cards.trim.run import SIDES, Run, Side, Trim, other

Does = Literal[
    "turns into a pickup",
    "turns into a sider",
    "clears a pair",
    "takes off a one-bar",
    "moves the three-bar on",
    "cuts in the start",
    "cuts in the end",
    "cuts out the tongue",
    "cuts across",
]

# A hole deeper than this many rows is trimmed a stage at a time, each this many rows deep.
DEEP = 24
STAGE = 16


@dataclass(frozen=True, slots=True)
class Cut:
    """One bar to cut.

    Attributes
    ----------
    n
        Number in the order of cutting, from 1.
    bar
        The bar.
    twine
        Which run the bar belongs to, from 0.
    stage
        Which stage of a large hole, from 0.
    at
        The knot at which the cut is made; the other end of the bar is `towards`.
    was, becomes
        What the knot at which the cut is made is called before and after.
    towards_was, towards_becomes
        The same for the other knot.
    does
        What the cut does, in one of the words of `Does`.
    """

    n: int
    bar: Bar
    twine: int
    stage: int
    at: Knot
    towards: Knot
    was: str
    becomes: str
    towards_was: str
    towards_becomes: str
    does: Does


def order_cuts(trim: Trim) -> tuple[Cut, ...]:
    """Number the cuts of a trim as a mender makes them.

    Parameters
    ----------
    trim
        A trimmed hole.

    Returns
    -------
    tuple of Cut
        Twine by twine; for a large hole stage by stage. Within a stage first the tongues,
        then from the start down one side, pair of rows by pair of rows, then down the other.
        Within a pair outwards in the upper row and back in the lower, so that each cut is
        made at a three-bar or a one-bar and leaves no three-bar behind it. Where it cannot
        be so, `does` says why: a start or an end cut in, a tongue cut out whole, rows without
        a break cut across.

    Notes
    -----
    Common practice, no source.
    """
    missing: dict[Knot, int] = {}
    for bar in trim.found.bars():
        _take(missing, bar)
    cuts: list[Cut] = []
    for number, run in enumerate(trim.runs):
        for stage, bar, why in _in_order(trim.found, run):
            cut = _cut(missing, bar, why)
            cuts.append(replace(cut, n=len(cuts) + 1, twine=number, stage=stage))
    return tuple(cuts)


def _in_order(found: Hole, run: Run) -> Iterator[tuple[int, Bar, Does | None]]:
    """Yield (stage, bar, reason) for a run's cuts; no reason where the rule of the trade holds."""
    breaks = [_inside(found.row(row), s) for row, s in enumerate(run.stretches, run.top)]
    staged = len(run.stretches) > DEEP
    last_stage = (len(run.stretches) - 1) // STAGE if staged else 0
    tongues: list[list[tuple[Bar, Does | None]]] = [[] for _ in range(last_stage + 1)]
    sides: dict[Side, list[list[tuple[Bar, Does | None]]]] = {
        side: [[] for _ in range(last_stage + 1)] for side in SIDES
    }
    for at, (row, broken) in enumerate(zip(range(run.top, run.bottom), breaks)):
        stage = at // STAGE if staged else 0
        for a, b in zip(broken, broken[1:]):
            tongues[stage] += [(Bar(row, c), "cuts out the tongue") for c in range(a.right, b.left)]
    for side in SIDES:
        # Row `at` goes out to this side when a sider joins it there to the row below.
        first = 0 if run.start != side else -1
        for at in range(first, len(run.stretches), 2):
            stage = max(at, 0) // STAGE if staged else 0
            passage = sides[side][stage]
            loose: Does | None = "cuts in the start" if at < 0 else None
            if at >= 0:
                if at + 1 == len(run.stretches):
                    loose = "cuts in the end"
                columns = _outer(run, at, breaks[at], side)
                passage += [(Bar(run.top + at, c), loose or _across(breaks[at])) for c in columns]
            if at + 1 < len(run.stretches):
                columns = _outer(run, at + 1, breaks[at + 1], side)
                back = columns if at < 0 else columns[::-1]
                why = loose or _across(breaks[at + 1])
                passage += [(Bar(run.top + at + 1, c), why) for c in back]
    for stage in range(last_stage + 1):
        for part in (tongues, sides[run.start], sides[other(run.start)]):
            for bar, why in part[stage]:
                yield stage, bar, why


def _across(broken: tuple[Stretch, ...]) -> Does | None:
    return None if broken else "cuts across"


def _inside(stretches: tuple[Stretch, ...], limits: Stretch) -> tuple[Stretch, ...]:
    return tuple(s for s in stretches if limits.left <= s.left and s.right <= limits.right)


def _outer(run: Run, at: int, broken: tuple[Stretch, ...], side: Side) -> range:
    """Columns of the good bars on one side of a row of the run, outwards.

    A row without a break is cut across from the side of the start.
    """
    left, right = run.stretches[at]
    if not broken:
        if side != run.start:
            return range(0)
        return range(right - 1, left - 1, -1) if side == "left" else range(left, right)
    if side == "left":
        return range(broken[0].left - 1, left - 1, -1)
    return range(broken[-1].right, right)


def _take(missing: dict[Knot, int], bar: Bar) -> None:
    for knot in bar.ends:
        missing[knot] = missing.get(knot, 0) | _bit(knot, bar)


def _bit(knot: Knot, bar: Bar) -> int:
    return next(
        bit for bit, (row, column) in BARS.items() if (knot.y + row, knot.x + column) == bar
    )


def _cut(missing: dict[Knot, int], bar: Bar, why: Does | None) -> Cut:
    """Cut a bar at the end that asks for it, and say what that does."""
    before = [name_of(missing.get(knot, 0)) for knot in bar.ends]
    _take(missing, bar)
    after = [name_of(missing[knot]) for knot in bar.ends]
    asks = {THREE_BAR: 0, ONE_BAR: 1}
    at = min((0, 1), key=lambda end: asks.get(before[end], 2))
    far = 1 - at
    if why is None:
        why = _effect(before[at], after[at], before[far], after[far])
    return Cut(
        n=0,
        bar=bar,
        twine=0,
        stage=0,
        at=bar.ends[at],
        towards=bar.ends[far],
        was=before[at],
        becomes=after[at],
        towards_was=before[far],
        towards_becomes=after[far],
        does=why,
    )


def _effect(was: str, becomes: str, far_was: str, far_becomes: str) -> Does:
    if was == ONE_BAR:
        return "takes off a one-bar"
    if was == far_was == THREE_BAR:
        return "clears a pair"
    if becomes in (HANGING, STANDING):
        return "turns into a pickup"
    if becomes.startswith("sider"):
        return "turns into a sider"
    return "moves the three-bar on"
