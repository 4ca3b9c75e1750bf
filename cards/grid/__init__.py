"""The grid of the web: knots, bars, rows, and a hole as broken bars in each row."""

from cards.grid.hole import Hole, hole_of_bars, hole_of_stretches
from cards.grid.knots import BARS, NAMES, Bar, Knot, Stretch, bar_between, name_of, on_line

__all__ = [
    "BARS",
    "NAMES",
    "Bar",
    "Hole",
    "Knot",
    "Stretch",
    "bar_between",
    "hole_of_bars",
    "hole_of_stretches",
    "name_of",
    "on_line",
]
