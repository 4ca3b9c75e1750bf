"""The class edition: a worksheet to solve with a pencil, and the same page filled in as its key."""

from __future__ import annotations

from cards.job import Plan
from cards.picture import pen
from cards.picture.pen import scale_for
from cards.picture.shapes import Line, Picture, Shape, Text
from cards.picture.type import CAP_HEIGHT, text_width
from cards.picture.web import bare_shapes, found_shapes, sewing_shapes, window_round
from cards.sheet import say
from cards.sheet.blocks import Block, Columns, Drawing, Gap, Paragraph, Table
from cards.sheet.loft import heading, plain, tile_above, tile_page
from cards.sheet.pages import (
    Look,
    check_pages,
    common_room,
    count_pages,
    height_of,
    make_pages,
    room_of,
)
from cards.sheet.web_blocks import Draw, tile_scale, tiles_for, web_drawing

BESIDE = 6.0  # mm between two drawings side by side
TASKS_ROOM = 92.0  # mm on the page for everything but the drawings
PENCIL = 8.0  # mm of height to write in


def worksheet_pages(plan: Plan, look: Look) -> list[Picture]:
    """Set the worksheet of a plan: the hole as found twice over, and blanks.

    Parameters
    ----------
    plan
        The plan of a mend.
    look
        Paper, sizes and words.

    Returns
    -------
    list of Picture
        One page where the hole fits; no answer is on it.
    """
    return _pages(plan, look, filled=False)


def key_pages(plan: Plan, look: Look) -> list[Picture]:
    """Set the answer key of a plan: the worksheet filled in."""
    return _pages(plan, look, filled=True)


def _pages(plan: Plan, look: Look, *, filled: bool) -> list[Picture]:
    words, twines = look.words, len(plan.sewing.twines)
    title = words.say("class.key_title" if filled else "class.title")
    head: list[Block] = [heading(title, look), name_line(look, common_room(plan, look).width)]
    head += [plain(note, look) for note in say.notes(plan, words)[:1] if plan.spec.note]
    tasks: list[tuple[str, Draw]] = [
        (
            words.say("class.task_trim", twines=twines, patch=bool(plan.patch)),
            found_shapes if filled else bare_shapes,
        ),
        (words.say("class.task_sew"), sewing_shapes if filled else bare_shapes),
    ]
    tail: list[Block] = [
        Gap(2.0),
        plain(words.say("class.task_count"), look),
        *given(plan, look),
        Table((), _answers(plan, look, filled), (3, 2), look.sizes.plain, row_height=PENCIL),
    ]
    if filled:
        right_too = "class.right_too_patch" if plan.patch else "class.right_too"
        figures = {"cuts": len(plan.cuts), "bars": plan.sewing.bars, "twines": twines}
        tail.append(plain(words.say(right_too, **figures), look))
    return make_pages(plan, look, _arranged(plan, look, head, tasks, tail))


def _arranged(
    plan: Plan,
    look: Look,
    head: list[Block],
    tasks: list[tuple[str, Draw]],
    tail: list[Block],
) -> list[list[Block]]:
    """Put the two drawings side by side, or one above the other, or on a page each."""
    room = room_of(plan, look)
    window = window_round(plan.trim.trimmed)
    least = scale_for(max(plan.sewing.knots, len(plan.cuts)), look.sizes.digits)
    if plan.patch:
        least = least.roomier()
    wide, high = window.columns * least.dx, window.rows * least.dy
    half = (room.width - BESIDE) / 2
    if wide <= half and high <= room.height - TASKS_ROOM:
        growth = min(half / wide, (room.height - TASKS_ROOM) / high, 1.7)
        scale = least.grown(growth)
        texts = tuple((Paragraph(text, look.sizes.plain),) for text, _ in tasks)
        drawings = tuple((web_drawing(plan, scale, window, draw, False),) for _, draw in tasks)
        return [[*head, Columns(texts, BESIDE), Gap(1.5), Columns(drawings, BESIDE), *tail]]
    pages: list[list[Block]] = []
    for number, (text, draw) in enumerate(tasks):
        kind = "bare" if draw is bare_shapes else "sewing" if number else "found"
        own: list[Block] = [*head] if number == 0 else []
        own += [Paragraph(text, look.sizes.plain), Gap(1.5)]
        limit = room.height - height_of(own, room.width)
        if wide <= room.width and high <= limit:
            below = height_of(tail, room.width) if number else 0.0
            limit -= below if high <= limit - below else 0.0  # the last with the table
            growth = min(room.width / wide, limit / high, 1.7)
            own.append(web_drawing(plan, least.grown(growth), window, draw, False))
            pages.append(own)
        else:
            above = tile_above(look, room.width)
            parts = tiles_for(plan, least, room, above, False)
            scale = tile_scale(plan, least, room, above, False, parts)
            check_pages(plan, look, len(tasks) * len(parts), files=2)  # the key comes with it
            before = count_pages(plan, look, [*pages, own], first=True)
            on = [before + 1 + place for place in range(len(parts))]
            pages.append(own)
            pages += [
                tile_page(plan, look, kind, tile, parts, on, scale, draw, False) for tile in parts
            ]
    *before_last, last = pages
    if height_of([*last, *tail], room.width) <= room.height:
        return [*before_last, [*last, *tail]]
    return [*pages, tail]


def name_line(look: Look, width: float) -> Drawing:
    """Two blanks for the pupil: name and class."""
    size = look.sizes.plain
    base = PENCIL - 2.0
    shapes: list[Shape] = []
    for key, begin, end in (
        ("class.name", 0.0, width * 0.62),
        ("class.group", width * 0.66, width),
    ):
        text = look.words.say(key)
        shapes.append(Text(begin, base, text, size, False, "start", "blank"))
        after = begin + text_width(text, size) + 2
        shapes.append(Line(((after, base + 0.6), (end, base + 0.6)), pen.FINE, "blank"))
    return Drawing(shapes, width, PENCIL + size * (1 - CAP_HEIGHT))


def given(plan: Plan, look: Look) -> list[Block]:
    """What the twine is reckoned from, if the spec gives it."""
    diameter = plan.spec.net.twine.diameter
    if plan.reckoning.length is None or diameter is None:
        return []
    said = look.words.say(
        "class.given",
        bar=say.bar_length(plan, look.words),
        diameter=look.words.figure(str(diameter)),
        tail=say.tail(plan, look.words),
    )
    return [plain(said, look)]


def _answers(plan: Plan, look: Look, filled: bool) -> tuple[tuple[str, str], ...]:
    words, sewing = look.words, plan.sewing
    begins = "left" if sewing.twines[0].rows[0].going == "right" else "right"
    answers = [
        ("start", words.say(f"sewing.{begins}")),
        ("cuts", str(len(plan.cuts))),
        ("bars", str(sewing.bars)),
        ("knots", str(sewing.knots)),
        ("meshes", str(plan.meshes)),
    ]
    if plan.reckoning.length is not None:
        answers.append(("twine", say.twine_needed(plan, words)))
    return tuple((words.say(f"class.{key}"), text if filled else "") for key, text in answers)
