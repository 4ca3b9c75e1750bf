"""How long planning several twines takes, as a ratio to planning one twine for the same hole.

Run from the root of the project: ``python tests/bench/several_twines.py``. Only ratios are told:
times depend on the machine.
"""

from __future__ import annotations

import time

from cards.grid import Hole, hole_of_bars
from cards.trim import Twines, trim


def legs(count: int, rows: int, apart: int) -> Hole:
    """Legs six bars wide under a tear four rows deep."""
    wide = 6 + apart
    bars = {(row, column) for row in range(4) for column in range(count * wide)}
    for left in range(0, count * wide, wide):
        bars |= {(row, column) for row in range(rows) for column in range(left, left + 6)}
    return hole_of_bars(bars)


def ragged(columns: int, rows: int) -> Hole:
    """A wide hole whose sides run in and out."""
    bars = set()
    for row in range(rows):
        left, right = (row * 7 % 5) - 2, columns + (row * 11 % 7) - 3
        bars |= {(row, column) for column in range(left, right)}
    return hole_of_bars(bars)


def seconds(hole: Hole, twines: Twines) -> float:
    """The quickest of three."""
    taken = []
    for _ in range(3):
        begun = time.perf_counter()
        trim(hole, twines=twines)
        taken.append(time.perf_counter() - begun)
    return min(taken)


if __name__ == "__main__":
    yard = seconds(ragged(120, 80), "one")
    print("times the one-twine trim of a ragged hole of 60 x 40 meshes:")
    for name, hole in {
        "three legs of 100 rows": legs(3, 100, 20),
        "two legs of 40 rows": legs(2, 40, 20),
        "ragged, 60 x 40 meshes": ragged(120, 80),
    }.items():
        print(f"{name:>26}: {seconds(hole, 'fewest-cost') / yard:8.0f}")
