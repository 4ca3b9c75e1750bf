"""Mend or patch: both side by side, and the pace at which the balance tips."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cards.reckon.twine import Reckoning, knot_times

Method = Literal["mend", "patch"]
# Where the spec gives no pace (an assumption, no source; a card says so).
PACE = 4.0
# Counting out a patch, marking its top and laying it in, in minutes (an assumption, no source; a
# card says so).
LAYING_IN = 10.0


@dataclass(frozen=True, slots=True)
class Column:
    """One method: knots tied, bars cut, twine in m, time in minutes."""

    method: Method
    knots: int
    cuts: int
    length: float | None
    minutes: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """Both methods side by side.

    Attributes
    ----------
    mend, patch
        The two.
    pace
        Knots a minute that both times are reckoned with.
    assumed
        Whether the spec does not give that pace.
    tips_at
        The pace at which both take the same time: slower than that the patch wins, faster the
        mend. None where the mend wins at every pace.
    freed
        How many of the patch's cuts are made in new web, to free it.
    """

    mend: Column
    patch: Column
    pace: float
    assumed: bool
    tips_at: float | None
    freed: int

    @property
    def wins(self) -> Method:
        """The one that takes less time; the mend where both take the same."""
        return "patch" if self.patch.minutes < self.mend.minutes else "mend"


def compare(mend: Reckoning, patch: Reckoning, pace: float | None, freed: int = 0) -> Comparison:
    """Set a mend and a patch side by side.

    Parameters
    ----------
    mend, patch
        Both reckoned.
    pace
        Knots a minute; `PACE` where None.
    freed
        How many of the patch's cuts free it from new web.

    Notes
    -----
    The mend takes M knot-times, the patch P knot-times and F minutes whatever the pace. They
    are even at a pace of (M - P) / F.
    """
    used = pace or PACE
    works = knot_times(mend.efforts) - knot_times(patch.efforts)
    return Comparison(
        mend=_column("mend", mend, used),
        patch=_column("patch", patch, used),
        pace=used,
        assumed=pace is None,
        tips_at=works / patch.laying_in if works > 0 and patch.laying_in else None,
        freed=freed,
    )


def _column(method: Method, reckoning: Reckoning, pace: float) -> Column:
    counts = {effort.what: effort.count for effort in reckoning.efforts}
    return Column(
        method=method,
        knots=counts["knots"],
        cuts=counts["cuts"],
        length=reckoning.length,
        minutes=knot_times(reckoning.efforts) / pace + reckoning.laying_in,
    )
