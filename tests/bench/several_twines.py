"""How long planning several twines takes, as ratios to the same work planned in pieces.

Run from the root of the project: ``PYTHONPATH=.:tests python tests/bench/several_twines.py``.
Both sides of a ratio run in turn; the quickest of five counts, in time of the processor. Times
in milliseconds depend on the machine, ratios hardly.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Sequence
from functools import partial

from holes import BarSet, flaps_over_a_tear, legs_under_a_tear

from cards.grid import Hole, Stretch, hole_of_bars
from cards.trim import trim


def seconds(work: Callable[[], object]) -> float:
    """Time of the processor for one go."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def best(sides: Sequence[Callable[[], object]]) -> list[float]:
    """The quickest of five for each side, taken in turn."""
    taken = [[seconds(side) for side in sides] for _ in range(5)]
    return [min(own) for own in zip(*taken)]


def legs_alone(bars: BarSet) -> list[Hole]:
    """Each leg below the tear as a hole of its own."""
    rest = {(row, column) for row, column in bars if row >= 4}
    edges = [right for _, right in hole_of_bars(bars).row(4)]
    legs = []
    for edge in edges:
        own = {(row, column) for row, column in rest if column < edge + 2}
        legs.append(hole_of_bars(own))
        rest -= own
    return legs


def straight(count: int, rows: int, apart: int) -> BarSet:
    """Legs six bars wide under a tear four rows deep."""
    wide = 6 + apart
    bars = {(row, column) for row in range(4) for column in range((count - 1) * wide + 6)}
    for left in range(0, count * wide, wide):
        bars |= {(row, column) for row in range(rows) for column in range(left, left + 6)}
    return frozenset(bars)


def even(rows: int, columns: int) -> Hole:
    """A hole with straight sides."""
    return Hole(0, tuple((Stretch(0, columns),) for _ in range(rows)))


def tell(name: str, hole: Hole, against: str, yard: Callable[[], object]) -> None:
    """Print a hole's time, the ratio, and what is proved."""
    own, other = best([lambda: trim(hole), yard])
    trimmed = trim(hole)
    print(
        f"{name:<34} {own * 1000:5.0f} ms, {own / other:6.1f} x {against}; "
        f"{len(trimmed.runs)} twines, cost {trimmed.cost}, bound {trimmed.bound}"
    )


def tell_legs(name: str, bars: BarSet) -> None:
    """Legs under a tear, against the same legs planned alone."""
    alone = legs_alone(bars)
    tell(name, hole_of_bars(bars), "its legs alone", lambda: [trim(leg) for leg in alone])


if __name__ == "__main__":
    tell_legs("three straight legs, 100 rows", straight(3, 100, 20))
    for seed in range(3):
        tell_legs(
            f"three ragged legs, 100 rows ({seed})", legs_under_a_tear(random.Random(seed), 3, 100)
        )
    for seed in range(3):
        tell_legs(
            f"five ragged legs, 100 rows ({seed})", legs_under_a_tear(random.Random(seed), 5, 100)
        )
    tell_legs("comb of eight, 30 rows", straight(8, 30, 6))
    for seed in range(2):
        flaps = hole_of_bars(flaps_over_a_tear(random.Random(seed), 20, 20))
        tell(f"twenty flaps ({seed})", flaps, "one twine", partial(trim, flaps, twines="one"))
    short, long = (hole_of_bars(straight(3, rows, 20)) for rows in (100, 1000))
    tell("three straight legs, 1000 rows", long, "100 rows", lambda: trim(short))
    large, huge = even(300, 333), even(1000, 1000)
    tell("an even hole, a million bars", huge, "a hundred thousand", lambda: trim(large))
