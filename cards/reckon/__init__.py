"""Reckoning: twine, needles and time for a mend."""

from cards.reckon.compare import LAYING_IN, Comparison, Method, compare
from cards.reckon.twine import EndCheck, Reckoning, end_checks, knot_times, reckon

__all__ = [
    "LAYING_IN",
    "Comparison",
    "EndCheck",
    "Method",
    "Reckoning",
    "compare",
    "end_checks",
    "knot_times",
    "reckon",
]
