"""The deck edition: for a skipper, read wet and at arm's length. One big plan."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import islice, takewhile
from typing import TypeVar

from cards.job import Plan
from cards.picture.pen import scale_for
from cards.picture.shapes import Picture
from cards.picture.web import cuts_shown, found_shapes, window_round
from cards.sheet import say
from cards.sheet.blocks import Block, Columns, Gap, Table
from cards.sheet.frame import Room
from cards.sheet.loft import (
    COUNTED,
    GAPS,
    beside,
    ends_at,
    found_keys,
    legends,
    overview_blocks,
    plain,
    row_key,
    text_column,
    tile_around,
    tile_page,
    web_part,
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
from cards.sheet.tiles import Tile
from cards.sheet.web_blocks import (
    fits_whole,
    fitting_scale,
    legend,
    tile_scale,
    tiles_fit,
    tiles_for,
    web_drawing,
)
from cards.units import spans

SETTLED = 6  # so often at most pages are counted again with their own numbers
FACTS_LARGER = 8  # tenths by which the facts are larger than plain text where there is room


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
        hole too large for that has an overview first and then its tiles. Of a patch there follow
        the patch in its new web and the seam, knot by knot.
    """
    if not plan.patch:
        return make_pages(plan, look, _found_part(plan, look))

    def with_pages(on: PagesOn) -> tuple[list[list[Block]], PagesOn]:
        parts = _found_part(plan, look, on)
        first = 1 + count_pages(plan, look, parts, first=True)
        placed: dict[str, tuple[int, int]] = {}
        for kind in on:
            own, _ = web_part(plan, look, kind, first)
            last = first + count_pages(plan, look, own) - 1
            placed[kind], first = (first, last), last + 1
            parts += own
        return parts, placed

    counted = (COUNTED, COUNTED + 1)
    guess: PagesOn = {"patch": counted, "sewing": counted}
    return make_pages(plan, look, _settled(guess, with_pages)[0])


PagesOn = Mapping[str, tuple[int, int]]  # first and last page of the patch and of its seam
At = TypeVar("At")
Made = TypeVar("Made")


def _settled(at: At, made: Callable[[At], tuple[Made, At]]) -> tuple[Made, At]:
    """What is made with the pages that are named in it, and these pages.

    Page numbers of fewer digits may take a line less, and with it a page: it is made again with
    the pages that it came to, until they are those it names.
    """
    for _ in range(SETTLED):
        own, came_to = made(at)
        if came_to == at:
            break
        at = came_to
    return own, at


def _found_part(plan: Plan, look: Look, on: PagesOn | None = None) -> list[list[Block]]:
    """The pages of the hole with its cuts, and of what it takes."""
    words = look.words
    room = room_of(plan, look)
    scale = scale_for(_largest(plan), look.sizes.digits)
    scale = (scale.roomier() if plan.patch else scale).for_cuts(len(plan.cuts))
    facts = _facts(plan, look, 1.0)
    sides = not plan.patch  # a seam has no rows
    keys = [*found_keys(plan, look), *([row_key(plan, look)] if sides else [])]
    head: list[Block] = [*_steps(plan, look, on or {}), Gap(2.0)]
    notes = say.notes(plan, words)
    head += [*(plain(note, look) for note in notes), *([Gap(1.5)] if notes else [])]
    narrow = common_room(plan, look)
    tail = legend(keys, look, narrow.width)
    stages = _stages(plan, look)
    rest: list[Block] = [Gap(2.0), tail, Gap(2.0), *stages, facts]
    if not fits_whole(plan, scale, room, height_of([*head, *rest], room.width) + GAPS, sides):
        rest = [Gap(2.0), tail, Gap(2.0), *stages, _facts_in_two(plan, look)]
    if room.width > room.height:
        text = [*head, legend(keys, look, text_column(narrow)), Gap(2.0), *stages, facts]
        both = beside(plan, look, scale, found_shapes, text, sides)
        if both:
            return [both]
    above = height_of(head, room.width) + GAPS
    for more in (height_of(rest, room.width), tail.height, 0.0):
        if fits_whole(plan, scale, room, above + more, sides):
            scale = fitting_scale(plan, scale, room, above + more, sides)
            whole = window_round(plan.trim.trimmed)
            if more >= height_of(rest, room.width) and facts in rest:
                facts = _larger_facts(plan, look, room, whole.rows * scale.dy + above + more)
                rest = [Gap(2.0), tail, Gap(2.0), *stages, facts]
            drawing = web_drawing(plan, scale, whole, found_shapes, sides)
            return [[*head, drawing, *rest]]
    if fits_whole(plan, scale, room, 0.0, sides):
        drawing = web_drawing(plan, scale, window_round(plan.trim.trimmed), found_shapes, sides)
        said = plain(words.say("big.next_page"), look)
        return [[*head[:1], said, *head[1:], *rest], [drawing]]
    lines, signs = legends(keys, look, narrow)
    above = tile_around(plan, look, "found", room.width, signs)
    if not tiles_fit(plan, scale, room, above, sides):
        scale = scale_for(_largest(plan), look.sizes.digits).wider().for_cuts(len(plan.cuts))
    parts = tiles_for(plan, look, scale, room, above, sides)
    scale = tile_scale(plan, scale, room, above, sides, parts)
    parts = with_work(plan, parts)
    check_pages(plan, look, 1 + len(parts))

    def overview_of(pages: list[int], facts: Block) -> list[Block]:
        least: list[Block] = [Gap(2.0), *_stages(plan, look, parts, pages), facts]
        told = [*head, *ends_at(plan, look, "found", parts, pages)]
        if plan.cuts and not say.staged(plan):
            on = _cut_pages(plan, [cut.n for cut in plan.cuts], parts, pages)
            turned = words.say("deck.cut_pages", pages=", ".join(map(str, on)), several=len(on) > 1)
            told.append(plain(turned, look))
        hole = plan.trim.found
        return [*overview_blocks(plan, look, parts, pages, told, lines, least, hole), *least]

    counted = [COUNTED] * len(parts)
    used = height_of(overview_of(counted, facts), room.width)
    facts = _larger_facts(plan, look, room, used)

    def with_first(first: int) -> tuple[list[Block], int]:
        own = overview_of(list(range(first, first + len(parts))), facts)
        return own, 1 + count_pages(plan, look, [own], first=True)

    front, first = _settled(COUNTED, with_first)
    pages = list(range(first, first + len(parts)))
    details = [
        tile_page(plan, look, "found", tile, parts, pages, scale, found_shapes, sides, signs)
        for tile in parts
    ]
    return [front, *details]


def _largest(plan: Plan) -> int:
    """The largest number in the drawing."""
    return max(len(plan.cuts), len(plan.trim.trimmed.rows))


def _steps(plan: Plan, look: Look, on: PagesOn) -> list[Block]:
    """What to do, in a few words."""
    words = look.words
    if not plan.patch:
        key = (
            "deck.steps_staged"
            if say.staged(plan)
            else "deck.steps"
            if plan.cuts
            else "deck.steps_none"
        )
        said = [
            words.say(key, cuts=len(plan.cuts)),
            words.say("found.stubs"),
            *([words.say("deck.next_line")] if say.staged(plan) else []),
            *(say.twines_in_turn(plan, words) or [words.say("deck.ring")]),
            *say.strands(plan, words),
            say.tails(plan, words, brief=True),
        ]
        return [plain(" ".join(said), look)]
    order = ", ".join(words.say(f"seam.{side.side}") for side in plan.seam_sides)
    size = {"across": plan.patch.across, "down": plan.patch.down}
    pages = {
        kind: words.say("deck.pages", pages=spans(range(first, last + 1)), several=last > first)
        for kind, (first, last) in on.items()
    }
    told = [
        f"{words.say('deck.patch_cuts', cuts=len(plan.cuts))} {words.say('found.stubs')}",
        f"{words.say('deck.patch_web', **size)} {pages['patch']}",
        " ".join(
            [
                words.say("deck.patch_seam", order=order),
                pages["sewing"],
                *say.strands(plan, words),
                say.tails(plan, words, brief=True),
            ]
        ),
    ]
    return [plain(said, look) for said in told]


def _stages(
    plan: Plan, look: Look, parts: Sequence[Tile] = (), pages: Sequence[int] = ()
) -> list[Block]:
    """Which rows are sewn after the cuts of which stage, where there are several.

    With the pages that show its cuts, in their order.
    """
    if not say.staged(plan):
        return []
    words, stages = look.words, plan.stages
    head = [words.say("deck.stage_cuts"), words.say("deck.stage_sew")]
    rows = [
        [
            spans(stage.cuts) or "–",
            say.rows_of_stage(plan, stage, words, "deck.stage_rows"),
        ]
        for stage in stages
    ]
    if parts:
        head.append(words.say("deck.stage_pages"))
        for stage, row in zip(stages, rows):
            on = _cut_pages(plan, stage.cuts, parts, pages)
            row.append(", ".join(map(str, on)) or "–")
    shares = (2, 3, 3)[: len(head)]
    table = Table(tuple(head), tuple(map(tuple, rows)), shares, look.sizes.plain, whole=True)
    return [table, Gap(2.0)]


def _cut_pages(
    plan: Plan, cuts: Sequence[int], parts: Sequence[Tile], pages: Sequence[int]
) -> list[int]:
    """The pages to turn to for some cuts in their order, each for as many of them as it shows."""
    shown = [{cut.n for cut in cuts_shown(plan, tile.window)} for tile in parts]
    on: list[int] = []
    done = 0
    while done < len(cuts):
        # Each cut is on some tile, so that each turn gets further.
        reach = [
            sum(1 for _ in takewhile(own.__contains__, islice(cuts, done, None))) for own in shown
        ]
        on.append(pages[reach.index(max(reach))])
        done += max(reach)
    return on


def _facts(plan: Plan, look: Look, larger: float) -> Table:
    """How many cuts and knots, how much twine, how long."""
    told = say.materials(plan, look.words, brief=True, listed=not look.paper.brief)
    return Table((), told, (2, 5), look.sizes.plain * larger, whole=True)


def _facts_in_two(plan: Plan, look: Look) -> Columns:
    """The facts in two columns, where there is no room for them one below the other."""
    facts = _facts(plan, look, 1.0)
    half = (len(facts.rows) + 1) // 2
    left = replace(facts, rows=facts.rows[:half], shares=(1, 1))
    right = replace(facts, rows=facts.rows[half:], shares=(3, 5))
    return Columns(((left,), (right,)), shares=(2, 3))


def _larger_facts(plan: Plan, look: Look, room: Room, used: float) -> Table:
    """The facts as large as the rest of the page lets them be: they are read from far off."""
    own = _facts(plan, look, 1.0).place(room.width, 1e6).height
    for step in range(FACTS_LARGER, 0, -1):
        facts = _facts(plan, look, 1 + step / 10)
        if facts.place(room.width, 1e6).height - own <= room.height - used - 1.0:
            return facts
    return _facts(plan, look, 1.0)
