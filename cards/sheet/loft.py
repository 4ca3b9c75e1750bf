"""The loft edition: for an apprentice at the bench. Cuts one by one, knots one by one."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

from cards.job import Plan
from cards.picture.pen import Scale, scale_for
from cards.picture.shapes import Picture
from cards.picture.web import Window, found_shapes, sewing_shapes, window_round
from cards.sheet import say
from cards.sheet.blocks import Block, Columns, Drawing, Gap, Paragraph, Table
from cards.sheet.frame import Room
from cards.sheet.pages import (
    Look,
    check_pages,
    common_room,
    count_pages,
    height_of,
    make_pages,
    room_of,
)
from cards.sheet.tiles import Tile, overview
from cards.sheet.web_blocks import (
    Draw,
    Key,
    fits_whole,
    fitting_scale,
    legend,
    tiles_for,
    web_drawing,
)

GAPS = 5.0  # mm of gaps round a drawing
LISTED_TWICE = 4  # from so many lines on a list of cuts stands in two columns
LEAST_OVERVIEW = 24.0  # mm of height in which an overview can be read
TEXT_COLUMN = 62.0  # least width of the text beside a drawing, in mm


def loft_pages(plan: Plan, look: Look) -> list[Picture]:
    """Set the loft edition of a plan.

    Parameters
    ----------
    plan
        The plan of a mend.
    look
        Paper, sizes and words.

    Returns
    -------
    list of Picture
        The hole as found with its cuts and what each does; the sewing with its rows; what
        is needed; check, safety notes and log.
    """
    found = _web_part(plan, look, "found", 1)
    sewing = _web_part(plan, look, "sewing", 1 + count_pages(plan, look, found, first=True))
    # What is needed, the check and the log follow the last table where there is room.
    *before, last = sewing
    return make_pages(plan, look, [*found, *before, [*last, Gap(4.0), *_closing(plan, look)]])


def heading(text: str, look: Look, keep: float = 15.0) -> Paragraph:
    """A heading that keeps what follows with it."""
    return Paragraph(text, look.sizes.heading, bold=True, keep=keep, role="heading")


def plain(text: str, look: Look, mark: str = "") -> Paragraph:
    """A plain paragraph, or a step with its mark."""
    indent = look.sizes.plain * 1.6 if mark else 0.0
    return Paragraph(text, look.sizes.plain, mark=mark, indent=indent)


def _web_part(plan: Plan, look: Look, kind: str, first_page: int) -> list[list[Block]]:
    """The pages of one drawing: alone if it fits on a page, else an overview and its tiles."""
    room = room_of(plan, look)
    sides = kind == "sewing"
    largest = plan.sewing.knots if sides else len(plan.cuts)
    scale = scale_for(largest, look.sizes.digits)
    draw: Draw = sewing_shapes if sides else found_shapes
    keys = _sewing_keys(look) if sides else found_keys(plan, look)
    head: list[Block] = [
        heading(look.words.say(f"{kind}.title"), look),
        plain(_intro(plan, look, kind), look),
        Gap(1.5),
    ]
    narrow = common_room(plan, look)
    tail = legend(keys, look, narrow.width)
    above = height_of(head, room.width) + GAPS
    table = _sewing_table(plan, look) if sides else _cut_table(plan, look)
    if room.width >= 2 * TEXT_COLUMN and room.width > room.height:
        text: list[Block] = [*head, legend(keys, look, text_column(narrow))]
        text += table if sides else _cut_table(plan, look, narrow=True)
        both = beside(plan, look, scale, draw, text, sides)
        if both:
            return [both]
    for more in (tail.height + height_of(table, room.width) + 2.0, tail.height, 0.0):
        if fits_whole(plan, scale, room, above + more, sides):
            scale = fitting_scale(plan, scale, room, above + more, sides)
            drawing = web_drawing(plan, scale, window_round(plan.trim.trimmed), draw, sides)
            return [[*head, drawing, Gap(1.5), tail, Gap(2.0), *table]]
    if fits_whole(plan, scale, room, 0.0, sides):
        drawing = web_drawing(plan, scale, window_round(plan.trim.trimmed), draw, sides)
        return [[*head, tail], [drawing, Gap(2.0), *table]]
    parts = tiles_for(plan, scale, room, tile_above(look, room.width), sides)
    parts = with_twine(plan, parts) if sides else with_work(plan, parts)
    # What is cut is sewn too, so that the sewing takes as many pages again.
    check_pages(plan, look, first_page + len(parts) * (1 if sides else 2))
    tables = _band_tables(plan, look, parts) if sides else {parts[-1]: table}
    front = overview_blocks(plan, look, parts, [888] * len(parts), head, tail)
    page = first_page + count_pages(plan, look, [front], first=first_page == 1)
    pages: list[int] = []
    for tile in parts:
        pages.append(page)
        page += 1 + (count_pages(plan, look, [tables[tile]]) if tile in tables else 0)
    front = overview_blocks(plan, look, parts, pages, head, tail)
    details: list[list[Block]] = [front]
    for tile in parts:
        details.append(tile_page(plan, look, kind, tile, parts, pages, scale, draw, sides))
        if tile in tables:
            details.append(tables[tile])
    return details


BESIDE_SHARE = 0.4  # of the room, for the text beside a drawing
BESIDE_GAP = 5.0  # mm between them


def text_column(room: Room) -> float:
    """How wide the text beside a drawing is."""
    return (room.width - BESIDE_GAP) * BESIDE_SHARE


def beside(
    plan: Plan, look: Look, scale: Scale, draw: Draw, text: list[Block], sides: bool
) -> list[Block] | None:
    """A drawing with its text at its right, where both fit on one page."""
    room = common_room(plan, look)
    part = Room(0, 0, room.width - BESIDE_GAP - text_column(room), room.height)
    if not fits_whole(plan, scale, part, 1.0, sides):
        return None
    scale = fitting_scale(plan, scale, part, 1.0, sides)
    drawing = web_drawing(plan, scale, window_round(plan.trim.trimmed), draw, sides)
    both = Columns(((drawing,), tuple(text)), BESIDE_GAP, shares=(1 - BESIDE_SHARE, BESIDE_SHARE))
    return None if both.place(room.width, room.height).rest else [both]


def overview_blocks(
    plan: Plan, look: Look, parts: list[Tile], pages: list[int], head: list[Block], tail: Drawing
) -> list[Block]:
    """The pages that show all tiles small, and what the signs mean."""

    def intro(bands: bool) -> list[Block]:
        said = look.words.say("big.overview_intro", tiles=len(parts), bands=bands)
        return [*head, plain(said, look), Gap(1.5)]

    room, width = room_of(plan, look), common_room(plan, look).width
    words_high = max(height_of(intro(bands), width) for bands in (False, True))
    high = room.height - words_high - GAPS - tail.height
    if high < LEAST_OVERVIEW:
        high = max(high + tail.height, room.height * 0.6)
    hole = plan.trim.trimmed
    sketch = overview(hole, window_round(hole), parts, pages, width, high, look.sizes.small)
    return [
        *intro(sketch.bands),
        Drawing(sketch.shapes, sketch.width, sketch.height),
        Gap(1.5),
        tail,
    ]


def tile_above(look: Look, width: float) -> float:
    """How high the words above a tile are at the most."""
    places = ", ".join(
        look.words.say(f"big.{key}", page=888) for key in ("left", "right", "up", "down")
    )
    said = look.words.say("big.beside", neighbours=places)
    return height_of(
        [_tile_title(_most_lines(look), look), _tile_places(said, look), Gap(1.5)], width
    )


def _most_lines(look: Look) -> str:
    """As many lines as the title of a tile may have, empty."""
    return "" if look.paper.brief else "\n"


def _tile_title(text: str, look: Look) -> Paragraph:
    return Paragraph(text, look.sizes.plain, bold=True)


def _tile_places(text: str, look: Look) -> Paragraph:
    return Paragraph(text, look.sizes.label, role="label")


def _band_tables(plan: Plan, look: Look, parts: list[Tile]) -> dict[Tile, list[Block]]:
    """The rows of twine that a band of tiles is the first to show, after its last tile."""
    tables: dict[Tile, list[Block]] = {}
    shown = plan.trim.trimmed.top
    for _, band in groupby(parts, lambda tile: tile.down):
        last = list(band)[-1]
        rows = range(shown, last.window.bottom)
        shown = max(shown, last.window.bottom)
        if say.row_table(plan, look.words, rows):
            tables[last] = _sewing_table(plan, look, rows)
    return tables


def _intro(plan: Plan, look: Look, kind: str) -> str:
    if kind == "sewing":
        return look.words.say("sewing.intro")
    stages = 1 + max((cut.stage for cut in plan.cuts), default=0)
    said = [look.words.say("found.intro", cuts=len(plan.cuts), stages=stages)]
    return " ".join([*said, *say.notes(plan, look.words)])


def with_work(plan: Plan, parts: list[Tile]) -> list[Tile]:
    """The tiles on which there is a cut to make, a start or an end."""
    ends = [knot.at for twine in plan.sewing.twines for knot in (twine.knots[0], twine.knots[-1])]
    return [
        tile
        for tile in parts
        if any(tile.window.holds_bar(cut.bar) for cut in plan.cuts)
        or any(tile.window.holds(at) for at in ends)
    ]


def with_twine(plan: Plan, parts: list[Tile]) -> list[Tile]:
    """The tiles that show a knot to tie."""
    return [tile for tile in parts if _knots_shown(plan, tile.window)]


def tile_page(
    plan: Plan,
    look: Look,
    kind: str,
    tile: Tile,
    parts: list[Tile],
    pages: list[int],
    scale: Scale,
    draw: Draw,
    sides: bool,
) -> list[Block]:
    """A tile of a large drawing, with what it shows and which pages are next to it."""
    words, window = look.words, tile.window
    places = []
    by_place = {(other.across, other.down): page for other, page in zip(parts, pages)}
    for key, dx, dy in (("left", -1, 0), ("right", 1, 0), ("up", 0, -1), ("down", 0, 1)):
        page = by_place.get((tile.across + dx, tile.down + dy))
        if page:
            places.append(words.say(f"big.{key}", page=page))
    said = words.say("big.beside", neighbours=", ".join(places) or words.say("big.none"))
    width = room_of(plan, look).width
    titles = [_tile_title(_shown(plan, look, kind, window, most), look) for most in (4, 3, 2, 1)]
    most_high = height_of([_tile_title(_most_lines(look), look)], width)
    return [
        next((title for title in titles if height_of([title], width) <= most_high), titles[-1]),
        _tile_places(said, look),
        Gap(1.0),
        web_drawing(plan, scale, window, draw, sides),
    ]


def _shown(plan: Plan, look: Look, kind: str, window: Window, most: int) -> str:
    """Which rows, and which knots or cuts, a tile shows."""
    words, trimmed = look.words, plan.trim.trimmed
    first = max(window.top, trimmed.top) - trimmed.top + 1
    last = min(window.bottom, trimmed.bottom) - trimmed.top
    if kind == "bare":
        return words.say("big.tile_bare", first_row=first, last_row=last)
    if kind == "sewing":
        numbers = _spans(_knots_shown(plan, window), most) or words.say("big.none")
        return words.say("big.tile", first_row=first, last_row=last, knots=numbers)
    cuts = [cut.n for cut in plan.cuts if window.holds_bar(cut.bar)]
    numbers = _spans(cuts, most) or words.say("big.none")
    return words.say("big.tile_cuts", first_row=first, last_row=last, cuts=numbers)


def _knots_shown(plan: Plan, window: Window) -> list[int]:
    return [
        knot.n
        for twine in plan.sewing.twines
        for row in twine.rows
        if window.top - 1 <= row.row <= window.bottom
        for knot in twine.knots_between(row, window.left, window.right)
        if window.holds(knot.at)
    ]


def _spans(numbers: list[int], most: int = 4) -> str:
    """Numbers as spans, ``1–4, 9``; the whole span where there would be too many."""
    spans: list[list[int]] = []
    for n in sorted(numbers):
        if spans and n <= spans[-1][1] + 1:
            spans[-1][1] = n
        else:
            spans.append([n, n])
    if len(spans) > most:
        spans = [[spans[0][0], spans[-1][1]]]
    return ", ".join(str(a) if a == b else f"{a}–{b}" for a, b in spans)


def found_keys(plan: Plan, look: Look) -> list[Key]:
    say_ = look.words.say
    keys = [Key("web", say_("found.legend_whole")), Key("stub", say_("found.legend_broken"))]
    if plan.cuts:
        keys.append(Key("cut", say_("found.legend_cut")))
    return [
        *keys,
        Key("start:A", say_("found.legend_start")),
        Key("end:A", say_("found.legend_end")),
    ]


def _sewing_keys(look: Look) -> list[Key]:
    say_ = look.words.say
    return [
        Key("start:1", say_("terms.start")),
        Key("pickup above:2", say_("terms.pickup_above")),
        Key("pickup below:3", say_("terms.pickup_below")),
        Key("sider on the left:4", say_("terms.sider")),
        Key("end:9", say_("terms.end")),
        Key("twine", say_("terms.twine")),
        Key("web", say_("terms.web")),
    ]


def _cut_table(plan: Plan, look: Look, *, narrow: bool = False) -> list[Block]:
    """What each cut does: neighbours that do the same are told together."""
    if not plan.cuts:
        return []
    words = look.words
    stages = 1 + max(cut.stage for cut in plan.cuts)
    rows: list[tuple[str, str]] = []
    for (_twine, stage), cuts in groupby(plan.cuts, lambda cut: (cut.twine, cut.stage)):
        if stages > 1:
            rows.append((words.say("found.list_title_stage", stage=stage + 1), ""))
        for does, same in groupby(cuts, lambda cut: cut.does):
            numbers = [cut.n for cut in same]
            rows.append((_spans(numbers), words.say(f"does.{does}")))
    title = words.say("found.list_title")
    wide = not narrow and room_of(plan, look).width > 2 * TEXT_COLUMN
    if not (wide and LISTED_TWICE <= len(rows) <= 8 * LISTED_TWICE):
        return [heading(title, look), Table((), tuple(rows), (1.3, 6), look.sizes.plain)]
    half = (len(rows) + 1) // 2
    halves = [
        Table((), tuple(part), (1, 4), look.sizes.plain) for part in (rows[:half], rows[half:])
    ]
    beside = Columns(tuple((part,) for part in halves))
    keep = height_of([beside], room_of(plan, look).width)
    return [heading(title, look, keep=keep), beside]


TABLE_SHARES = {
    "row": 1.1, "way": 1.1, "knots": 1.7, "stitches": 5.2, "so_far": 1.6, "refill": 1.7
}  # fmt: skip


def _sewing_table(plan: Plan, look: Look, rows: range | None = None) -> list[Block]:
    """The rows of twine; a column that says nothing in the whole plan is left out."""
    words = look.words
    told = {"so_far": plan.reckoning.length is not None, "refill": bool(plan.reckoning.refills)}
    names = [name for name in TABLE_SHARES if told.get(name, True)]
    kept = [number for number, name in enumerate(TABLE_SHARES) if name in names]
    return [
        Gap(1.0),
        Table(
            tuple(words.say(f"sewing.{name}") for name in names),
            tuple(
                tuple(row[number] for number in kept) for row in say.row_table(plan, words, rows)
            ),
            tuple(TABLE_SHARES[name] for name in names),
            look.sizes.plain,
        ),
    ]


def _closing(plan: Plan, look: Look) -> list[Block]:
    words = look.words
    blocks: list[Block] = [
        heading(words.say("materials.title"), look),
        Table((), say.materials(plan, words), (2, 5), look.sizes.plain),
        Gap(3.0),
        heading(words.say("check.title"), look),
    ]
    figures = {"knots": plan.sewing.knots, "mesh": say.mesh_size(plan, words)}
    for number, key in enumerate(words.group("check"), 0):
        if number:
            blocks.append(plain(words.say(key, **figures), look, mark=f"{number}"))
    blocks += [Gap(3.0), heading(words.say("safety.title"), look)]
    blocks += [
        replace(plain(words.say(key), look), whole=True)
        for key in words.group("safety")
        if key not in ("safety.title", "safety.strip")
    ]
    names = [words.say(key) for key in words.group("log") if key != "log.title"]
    half = (len(names) + 1) // 2
    tables = [
        (Table((), tuple((name, "") for name in part), (1, 1.2), look.sizes.plain, row_height=7.0),)
        for part in (names[:half], names[half:])
    ]
    log = Columns(tuple(tables))
    keep = height_of([log], common_room(plan, look).width)
    return [*blocks, Gap(3.0), heading(words.say("log.title"), look, keep), log]
