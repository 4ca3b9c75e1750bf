"""The cuts of a trim in the order a mender makes them, and what each of them does."""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from cards.grid import Bar, Hole, Knot, Stretch, name_of
from cards.grid.knots import (
    BARS,
    BITS,
    HANGING,
    ONE_BAR,
    OPPOSITE,
    SIDER_LEFT,
    SIDER_RIGHT,
    STANDING,
    THREE_BAR,
)
from cards.trim.run import Run, Side, Trim, other

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
    "cuts on past a sider",
    "opens two opposite",
    # Round a patch only.
    "begins a pickup",
    "begins a sider",
    "squares the corner",
]

# What a cut does by its place, whatever is missing at its knots.
REASONS = ("cuts in the start", "cuts in the end", "cuts out the tongue", "cuts across")
SIDERS = (SIDER_LEFT, SIDER_RIGHT)
# At which of its two knots a cut is made: at the one that asks for it most.
ASKS = {
    name: rank
    for rank, names in enumerate(((THREE_BAR,), (ONE_BAR,), (OPPOSITE,), SIDERS))
    for name in names
}

# A hole deeper than this many rows is trimmed a stage at a time: twine by twine, and a twine of
# more rows so many at a time.
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
    before
        Which run waits for it: its own, or an earlier one that comes to its knots.
    stage
        Before which stage of that run it is cut, from 0; more than 0 for a large hole only.
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
    before: int
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
        made at a three-bar or a one-bar and leaves no three-bar behind it. A bar between two
        breaks that hangs alone from its knot is no tongue: it is cut off with its row, on the
        side that it is nearer to. Where it cannot be so, `does` says why: a start or an end cut
        in, a tongue cut out whole, rows without a break cut across, a row that goes on past a
        sider that would hold.

    Notes
    -----
    Common practice, no source.
    """
    missing = _Missing(trim.found)
    cuts: list[Cut] = []
    for number, run in enumerate(trim.runs):
        hanging = _hanging(missing, run)
        # Among the tongues where another cut would be made in web that holds, or they would have
        # fallen off by then.
        ways = [hanging, {}] if hanging else [{}]
        missing, own = min((_cut_run(missing, run, way) for way in ways), key=_forced)
        cuts += [replace(cut, twine=number, before=number) for cut in own]
    if in_stages(trim):
        cuts = _in_time(trim, cuts)
    return tuple(replace(cut, n=n) for n, cut in enumerate(cuts, 1))


def _cut_run(
    missing: _Missing, run: Run, hanging: dict[int, list[int]]
) -> tuple[_Missing, list[Cut]]:
    """The cuts of a run, not numbered yet, and what knots miss after them."""
    after = missing.copy()
    cuts = [
        replace(_cut(after, bar, passage.why), stage=passage.stage)
        for passage in _passages(missing.found, run, hanging)
        for bar in _best_way(after, passage)
    ]
    return after, cuts


def falls_with(trimmed: Hole, cuts: Sequence[Cut]) -> dict[int, int]:
    """Which cuts are of bars that have come off before: each with the cut that they fell with.

    Parameters
    ----------
    trimmed
        The missing bars when all is cut; nothing that is left then hangs on nothing.
    cuts
        The cuts in their order.

    Notes
    -----
    The bars are put back, the last cut first: a piece that the bar of a cut joins to the web has
    fallen with that cut. Nearly linear, by disjoint sets.
    """
    joined: dict[Knot | None, Knot | None] = {}  # None is the web
    pieces: dict[Knot | None, list[int]] = {}  # the cuts in each piece, by its root
    fallen: dict[int, int] = {}

    def root(knot: Knot | None) -> Knot | None:
        while knot is not None and knot in joined:
            knot = joined[knot]
        return knot

    for cut in reversed(cuts):
        for end in cut.bar.ends:
            if end not in joined and end not in pieces:
                if trimmed.lost_at(end):
                    pieces[end] = []
                else:
                    joined[end] = None
        a, b = sorted(map(root, cut.bar.ends), key=lambda end: len(pieces.get(end, ())))
        if a is None and b is None:
            continue
        if None in (a, b):
            piece = b if a is None else a
            fallen |= dict.fromkeys(pieces.pop(piece), cut.n)
            joined[piece] = None
            continue
        if a != b:
            joined[a] = b
            pieces[b] += pieces.pop(a)
        pieces[b].append(cut.n)
    return fallen


def in_stages(trim: Trim) -> bool:
    """Whether a hole is cut a stage at a time, as the sewing comes down to it."""
    return len(trim.trimmed.rows) > DEEP


def _in_time(trim: Trim, cuts: Sequence[Cut]) -> list[Cut]:
    """The cuts of a hole that is trimmed a stage at a time, each before its knots are sewn on.

    The last rows of a twine may hang their loops where a later twine goes on: what is cut there is
    cut with those rows.
    """
    sewn = _sewn(trim.runs)
    due = [_due(sewn, cut) for cut in cuts]
    missing = _Missing(trim.found)
    ordered: list[Cut] = []
    for (before, stage), cut in sorted(zip(due, cuts), key=lambda one: one[0]):
        why = cut.does if cut.does in REASONS else None
        own = _cut(missing, cut.bar, why)
        ordered.append(replace(own, twine=cut.twine, before=before, stage=stage))
    return ordered


# For each row its stretches from the left, each with its run and with the stage that sews it.
_Sewn = dict[int, list[tuple[Stretch, tuple[int, int]]]]


def _sewn(runs: Sequence[Run]) -> _Sewn:
    """Which stage of which run sews which stretch of a row."""
    sewn: _Sewn = {}
    for number, run in enumerate(runs):
        deep = len(run.stretches) > DEEP
        for at, stretch in enumerate(run.stretches):
            own = number, (at + 1) // STAGE if deep else 0
            sewn.setdefault(run.top + at, []).append((stretch, own))
    for row in sewn.values():
        row.sort()
    return sewn


def _due(sewn: _Sewn, cut: Cut) -> tuple[int, int]:
    """Before which stage of which run a cut is made: its own, or the first that sews its knots."""
    due = [(cut.twine, cut.stage)]
    for knot in cut.bar.ends:
        for line in (knot.y - 1, knot.y):
            # Whole web stands between two stretches: no more than one reaches a knot.
            row = sewn.get(line, [])
            at = bisect_right(row, knot.x, key=lambda own: own[0].left) - 1
            if at >= 0:
                stretch, own = row[at]
                if knot.x <= stretch.right and own[0] < cut.twine:
                    due.append(own)
    return min(due)


def _forced(made: tuple[_Missing, list[Cut]]) -> int:
    """How many cuts are made where no knot asks for one, or of a bar that has fallen off."""
    names = [{cut.was, cut.towards_was} for cut in made[1]]
    return sum(own == {ONE_BAR} or not own & {THREE_BAR, ONE_BAR} for own in names)


@dataclass(frozen=True, slots=True)
class _Passage:
    """Cuts that follow each other in one row, in the order of the trade; and a reason, if any."""

    stage: int
    bars: tuple[Bar, ...]
    why: Does | None = None


def _hanging(missing: _Missing, run: Run) -> dict[int, list[int]]:
    """The bars between two breaks that are the only one of a knot: columns, by row of the run.

    Not those whose other knot has a bar that lies between two breaks too: a tongue ends in them.
    """
    between = {
        Bar(run.top + at, column)
        for at, broken in enumerate(_breaks(missing.found, run))
        for column in _gaps(broken)
    }

    def alone(bar: Bar) -> bool:
        names = [name_of(missing[knot]) for knot in bar.ends]
        if ONE_BAR not in names:
            return False
        far = bar.ends[1 - names.index(ONE_BAR)]
        others = (Bar(far.y + row, far.x + column) for row, column in BARS.values())
        return not any(other in between for other in others if other != bar)

    hanging: dict[int, list[int]] = {}
    for bar in sorted(filter(alone, between)):
        hanging.setdefault(bar.row - run.top, []).append(bar.column)
    return hanging


def _breaks(found: Hole, run: Run) -> list[tuple[Stretch, ...]]:
    return [_inside(found.row(row), s) for row, s in enumerate(run.stretches, run.top)]


def _gaps(broken: tuple[Stretch, ...]) -> list[int]:
    """Columns of the good bars between the breaks of a row."""
    return [c for a, b in itertools.pairwise(broken) for c in range(a.right, b.left)]


def _passages(found: Hole, run: Run, hanging: dict[int, list[int]]) -> list[_Passage]:
    """The passages of a run: for each stage the tongues, the side of the start, the other side."""
    breaks = _breaks(found, run)
    count = len(run.stretches)
    staged = count > DEEP

    def passage(at: int, columns: Sequence[int], why: Does | None, pair: int) -> _Passage:
        bars = tuple(Bar(run.top + at, column) for column in columns)
        return _Passage(pair // STAGE if staged else 0, bars, why)

    tongues = []
    for at, broken in enumerate(breaks):
        alone = set(hanging.get(at, ()))
        columns = [c for c in _gaps(broken) if c not in alone]
        if run.start == "right":
            columns.reverse()
        tongues.append(passage(at, columns, "cuts out the tongue", at))
    sides = []
    for side in (run.start, other(run.start)):
        own = []
        off = {at: _nearer(run, at, columns, side) for at, columns in hanging.items()}
        if side == run.start:
            own.append(passage(0, off.get(0, ()), None, 0))
            own.append(passage(0, _outer(run, 0, breaks[0], side), "cuts in the start", 0))
        # Rows `at` and `at + 1` are joined by a sider on this side; the last row may be alone.
        for at in range(1 if side == run.start else 0, count, 2):
            out = _outer(run, at, breaks[at], side)
            last: Does | None = "cuts in the end" if at + 1 == count else None
            own.append(passage(at, off.get(at, ()), None, at))
            own.append(passage(at, out, last or _across(breaks[at]), at))
            if at + 1 < count:
                back = _outer(run, at + 1, breaks[at + 1], side)[::-1]
                own.append(passage(at + 1, back, _across(breaks[at + 1]), at))
                own.append(passage(at + 1, off.get(at + 1, ())[::-1], None, at))
        sides.append(own)
    passages = [*tongues, *sides[0], *sides[1]]
    return sorted((p for p in passages if p.bars), key=lambda passage: passage.stage)


def _nearer(run: Run, at: int, columns: Sequence[int], side: Side) -> list[int]:
    """Those columns of a row that are nearer to this side of it, outwards; halfway: the start's."""
    left, right = run.stretches[at]
    halves = {c: c - left - (right - 1 - c) for c in columns}
    own = [c for c, half in halves.items() if (half < 0) == (side == "left") and half]
    own += [c for c, half in halves.items() if not half and side == run.start]
    return sorted(own, reverse=side == "left")


def _across(broken: tuple[Stretch, ...]) -> Does | None:
    return None if broken else "cuts across"


class _Missing(dict[Knot, int]):
    """The bars that knots miss, as bits: looked up in the hole as found when first asked for."""

    def __init__(self, found: Hole) -> None:
        super().__init__()
        self.found = found

    def copy(self) -> _Missing:
        """The same, to go on from."""
        own = _Missing(self.found)
        own.update(self)
        return own

    def __missing__(self, knot: Knot) -> int:
        bits = self[knot] = self.found.missing_at(knot)
        return bits


def _best_way(missing: _Missing, passage: _Passage) -> tuple[Bar, ...]:
    """The bars of a passage as given, or back to front where that keeps the rule better.

    Back to front only from a knot that asks for it: no cut is begun in web that holds.
    """
    if passage.why is not None or not _against_rule(missing, passage.bars):
        return passage.bars
    back = passage.bars[::-1]
    better = _against_rule(missing, back) < _against_rule(missing, passage.bars)
    return back if better and not _against_rule(missing, back[:1]) else passage.bars


def _against_rule(missing: _Missing, bars: Sequence[Bar]) -> int:
    """How many cuts would be made where neither knot is a three-bar or a one-bar."""
    trial: dict[Knot, int] = {}
    against = 0
    for bar in bars:
        names = set()
        for knot in bar.ends:
            before = trial[knot] if knot in trial else missing[knot]
            names.add(name_of(before))
            trial[knot] = before | _bit(knot, bar)
        against += not names & {THREE_BAR, ONE_BAR}
    return against


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


def _take(missing: _Missing, bar: Bar) -> None:
    for knot in bar.ends:
        missing[knot] |= _bit(knot, bar)


def _bit(knot: Knot, bar: Bar) -> int:
    return BITS[bar.row - knot.y, bar.column - knot.x]


def _cut(missing: _Missing, bar: Bar, why: Does | None) -> Cut:
    """Cut a bar at the end that asks for it, and say what that does."""
    before = [name_of(missing[knot]) for knot in bar.ends]
    _take(missing, bar)
    after = [name_of(missing[knot]) for knot in bar.ends]
    at = min((0, 1), key=lambda end: ASKS.get(before[end], len(ASKS)))
    far = 1 - at
    if after[at] == OPPOSITE and before[far] in (ONE_BAR, OPPOSITE):
        at, far = far, at  # what is mended by it is at the other end
    if why is None:
        why = _effect(before[at], after[at], before[far])
    return Cut(
        n=0,
        bar=bar,
        twine=0,
        before=0,
        stage=0,
        at=bar.ends[at],
        towards=bar.ends[far],
        was=before[at],
        becomes=after[at],
        towards_was=before[far],
        towards_becomes=after[far],
        does=why,
    )


def _effect(was: str, becomes: str, far_was: str) -> Does:
    if was not in (THREE_BAR, ONE_BAR):
        # The bar beside it is missing: a knot that asks for no cut can then only be a sider.
        return "opens two opposite" if OPPOSITE in (was, far_was) else "cuts on past a sider"
    if was == ONE_BAR:
        return "takes off a one-bar"
    if was == far_was == THREE_BAR:
        return "clears a pair"
    if becomes in (HANGING, STANDING):
        return "turns into a pickup"
    if becomes.startswith("sider"):
        return "turns into a sider"
    return "moves the three-bar on"
