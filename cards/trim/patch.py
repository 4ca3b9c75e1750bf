"""A hole trimmed to a rectangle for a patch, and the patch that fits it.

The rectangle is rows `top` to `bottom`, columns [left, right), with left + top and right + top odd
and an even number of rows. The patch is the web inside it, one bar away on every side. The
bars between the two form one closed run that passes pickups at top and bottom and siders
down both sides, of web and patch by turns.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise, product

from cards.grid import Bar, Hole, Knot, Stretch, bar_between, name_of
from cards.grid.islands import with_islands
from cards.grid.knots import BARS, HANGING, STANDING
from cards.trim.cuts import Cut, Does
from cards.trim.run import Side

# The least rectangle: a patch of one mesh.
LEAST = 4


@dataclass(frozen=True, slots=True)
class Patch:
    """A rectangle cut out of the web, and the patch for it.

    Attributes
    ----------
    found
        The broken bars, those of islands among them.
    islands
        How many of the broken bars were whole but hung on nothing.
    top, bottom
        The first row of the rectangle, and the row after its last one.
    left, right
        Its columns: from `left` up to, not with, `right`.
    """

    found: Hole
    islands: int
    top: int
    bottom: int
    left: int
    right: int

    @property
    def hole_across(self) -> int:
        """Meshes across of the rectangle."""
        return (self.right - self.left) // 2

    @property
    def hole_down(self) -> int:
        """Meshes down of the rectangle."""
        return (self.bottom - self.top) // 2

    @property
    def across(self) -> int:
        """Meshes across of the patch: its points at the top, and at the bottom.

        Each is freed from new web by one T-cut, through the two bars above it or below it.
        """
        return self.hole_across - 1

    @property
    def down(self) -> int:
        """Meshes down of the patch: its siders on each side, each freed by one N-cut."""
        return self.hole_down - 1

    @property
    def patch_bars_cut(self) -> int:
        """Bars to cut in new web to free the patch: two for each T-cut and N-cut."""
        return 4 * (self.across + self.down)

    @property
    def corners(self) -> tuple[Knot, Knot, Knot, Knot]:
        """The outermost points of the patch: top left, top right, bottom left, bottom right."""
        left, right = self.left + 2, self.right - 2
        top, bottom = self.top + 1, self.bottom - 1
        return Knot(left, top), Knot(right, top), Knot(left, bottom), Knot(right, bottom)

    def holds(self, knot: tuple[int, int]) -> bool:
        """Whether a knot is one of the patch."""
        x, y = knot
        return self.left < x < self.right and self.top < y < self.bottom

    @property
    def seam(self) -> Hole:
        """The bars to sew when the patch lies in its place."""
        whole = (Stretch(self.left, self.right),)
        sides = (Stretch(self.left, self.left + 1), Stretch(self.right - 1, self.right))
        return Hole(self.top, (whole, *[sides] * (self.bottom - self.top - 2), whole))

    @property
    def opening(self) -> Hole:
        """The rectangle, cut out."""
        return Hole(self.top, ((Stretch(self.left, self.right),),) * (self.bottom - self.top))

    @property
    def away(self) -> int:
        """Good bars inside the rectangle that come away with the pieces cut out."""
        area = (self.right - self.left) * (self.bottom - self.top)
        seam_lost = sum(1 for bar in self.seam.bars() if self.found.misses(*bar))
        return area - self.seam.size - (self.found.size - seam_lost)

    def ring(self, start: Side) -> list[tuple[int, int]]:
        """The knots of the seam, once round: from the pickup at one end of the top and back.

        From the left end it goes right along the top, down, back along the bottom and up; from the
        right end the other way round.
        """
        if start == "right":
            return [(self.left + self.right - x, y) for x, y in self.ring("left")]
        left, right, top, bottom = self.left, self.right, self.top, self.bottom
        upper = [(x, top + ((x + top) & 1)) for x in range(left + 1, right + 1)]
        down = [(right - ((right + y) & 1), y) for y in range(top + 2, bottom - 1)]
        lower = [(x, bottom - 1 + ((x + bottom - 1) & 1)) for x in range(right, left - 1, -1)]
        up = [(left + ((left + y) & 1), y) for y in range(bottom - 2, top, -1)]
        return [*upper, *down, *lower, *up, upper[0]]


def fit_patch(hole: Hole, start: Side = "left") -> Patch:
    """Find the rectangle for a patch that has the shortest seam.

    Parameters
    ----------
    hole
        The broken bars.
    start
        The side to start on: a hole too narrow for a patch is widened away from it.

    Returns
    -------
    Patch
        Of at least one mesh. Of rectangles with seams alike that with the fewest cuts. That of the
        mirrored hole with the other start is its mirror image.

    Examples
    --------
    >>> patch = fit_patch(Hole(1, tuple((Stretch(2, 10),) for row in range(6))))
    >>> patch.hole_across, patch.hole_down, patch.across, patch.down, patch.seam.size
    (4, 3, 3, 2, 24)
    """
    found, islands = with_islands(hole)
    fits = []
    widened = (0, 1) if start == "left" else (1, 0)  # to the left
    # A low hole has rectangles that reach further up.
    higher = range(max(2, LEAST - len(found.rows) + 1))
    for above, below, more in product(higher, (0, 1), widened):
        top, bottom = found.top - above, found.bottom + below
        if (bottom - top) % 2:
            continue
        bottom = max(bottom, top + LEAST)
        left = found.left - ((found.left + top + 1) & 1)
        right = found.right + ((found.right + top + 1) & 1)
        short = max(0, LEAST - (right - left))
        left, right = left - short * more, right + short * (1 - more)
        fits.append(Patch(found, islands, top, bottom, left, right))
    return min(fits, key=lambda fit: (fit.seam.size, -_broken_on(fit)))


def _broken_on(fit: Patch) -> int:
    """How many bars of the seam are broken and need no cut."""
    return sum(1 for bar in fit.seam.bars() if fit.found.misses(*bar))


def order_patch_cuts(patch: Patch, start: Side) -> tuple[Cut, ...]:
    """Number the cuts that make the rectangle, once round it from the start.

    Only bars between the rectangle's rim and what is inside are cut: the rest comes away.
    """
    ring = patch.ring(start)
    missing = {Knot(*knot): patch.found.missing_at(knot) for knot in ring}
    cuts: list[Cut] = []
    for a, b in pairwise(ring):
        bar = bar_between(a, b)
        if patch.found.misses(*bar):
            continue
        at, towards = bar.ends
        if patch.holds(at) or (not patch.holds(towards) and missing[towards]):
            at, towards = towards, at
        before = [name_of(missing[knot]) for knot in (at, towards)]
        _take(missing, bar)
        after = [name_of(missing[knot]) for knot in (at, towards)]
        cuts.append(
            Cut(
                n=len(cuts) + 1,
                bar=bar,
                twine=0,
                before=0,
                stage=0,
                at=at,
                towards=towards,
                was=before[0],
                becomes=after[0],
                towards_was=before[1],
                towards_becomes=after[1],
                does=_does(patch, bar, at, after[0]),
            )
        )
    return tuple(cuts)


def _take(missing: dict[Knot, int], bar: Bar) -> None:
    for knot in bar.ends:
        for bit, (row, column) in BARS.items():
            if (knot.y + row, knot.x + column) == (bar.row, bar.column):
                missing[knot] |= bit


def _does(patch: Patch, bar: Bar, at: Knot, becomes: str) -> Does:
    """What a cut does to the knot of the rim at which it is made.

    Each such knot loses two bars: the first cut leaves a three-bar, the second a pickup or a sider.
    At a corner one bar joins a pickup and a sider.
    """
    if bar.row in (patch.top, patch.bottom - 1) and bar.column in (patch.left, patch.right - 1):
        return "squares the corner"
    if becomes in (HANGING, STANDING):
        return "turns into a pickup"
    if becomes.startswith("sider"):
        return "turns into a sider"
    return "begins a pickup" if at.y in (patch.top, patch.bottom) else "begins a sider"
