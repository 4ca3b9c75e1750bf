"""Random holes that a walk goes round, and slips of the mender who counts them."""

from __future__ import annotations

from random import Random
from typing import Callable

from cards.grid import Hole, hole_of_bars
from cards.grid.islands import with_islands
from cards.grid.walk import Walk, openings
from cards.spec.slips import KINDS as SLIPS
from cards.spec.slips import Kind
from tests.holes import KINDS


def beside(bar: tuple[int, int]) -> list[tuple[int, int]]:
    """The six other bars of the two meshes that a bar lies between."""
    row, column = bar
    bars = []
    for x in (column, column + 1):
        above = row - 1 if (x + row) & 1 else row
        bars += [(above, x - 1), (above, x), (above + 1, x - 1), (above + 1, x)]
    return [other for other in bars if other != bar]


def chewed(random: Random, size: int) -> Hole:
    """Bars lost one after another, each any bar of a mesh already open."""
    lost = {(0, 0)}
    edge = set(beside((0, 0)))
    while len(lost) < size:
        bar = random.choice(sorted(edge))
        lost.add(bar)
        edge = (edge | set(beside(bar))) - lost
    return with_islands(hole_of_bars(lost))[0]


def ripped(random: Random, size: int) -> Hole:
    """A tear that runs on from mesh to mesh and seldom turns."""
    bar, lost, way = (0, 0), {(0, 0)}, random.choice([(1, 0), (0, 1), (1, 1), (1, -1), (0, -1)])
    while len(lost) < size:
        if random.random() < 0.2:
            way = random.choice([(1, 0), (0, 1), (1, 1), (1, -1), (0, -1), (-1, 0)])
        choices = beside(bar)
        weights = [
            1 + 8 * max(0, (r - bar[0]) * way[0] + (c - bar[1]) * way[1]) for r, c in choices
        ]
        bar = random.choices(choices, weights)[0]
        lost.add(bar)
    return with_islands(hole_of_bars(lost))[0]


def ragged(random: Random, size: int) -> Hole:
    """A hole worn through: bars near a middle go first, more or less."""
    across, down = random.uniform(0.6, 1.6), random.uniform(0.6, 1.6)
    lost = {(0, 0)}
    edge = set(beside((0, 0)))

    def far(bar: tuple[int, int]) -> float:
        return (bar[0] / down) ** 2 + (bar[1] / across) ** 2 + random.uniform(0, size / 4)

    while len(lost) < size:
        bar = min(sorted(edge), key=far)
        lost.add(bar)
        edge = (edge | set(beside(bar))) - lost
    return with_islands(hole_of_bars(lost))[0]


def others(random: Random, size: int) -> Hole:
    """The random holes that the trimming is tested with, where they are one opening."""
    while True:
        rows = random.randint(1, size)
        bars = random.choice(KINDS)(random, rows, max(1, size // rows))
        hole = with_islands(hole_of_bars(bars))[0]
        if len(openings(hole)) == 1:
            return hole


FAMILIES = (chewed, ripped, ragged, others)


def random_hole(
    random: Random, largest: int = 40, family: Callable[[Random, int], Hole] | None = None
) -> Hole:
    """A hole of a family, or of any of them, its size and place evenly spread."""
    family = family or random.choice(FAMILIES)
    hole = family(random, random.randint(1, largest))
    down = random.randint(-5, 5)
    across = random.randint(-5, 5) * 2 + (down & 1)
    return hole_of_bars([(row + down, column + across) for row, column in hole.bars()])


def slipped(random: Random, walk: Walk) -> tuple[Kind, tuple[int, ...]]:
    """The counts with one slip: each kind equally likely, and each place, and each wrong count."""
    kind = random.choice(SLIPS)
    counts = list(walk.counts)
    at = random.randrange(len(counts))
    if kind == "one count wrong":
        counts[at] = random.choice([count for count in (1, 2, 3, 4) if count != counts[at]])
    elif kind == "one knot left out":
        del counts[at]
    else:
        counts.insert(at, counts[at])
    return kind, tuple(counts)
