"""Blocks of a page: text, steps, tables and drawings, that flow into the room there is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from cards.picture import pen
from cards.picture.shapes import Line, Shape, Text, moved
from cards.picture.type import CAP_HEIGHT, text_width, wrapped

LEADING = 1.25  # from line to line, of the size of the type


@dataclass(frozen=True)
class Placed:
    """What of a block found room: its shapes from the left upper corner, its height, the rest."""

    shapes: list[Shape]
    height: float
    rest: Block | None = None


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
    """Text, broken into lines; with a mark before it, a step of a list."""

    text: str
    size: float
    bold: bool = False
    mark: str = ""
    indent: float = 0.0
    keep: float = 0.0
    role: str = "text"

    def place(self, width: float, height: float) -> Placed:
        """Whole lines as many as fit."""
        lines = wrapped(self.text, self.size, width - self.indent, self.bold)
        leading = self.size * LEADING
        fits = min(len(lines), int((height + 1e-6) / leading))
        shapes: list[Shape] = []
        for number, line in enumerate(lines[:fits]):
            base = number * leading + self.size * (CAP_HEIGHT + LEADING) / 2
            if number == 0 and self.mark:
                shapes.append(Text(0, base, self.mark, self.size, True, "start", self.role))
            if line:
                shapes.append(
                    Text(self.indent, base, line, self.size, self.bold, "start", self.role)
                )
        if fits == len(lines):
            return Placed(shapes, fits * leading)
        rest = replace(self, text=" ".join(lines[fits:]), mark="" if fits else self.mark)
        return Placed(shapes, fits * leading, rest)


@dataclass(frozen=True)
class Drawing:
    """Shapes of a known size, in the middle of the column."""

    shapes: Sequence[Shape]
    width: float
    height: float
    keep: float = 0.0

    def place(self, width: float, height: float) -> Placed:
        """All of it or nothing."""
        if self.height > height + 1e-6:
            return Placed([], 0, self)
        return Placed(list(moved(self.shapes, (width - self.width) / 2, 0)), self.height)


@dataclass(frozen=True)
class Table:
    """Rows of cells, their texts broken to the width of the column.

    `shares` are the widths of the columns as parts of the whole; the head is repeated on each page.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[float, ...]
    size: float
    keep: float = 0.0
    ruled: bool = True
    row_height: float = 0.0

    def place(self, width: float, height: float) -> Placed:
        """Whole rows as many as fit."""
        shapes: list[Shape] = []
        y = 0.0
        if self.head:
            y += self._row(shapes, self.head, width, 0, True)
        placed = 0
        for row in self.rows:
            own: list[Shape] = []
            used = self._row(own, row, width, y, False)
            if y + used > height + 1e-6:
                break
            shapes += own
            y += used
            placed += 1
        if placed == len(self.rows):
            return Placed(shapes, y)
        if not placed:
            return Placed([], 0, self)
        return Placed(shapes, y, replace(self, rows=self.rows[placed:]))

    def _row(
        self, shapes: list[Shape], cells: tuple[str, ...], width: float, y: float, bold: bool
    ) -> float:
        total = sum(self.shares)
        pad = 0.8
        leading = self.size * LEADING
        texts = [
            wrapped(cell, self.size, width * share / total - 2 * pad, bold)
            for cell, share in zip(cells, self.shares)
        ]
        deepest = max(map(len, texts)) * leading + pad
        used = max(deepest, self.row_height)
        x = 0.0
        for lines, share in zip(texts, self.shares):
            for number, line in enumerate(lines):
                top = y + (used - deepest) / 2 + pad / 2 + number * leading
                base = top + self.size * (CAP_HEIGHT + LEADING) / 2
                if line:
                    shapes.append(Text(x + pad, base, line, self.size, bold, "start", "cell"))
            x += width * share / total
        if self.ruled:
            weight = pen.RULE if bold else pen.FINE
            shapes.append(Line(((0, y + used), (width, y + used)), weight, "rule"))
        return used


@dataclass(frozen=True)
class Columns:
    """Blocks side by side, each in its own column of equal width."""

    blocks: tuple[tuple[Block, ...], ...]
    gap: float = 5.0
    keep: float = 0.0

    def place(self, width: float, height: float) -> Placed:
        """All of them or nothing."""
        own = (width - self.gap * (len(self.blocks) - 1)) / len(self.blocks)
        shapes: list[Shape] = []
        deepest = 0.0
        for number, column in enumerate(self.blocks):
            y = 0.0
            for block in column:
                placed = block.place(own, height - y)
                if placed.rest:
                    return Placed([], 0, self)
                shapes += moved(placed.shapes, number * (own + self.gap), y)
                y += placed.height
            deepest = max(deepest, y)
        return Placed(shapes, deepest)


def line_width(text: str, size: float, bold: bool = False) -> float:
    """Width of a text on one line, in mm."""
    return text_width(text, size, bold)
