"""How much twine a mend takes, how many needles, how long."""

from __future__ import annotations

from dataclasses import dataclass

from cards.sew import Sewing, Twine
from cards.spec import Spec

# A knot takes up 16 diameters of twine: all values K = 1 + 16 x diameter / mesh size of the knot
# factor table in Prado and Dremiere, Fisherman's Workbook, FAO, 1990 (from memory).
KNOT_DIAMETERS = 16
# The start knot is a double sheet bend and the end knot is doubled too: twice a knot's take-up.
END_KNOT_FACTOR = 2
# Twine left over at each end to tie and trim, in mm (common practice, no source).
TAIL = 150.0


@dataclass(frozen=True, slots=True)
class Reckoning:
    """Twine, needles and time of a mend; None where the spec does not give what it takes.

    Attributes
    ----------
    bar
        Length of a bar in mm.
    length
        Twine to load, in m: single twine, both parts of a double twine counted.
    mass
        Its mass in g.
    needles
        Full needles it takes; None also where one holds too little for a single knot.
    refills
        Numbers of the knots after which the needle is refilled.
    after_row
        For each twine and row, the twine used up to its last knot, in m.
    minutes
        Time at the pace the spec gives.
    lacking
        What the spec does not give and what therefore is not reckoned, as field names.
    """

    bar: float | None
    length: float | None
    mass: float | None
    needles: int | None
    refills: tuple[int, ...]
    after_row: tuple[tuple[float, ...], ...]
    minutes: float | None
    lacking: tuple[str, ...]


def reckon(spec: Spec, sewing: Sewing) -> Reckoning:
    """Reckon the twine, the needles and the time of a sewing.

    Parameters
    ----------
    spec
        Gives mesh size, twine, needle and pace.
    sewing
        The knots to tie.

    Returns
    -------
    Reckoning

    Notes
    -----
    Length = bars x bar length + knots x 16 diameters, the start and the end knot twice that,
    + a tail at each end and two at each refill; double twine doubles it.
    Mass = length x Rtex / 1000.

    References
    ----------
    Knot take-up: see `KNOT_DIAMETERS`. 1 tex = 1 g/km: ISO 1144.
    """
    twine = spec.net.twine
    wanted = {
        "net.mesh": spec.net.mesh,
        "net.twine.diameter": twine.diameter,
        "net.twine.rtex": twine.rtex,
        "mender.needle": spec.mender.needle,
        "mender.pace": spec.mender.pace,
    }
    lacking = tuple(name for name, value in wanted.items() if value is None)
    bar = spec.net.mesh.mm / 2 if spec.net.mesh else None
    minutes = sewing.knots / spec.mender.pace if spec.mender.pace else None
    if bar is None or twine.diameter is None:
        return Reckoning(bar, None, None, None, (), (), minutes, lacking)
    parts = 2 if twine.double else 1
    take = _Take(bar, KNOT_DIAMETERS * twine.diameter.mm, TAIL, parts)
    capacity = spec.mender.needle.mm if spec.mender.needle else None
    chosen = _refills(sewing, take, capacity) if capacity else None
    refills = chosen or ()
    used = 0.0
    after_row: list[tuple[float, ...]] = []
    for own in sewing.twines:
        rows: list[float] = []
        for row in own.rows:
            tails = sum(2 for n in refills if own.first <= n <= row.last)
            rows.append((used + take.up_to(own, row.last) + tails * TAIL * parts) / 1000)
        used = rows[-1] * 1000 + TAIL * parts
        after_row.append(tuple(rows))
    length = used / 1000
    return Reckoning(
        bar=bar,
        length=length,
        mass=length * twine.rtex / 1000 if twine.rtex else None,
        needles=None if chosen is None else len(chosen) + 1,
        refills=refills,
        after_row=tuple(after_row),
        minutes=minutes,
        lacking=lacking,
    )


@dataclass(frozen=True, slots=True)
class _Take:
    """What twine is taken up by, in mm: a bar, a knot, a tail; parts is 2 for double twine."""

    bar: float
    knot: float
    tail: float
    parts: int

    def up_to(self, twine: Twine, n: int) -> float:
        """Twine used from the start of one twine until its knot n is tied, first tail included."""
        tied = n - twine.first
        knots = tied + 1 + (END_KNOT_FACTOR - 1) * (1 + (n == twine.last))
        return self.parts * (self.tail + twine.tied_at[tied] * self.bar + knots * self.knot)


def _refills(sewing: Sewing, take: _Take, capacity: float) -> tuple[int, ...] | None:
    """Choose the knots after which to refill: the last side knot a needle reaches.

    Where one row takes more than a needle, it is the last knot reached in the row. Every refill
    costs two tails. One needle serves several twines. None when a full needle is not enough for
    one knot.
    """
    refills: list[int] = []
    tail = take.tail * take.parts
    left = capacity
    for twine in sewing.twines:
        side_knots = [row.last for row in twine.rows]
        begun = 0.0  # use of this twine up to the last refill
        at = twine.first - 1
        while take.up_to(twine, twine.last) - begun + tail > left:
            low, high = at, twine.last - 1
            while low < high:
                middle = (low + high + 1) // 2
                if take.up_to(twine, middle) - begun + tail <= left:
                    low = middle
                else:
                    high = middle - 1
            reached = max((n for n in side_knots if at < n <= low), default=low)
            if reached > at:
                begun = take.up_to(twine, reached) - tail
            elif left >= capacity:
                return None  # the needle holds too little for one knot
            refills.append(reached)
            at = reached
            left = capacity
        left -= take.up_to(twine, twine.last) - begun + tail
    return tuple(refills)
