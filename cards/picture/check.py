"""Draw a trim that was checked: its cuts, the knots that are still wrong, rings, the next cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cards.grid import Bar, Knot
from cards.grid.hole import hole_of_bars
from cards.picture import pen
from cards.picture.pen import scale_for
from cards.picture.shapes import Disc, Line, Picture, Shape, Text, moved
from cards.picture.type import CAP_HEIGHT, wrapped
from cards.picture.web import (
    BORDER,
    Web,
    cut_mark,
    of_bar,
    sign_outline,
    sign_shapes,
    web_shapes,
    window_round,
)
from cards.trim.check import Check
from cards.trim.check_patch import PatchCheck

LEAST_WIDTH = 110.0  # mm of the picture, for its words
WORDS = 9 * 25.4 / 72  # size of the words under the drawing: 9 pt
LEADING = 1.3
DASH = (1.6, 1.2)  # ink and gap of the bars of a ring, mm
NEXT = 0.42  # radius of the ring round the next cut, of half a mesh across


def picture_of_check(check: Check | PatchCheck, title: str, said: Sequence[str]) -> Picture:
    """Draw a check as a picture of its own.

    Parameters
    ----------
    check
        What was found.
    title
        The title of the card.
    said
        The sentences to write under the drawing; they name the knots by their numbers.

    Returns
    -------
    Picture
        In mm. Cuts made have a mark across, wrong knots their number, the bars of a ring and of a
        twine that climbs are dashed, and the bars still to cut for a patch, the next cut has a
        ring round it.
    """
    numbers: dict[Knot, int] = {knot: n for n, knot in enumerate(check.wrong, 1)}
    scale = scale_for(len(numbers), pen.BENCH)
    dashed = list(_dashed(check))
    shown = [*(cut.bar for cut in check.further[:1]), *(bar for bar, _ in dashed)]
    window = window_round(hole_of_bars([*check.missing.bars(), *shown]))
    signs = {knot: sign_outline("knot", len(str(n)), scale.digits) for knot, n in numbers.items()}
    web = Web(window, scale, signs)
    shapes: list[Shape] = web_shapes(web, check.found)
    shapes += [Line(web.ends(bar), pen.TWINE, role, of_bar(bar), dash=DASH) for bar, role in dashed]
    shapes += [cut_mark(web, bar, f"cut {n}") for n, bar in enumerate(check.cuts, 1)]
    for knot, n in numbers.items():
        shapes += sign_shapes("knot", str(n), web.at(*knot), scale.digits, of=f"mark {n}")
    if check.further:
        x, y = web.middle(check.further[0].bar)
        shapes.append(Disc(x, y, scale.dx * NEXT, pen.RING, role="next cut", of="next"))
    width = max(LEAST_WIDTH, window.columns * scale.dx)
    y = window.rows * scale.dy + 3.0
    for sentence in said:
        for line in wrapped(sentence, WORDS, width):
            y += WORDS * LEADING
            shapes.append(Text(0, y, line, WORDS, role="sentence"))
    return Picture(
        width + 2 * BORDER,
        y + WORDS * (1 - CAP_HEIGHT) + 2 * BORDER,
        tuple(moved(shapes, BORDER, BORDER)),
        title=title,
        description=" ".join(said),
    )


def _dashed(check: Check | PatchCheck) -> Iterator[tuple[Bar, str]]:
    """The bars drawn dashed, and what they are."""
    if isinstance(check, PatchCheck):
        yield from ((cut.bar, "to cut") for cut in check.further)
        return
    for way in (*check.rings, *check.climbing):
        yield from ((bar, "ring" if way.ring else "climb") for bar in way.bars)
