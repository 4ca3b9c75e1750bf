"""How much twine a mend takes, how many needles, how long."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from math import pi, sqrt
from typing import Literal

from cards.grid import Hole, Knot, Stretch
from cards.grid.walk import openings
from cards.sew import Sewing, Twine
from cards.spec import Spec

# A knot takes up 16 diameters of twine: all values K = 1 + 16 x diameter / mesh size of the knot
# factor table in Prado and Dremiere, Fisherman's Workbook, FAO, 1990 (from memory).
KNOT_DIAMETERS = 16
# The start knot is a double sheet bend and the end knot is doubled too: twice a knot's take-up.
END_KNOT_FACTOR = 2
# Twine left over at each end to tie and trim, in mm (common practice, no source).
TAIL = 150.0
# Specific gravity of materials, polyethylene in the middle of its range: US Fish and Wildlife
# Service, Fish sampling techniques: net materials. Abbreviations PA, PE, PES: ISO 1043 (from
# memory).
SPECIFIC_GRAVITY = {
    "pa": 1.14,
    "nylon": 1.14,
    "pe": 0.97,
    "polyethylene": 0.97,
    "pes": 1.35,
    "polyester": 1.35,
    "hmpe": 0.98,
    "high-modulus polyethylene": 0.98,
}
# Three strands of one thickness fill 0.646 of the circle round them: its radius is
# 1 + 2 / sqrt(3) of theirs (plane geometry).
THREE_STRANDS = 3 / (1 + 2 / sqrt(3)) ** 2
# What else takes time, in the time of so many knots (an assumption, no source; a card says so).
KNOT_TIMES = {"cuts": 0.5, "starts": 4.0, "refills": 8.0}

Passes = Literal["freely", "tightly", "not at all"]


@dataclass(frozen=True, slots=True)
class Effort:
    """A part of the time: how many of what, and the time each takes, in knots."""

    what: Literal["knots", "cuts", "starts", "refills"]
    count: int
    each: float


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
        For each twine and row, the twine used up to its last knot, in m; after the last row of a
        twine with the tail at its end.
    unjoined
        Twine it takes in m if no twine is joined to another: the length less the tails of refills.
    longest_row
        Twine of the row of a mend that takes most, in m, with the tail that a refill leaves.
    minutes
        Time at the pace the spec gives: that of the knots and the allowances of `efforts`.
    lacking
        What the spec does not give and what therefore is not reckoned, as field names.
    diameter
        Thickness of the twine in mm that is reckoned with.
    about
        Whether it is not given but estimated from material and Rtex, so that length, mass and
        needles are no more than about right.
    efforts
        What the time is made of.
    passes
        How a needle of the width given passes the mesh.
    laying_in
        Minutes that a patch takes beside, at any pace.
    mesh_range
        Least and greatest mesh size in mm that the tolerance of the spec accepts.
    """

    bar: float | None
    length: float | None
    mass: float | None
    needles: int | None
    refills: tuple[int, ...]
    after_row: tuple[tuple[float, ...], ...]
    unjoined: float | None
    minutes: float | None
    lacking: tuple[str, ...]
    diameter: float | None = None
    about: bool = False
    efforts: tuple[Effort, ...] = ()
    passes: Passes | None = None
    mesh_range: tuple[float, float] | None = None
    laying_in: float = 0.0
    longest_row: float | None = None


def reckon(spec: Spec, sewing: Sewing, cuts: int = 0, laying_in: float = 0.0) -> Reckoning:
    """Reckon the twine, the needles and the time of a sewing.

    Parameters
    ----------
    spec
        Gives mesh size, twine, needle and pace.
    sewing
        The knots to tie.
    cuts
        How many bars are cut before, for the time.
    laying_in
        Minutes that the work takes beside, at any pace.

    Returns
    -------
    Reckoning

    Notes
    -----
    Length = bars x bar length + knots x 16 diameters, the start and the end knot twice that,
    + a tail at each end and two at each refill; double twine doubles it.
    Mass = length x Rtex / 1000. Where the diameter is not given it is estimated (see
    `estimated_diameter`).

    References
    ----------
    Knot take-up: see `KNOT_DIAMETERS`. 1 tex = 1 g/km: ISO 1144.
    """
    twine = spec.net.twine
    diameter = twine.diameter.mm if twine.diameter else estimated_diameter(spec)
    wanted = {
        "net.mesh": spec.net.mesh,
        "net.twine.diameter": diameter,
        "net.twine.rtex": twine.rtex,
        "mender.needle": spec.mender.needle,
        "mender.pace": spec.mender.pace,
    }
    lacking = tuple(name for name, value in wanted.items() if value is None)
    bar = spec.net.mesh.mm / 2 if spec.net.mesh else None
    if bar is None or diameter is None:
        efforts = _efforts(sewing, cuts, 0)
        return Reckoning(
            bar=bar,
            length=None,
            mass=None,
            needles=None,
            refills=(),
            after_row=(),
            unjoined=None,
            minutes=_minutes(efforts, spec.mender.pace, laying_in),
            lacking=lacking,
            efforts=efforts,
            passes=_passes(spec),
            mesh_range=_mesh_range(spec),
            laying_in=laying_in,
        )
    parts = 2 if twine.double else 1
    take = _Take(bar, KNOT_DIAMETERS * diameter, TAIL, parts)
    capacity = spec.mender.needle.mm if spec.mender.needle else None
    chosen = _refills(sewing, take, capacity) if capacity else None
    refills = chosen or ()
    used = longest = 0.0
    after_row: list[tuple[float, ...]] = []
    for own in sewing.twines:
        rows: list[float] = []
        since = bisect_left(refills, own.first)
        before = 0.0
        for row in own.rows:
            taken = take.up_to(own, row.last)
            longest, before = max(longest, taken - before), taken
            # A refill after the last knot is one between two twines: their own tails count.
            until = bisect_right(refills, min(row.last, own.last - 1))
            tails = 2 * (until - since)
            rows.append((used + taken + tails * TAIL * parts) / 1000)
        used = rows[-1] * 1000 + TAIL * parts
        rows[-1] = used / 1000
        after_row.append(tuple(rows))
    length = used / 1000
    joins = sum(own.first <= n < own.last for own in sewing.twines for n in refills)
    efforts = _efforts(sewing, cuts, len(refills))
    return Reckoning(
        bar=bar,
        length=length,
        mass=length * twine.rtex / 1000 if twine.rtex else None,
        needles=None if chosen is None else len(chosen) + 1,
        refills=refills,
        after_row=tuple(after_row),
        unjoined=length - 2 * joins * TAIL * parts / 1000,
        minutes=_minutes(efforts, spec.mender.pace, laying_in),
        lacking=lacking,
        diameter=diameter,
        about=twine.diameter is None,
        efforts=efforts,
        passes=_passes(spec),
        mesh_range=_mesh_range(spec),
        laying_in=laying_in,
        longest_row=(longest + TAIL * parts) / 1000,
    )


def estimated_diameter(spec: Spec) -> float | None:
    """Estimate the thickness of the twine in mm from its material and Rtex, if both are known.

    Notes
    -----
    Rtex / (1000 x specific gravity) is the area of the material in mm2; the circle round three
    strands is larger by 1 / `THREE_STRANDS`. A braided or a soft twine is thicker.

    References
    ----------
    See `SPECIFIC_GRAVITY` and `THREE_STRANDS`. 1 tex = 1 g/km: ISO 1144 (from memory).
    """
    twine = spec.net.twine
    gravity = SPECIFIC_GRAVITY.get((twine.material or "").strip().lower())
    if gravity is None or twine.rtex is None:
        return None
    return sqrt(4 / pi * twine.rtex / (1000 * gravity * THREE_STRANDS))


def _efforts(sewing: Sewing, cuts: int, refills: int) -> tuple[Effort, ...]:
    return (
        Effort("knots", sewing.knots, 1.0),
        Effort("cuts", cuts, KNOT_TIMES["cuts"]),
        Effort("starts", len(sewing.twines), KNOT_TIMES["starts"]),
        Effort("refills", refills, KNOT_TIMES["refills"]),
    )


def knot_times(efforts: tuple[Effort, ...]) -> float:
    """All of an effort, in the time of a knot."""
    return sum(effort.count * effort.each for effort in efforts)


def _minutes(efforts: tuple[Effort, ...], pace: float | None, laying_in: float) -> float | None:
    return knot_times(efforts) / pace + laying_in if pace else None


def _passes(spec: Spec) -> Passes | None:
    """How the needle passes: a mesh pulled square is a bar wide, pulled long a mesh size."""
    width, mesh = spec.mender.needle_width, spec.net.mesh
    if width is None or mesh is None:
        return None
    if width.mm >= mesh.mm:
        return "not at all"
    return "tightly" if width.mm > mesh.mm / 2 else "freely"


def _mesh_range(spec: Spec) -> tuple[float, float] | None:
    mesh, tolerance = spec.net.mesh, spec.net.tolerance
    if mesh is None or tolerance is None:
        return None
    return mesh.mm - tolerance.mm, mesh.mm + tolerance.mm


@dataclass(frozen=True, slots=True)
class EndCheck:
    """What to count when the mend is done, against as much whole web beside it.

    Attributes
    ----------
    row
        The row of the web in which a stretch of the mend is widest, the upper one of alike rows.
    across
        Meshes from rim to rim of that stretch; a half mesh is one bar more.
    down
        Meshes from the uppermost line of the mend to the lowest.
    left, right
        The knots at the two ends of that stretch.
    top, bottom
        The knots of the uppermost and of the lowest line.
    """

    row: int
    across: float
    down: float
    left: Knot
    right: Knot
    top: tuple[Knot, ...]
    bottom: tuple[Knot, ...]


def end_checks(trimmed: Hole) -> tuple[EndCheck, ...]:
    """The counts of meshes in each mended place, from rim to rim; the largest place first.

    Examples
    --------
    >>> from cards.grid import Stretch
    >>> check, = end_checks(Hole(0, ((Stretch(2, 5),), (Stretch(1, 7),), (Stretch(1, 7),))))
    >>> check.row, check.across, check.down
    (1, 3.0, 1.5)
    >>> check.left, check.right
    (Knot(x=1, y=1), Knot(x=7, y=1))
    """
    places = openings(trimmed)
    sizes = [sum(right - left for _, (left, right) in place) for place in places]
    order = sorted(range(len(places)), key=lambda place: -sizes[place])
    return tuple(_end_check(places[place]) for place in order)


def _end_check(place: list[tuple[int, Stretch]]) -> EndCheck:
    row, (left, right) = min(place, key=lambda own: (own[1].left - own[1].right, own[0]))
    first, last = min(row for row, _ in place), max(row for row, _ in place)
    return EndCheck(
        row=row,
        across=(right - left) / 2,
        down=(last + 1 - first) / 2,
        left=_on_line(row, left),
        right=_on_line(row, right),
        top=_knots_of(place, first, first),
        bottom=_knots_of(place, last, last + 1),
    )


def _on_line(row: int, column: int) -> Knot:
    """The knot of a row in a column: on its upper line or its lower one."""
    return Knot(column, row + ((row + column) & 1))


def _knots_of(place: list[tuple[int, Stretch]], row: int, line: int) -> tuple[Knot, ...]:
    """The knots on a line at which bars of a row of the place end."""
    columns = {c for own, (a, b) in place if own == row for c in range(a, b + 1)}
    return tuple(Knot(c, line) for c in sorted(columns) if not (c + line) & 1)


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
    costs two tails, but for one between two twines. One needle serves several twines. None when a
    full needle is not enough for one knot.
    """
    refills: list[int] = []
    tail = take.tail * take.parts
    left = capacity
    for twine in sewing.twines:
        side_knots = [row.last for row in twine.rows]
        begun = 0.0  # use of this twine up to the last refill
        at = twine.first - 1
        while take.up_to(twine, twine.last) - begun + tail > left:
            # Each knot takes up twine of its own: no more of them than that.
            low, high = at, min(twine.last - 1, at + int(left // (take.knot * take.parts)) + 1)
            while low < high:
                middle = (low + high + 1) // 2
                if take.up_to(twine, middle) - begun + tail <= left:
                    low = middle
                else:
                    high = middle - 1
            side = bisect_right(side_knots, low) - 1
            if side >= 0 and side_knots[side] > at:
                reached = side_knots[side]
            elif left < capacity:
                reached = at  # filled up before this twine is begun
            elif low > at:
                reached = low
            else:
                return None  # the needle holds too little for one knot
            if reached > at:
                begun = take.up_to(twine, reached) - tail
            refills.append(reached)
            at = reached
            left = capacity
        left -= take.up_to(twine, twine.last) - begun + tail
    return tuple(refills)
