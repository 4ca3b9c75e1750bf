"""What every way of giving a hole hands on: the hole with its place, or what is wrong."""

from __future__ import annotations

from dataclasses import dataclass

from cards.errors import Fault
from cards.grid import Hole
from cards.limits import BOX_LIMIT, GAP_LIMIT, SIDE_LIMIT
from cards.spec.lined import Path, dotted


class Wrong(Exception):
    """A fault in the hole; the field is given from the hole on."""

    def __init__(
        self, field: Path, found: str, expected: str, advice: str = "", below: int = 0
    ) -> None:
        self.field: Path = ("hole", *field)
        self.below = below  # lines below the field's own, for a drawing
        self.found, self.expected, self.advice = found, expected, advice
        super().__init__(found)

    def fault(self, line: int | None) -> Fault:
        """The fault with its line in the file."""
        at = line + self.below if line and self.below else line
        return Fault(dotted(self.field), self.found, self.expected, at, self.advice)


@dataclass(frozen=True, slots=True)
class Given:
    """A hole as given, and the column and row of the grid at which its drawing or count begins."""

    hole: Hole
    origin: tuple[int, int]


def check_size(columns: int, rows: int, field: Path) -> None:
    """Raise `Wrong` for a hole larger than can be planned."""
    if columns > SIDE_LIMIT or rows > SIDE_LIMIT or columns * rows > BOX_LIMIT:
        raise Wrong(
            field,
            f"a hole of {columns} bars across and {rows} row{'s' * (rows != 1)}",
            f"at most {SIDE_LIMIT} bars or rows either way and {BOX_LIMIT:,} bars in the box "
            "round it",
            "Give a large tear in parts, a spec for each.",
        )


def check_gaps(hole: Hole, field: Path) -> None:
    """Raise `Wrong` for tears so far apart that planning them as one would take long."""
    empty = sum(1 for row in hole.rows if not row)
    if empty * (hole.right - hole.left) > GAP_LIMIT:
        raise Wrong(
            field,
            f"tears with {empty} rows between them in which nothing is broken",
            f"at most {GAP_LIMIT // (hole.right - hole.left)} such rows in a hole so wide",
            "Give each tear in a spec of its own.",
        )
