"""Trimming: which bars to cut so that the hole can be sewn, and in which order."""

from __future__ import annotations

import itertools
from typing import Literal

from cards.grid import Hole, Stretch
from cards.grid.hole import merged
from cards.grid.islands import with_islands
from cards.trim.cuts import Cut, order_cuts
from cards.trim.one import trim_one
from cards.trim.run import SIDES, Run, Side, Trim, other

__all__ = [
    "SIDES",
    "Cut",
    "Run",
    "Side",
    "Start",
    "Trim",
    "order_cuts",
    "other",
    "trim",
    "trim_one",
]

Start = Literal["left", "right", "auto"]


def trim(hole: Hole, start: Start = "auto", prefer: Side = "left") -> Trim:
    """Trim a hole so that one twine can be sewn through it, with the fewest cuts.

    Parameters
    ----------
    hole
        The broken bars.
    start
        The side of the first row to start on; "auto" takes the one with fewer cuts.
    prefer
        The side to start on where both need the same number of cuts.

    Returns
    -------
    Trim
        With one run.
    """
    found, islands = with_islands(hole)
    sides: tuple[Side, ...] = (prefer, other(prefer)) if start == "auto" else (start,)
    run = min((trim_one(found, side) for side in sides), key=lambda run: run.size)
    return Trim(
        found=found,
        trimmed=trimmed_by((run,)),
        runs=(run,),
        islands=islands,
        tongues=sum(b.left - a.right for row in found.rows for a, b in itertools.pairwise(row)),
    )


def trimmed_by(runs: tuple[Run, ...]) -> Hole:
    """All bars of some runs as one hole."""
    if len(runs) == 1:
        return Hole(runs[0].top, tuple((stretch,) for stretch in runs[0].stretches))
    rows: dict[int, list[Stretch]] = {}
    for run in runs:
        for row, stretch in enumerate(run.stretches, run.top):
            rows.setdefault(row, []).append(stretch)
    top = min(rows)
    return Hole(top, tuple(merged(rows.get(row, [])) for row in range(top, max(rows) + 1)))
