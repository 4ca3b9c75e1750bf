"""Judging the cuts that somebody else made for a patch: whether they make a rectangle for one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from cards.grid import Bar, Hole, Knot
from cards.grid.islands import with_islands
from cards.grid.knots import ONE_BAR, OPPOSITE, THREE_BAR
from cards.trim.check import named_knots
from cards.trim.cuts import Cut
from cards.trim.patch import Patch, fit_patch, order_patch_cuts
from cards.trim.run import Side


@dataclass(frozen=True, slots=True)
class PatchCheck:
    """What is to be said of the cuts for a patch.

    Attributes
    ----------
    found
        The broken bars as given.
    cuts
        The cuts that were made or proposed.
    missing
        All missing bars, those of web that comes away among them.
    away
        How many whole bars hang on nothing after the cuts, and come away.
    wrong
        Knots that may not be left round a patch, with their names, line by line from the left.
    patch
        The rectangle round all missing bars, and the patch for it.
    best
        The rectangle of the plan.
    best_cuts
        How many cuts the plan has.
    further
        The cuts that the rectangle round all missing bars still lacks, in order.
    """

    found: Hole
    cuts: tuple[Bar, ...]
    missing: Hole
    away: int
    wrong: dict[Knot, str]
    patch: Patch
    best: Patch
    best_cuts: int
    further: tuple[Cut, ...]

    @property
    def sewable(self) -> bool:
        """Whether a patch can be sewn in as it stands: the whole rectangle is open."""
        return not self.further

    @property
    def more(self) -> int:
        """How many cuts more than the plan's, those still to make counted."""
        return len(self.cuts) + len(self.further) - self.best_cuts

    @property
    def needless(self) -> tuple[Bar, ...]:
        """Cuts of bars that would have come away uncut; told of a whole rectangle only."""
        if not self.sewable:
            return ()
        seam = self.patch.seam
        return tuple(bar for bar in self.cuts if not seam.misses(*bar))

    @property
    def outside(self) -> tuple[Bar, ...]:
        """Cuts outside the rectangle of the plan."""
        best = self.best
        return tuple(
            bar
            for bar in self.cuts
            if not (best.top <= bar.row < best.bottom and best.left <= bar.column < best.right)
        )


def check_patch(found: Hole, cuts: Iterable[Bar], side: Side = "left") -> PatchCheck:
    """Judge the cuts for a patch.

    Parameters
    ----------
    found
        The broken bars.
    cuts
        Whole bars that are cut.
    side
        The end of the top on which the seam starts: as for the plan that it is compared with.

    Returns
    -------
    PatchCheck
        Right for any set of bars. A patch can be sewn in where the missing bars, with web that
        comes away, are all bars of a rectangle as `Patch` has it, and no others.

    Examples
    --------
    >>> from cards.grid import hole_of_bars
    >>> hole = hole_of_bars((row, column) for row in range(1, 7) for column in range(2, 10))
    >>> check = check_patch(hole, [])
    >>> check.sewable, check.patch.across, check.patch.down
    (True, 3, 2)
    >>> check = check_patch(hole, [Bar(0, 4)])
    >>> check.sewable, check.wrong, check.outside
    (False, {Knot(x=4, y=0): 'three-bar', Knot(x=5, y=1): 'one-bar'}, (Bar(row=0, column=4),))
    """
    made = tuple(cuts)
    missing, away = with_islands(found.plus(made) if made else found)
    named = named_knots(missing)
    wrong = [(knot, name) for name in (THREE_BAR, ONE_BAR, OPPOSITE) for knot in named[name]]
    patch, best = fit_patch(missing, side), fit_patch(found, side)
    return PatchCheck(
        found=found,
        cuts=made,
        missing=missing,
        away=away,
        wrong=dict(sorted(wrong, key=lambda mark: (mark[0].y, mark[0].x))),
        patch=patch,
        best=best,
        best_cuts=best.seam.size - sum(1 for bar in best.seam.bars() if best.found.misses(*bar)),
        further=order_patch_cuts(patch, side),
    )
