"""The cuts of a spec: pairs of knots, a second drawing, or the numbers printed on a card."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cards.errors import Fault, SpecError, shown
from cards.grid import Bar
from cards.spec.given import Wrong
from cards.spec.holes import drawing_rows, drawing_shift, knot_pair
from cards.spec.lined import dotted
from cards.spec.model import Spec

# A cut so many bars or rows beyond the hole is no part of its trim.
BEYOND = 12


def cuts_given(spec: Spec, numbered: Sequence[Bar] = ()) -> tuple[Bar, ...]:
    """Read the cuts of a spec.

    Parameters
    ----------
    spec
        A checked spec.
    numbered
        The cuts of the plan in the order of their numbers, for a spec that gives numbers.

    Returns
    -------
    tuple of Bar
        In the order given; a drawing is read row by row.

    Raises
    ------
    SpecError
        With every cut of a bar that is broken already, is named twice or lies away from the
        hole, and whatever cannot be read, each with its line and field.
    """
    reading = _Cuts(spec, numbered)
    bars = reading.read(spec.cuts)
    if reading.faults:
        raise SpecError(spec.source, reading.faults)
    return bars


class _Cuts:
    """Reads cuts, gathering faults."""

    def __init__(self, spec: Spec, numbered: Sequence[Bar]) -> None:
        self.spec = spec
        self.numbered = numbered
        self.faults: list[Fault] = []
        self.taken: set[Bar] = set()

    def read(self, cuts: Any) -> tuple[Bar, ...]:
        if not cuts:
            return ()
        if isinstance(cuts, str):
            try:
                return self._drawn(cuts)
            except Wrong as wrong:
                self._fault(("cuts",), wrong.found, wrong.expected, wrong.advice, wrong.below)
                return ()
        if not isinstance(cuts, list):
            self._fault(
                ("cuts",), shown(cuts), "pairs of knots, a drawing with x, or numbers of cuts"
            )
            return ()
        bars = []
        for number, cut in enumerate(cuts):
            bar = self._one(cut, ("cuts", number))
            if bar and self._sound(bar, ("cuts", number), shown(str(cut).replace("'", ""))):
                bars.append(bar)
        return tuple(bars)

    def _one(self, cut: Any, path: tuple[str | int, ...]) -> Bar | None:
        """One cut of a list: a number, or a pair of knots."""
        if isinstance(cut, str):
            count = len(self.numbered)
            if cut.isdecimal() and 1 <= int(cut) <= count:
                return self.numbered[int(cut) - 1]
            known = f"a number from 1 to {count}" if count else "no number: the plan has no cuts"
            self._fault(path, shown(cut), known)
            return None
        try:
            return knot_pair([[int(x), int(y)] for x, y in cut], ("cuts",))
        except (TypeError, ValueError):
            self._fault(path, shown(str(cut).replace("'", "")), "a pair of knots: [[x, y], [x, y]]")
        except Wrong as wrong:
            self._fault(path, wrong.found.replace("'", ""), wrong.expected, wrong.advice)
        return None

    def _drawn(self, text: str) -> tuple[Bar, ...]:
        """The bars marked x in a drawing of the size and lean of the hole's own."""
        rows = drawing_rows(text)
        if ("hole", "drawing") not in self.spec.lines:
            self._fault(
                ("cuts",),
                "a drawing",
                "pairs of knots or numbers of cuts",
                "A drawing of cuts goes with a hole that is drawn.",
            )
            return ()
        known = "\\ or / for a whole bar, . for a broken one, x for a cut"
        if not rows:
            raise Wrong(("cuts",), "an empty drawing", known)
        shift = drawing_shift(rows, ".x", ("cuts",), known)
        if shift != self.spec.origin[0]:
            raise Wrong(
                ("cuts",),
                "a drawing that leans the other way",
                "the lean of the hole's own drawing",
                "Copy the drawing of the hole and mark the cuts in it.",
                below=rows[0][0] + 1,
            )
        bars = []
        for number, (at, row) in enumerate(rows):
            for column, character in enumerate(row):
                bar = Bar(number, column + shift)
                broken = self.spec.hole.misses(*bar)
                place = f"row {number + 1}, column {column + 1}"
                if character == "x" and self._sound(bar, ("cuts",), f"x in {place}", at + 1):
                    bars.append(bar)
                elif character != "x" and broken != (character == "."):
                    self._fault(
                        ("cuts",),
                        f"{character} in {place}",
                        "a dot, as the bar is broken" if broken else "a whole bar, as in the hole",
                        "Copy the drawing of the hole and mark the cuts in it.",
                        at + 1,
                    )
        missing = [bar for bar in self.spec.hole.bars() if not self._is_drawn(bar, rows, shift)]
        if missing:
            self._fault(
                ("cuts",), "a drawing smaller than the hole", "the size of the hole's own drawing"
            )
        return tuple(bars)

    @staticmethod
    def _is_drawn(bar: Bar, rows: list[tuple[int, str]], shift: int) -> bool:
        return bar.row < len(rows) and bar.column - shift < len(rows[bar.row][1])

    def _sound(self, bar: Bar, path: tuple[str | int, ...], found: str, below: int = 0) -> bool:
        """Whether a bar can be cut; a fault where it cannot."""
        hole = self.spec.hole
        if hole.misses(*bar):
            self._fault(path, found, "a whole bar", "This bar is broken already.", below)
        elif bar in self.taken:
            self._fault(path, f"{found} a second time", "each cut once", "", below)
        elif not (
            hole.top - BEYOND <= bar.row < hole.bottom + BEYOND
            and hole.left - BEYOND <= bar.column < hole.right + BEYOND
        ):
            self._fault(
                path,
                found,
                f"a bar within {BEYOND} bars of the hole",
                "There is no such bar near the hole.",
                below,
            )
        else:
            self.taken.add(bar)
            return True
        return False

    def _fault(
        self,
        path: tuple[str | int, ...],
        found: str,
        expected: str,
        advice: str = "",
        below: int = 0,
    ) -> None:
        lines = self.spec.lines
        line = lines.get(path, lines.get(("cuts",)))
        self.faults.append(
            Fault(dotted(path), found, expected, line + below if line else None, advice)
        )
