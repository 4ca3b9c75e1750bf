"""The class edition: a worksheet to solve with a pencil, and the same page filled in as its key."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from cards.grid import Hole
from cards.job import Plan
from cards.picture import pen
from cards.picture.pen import Scale, scale_for
from cards.picture.shapes import Line, Picture, Shape, Text
from cards.picture.type import CAP_HEIGHT, text_width
from cards.picture.web import Window, bare_shapes, found_shapes, sewing_shapes, window_round
from cards.sheet import say
from cards.sheet.blocks import Block, Columns, Drawing, Gap, Paragraph, Table
from cards.sheet.loft import (
    COUNTED,
    bare_head,
    found_keys,
    heading,
    legends,
    overview_blocks,
    plain,
    sewing_keys,
    tile_around,
    tile_page,
)
from cards.sheet.pages import (
    Look,
    check_pages,
    common_room,
    count_pages,
    height_of,
    make_pages,
)
from cards.sheet.web_blocks import Draw, Key, legend, tile_scale, tiles_for, web_drawing
from cards.units import tenths, twine_unit

BESIDE = 6.0  # mm between two drawings side by side
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
    named = name_line(look, common_room(plan, look).width, filled)
    head: list[Block] = [heading(title, look), named]
    head += [plain(note, look) for note in say.notes(plan, words)[:1] if plan.spec.note]
    tasks: list[tuple[str, Draw]] = [
        (
            words.say("class.task_trim", twines=twines, patch=bool(plan.patch)),
            found_shapes if filled else bare_shapes,
        ),
        (
            words.say(
                "class.task_sew", twines=twines, patch=bool(plan.patch), shared=_shared(plan)
            ),
            partial(sewing_shapes, refills=False) if filled else bare_shapes,
        ),
    ]
    rule = [words.say("class.rule", patch=bool(plan.patch))]
    if not plan.patch:
        rule = [words.say("class.ends", twines=twines), *rule]
    loops = [words.say("class.loops")] if say.hangs_loops(plan) else []
    # The smallest papers have no room for what a teacher tells as well.
    told = [] if look.paper.brief else [[words.say("found.words"), *rule, *loops], rule]
    terms: list[list[Block]] = [[plain(" ".join(own), look), Gap(1.0)] for own in told]
    return make_pages(plan, look, _arranged(plan, look, head, terms, tasks, filled), title)


def _shared(plan: Plan) -> bool:
    """Whether a twine hangs a loop that another one ties."""
    twines = plan.sewing.twines
    return any(not {knot.at for knot in twine.knots}.issuperset(twine.path) for twine in twines)


def _tail(plan: Plan, look: Look, filled: bool) -> list[Block]:
    """What is asked below the drawings; in the key also which other answers are right."""
    words = look.words
    tail: list[Block] = [
        Gap(2.0),
        plain(words.say("class.task_count"), look),
        *given(plan, look),
        Table((), _answers(plan, look, filled), (3, 2), look.sizes.plain, row_height=PENCIL),
    ]
    if filled:
        right_too = "class.right_too_patch" if plan.patch else "class.right_too"
        twines = len(plan.sewing.twines)
        figures = {"cuts": len(plan.cuts), "bars": plan.sewing.bars, "twines": twines}
        tail += [Gap(1.5), plain(words.say(right_too, **figures), look)]
    return tail


def _signs(plan: Plan, look: Look) -> list[Key]:
    """The legend, which a worksheet shares with its key: the signs that pupils draw."""
    say_ = look.words.say
    found = [key for key in found_keys(plan, look) if key.sign in ("web", "stub")]
    cut = Key("cut", say_("class.cut"))
    sewn = {key.sign: key for key in sewing_keys(plan, look) if key.sign != "web"}
    knots = [
        Key("pickup above:", say_("class.new_knot")),
        Key("pickup below:", say_("terms.pickup_below")),
        Key("sider on the left:", say_("terms.sider")),
    ]
    last = [sewn[sign] for sign in ("end:", "twine") if sign in sewn]
    return [*found, cut, sewn["start:1"], *knots, *last]


def _arranged(
    plan: Plan,
    look: Look,
    head: list[Block],
    terms: list[list[Block]],
    tasks: list[tuple[str, Draw]],
    filled: bool,
) -> list[list[Block]]:
    """Put the two drawings side by side, or one above the other, or on a page each.

    Of the terms and rules, the most first, those are told with which a drawing that fits on a page
    with the head still fits. A worksheet and its key are arranged alike.
    """
    room = common_room(plan, look)
    signed = name_line(look, room.width, filled)
    window = window_round(plan.trim.trimmed)
    least = scale_for(max(plan.sewing.knots, len(plan.cuts)), look.sizes.digits)
    least = (least.roomier() if plan.patch else least).for_cuts(len(plan.cuts))
    signs = legend(_signs(plan, look), look, room.width)
    tail, longest = _tail(plan, look, filled), _tail(plan, look, True)
    wide, high = window.columns * least.dx, window.rows * least.dy
    half = (room.width - BESIDE) / 2
    told = max(height_of([Paragraph(text, look.sizes.plain)], half) for text, _ in tasks)
    below = signs.height + 1.5
    told_first = [[*head, *own] for own in [*terms, []]]
    for own_head in told_first:
        left = room.height - height_of(own_head, room.width) - told - below
        left -= height_of(longest, room.width) + 2.0
        if wide > half or high > left:
            continue
        growth = min(half / wide, left / high, 1.7)
        scale = least.grown(growth)
        texts = tuple((Paragraph(text, look.sizes.plain),) for text, _ in tasks)
        drawings = tuple((web_drawing(plan, scale, window, draw, False),) for _, draw in tasks)
        both: list[Block] = [Columns(texts, BESIDE), Gap(1.5), Columns(drawings, BESIDE)]
        return [[*own_head, *both, Gap(1.5), signs, *tail]]
    pages: list[list[Block]] = []
    for number, (text, draw) in enumerate(tasks):
        kind = "sewing" if filled and number else "found" if filled else "bare"
        # Sheets get parted: each drawing has the pupil's name.
        heads = told_first if number == 0 else [[signed]]
        above = [[*own, Paragraph(text, look.sizes.plain), Gap(1.5)] for own in heads]
        limits = [room.height - height_of(own, room.width) - below for own in above]
        own, limit = next((both for both in zip(above, limits) if high <= both[1]), (above[0], 0.0))
        if wide <= room.width and high <= limit:
            under = height_of(longest, room.width) if number else 0.0
            limit -= under if high <= limit - under else 0.0  # the last with the table
            growth = min((room.width - 2 * pen.WEB) / wide, limit / high, 1.7)
            drawing = web_drawing(plan, least.grown(growth), window, draw, False)
            pages.append([*own, drawing, Gap(1.5), signs])
        else:
            before = count_pages(plan, look, pages, first=True)
            own = [*own[:-1], plain(look.words.say("class.shared"), look), own[-1]]
            pages += _tiled(plan, look, kind, least, draw, own, before)
    *before_last, last = pages
    if height_of([*last, *longest], room.width) <= room.height + 1e-6:
        return [*before_last, [*last, *tail]]
    return [*pages, tail if filled else [signed, *tail]]


def _tiled(
    plan: Plan, look: Look, kind: str, least: Scale, draw: Draw, head: list[Block], before: int
) -> list[list[Block]]:
    """A drawing on several pages: an overview of the hole as found, then its tiles.

    Each tile of a worksheet has the pupil's name beside its title, as sheets get parted.
    """
    room = common_room(plan, look)
    keys = _signs(plan, look)
    lines, under = legends(keys, look, room)
    above = tile_around(plan, look, kind, room.width, under)
    if kind == "bare":
        head_of = _named(bare_head(plan, look), look, room.width)
        above = max(above, tile_around(plan, look, kind, room.width, under, head_of))
    parts = tiles_for(plan, look, least, room, above, False)
    scale = tile_scale(plan, least, room, above, False, parts)
    hole = plan.spec.hole
    if not before:  # the twine is drawn where nothing is left, but there is nothing to trim
        parts = [tile for tile in parts if _shows_web(hole, tile.window)]
    check_pages(plan, look, before + 1 + len(parts), files=2)  # the key comes with it
    counted = [COUNTED] * len(parts)
    front = overview_blocks(plan, look, parts, counted, head, lines, hole=hole)
    first = before + 1 + count_pages(plan, look, [front], first=not before)
    pages = list(range(first, first + len(parts)))
    return [
        overview_blocks(plan, look, parts, pages, head, lines, hole=hole),
        *(
            _named(
                tile_page(plan, look, kind, tile, parts, pages, scale, draw, False, under),
                look,
                room.width if kind == "bare" else 0.0,
            )
            for tile in parts
        ),
    ]


LEAST_NAME = 70.0  # mm of width that name and class take at least


def _named(page: list[Block], look: Look, width: float) -> list[Block]:
    """A tile's page with the pupil's name beside its title and neighbours, if it is wide enough."""
    own = (width - BESIDE) * 3 / 5
    if own < LEAST_NAME:
        return page
    title, places, *rest = page
    return [Columns(((title, places), (name_line(look, own),)), BESIDE, shares=(2, 3)), *rest]


def _shows_web(hole: Hole, window: Window) -> bool:
    """Whether anything whole is left of the web in a window."""
    return any(
        not any(left <= window.left and window.right <= right for left, right in hole.row(row))
        for row in range(window.top, window.bottom)
    )


def name_line(look: Look, width: float, filled: bool = False) -> Drawing:
    """Two blanks for the pupil: name and class; on a key, filled in, nothing in their place."""
    size = look.sizes.plain
    base = PENCIL - 2.0
    shapes: list[Shape] = []
    blanks = (("class.name", 0.0, width * 0.62), ("class.group", width * 0.66, width))
    for key, begin, end in () if filled else blanks:
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
        double=plan.spec.net.twine.double,
        twines=len(plan.sewing.twines),
        refills=bool(plan.reckoning.refills),
    )
    return [plain(said, look)]


def _answers(plan: Plan, look: Look, filled: bool) -> tuple[tuple[str, str], ...]:
    words, sewing = look.words, plan.sewing
    start = [("start", words.say(f"sewing.{sewing.twines[0].rows[0].going}"))]
    answers = [
        # Each of several twines has its own; a seam has no rows.
        *(start if len(sewing.twines) == 1 and not plan.patch else []),
        ("cuts", str(len(plan.cuts))),
        ("bars", str(sewing.bars)),
        ("knots", str(sewing.knots)),
        ("meshes", str(plan.meshes)),
    ]
    if plan.reckoning.unjoined is not None:
        twine = tenths(plan.reckoning.unjoined, plan.spec.net.inches)
        answers.append(("twine", words.figure(twine)))
    names = asked(plan, look, [key for key, _ in answers])
    return tuple((name, text if filled else "") for name, (_, text) in zip(names, answers))


def asked(plan: Plan, look: Look, keys: Sequence[str]) -> list[str]:
    """What is asked for in a table of answers, the twine with its unit."""
    unit = twine_unit(plan.spec.net.inches)
    patch = plan.patch is not None
    return [look.words.say(f"class.{key}", unit=unit, patch=patch) for key in keys]
