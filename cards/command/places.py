"""Places in the web as a mender finds them, in words."""

from __future__ import annotations

from collections.abc import Iterable

from cards.grid import Bar, Hole, Knot
from cards.grid.knots import LOST, WHOLE
from cards.picture.text import counted
from cards.trim import Cut
from cards.trim.check import stretches_of
from cards.words import words


def place_told(hole: Hole, knot: Knot) -> str:
    """Where a mender finds a knot on the edge of a hole: its place along its line of knots.

    Lines are counted from the top one with a damaged knot, knots along those that still have a bar.
    """
    damaged = hole.knots()
    lines = sorted({y for _, y in damaged} | {knot.y})
    own = {x for x, y in damaged if y == knot.y and hole.name_at((x, y)) != LOST}
    place = sorted(own | {knot.x}).index(knot.x) + 1
    line = lines.index(knot.y) + 1
    return f"{nth(place)} knot from the left on the edge of the hole, line {line} from the top"


def bar_told(bar: Bar, origin: tuple[int, int]) -> str:
    """Where a bar is, as the spec's own drawing counts rows and bars.

    Examples
    --------
    >>> bar_told(Bar(4, 2), (0, 0)), bar_told(Bar(-1, -2), (0, 0))
    ('row 5, bar 3', '1 row above row 1, 2 bars left of bar 1')
    """
    row, column = counted(bar, origin)
    return f"{_row(row)}, {_bar(column)}"


def _row(row: int) -> str:
    return f"row {row}" if row > 0 else f"{counted_out(1 - row, 'row')} above row 1"


def _bar(column: int) -> str:
    return f"bar {column}" if column > 0 else f"{counted_out(1 - column, 'bar')} left of bar 1"


def way_told(knot: Knot, towards: Knot) -> str:
    """Which way a bar runs from one of its knots."""
    across = "right" if towards.x > knot.x else "left"
    return f"down to the {across}" if towards.y > knot.y else f"up to the {across}"


def bars_told(bars: Iterable[Bar], origin: tuple[int, int]) -> str:
    """Bars row by row, as the spec's own drawing counts them."""
    parts = []
    for row, stretches in stretches_of(bars).items():
        number, column = counted((row, 0), origin)
        ends = [(column + left, column + right - 1) for left, right in stretches]
        if ends[0][0] > 0:
            spans = [f"{first}" if first == last else f"{first}-{last}" for first, last in ends]
            name = "bar" if ends[0][0] == ends[-1][1] else "bars"
            told = f"{name} {', '.join(spans)}"
        else:
            told = ", ".join(
                _bar(first) if first == last else f"from {_bar(first)} to {_bar(last)}"
                for first, last in ends
            )
        parts.append(f"{_row(number)} {told}")
    return "; ".join(parts)


def does_told(cut: Cut) -> str:
    """What a cut does, as the cards say it."""
    return words().say(f"does.{cut.does}")


def next_cut_told(cut: Cut, missing: Hole, origin: tuple[int, int]) -> str:
    """The next cut to make: its bar, from which knot, and what it does."""
    towards = way_told(cut.at, cut.towards)
    name = "" if cut.was == WHOLE else f"{cut.was} that is the "
    return (
        f"Next cut: the bar {towards} from the {name}{place_told(missing, cut.at)} "
        f"({bar_told(cut.bar, origin)} of the web as drawn). It {does_told(cut)}."
    )


def nth(number: int) -> str:
    """1st, 2nd, 3rd, 4th ...

    Examples
    --------
    >>> nth(1), nth(12), nth(23)
    ('1st', '12th', '23rd')
    """
    ending = (
        "th" if 10 <= number % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    )
    return f"{number}{ending}"


def counted_out(number: int, name: str) -> str:
    """A number of things: "1 cut", "2 cuts"."""
    return f"{number} {name}{'' if number == 1 else 's'}"
