"""Write the hole of a spec in another form, all else as it was written."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import Any, Callable, Iterator, Literal, Sequence, get_args

import yaml

from cards.errors import CardError, SpecError
from cards.grid import Bar, Hole
from cards.grid.drawn import drawn
from cards.grid.walk import HEADINGS, walk_round
from cards.limits import FILE_LIMIT, NAMED_BARS
from cards.spec.given import Wrong
from cards.spec.holes import drawing_rows, drawing_shift, knot_pair
from cards.spec.lined import PARSER
from cards.spec.load import load_text
from cards.spec.model import Spec
from cards.spec.not_yaml import not_yaml
from cards.spec.written import yaml_inline, yaml_lines

Form = Literal["drawing", "walk", "rows", "bars"]
FORMS: tuple[Form, ...] = get_args(Form)

# A drawing, or a count of rows, begins at most so far from the hole; else close beside it.
FAR = 12
# A drawing has at most this many bars.
DRAWING_BARS = 2_000_000
WALK_LINE = 20  # counts, or runs of them, a line


@dataclass(frozen=True, slots=True)
class Converted:
    """A spec with its hole in another form.

    Attributes
    ----------
    text
        All of the file.
    shifts
        For each spec how far its knots moved: columns to the right, lines down.
    """

    text: str
    shifts: tuple[tuple[int, int], ...]


def convert(text: str, form: Form, source: str = "spec") -> Converted:
    """Write the holes of all specs of a text in one form.

    Parameters
    ----------
    text
        The text of a spec file.
    form
        The form of the holes in the result.
    source
        What messages call the text.

    Returns
    -------
    Converted

    Raises
    ------
    SpecError
        When the text is no sound spec.
    CardError
        When a hole cannot be given in this form: with why.

    Notes
    -----
    Bars are given by the knots of the grid, so they keep every coordinate. A drawing or rows
    begin at column 0 or 1 and row 0: they keep the coordinates of a hole that lies to the right
    of and below that, not further than `FAR`; else the hole is moved close to the corner. A
    walk knows no coordinates: its hole is placed as in the smallest drawing with a whole bar
    round it. Knots named in `cuts` move with the hole.

    Examples
    --------
    >>> print(convert("hole: {shape: {kind: slit across, across: 1}}", "walk").text)
    hole:
      walk: 3 4 4 2 4 4 3 4
      first: down-right
    """
    specs = load_text(text, source=source)
    roots = list(_roots(text, source))
    edits: list[tuple[int, int, str]] = []
    shifts = []
    for number, (spec, root) in enumerate(zip(specs, roots, strict=True), 1):
        if _given_as(root, form):
            shifts.append((0, 0))
            continue
        try:
            fields, shift = WRITERS[form](spec.hole)
        except ValueError as error:
            name = source if len(specs) == 1 else f"{source}: spec {number}"
            others = ", ".join(other for other in FORMS if other != form)
            raise CardError(
                f"{name}: found a hole that cannot be given as {form}: {error}. "
                f"Other forms: {others}."
            ) from None
        edits += _edits(text, root, fields, _moved_cuts(spec, shift))
        shifts.append(shift)
    newline = "\r\n" if "\r\n" in text else "\n"
    for begin, end, put in sorted(edits, reverse=True):
        text = text[:begin] + put.replace("\n", newline) + text[end:]
    _check(specs, shifts, text, source)
    return Converted(text, tuple(shifts))


def _roots(text: str, source: str) -> Iterator[yaml.MappingNode]:
    """The documents of a text as nodes that know where they stand in it."""
    try:
        for node in yaml.compose_all(text, Loader=PARSER):
            if isinstance(node, yaml.MappingNode):
                yield node
    except yaml.YAMLError as error:
        raise SpecError(source, [not_yaml(error, text)]) from None


def _given_as(root: yaml.MappingNode, form: Form) -> bool:
    """Whether the hole is written in this form already."""
    return any(
        key.value == "hole" and any(k.value == form and v.value for k, v in hole.value)
        for key, hole in root.value
    )


def _check(before: list[Spec], shifts: Sequence[tuple[int, int]], text: str, source: str) -> None:
    """Read what was written: it has to give the same holes."""
    if len(text.encode()) > FILE_LIMIT:
        raise CardError(
            f"{source}: found a hole that takes more than {FILE_LIMIT} bytes in this form; "
            "expected a smaller one, or another form"
        )
    after = load_text(text, source=source)
    if [s.hole for s in after] != [s.hole.moved(*by) for s, by in zip(before, shifts)]:
        raise CardError(f"{source}: found YAML written in an unusual way; expected plain fields")


# Each form's writer: a hole to the fields under `hole`, and how far the hole moved.

_Written = tuple[dict[str, Any], tuple[int, int]]


def _drawing(hole: Hole) -> _Written:
    hole, shift = _near_corner(hole, least=1)
    columns, rows = hole.right + 1, hole.bottom + 1
    if columns * rows > DRAWING_BARS:
        raise ValueError(f"it is {columns} bars across and {rows} rows, too large to draw")
    # A drawing begins at column 0 or 1: at the one that leaves least beside the hole.
    first = 1 if hole.left == 2 else 0
    return {"drawing": "\n".join(drawn(hole, (first, 0)))}, shift


def _rows(hole: Hole) -> _Written:
    hole, shift = _near_corner(hole, least=0)
    counted: list[str] = [""] * hole.top
    for row in hole.rows:
        counted.append(
            ",".join(
                str(left + 1) if right == left + 1 else f"{left + 1}-{right}" for left, right in row
            )
        )
    return {"first": "\\", "rows": counted}, shift


def _bars(hole: Hole) -> _Written:
    if hole.size > NAMED_BARS:
        raise ValueError(f"its {hole.size} bars are more than {NAMED_BARS}, the most to be named")
    return {"bars": [[list(knot) for knot in bar.ends] for bar in hole.bars()]}, (0, 0)


def _walk(hole: Hole) -> _Written:
    walk, _ = walk_round(hole)
    placed = hole.cornered()
    shift = (placed.left - hole.left, placed.top - hole.top)
    runs: list[str] = []
    for count, run in groupby(walk.counts):
        length = len(list(run))
        runs += [f"{length}x{count}"] if length > 4 else [str(count)] * length
    lines = [" ".join(runs[at : at + WALK_LINE]) for at in range(0, len(runs), WALK_LINE)]
    return {"walk": "\n".join(lines), "first": HEADINGS[walk.first]}, shift


WRITERS: dict[Form, Callable[[Hole], _Written]] = {
    "drawing": _drawing,
    "walk": _walk,
    "rows": _rows,
    "bars": _bars,
}


def _near_corner(hole: Hole, least: int) -> tuple[Hole, tuple[int, int]]:
    """The hole where a drawing or rows can tell it, and how far it had to move."""
    if least <= hole.top <= FAR and least <= hole.left <= FAR:
        return hole, (0, 0)
    placed = hole.cornered()
    shift = (placed.left - hole.left, placed.top - hole.top)
    return placed, shift


# Cuts


def _moved_cuts(spec: Spec, shift: tuple[int, int]) -> list[list[list[int]]] | None:
    """The cuts of a spec as pairs of knots moved with the hole; None where they stay as written."""
    if shift == (0, 0) or not spec.cuts:
        return None
    across, down = shift
    return [[[x + across, y + down] for x, y in bar.ends] for bar in _cut_bars(spec.cuts)] or None


def _cut_bars(cuts: Any) -> list[Bar]:
    """The bars that `cuts` names by their place; none where it names them in another way."""
    if isinstance(cuts, str):
        rows = drawing_rows(cuts)
        try:
            shift = drawing_shift(rows, ".x", ("cuts",), "\\ or /, . or x")
        except Wrong:
            return []
        return [
            Bar(number, column + shift)
            for number, (_, row) in enumerate(rows)
            for column, character in enumerate(row)
            if character == "x"
        ]
    try:
        return [knot_pair([[int(x), int(y)] for x, y in pair], ("cuts",)) for pair in cuts]
    except (TypeError, ValueError, Wrong):
        return []


# Editing the text


def _edits(
    text: str,
    root: yaml.MappingNode,
    fields: dict[str, Any],
    cuts: list[list[list[int]]] | None,
) -> Iterator[tuple[int, int, str]]:
    """The pieces of text to put in place of `hole` and `cuts`."""
    for key, value in root.value:
        if key.value == "hole":
            if root.flow_style or text[_line_start(text, key) : key.start_mark.index].strip(" "):
                inline = yaml_inline(fields)
                yield value.start_mark.index, _end(text, value, block=False), inline
            else:
                indent = " " * key.start_mark.column
                block = "\n".join(yaml_lines(fields, indent + "  "))
                begin, end = key.start_mark.index, _end(text, value, block=True)
                # What is written behind `hole:`, a comment, stays.
                own_line = text[begin : text.find("\n", begin)].rstrip()
                if value.start_mark.line == key.start_mark.line:
                    own_line = "hole:"
                yield begin, end, f"{own_line}\n{block}"
        elif key.value == "cuts" and cuts is not None:
            block_style = not root.flow_style
            yield (
                value.start_mark.index,
                _end(text, value, block_style),
                yaml_inline(cuts),
            )


def _line_start(text: str, node: yaml.Node) -> int:
    at: int = node.start_mark.index - node.start_mark.column
    return at


def _end(text: str, node: yaml.Node, block: bool) -> int:
    """Where the text of a value ends: in a block, with a comment behind it on its line."""
    last = node
    while isinstance(last, yaml.CollectionNode) and not last.flow_style and last.value:
        last = last.value[-1]
        if isinstance(last, tuple):
            last = last[1]
    end: int = last.end_mark.index
    end = node.start_mark.index + len(text[node.start_mark.index : end].rstrip())
    if block:
        newline = text.find("\n", end)
        end = len(text) if newline < 0 else newline
        end -= text[end - 1] == "\r"
    return end
