"""Random tears: worn through, worn round a loose piece, torn round a flap."""

from __future__ import annotations

from collections.abc import Callable

from cards.grid import Bar, Hole, hole_of_bars
from cards.grid.islands import islands
from cards.school.chance import Chance

# Makes a hole of at most so many rows and columns.
Tear = Callable[[Chance, int, int], Hole]

RAGGED = 0.12  # how far chance counts beside how far a bar is from the middle, on average


def worn(chance: Chance, rows: int, columns: int) -> Hole:
    """A hole worn through: from a first bar on, bars of the meshes already open, middle first."""
    rows, columns = chance.between(rows // 2, rows), chance.between(columns // 2, columns)
    size = chance.between(2, max(3, rows * columns * 3 // 4))
    ragged = RAGGED * chance.part() * 2
    middle = Bar(rows // 2, columns // 2)
    lost = {middle}
    rim = {bar: chance.part() * ragged for bar in _beside(middle, rows, columns)}
    while len(lost) < size and rim:
        bar = min(rim, key=lambda own: (_far(own, middle, rows, columns) + rim[own], own))
        del rim[bar]
        lost.add(bar)
        for other in _beside(bar, rows, columns):
            if other not in lost and other not in rim:
                rim[other] = chance.part() * ragged
    return hole_of_bars(lost)


def _far(bar: Bar, middle: Bar, rows: int, columns: int) -> float:
    return ((bar.row - middle.row) / rows) ** 2 + ((bar.column - middle.column) / columns) ** 2


def _beside(bar: Bar, rows: int, columns: int) -> list[Bar]:
    """The six other bars of the two meshes that a bar lies between, within the box."""
    row, column = bar
    found = []
    for x in (column, column + 1):
        above = row - 1 if (x + row) & 1 else row
        found += [Bar(r, c) for r in (above, above + 1) for c in (x - 1, x)]
    return [
        own for own in found if own != bar and 0 <= own.row < rows and 0 <= own.column < columns
    ]


def worn_round_a_piece(chance: Chance, rows: int, columns: int) -> Hole:
    """A worn hole with a small piece of whole web left in it that hangs on nothing."""
    hole = worn(chance, rows, columns)
    gone = list(hole.bars())
    first = chance.pick(gone)
    piece = {first}
    wanted = chance.between(1, 3)
    for bar in chance.mixed(_beside(first, rows, columns)):
        if len(piece) < wanted and bar in gone and set(bar.ends) & set(first.ends):
            piece.add(bar)
    left = [bar for bar in gone if bar not in piece]
    return hole_of_bars(left) if left else hole


def torn_round_a_flap(chance: Chance, rows: int, columns: int) -> Hole:
    """Two tears down and one across that joins them, at their top or at their foot."""
    across = chance.between(columns * 2 // 3, columns)
    deep = chance.between(rows - 3, rows)
    lost = {(0, column) for column in range(across)}
    for column in (0, across - 1):
        # A tear down stays in the meshes of one column, a bar or two in each row.
        wide = chance.between(1, 2)
        begin = column if column == 0 else column - wide + 1
        for row in range(1, deep - chance.below(2)):
            ragged = chance.below(5) == 0
            lost |= {(row, begin + more) for more in range(wide + ragged)}
    for _ in range(chance.below(3)):
        lost.add((1, chance.below(across)))
    hole = hole_of_bars(lost)
    return hole if chance.below(2) else upside_down(hole)


def upside_down(hole: Hole) -> Hole:
    """The hole with its foot on top: line y becomes -y."""
    return Hole(-hole.bottom, hole.rows[::-1])


def loose_bars(hole: Hole) -> list[Bar]:
    """The whole bars in a hole that hang on nothing."""
    return [
        Bar(row, column)
        for row, stretches in enumerate(islands(hole), hole.top)
        for left, right in stretches
        for column in range(left, right)
    ]
