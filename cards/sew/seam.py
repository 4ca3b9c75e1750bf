"""The seam round a patch, knot by knot: one closed run that ends on the knot it starts on."""

from __future__ import annotations

from itertools import groupby, pairwise
from typing import NamedTuple

from cards.sew.sewing import Hand, RowSewn, Stitch, Twine, twine_name
from cards.trim import Side, other
from cards.trim.patch import Patch


class SeamSide(NamedTuple):
    """One side of the seam, in the order of sewing, and its first and last knot numbers."""

    side: str
    first: int
    last: int


def sew_seam(patch: Patch, start: Side, hand: Hand = "right") -> Twine:
    """Number the knots of a seam in the order they are tied.

    Parameters
    ----------
    patch
        The rectangle and its patch.
    start
        The end of the top on which the seam starts.
    hand
        The hand that sews.

    Returns
    -------
    Twine
        Every knot of its path is tied where it is come to; the last one is the first again.
    """
    path = patch.ring(start)
    rows: list[RowSewn] = []
    begun = 0
    # A row of the web is left where the twine turns into the next one at a sider.
    for row, bars in groupby(pairwise(path), key=lambda bar: min(bar[0][1], bar[1][1])):
        end = begun + len(list(bars))
        rows.append(
            RowSewn(
                row=row,
                going="right" if path[begun + 1][0] > path[begun][0] else "left",
                begin=path[begun][0],
                end=path[end][0],
                first=begun + 2 if begun else 1,
                last=end + 1,
                path=begun,
            )
        )
        begun = end
    stitches = [_stitch(patch, x, y) for x, y in path]
    stitches[0], stitches[-1] = "start", "end"
    return Twine(twine_name(0), hand, tuple(rows), path, list(range(len(path))), stitches, 1)


def _stitch(patch: Patch, x: int, y: int) -> Stitch:
    if x <= patch.left + 1 or x >= patch.right - 1:
        within = patch.top < y < patch.bottom
        return "sider" if within else "pickup above" if y == patch.top else "pickup below"
    # Web at the top and patch at the bottom have their bars above.
    return "pickup above" if y in (patch.top, patch.bottom - 1) else "pickup below"


def seam_sides(patch: Patch, start: Side) -> tuple[SeamSide, ...]:
    """The four sides of the seam: top, the one away from the start, bottom, that of the start.

    A side begins behind the sider that ends the one before.
    """
    wide, deep = patch.right - patch.left, patch.bottom - patch.top
    last = 0
    sides = []
    for side, knots in (
        ("top", wide),
        (other(start), deep - 2),
        ("bottom", wide),
        (start, deep - 1),
    ):
        sides.append(SeamSide(side, last + 1, last + knots))
        last += knots
    return tuple(sides)
