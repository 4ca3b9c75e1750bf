"""Sewing: the path of each twine and its knots in the order they are tied."""

from cards.sew.sewing import Hand, Needle, RowSewn, Sewing, Stitch, Tied, Twine, needle_side, sew

__all__ = [
    "Hand",
    "Needle",
    "RowSewn",
    "Sewing",
    "Stitch",
    "Tied",
    "Twine",
    "needle_side",
    "sew",
]
