"""Measure how often the true slip is among the first three that are named.

    python tests/measure_slips.py [HOLES [SEED]]

For each random hole the walk round it is counted with one slip: a count wrong, a knot left out
or a knot counted twice, each as likely as the others, at any place of the walk, the wrong count
any of the other three. A slip that is named counts as true where it gives the hole itself.
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path
from random import Random

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from cards.grid.walk import Walk, walk_round
from cards.spec.slips import KINDS, likely_slips
from tests.walk_holes import FAMILIES, random_hole, slipped

NAMED = 3
SIZES = (10, 20, 40, 80)  # bars broken, at most


def measure(holes: int, seed: int, largest: int) -> Counter[tuple[str, str, int]]:
    """Plant one slip in each of so many walks.

    Returns
    -------
    Counter
        How often, by family of holes and kind of slip, the true slip was named first, second
        or third; 0 where it was not.
    """
    random = Random(seed)
    came: Counter[tuple[str, str, int]] = Counter()
    for number in range(holes):
        family = FAMILIES[number % len(FAMILIES)]
        hole = random_hole(random, largest, family)
        walk, _ = walk_round(hole)
        kind, counts = slipped(random, walk)
        named = [slip.hole for slip in likely_slips(Walk(counts, walk.first), NAMED)]
        true = hole.cornered()
        came[family.__name__, kind, named.index(true) + 1 if true in named else 0] += 1
    return came


def share(came: Counter[tuple[str, str, int]], of: str = "", within: int = NAMED) -> float:
    """The share named among the first so many, of all or of one family or kind."""
    some = {key: times for key, times in came.items() if not of or of in key}
    return sum(times for key, times in some.items() if 1 <= key[2] <= within) / sum(some.values())


def main() -> None:
    holes = int(sys.argv[1]) if len(sys.argv) > 1 else 6000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    print(f"{holes} random holes of each size, seed {seed}: how often the true slip is named\n")
    print(f"{'':34}first  first three")
    for largest in SIZES:
        came = measure(holes, seed, largest)
        print(f"holes of 1 to {largest} bars")
        for of in ("", *(family.__name__ for family in FAMILIES), *KINDS):
            print(f"    {of or 'all':29}{share(came, of, 1):6.1%} {share(came, of):10.1%}")


if __name__ == "__main__":
    main()
