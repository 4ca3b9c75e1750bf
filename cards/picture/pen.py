"""Weights, sizes and pitches of the drawings of the web: the one place for them, in mm."""

from __future__ import annotations

from dataclasses import dataclass, replace

from cards.picture.type import size_for_height, text_width

WEB = 0.25  # whole web
STUB = 0.35  # what is left of a broken bar
TWINE = 0.9  # new twine
PATCH = 0.5  # the web of a patch in the web it is cut from
MARK = 0.7  # the mark of a cut
SHAPE = 0.35  # the shape round a number
RING = 0.5  # start and end
RULE = 0.3  # lines of tables and frames
FINE = 0.2  # the thinnest line allowed

CLEAR = 0.35  # least room between a number and any line
STUB_PART = 0.27  # of the length of a bar
MARK_HALF = 0.45  # half length of a cut's mark, of the height of its number
MARK_OFF = 1 / 6  # of a bar: how far from its middle the mark of a numbered cut is
POINT = 1.4  # height of the point of a knot's shape


@dataclass(frozen=True, slots=True)
class Scale:
    """How large a drawing of the web is.

    Attributes
    ----------
    dx, dy
        Half a mesh across and down, in mm.
    digits
        Height of knot and cut numbers, in mm.
    """

    dx: float
    dy: float
    digits: float

    @property
    def size(self) -> float:
        """Size of the type of the numbers."""
        return size_for_height(self.digits)

    def grown(self, factor: float) -> Scale:
        """The same drawing, larger."""
        return Scale(self.dx * factor, self.dy * factor, self.digits * factor)

    def for_cuts(self, largest: int) -> Scale:
        """Wide enough for the numbers of cuts up to `largest`, each at the right of its mark."""
        width = text_width("8" * len(str(max(largest, 10))), self.size, True)
        # In the upper half of a mesh, or the lower, up to the bar at its right, which leans away.
        leans = (self.dy / 2 - self.digits - CLEAR / 2) / self.dy
        mark = self.digits * MARK_HALF
        least = (width + mark + 2 * CLEAR + WEB) / (1 + MARK_OFF + leans)
        return replace(self, dx=max(self.dx, round(least + 0.005, 2)))

    def roomier(self) -> Scale:
        """With more room between the lines, for cuts at both bars of a knot that has a sign."""
        return replace(self, dy=round(self.dy + 0.6 * self.digits, 2))

    def wider(self) -> Scale:
        """The same room sideways, where there is none downwards."""
        return replace(self, dx=round(self.dx + 0.6 * self.digits, 2))


BENCH, DECK = 2.3, 3.05  # heights of numbers, a little over the least of 2.2 and 3


def scale_for(largest: int, digits: float) -> Scale:
    """Choose the pitch at which numbers up to `largest` stand clear of each other."""
    width = text_width("8" * len(str(max(largest, 10))), size_for_height(digits), True)
    dy = 2.6 * digits + 2.0
    # Two numbers, one above the other, have room in the lozenge of a mesh.
    in_mesh = (width / 2 + 2 * CLEAR) / (1 - (digits + CLEAR) / dy)
    dx = max(in_mesh, width / 2 + 2.6, 1.45 * digits + 1.6)
    return Scale(dx=round(dx, 2), dy=round(dy, 2), digits=digits)
