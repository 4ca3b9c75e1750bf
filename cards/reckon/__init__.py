"""Reckoning: twine, needles and time for a mend."""

from cards.reckon.twine import EndCheck, Reckoning, end_check, knot_times, reckon

__all__ = ["EndCheck", "Reckoning", "end_check", "knot_times", "reckon"]
