"""Sewing: the path of each twine and its knots in the order they are tied."""

from cards.sew.seam import SeamSide, seam_sides, sew_seam
from cards.sew.sewing import (
    Hand,
    Needle,
    RowSewn,
    Sewing,
    Stitch,
    Tied,
    Twine,
    Tying,
    needle_side,
    sew,
)

__all__ = [
    "Hand",
    "Needle",
    "RowSewn",
    "SeamSide",
    "Sewing",
    "Stitch",
    "Tied",
    "Twine",
    "Tying",
    "needle_side",
    "seam_sides",
    "sew",
    "sew_seam",
]
