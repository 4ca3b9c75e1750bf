"""Reckoning: twine, needles and time for a mend."""

from cards.reckon.twine import Reckoning, reckon

__all__ = ["Reckoning", "reckon"]
