"""Trimming: which bars to cut so that the hole can be sewn, and in which order."""

from __future__ import annotations

from typing import Literal

from cards.grid import Hole, Stretch, hole_of_stretches
from cards.grid.islands import with_islands
from cards.trim.cuts import Cut, order_cuts
from cards.trim.one import trim_one
from cards.trim.run import SIDES, Run, Side, Trim, other

__all__ = [
    "SIDES",
    "TWINE_COST",
    "Cut",
    "Run",
    "Side",
    "Start",
    "Trim",
    "Twines",
    "order_cuts",
    "other",
    "trim",
    "trim_one",
]

Start = Literal["left", "right", "auto"]
Twines = Literal["one", "fewest-cost"]

# What a twine costs, in bars to sew: its start and end knot, and ends to work in.
TWINE_COST = 8


def trim(
    hole: Hole,
    start: Start = "auto",
    prefer: Side = "left",
    twines: Twines = "fewest-cost",
    twine_cost: int = TWINE_COST,
) -> Trim:
    """Trim a hole so that it can be sewn, with the least bars to sew + cost of twines.

    Parameters
    ----------
    hole
        The broken bars.
    start
        The side on which the twine sewn first starts; "auto" takes the cheaper one.
    prefer
        The side to start on where both cost the same and start on the same line.
    twines
        "one" for a single twine, with the fewest cuts; "fewest-cost" for as many as are cheapest.
    twine_cost
        What a twine costs, in bars.

    Returns
    -------
    Trim
        The trim of the mirrored hole with the other side preferred is its mirror image.
    """
    found, islands = with_islands(hole)
    if twines == "one":
        sides: tuple[Side, ...] = (prefer, other(prefer)) if start == "auto" else (start,)
        runs: tuple[Run, ...] = (
            min((trim_one(found, side) for side in sides), key=lambda run: run.rank),
        )
        bound = runs[0].size + twine_cost
    else:
        from cards.trim.many import trim_many

        mirror = prefer == "right"
        side = None if start == "auto" else other(start) if mirror else start
        many = trim_many(found.mirrored() if mirror else found, twine_cost, side)
        runs = tuple(run.mirrored() for run in many.runs) if mirror else many.runs
        bound = many.bound
    return Trim(
        found=found,
        trimmed=trimmed_by(runs),
        runs=runs,
        islands=islands,
        cost=sum(run.size for run in runs) + twine_cost * len(runs),
        bound=bound,
    )


def trimmed_by(runs: tuple[Run, ...]) -> Hole:
    """All bars of some runs as one hole."""
    if len(runs) == 1:
        return Hole(runs[0].top, tuple((stretch,) for stretch in runs[0].stretches))
    rows: dict[int, list[Stretch]] = {}
    for run in runs:
        for row, stretch in enumerate(run.stretches, run.top):
            rows.setdefault(row, []).append(stretch)
    return hole_of_stretches(rows)
