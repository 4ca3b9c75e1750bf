"""The deck edition: for a skipper, read wet and at arm's length. One big plan."""

from __future__ import annotations

from cards.job import Plan
from cards.picture.pen import scale_for
from cards.picture.shapes import Picture
from cards.picture.web import found_shapes, window_round
from cards.sheet import say
from cards.sheet.blocks import Block, Gap, Table
from cards.sheet.loft import (
    GAPS,
    beside,
    found_keys,
    overview_blocks,
    plain,
    text_column,
    tile_above,
    tile_page,
    with_work,
)
from cards.sheet.pages import (
    Look,
    check_pages,
    common_room,
    count_pages,
    height_of,
    make_pages,
    room_of,
)
from cards.sheet.web_blocks import fits_whole, fitting_scale, legend, tiles_for, web_drawing


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
    keys = found_keys(plan, look)
    key = "deck.steps" if plan.cuts else "deck.steps_none"
    head: list[Block] = [plain(words.say(key, cuts=len(plan.cuts)), look), Gap(2.0)]
    head += [plain(note, look) for note in say.notes(plan, words)]
    narrow = common_room(plan, look)
    tail = legend(keys, look, narrow.width)
    rest: list[Block] = [Gap(2.0), tail, Gap(2.0), facts]
    if room.width > room.height:
        text = [*head, legend(keys, look, text_column(narrow)), Gap(2.0), facts]
        both = beside(plan, look, scale, found_shapes, text, True)
        if both:
            return make_pages(plan, look, [both])
    above = height_of(head, room.width) + GAPS
    for more in (height_of(rest, room.width), tail.height, 0.0):
        if fits_whole(plan, scale, room, above + more, True):
            scale = fitting_scale(plan, scale, room, above + more, True)
            whole = window_round(plan.trim.trimmed)
            drawing = web_drawing(plan, scale, whole, found_shapes, True)
            return make_pages(plan, look, [[*head, drawing, *rest]])
    if fits_whole(plan, scale, room, 0.0, True):
        drawing = web_drawing(plan, scale, window_round(plan.trim.trimmed), found_shapes, True)
        return make_pages(plan, look, [[*head, *rest], [drawing]])
    parts = tiles_for(plan, scale, room, tile_above(look, room.width), True)
    parts = with_work(plan, parts)
    check_pages(plan, look, 1 + len(parts))
    front = overview_blocks(plan, look, parts, [888] * len(parts), head, tail)
    first = 1 + count_pages(plan, look, [[*front, Gap(2.0), facts]], first=True)
    pages = list(range(first, first + len(parts)))
    front = overview_blocks(plan, look, parts, pages, head, tail)
    details = [
        tile_page(plan, look, "found", tile, parts, pages, scale, found_shapes, True)
        for tile in parts
    ]
    return make_pages(plan, look, [[*front, Gap(2.0), facts], *details])
