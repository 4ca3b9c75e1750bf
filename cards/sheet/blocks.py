"""Blocks of a page: text, steps, tables and drawings, that flow into the room there is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from cards.picture import pen
from cards.picture.shapes import Line, Point, Shape, Text, moved
from cards.picture.type import CAP_HEIGHT, text_width, words_of, wrapped

PARTED = 8  # lines or rows beyond which the end of a page may part a block whatever it is
LEADING = 1.25  # from line to line, of the size of the type
PAD = 0.8  # mm of white at the sides of a cell


@dataclass(frozen=True)
class Placed:
    """What of a block found room: its shapes, its height, the rest.

    `at` is where the shapes' own origin stands, from the left upper corner of the block.
    """

    shapes: Sequence[Shape]
    height: float
    rest: Block | None = None
    at: Point = (0.0, 0.0)


class Block(Protocol):
    """Something that takes room in a column."""

    @property
    def keep(self) -> float:
        """How many mm have to be free below it on the same page."""
        ...

    def place(self, width: float, height: float) -> Placed:
        """Put what fits into the room of `width` x `height` mm."""
        ...


@dataclass(frozen=True)
class Gap:
    """Empty room; none at the top of a page."""

    size: float
    keep: float = 0.0

    def place(self, width: float, height: float) -> Placed:
        """An empty room never goes over to the next page."""
        return Placed([], min(self.size, height))


@dataclass(frozen=True)
class Paragraph:
    """Text, broken into lines; with a mark before it, a step of a list.

    A `whole` one, such as a caution, is not parted by the end of a page, unless it is very long.
    `of` is what each of its lines is of, where that is told.
    """

    text: str
    size: float
    bold: bool = False
    mark: str = ""
    indent: float = 0.0
    keep: float = 0.0
    role: str = "text"
    whole: bool = False
    of: str = ""

    def place(self, width: float, height: float) -> Placed:
        """Whole lines as many as fit."""
        lines = wrapped(self.text, self.size, width - self.indent, self.bold)
        leading = self.size * LEADING
        fits = min(len(lines), int((height + 1e-6) / leading))
        if self.whole and fits < len(lines) <= PARTED:
            fits = 0
        if len(lines) - fits == 1 and fits > 1:
            fits -= 1  # no last line alone on the next page
        if fits == 1 and len(lines) > 2:
            fits = 0  # and no first line alone on this one
        shapes: list[Shape] = []
        for number, line in enumerate(lines[:fits]):
            base = number * leading + self.size * (CAP_HEIGHT + LEADING) / 2
            if number == 0 and self.mark:
                shapes.append(Text(0, base, self.mark, self.size, True, "start", self.role))
            if line:
                shapes.append(
                    Text(self.indent, base, line, self.size, self.bold, "start", self.role, self.of)
                )
        if fits == len(lines):
            return Placed(shapes, fits * leading)
        rest = replace(self, text=" ".join(lines[fits:]), mark="" if fits else self.mark)
        return Placed(shapes, fits * leading, rest)


@dataclass(frozen=True)
class Drawing:
    """Shapes of a known size, in the middle of the column; `at` is where their own origin stands.

    A drawing has thousands of shapes: they are moved once, where the page is made.
    """

    shapes: Sequence[Shape]
    width: float
    height: float
    keep: float = 0.0
    at: Point = (0.0, 0.0)

    def place(self, width: float, height: float) -> Placed:
        """All of it or nothing."""
        if self.height > height + 1e-6 or self.width > width + 1e-6:
            return Placed([], 0, self)
        x, y = self.at
        return Placed(self.shapes, self.height, at=((width - self.width) / 2 + x, y))


@dataclass(frozen=True)
class Table:
    """Rows of cells, their texts broken to the width of the column.

    `shares` are the widths of the columns as parts of the whole; a column whose longest word is
    wider takes more. The head is repeated on each page. A `whole` one is not parted by the end of a
    page, unless it is very long. `of` is what each row is of, where that is told with its texts.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[float, ...]
    size: float
    keep: float = 0.0
    ruled: bool = True
    row_height: float = 0.0
    whole: bool = False
    of: tuple[str, ...] = ()

    def place(self, width: float, height: float) -> Placed:
        """Whole rows as many as fit."""
        shapes: list[Shape] = []
        y = 0.0
        widths = self._widths(width)
        if self.head:
            y += self._row(shapes, self.head, widths, 0, True)
        placed = 0
        for row, of in zip(self.rows, self.of or [""] * len(self.rows), strict=True):
            own: list[Shape] = []
            used = self._row(own, row, widths, y, False, of)
            if y + used > height + 1e-6:
                break
            shapes += own
            y += used
            placed += 1
        if placed == len(self.rows):
            return Placed(shapes, y)
        if not placed or (self.whole and len(self.rows) <= PARTED):
            return Placed([], 0, self)
        rest = replace(self, rows=self.rows[placed:], of=self.of[placed:], shares=widths)
        return Placed(shapes, y, rest)

    def _widths(self, width: float) -> tuple[float, ...]:
        """The widths of the columns in mm."""
        least = [
            max(
                (
                    text_width(word, self.size, number == 0 and bool(self.head)) + 2 * PAD
                    for number, row in enumerate((self.head, *self.rows))
                    for word in (words_of(row[column]) if row else ())
                ),
                default=0.0,
            )
            for column in range(len(self.shares))
        ]
        if sum(least) >= width:
            return tuple(own * width / sum(least) for own in least)
        wide: set[int] = set()
        while True:
            left = width - sum(least[column] for column in wide)
            shared = sum(share for n, share in enumerate(self.shares) if n not in wide)
            widths = [
                least[n] if n in wide else left * share / shared
                for n, share in enumerate(self.shares)
            ]
            more = {n for n, own in enumerate(widths) if own < least[n] - 1e-9}
            if not more:
                return tuple(widths)
            wide |= more

    def _row(
        self,
        shapes: list[Shape],
        cells: tuple[str, ...],
        widths: Sequence[float],
        y: float,
        bold: bool,
        of: str = "",
    ) -> float:
        leading = self.size * LEADING
        texts = [
            wrapped(cell, self.size, own - 2 * PAD + 1e-6, bold) for cell, own in zip(cells, widths)
        ]
        deepest = max(map(len, texts)) * leading + PAD
        used = max(deepest, self.row_height)
        x = 0.0
        for lines, own in zip(texts, widths):
            for number, line in enumerate(lines):
                top = y + (used - deepest) / 2 + PAD / 2 + number * leading
                base = top + self.size * (CAP_HEIGHT + LEADING) / 2
                if line:
                    shapes.append(Text(x + PAD, base, line, self.size, bold, "start", "cell", of))
            x += own
        if self.ruled:
            weight = pen.RULE if bold else pen.FINE
            shapes.append(Line(((0, y + used), (sum(widths), y + used)), weight, "rule"))
        return used


@dataclass(frozen=True)
class Columns:
    """Blocks side by side, each in its own column; of equal width where no shares are given."""

    blocks: tuple[tuple[Block, ...], ...]
    gap: float = 5.0
    keep: float = 0.0
    shares: tuple[float, ...] = ()

    def place(self, width: float, height: float) -> Placed:
        """All of them or nothing."""
        shares = self.shares or (1.0,) * len(self.blocks)
        free = width - self.gap * (len(self.blocks) - 1)
        shapes: list[Shape] = []
        x = deepest = 0.0
        for column, share in zip(self.blocks, shares):
            y = 0.0
            own = free * share / sum(shares)
            for block in column:
                placed = block.place(own, height - y)
                if placed.rest:
                    return Placed([], 0, self)
                shapes += moved(placed.shapes, x + placed.at[0], y + placed.at[1])
                y += placed.height
            x += own + self.gap
            deepest = max(deepest, y)
        return Placed(shapes, deepest)
