"""Random holes, made without the engine: sets of broken bars as (row, column)."""

from __future__ import annotations

import random

from hypothesis import strategies as st

BarSet = frozenset[tuple[int, int]]

# A tear round three sides of a flap, as a spec gives it.
FLAP = r"""
hole:
  drawing: |
    \/\/\/\/\/\/
    /\.\/\/\.\/\
    \/./\/\/./\/
    /\.\/\/\.\/\
    \/........\/
    /\/\/\/\/\/\
"""


def blob(rng: random.Random, rows: int, columns: int) -> BarSet:
    """A ragged hole: a stretch in each row, each overlapping the one above."""
    bars = set()
    left = rng.randrange(0, columns)
    right = left + rng.randint(1, max(1, columns // 2))
    for row in range(rows):
        bars |= {(row, column) for column in range(left, right)}
        low, high = max(0, left - rng.randint(0, 2)), right + rng.randint(-1, 2)
        left = min(low + rng.randint(0, 2), right - 1)
        right = max(left + 1, min(high, columns + 4))
    return frozenset(bars)


def scattered(rng: random.Random, rows: int, columns: int) -> BarSet:
    """Broken bars anywhere: tears apart, single bars, rows without any."""
    chance = rng.choice((0.15, 0.3, 0.5, 0.7))
    bars = {
        (row, column) for row in range(rows) for column in range(columns) if rng.random() < chance
    }
    return frozenset(bars or {(0, 0)})


def with_notches(rng: random.Random, rows: int, columns: int) -> BarSet:
    """A rectangle with whole bars left in it: notches, flaps, islands."""
    bars = {(row, column) for row in range(rows) for column in range(columns)}
    for _ in range(rng.randint(1, 3)):
        top, left = rng.randrange(rows), rng.randrange(columns)
        down, across = rng.randint(1, rows), rng.randint(1, max(1, columns // 2))
        bars -= {
            (row, column) for row in range(top, top + down) for column in range(left, left + across)
        }
    return frozenset(bars or {(0, 0)})


def legs(rng: random.Random, rows: int, columns: int) -> BarSet:
    """A hole with legs hanging from a wide part, or standing on one."""
    bars = {(0, column) for column in range(columns)} | {(1, column) for column in range(columns)}
    column = 0
    while column < columns:
        wide = rng.randint(1, 2)
        long = rng.randint(2, max(2, rows))
        bars |= {
            (row, c) for row in range(long) for c in range(column, min(columns, column + wide))
        }
        column += wide + rng.randint(1, 3)
    if rng.random() < 0.5:
        last = max(row for row, _ in bars)
        bars = {(last - row, column) for row, column in bars}
    return frozenset(bars)


def tears_apart(rng: random.Random, rows: int, columns: int) -> BarSet:
    """Two small tears with whole rows or columns between them."""
    first = blob(rng, max(1, rows // 2), max(1, columns // 2))
    second = blob(rng, max(1, rows // 3), max(1, columns // 2))
    down = rng.choice((0, rows // 2, rows))
    across = rng.choice((0, columns // 2 + 1, columns + 2))
    return first | frozenset((row + down, column + across) for row, column in second)


def slit(rng: random.Random, rows: int, columns: int) -> BarSet:
    """A slit across, down or along the bars."""
    way = rng.randrange(3)
    if way == 0:
        return frozenset((0, column) for column in range(columns))
    if way == 1:
        return frozenset((row, 0) for row in range(rows))
    return frozenset((row, row + 1) for row in range(rows))


KINDS = (blob, scattered, with_notches, legs, tears_apart, slit)


def random_hole(seed: int, rows: int = 6, columns: int = 6) -> BarSet:
    """The hole of a seed: any kind, at most about `rows` by `columns`, moved and mirrored."""
    rng = random.Random(seed)
    kind = KINDS[seed % len(KINDS)]
    bars = kind(rng, rng.randint(1, rows), rng.randint(1, columns))
    down, across = rng.randint(-3, 3), rng.randint(-3, 3)
    if rng.random() < 0.5:
        bars = frozenset((row, -column - 1) for row, column in bars)
    return frozenset((row + down, column + across) for row, column in bars)


def holes(rows: int = 8, columns: int = 8) -> st.SearchStrategy[BarSet]:
    """Hypothesis's holes: any broken bars at all, or one of the kinds; it finds the least."""
    bar = st.tuples(st.integers(0, rows - 1), st.integers(0, columns - 1))
    kinds = st.builds(
        lambda kind, rng, down, across: kind(rng, down, across),
        st.sampled_from(KINDS),
        st.randoms(use_true_random=False),
        st.integers(1, rows),
        st.integers(1, columns),
    )
    return st.frozensets(bar, min_size=1) | kinds


def legs_under_a_tear(rng: random.Random, count: int, rows: int, ragged: int = 1) -> BarSet:
    """A tear four rows deep with legs 3 to 9 bars wide, 4 to 20 apart, of different lengths."""
    bars, column, spans = set(), 0, []
    for _ in range(count):
        wide = rng.randint(3, 9)
        spans.append((column, column + wide))
        column += wide + rng.randint(4, 20)
    for row in range(4):
        bars |= {(row, c) for c in range(spans[0][0], spans[-1][1])}
    for left, right in spans:
        for row in range(4, rng.randint(rows * 6 // 10, rows)):
            first = left + rng.randint(-ragged, ragged)
            last = max(first + 1, right + rng.randint(-ragged, ragged))
            bars |= {(row, c) for c in range(first, last)}
    return frozenset(bars)


def flaps_over_a_tear(rng: random.Random, count: int, rows: int) -> BarSet:
    """A broad tear three rows deep with slits two bars wide that run up from it between flaps."""
    bars, column = set(), 0
    for _ in range(count + 1):
        long = rng.randint(rows // 2, rows)
        bars |= {(-row, c) for row in range(long) for c in range(column, column + 2)}
        column += rng.randint(4, 9)
    return frozenset(bars | {(row, c) for row in range(1, 4) for c in range(column - 2)})


def upside_down(bars: BarSet) -> BarSet:
    """The same hole, its lowest row on top."""
    return frozenset((-row - 1, column) for row, column in bars)
