"""The ways of giving a hole: each turns what the spec says into broken bars."""

from __future__ import annotations

import re
from typing import Callable, Iterator

from cards.errors import shown
from cards.grid import Bar, Hole, Stretch, bar_between, hole_of_bars, hole_of_stretches
from cards.grid.walk import HEADINGS
from cards.spec.given import Given, Wrong, check_gaps, check_size
from cards.spec.lined import Path
from cards.spec.model import HoleSpec, Shape
from cards.spec.walk import walked


def hole_given(spec: HoleSpec) -> Given:
    """Read a hole in the one way in which it is given.

    Raises
    ------
    Wrong
        Where it is given in no way or in two, or as something that cannot be.
    """
    given = [way for way in WAYS if getattr(spec, way) is not None]
    known = ", ".join(WAYS)
    if not given:
        raise Wrong((), "no hole", f"one of {known}", "Draw the hole under `drawing:`.")
    if len(given) > 1:
        raise Wrong(
            (given[1],),
            f"the hole in {len(given)} ways ({', '.join(given)})",
            "exactly one way",
            "Keep one of them and take out the others.",
        )
    if spec.first is not None and given[0] not in FIRST:
        raise Wrong(
            ("first",),
            shown(spec.first),
            f"no `first` beside `{given[0]}`",
            f"It belongs to {' and '.join(f'`{way}`' for way in FIRST)}; take it out.",
        )
    read = WAYS[given[0]](spec)
    check_gaps(read.hole, (given[0],))
    return read


def _of_bars(bars: list[tuple[int, int]], field: Path, advice: str) -> Hole:
    if not bars:
        raise _nothing(field, advice)
    return hole_of_bars(bars)


def _nothing(field: Path, advice: str) -> Wrong:
    return Wrong(field, "nothing broken", "at least one broken bar", advice)


# Drawing


def drawing_rows(text: str) -> list[tuple[int, str]]:
    """The rows of a drawing with their place in the text, without empty lines round it."""
    rows = [(at, line.rstrip()) for at, line in enumerate(text.split("\n"))]
    while rows and not rows[0][1]:
        rows.pop(0)
    while rows and not rows[-1][1]:
        rows.pop()
    return rows


def drawing_shift(rows: list[tuple[int, str]], marks: str, field: Path, known: str) -> int:
    """Check a drawing's characters and leanings; return the column of its first bar, 0 or 1.

    Raises
    ------
    Wrong
        At a character without a meaning, a bar that leans the wrong way, or where no bar is whole.
    """
    votes = [0, 0]
    for number, (at, row) in enumerate(rows):
        for column, character in enumerate(row):
            if character in "\\/":
                votes[(number + column + (character == "/")) & 1] += 1
            elif character not in marks:
                raise Wrong(
                    field,
                    f"{shown(character)} in row {number + 1}, column {column + 1}",
                    known,
                    "Draw without spaces or tabs inside a row." if character.isspace() else "",
                    below=at + 1,
                )
    if not sum(votes):
        raise Wrong(
            field,
            "a drawing without one whole bar",
            "at least one \\ or / to tell which way the bars lean",
            "Draw one row or column of whole bars round the hole.",
        )
    shift = 0 if votes[0] >= votes[1] else 1
    for number, (at, row) in enumerate(rows):
        for column, character in enumerate(row):
            if character in "\\/":
                lean = "\\/"[(number + column + shift) & 1]
                if character != lean:
                    raise Wrong(
                        field,
                        f"{character} in row {number + 1}, column {column + 1}",
                        f"{lean} there: the bars lean to and fro along a row and from row to row",
                        _leaning(row, min(votes), (number + shift) & 1),
                        below=at + 1,
                    )
    return shift


def _leaning(row: str, wrong: int, shift: int) -> str:
    """What to look at where `wrong` bars of a drawing lean the wrong way, some in this row."""
    own = [c == "\\/"[(column + shift) & 1] for column, c in enumerate(row) if c in "\\/"]
    if len(own) > 1 and not any(own):
        return "All bars of this row lean the wrong way: is the row moved by one bar?"
    return f"{wrong} bars lean the wrong way." if wrong > 1 else ""


def _drawing(spec: HoleSpec) -> Given:
    rows = drawing_rows(spec.drawing or "")
    if not rows:
        expected = "rows of slashes, with a dot for each broken bar"
        raise Wrong(("drawing",), "an empty drawing", expected)
    check_size(max(len(row) for _, row in rows), len(rows), ("drawing",))
    known = "\\ or / for a whole bar, . for a broken one"
    shift = drawing_shift(rows, ".", ("drawing",), known)
    bars = [
        (number, column + shift)
        for number, (_, row) in enumerate(rows)
        for column, character in enumerate(row)
        if character == "."
    ]
    return Given(_of_bars(bars, ("drawing",), "Mark a broken bar with a dot."), (shift, 0))


# Rows

_SPAN = re.compile(r"\s*([0-9]{1,6})\s*(?:[-–]\s*([0-9]{1,6})\s*)?")
NONE_BROKEN = ("", "-", "none")


def _rows(spec: HoleSpec) -> Given:
    if spec.first not in ("\\", "/"):
        walked_way = "A way to step belongs to `walk`. " if spec.first in HEADINGS else ""
        raise Wrong(
            ("first",),
            shown(spec.first),
            "\\ or /, the lean of bar 1 of row 1",
            f"{walked_way}Write first: '\\' or first: '/' beside `rows`.",
        )
    shift = 0 if spec.first == "\\" else 1
    counted = spec.rows or []
    rows: dict[int, list[tuple[int, int]]] = {}
    for number, text in enumerate(counted):
        field: Path = ("rows", number)
        spans = sorted(_spans(text or "", field))
        if not spans:
            continue
        end = 0
        for first, last in spans:
            if first <= end:
                raise Wrong(
                    field,
                    f"bar {first} twice in {shown(text)}",
                    "each broken bar of a row once",
                )
            end = last
        check_size(end, len(counted), field)
        rows[number] = [(first - 1 + shift, last + shift) for first, last in spans]
    if not rows:
        raise _nothing(("rows",), 'Name the broken bars of each row, such as "2-4,6-7".')
    return Given(hole_of_stretches(rows), (shift, 0))


def _spans(text: str, field: Path) -> Iterator[tuple[int, int]]:
    """The first and the last bar of each part of a row."""
    if text.strip() in NONE_BROKEN:
        return
    for part in text.split(","):
        match = _SPAN.fullmatch(part)
        if not match:
            raise Wrong(
                field,
                shown(part if part.strip() else text),
                'bars such as "2-4,6-7", counted from 1',
                _parted(part),
            )
        first, last = int(match[1]), int(match[2] or match[1])
        if first < 1:
            raise Wrong(
                field, shown(part), "a bar from 1 up", "Bar 1 is the first one right of the mark."
            )
        if last < first:
            raise Wrong(
                field, shown(part), "the first bar before the last", f'Write "{last}-{first}".'
            )
        yield first, last


def _parted(part: str) -> str:
    """What to do about a part of a row that is no bar and no span."""
    if not part.strip():
        return "There is a comma too many."
    if set(part.strip()) <= set("\\/.x"):
        return "Give rows of slashes and dots under `drawing:`."
    if re.fullmatch(r"[0-9–\s-]+", part):
        return "Put a comma between two parts; a - joins the first and the last bar of a part."
    return 'Write "-" for a row with nothing broken.'


# Bars


def knot_pair(pair: list[list[int]], field: Path) -> Bar:
    """Read a bar given as a pair of knots.

    Raises
    ------
    Wrong
        When they are not two knots that a bar joins.
    """
    if len(pair) != 2 or any(len(knot) != 2 for knot in pair):
        raise Wrong(field, f"{shown(str(pair))}", "a pair of knots: [[x, y], [x, y]]")
    try:
        return bar_between((pair[0][0], pair[0][1]), (pair[1][0], pair[1][1]))
    except ValueError as error:
        raise Wrong(
            field,
            shown(str(pair)),
            "two knots that a bar joins",
            f"{str(error)[0].upper()}{str(error)[1:]}.",
        ) from None


def _bars(spec: HoleSpec) -> Given:
    bars: list[tuple[int, int]] = []
    seen: set[Bar] = set()
    for number, pair in enumerate(spec.bars or []):
        field: Path = ("bars", number)
        bar = knot_pair(pair, field)
        if bar in seen:
            raise Wrong(field, f"{shown(str(pair))} a second time", "each bar once")
        seen.add(bar)
        bars.append(bar)
    if bars:
        across = max(c for _, c in bars) - min(c for _, c in bars) + 1
        down = max(r for r, _ in bars) - min(r for r, _ in bars) + 1
        check_size(across, down, ("bars",))
    hole = _of_bars(bars, ("bars",), "Name a broken bar by its two knots.")
    return Given(hole, (hole.left, hole.top))


# Shapes

# Which sizes each shape takes.
SHAPE_SIZES: dict[str, tuple[str, ...]] = {
    "rectangle": ("across", "down"),
    "diamond": ("across", "down"),
    "slit across": ("across",),
    "slit down": ("down",),
    "slit along bar": ("down",),
}


def _shape(spec: HoleSpec) -> Given:
    shape = spec.shape
    assert shape is not None
    wanted = SHAPE_SIZES[shape.kind]
    for size in ("across", "down"):
        value = getattr(shape, size)
        if size in wanted and value is None:
            raise Wrong(
                ("shape", size),
                "nothing",
                f"how many meshes {size} the {shape.kind} is",
                f"Write `{size}:` with a whole number, 1 to 2000.",
            )
        if size not in wanted and value is not None:
            raise Wrong(
                ("shape", size),
                shown(value),
                f"no `{size}` for a {shape.kind}",
                f"Its size is `{wanted[0]}` alone; take `{size}` out.",
            )
    across, down = shape.across or 1, shape.down or 1
    check_size(2 * across, 2 * down, ("shape",))
    hole = Hole(0, tuple((stretch,) for stretch in _stretches(shape, across, down)))
    return Given(hole, (0, 0))


def _stretches(shape: Shape, across: int, down: int) -> list[Stretch]:
    """The broken bars of a shape, from row 0, row by row."""
    if shape.kind == "rectangle":
        return [Stretch(1, 2 * across + 1)] * (2 * down)
    if shape.kind == "slit across":
        return [Stretch(0, 2 * across)]
    if shape.kind == "slit down":
        return [Stretch(0, 1)] * (2 * down)
    if shape.kind == "slit along bar":
        return [Stretch(row + 1, row + 2) for row in range(2 * down)]
    middle = across + (across & 1) + 1
    halves = [
        1 + (across - 1) * min(row, 2 * down - 1 - row) // max(down - 1, 1)
        for row in range(2 * down)
    ]
    return [Stretch(middle - half, middle + half) for half in halves]


# The ways of giving a hole, and which of them take `first`.
WAYS: dict[str, Callable[[HoleSpec], Given]] = {
    "drawing": _drawing,
    "rows": _rows,
    "shape": _shape,
    "bars": _bars,
    "walk": walked,
}
FIRST = ("rows", "walk")
