"""The deck edition: for a skipper, read wet and at arm's length. One big plan."""

from __future__ import annotations

from cards.job import Plan
from cards.picture.pen import scale_for
from cards.picture.shapes import Picture
from cards.picture.web import found_shapes, window_round
from cards.sheet import say
from cards.sheet.blocks import Block, Drawing, Gap, Paragraph, Table
from cards.sheet.loft import _found_keys, plain, with_work
from cards.sheet.pages import Look, make_pages, room_of
from cards.sheet.tiles import overview
from cards.sheet.web_blocks import fitting_scale, legend, tiles_for, web_drawing


def deck_pages(plan: Plan, look: Look) -> list[Picture]:
    """Set the deck edition of a plan.

    Parameters
    ----------
    plan
        The plan of a mend.
    look
        Paper, sizes and words.

    Returns
    -------
    list of Picture
        One page with a drawing of the cuts, the start, the rows and the end, and what it takes; a
        hole too large for that has an overview first and then its tiles.
    """
    words = look.words
    room = room_of(plan, look)
    scale = scale_for(max(len(plan.cuts), len(plan.trim.trimmed.rows)), look.sizes.digits)
    facts = Table((), say.materials(plan, words), (2, 5), look.sizes.plain)
    keys = legend(_found_keys(plan, look), look, room.width)
    key = "deck.steps" if plan.cuts else "deck.steps_none"
    head: list[Block] = [plain(words.say(key, cuts=len(plan.cuts)), look), Gap(2.0)]
    head += [plain(note, look) for note in say.notes(plan, words)]
    around = sum(block.place(room.width, room.height).height for block in [*head, facts]) + 6
    parts = tiles_for(plan, scale, room, around + keys.height, True)
    tail: list[Block] = [Gap(2.0), keys, Gap(2.0), facts]
    if len(parts) == 1:
        scale = fitting_scale(plan, scale, room, around + keys.height, True) or scale
        drawing = web_drawing(plan, scale, parts[0].window, found_shapes, True)
        return make_pages(plan, look, [[*head, drawing, *tail]])
    parts = with_work(plan, tiles_for(plan, scale, room, 4, True))
    pages = [2 + number for number in range(len(parts))]
    whole = window_round(plan.trim.trimmed)
    high = room.height - around - keys.height - 22
    sketch = overview(plan.trim.trimmed, whole, parts, pages, room.width, high, look.sizes.small)
    intro = Paragraph(words.say("big.overview_intro", tiles=len(parts)), look.sizes.plain)
    front: list[Block] = [
        *head,
        intro,
        Gap(2.0),
        Drawing(sketch.shapes, sketch.width, sketch.height),
    ]
    details: list[list[Block]] = [
        [web_drawing(plan, scale, tile.window, found_shapes, True)] for tile in parts
    ]
    return make_pages(plan, look, [[*front, *tail], *details])
