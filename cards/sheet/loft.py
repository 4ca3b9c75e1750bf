"""The loft edition: for an apprentice at the bench. Cuts one by one, knots one by one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from types import MappingProxyType
from typing import NamedTuple

from cards.grid import Hole, Knot
from cards.job import Plan
from cards.picture.patch import patch_shapes
from cards.picture.pen import Scale, scale_for
from cards.picture.shapes import Picture
from cards.picture.web import (
    Window,
    cuts_marked,
    cuts_shown,
    found_shapes,
    knots_shown,
    sewing_shapes,
    window_round,
)
from cards.sheet import patch_say, say
from cards.sheet.blocks import Block, Columns, Drawing, Gap, Paragraph, Table
from cards.sheet.frame import Room
from cards.sheet.pages import (
    Look,
    check_pages,
    common_room,
    count_pages,
    height_of,
    height_used,
    make_pages,
    room_of,
    texts_of,
)
from cards.sheet.stitch_blocks import BELOW, stitch_blocks, stitches_used
from cards.sheet.tiles import Tile, overview
from cards.sheet.web_blocks import (
    Draw,
    Key,
    fits_whole,
    fitting_scale,
    legend,
    tile_scale,
    tiles_for,
    web_drawing,
)
from cards.trim import Cut
from cards.trim.cuts import falls_with
from cards.units import spans

COUNTED = 888  # stands for the number of a page while pages are only counted
GAPS = 5.0  # mm of gaps round a drawing
LISTED_TWICE = 4  # from so many lines on a list of cuts stands in two columns
LEAST_OVERVIEW = 24.0  # mm of height in which an overview can be read
OWN_PAGE = 0.7  # of the room: from there on the end of a page may part a list
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
        The hole as found with its cuts and what each does; what is needed; the sewing with its
        rows; the stitches; check, safety notes and log.
    """
    # The needles are filled before the first knot.
    parts, _ = web_part(plan, look, "found", 1, [Gap(4.0), *_needs(plan, look)])
    # Behind the tiles the list of the cuts begins a page.
    listed: Mapping[int, int] = {}
    if len(parts) > 2:
        first = 1 + count_pages(plan, look, parts[:-1], first=True)
        listed = _listed_on(plan, look, parts[-1], first)
    on: Mapping[int, int] = {}
    for kind in ("patch", "sewing") if plan.patch else ("sewing",):
        first = 1 + count_pages(plan, look, parts, first=True)
        own, on = web_part(plan, look, kind, first, listed=listed)
        parts += own
    # The stitches, the check and the log follow the last table where there is room.
    *before, last = parts
    used = height_used(plan, look, last)
    after = [Gap(4.0), *_stitches(plan, look, used + 4.0, on), Gap(4.0), *_closing(plan, look)]
    return make_pages(plan, look, [*before, [*last, *after]])


def heading(text: str, look: Look, keep: float = 15.0) -> Paragraph:
    """A heading that keeps what follows with it."""
    return Paragraph(text, look.sizes.heading, bold=True, keep=keep, role="heading", of=text)


def plain(text: str, look: Look, mark: str = "") -> Paragraph:
    """A plain paragraph, or a step with its mark."""
    indent = look.sizes.plain * 1.6 if mark else 0.0
    return Paragraph(text, look.sizes.plain, mark=mark, indent=indent)


class Part(NamedTuple):
    """Pages of one drawing, in parts that each begin on a new page.

    `on` is the page on which the first knot of each stitch is, where the drawing is on tiles.
    """

    parts: list[list[Block]]
    on: Mapping[int, int] = {}


def web_part(
    plan: Plan,
    look: Look,
    kind: str,
    first_page: int,
    after: Sequence[Block] = (),
    listed: Mapping[int, int] = MappingProxyType({}),
) -> Part:
    """Set the pages of one drawing: alone if it fits on a page, else an overview and its tiles.

    Parameters
    ----------
    plan, look
        What is drawn, and how pages are made.
    kind
        ``found``, ``patch`` or ``sewing``.
    first_page
        The number of the page on which it begins.
    after
        What stands with its table on the page of the drawing, where there is room.
    listed
        On which page the list of the cuts has each cut that begins a line, if it has pages of its
        own.

    Returns
    -------
    Part
        Its pages.
    """
    room = room_of(plan, look)
    sides = kind == "sewing" and not plan.patch  # a seam has no rows
    scale = scale_for(_largest(plan, kind), look.sizes.digits)
    if kind == "found":
        scale = (scale.roomier() if plan.patch else scale).for_cuts(len(plan.cuts))
    draw = DRAWN[kind]
    keys = _keys(plan, look, kind)
    head: list[Block] = [
        heading(look.words.say(f"{_told(plan, kind)}.title"), look),
        *(plain(told, look) for told in _intro(plan, look, kind)),
        Gap(1.5),
    ]
    narrow = common_room(plan, look)
    tail = legend(keys, look, narrow.width)
    above = height_of(head, room.width) + GAPS
    table = [*_table(plan, look, kind), *after]
    if room.width >= 2 * TEXT_COLUMN and room.width > room.height:
        text: list[Block] = [*head, legend(keys, look, text_column(narrow))]
        text += [*_table(plan, look, kind, narrow=True), *after]
        both = beside(plan, look, scale, draw, text, sides)
        if both:
            return Part([both])
    apart = [*head[:-1], plain(look.words.say("big.next_page"), look), Gap(1.5)]
    lower = tail.height + 1.5
    for over in (above + tail.height + height_of(table, room.width) + 2.0, above + lower, above):
        if over == above and fits_whole(plan, scale, room, lower, sides):
            # The words stand before the drawing, so that its signs are told on its own page.
            front = [*apart, *table]
            if height_of(front, room.width) <= room_of(plan, look, first=first_page == 1).height:
                scale = fitting_scale(plan, scale, room, lower, sides)
                drawing = web_drawing(plan, scale, window_round(plan.trim.trimmed), draw, sides)
                return Part([front, [drawing, Gap(1.5), tail]])
        if fits_whole(plan, scale, room, over, sides):
            scale = fitting_scale(plan, scale, room, over, sides)
            drawing = web_drawing(plan, scale, window_round(plan.trim.trimmed), draw, sides)
            return Part([[*head, drawing, Gap(1.5), tail, Gap(2.0), *table]])
    if fits_whole(plan, scale, room, 0.0, sides):
        drawing = web_drawing(plan, scale, window_round(plan.trim.trimmed), draw, sides)
        front = [*apart, tail, Gap(2.0), *table]
        if height_of(front, room.width) <= room_of(plan, look, first=first_page == 1).height:
            return Part([front, [drawing]])
        return Part([[*apart, tail], [drawing, Gap(2.0), *table]])
    lines, signs = legends(keys, look, narrow)
    above = tile_around(plan, look, kind, room.width, signs)
    parts = tiles_for(plan, look, scale, room, above, sides, draw)
    scale = tile_scale(plan, scale, room, above, sides, parts, draw)
    parts = with_work(plan, parts) if kind == "found" else with_twine(plan, parts)
    # What is cut is sewn too, so that the sewing takes as many pages again.
    check_pages(plan, look, first_page + len(parts) * (1 if kind == "sewing" else 2))
    # What is done with the patch is read before its first cut.
    steps = [Gap(2.0), *table] if kind == "patch" else []
    hole = plan.trim.found if kind == "found" else None

    def overview_of(pages: list[int]) -> list[Block]:
        where = [*_listed_at(plan, look, kind, pages), *ends_at(plan, look, kind, parts, pages)]
        above = [*head, *where]
        new = kind == "patch"
        front = overview_blocks(plan, look, parts, pages, above, lines, steps, hole, new_web=new)
        return [*front, *steps]

    front = overview_of([COUNTED] * len(parts))
    first = first_page + count_pages(plan, look, [front], first=first_page == 1)
    pages, tables = _paged(plan, look, kind, parts, first)
    if kind == "found":
        tables = {parts[-1]: [*_table(plan, look, kind, on=_pages_of(plan, parts, pages)), *after]}
    details: list[list[Block]] = [overview_of(pages)]
    for tile in parts:
        own = tile_page(plan, look, kind, tile, parts, pages, scale, draw, sides, signs, listed)
        details.append(own)
        if tile in tables:
            details.append(tables[tile])
    return Part(details, _stitches_on(plan, parts, pages) if kind == "sewing" else {})


def _listed_on(plan: Plan, look: Look, part: Sequence[Block], first: int) -> dict[int, int]:
    """On which page each cut that begins a line of the list stands, from page `first` on."""
    on: dict[str, int] = {}
    for page, texts in enumerate(texts_of(plan, look, part), first):
        for text in texts:
            if text.of:
                on.setdefault(text.of, page)
    return {cut.n: on[of] for cut in plan.cuts if (of := _of_line(cut.n)) in on}


def _of_line(first: int) -> str:
    """What a line of the list of the cuts is of, by its first cut."""
    return f"cut {first}"


def _stitches_on(plan: Plan, parts: list[Tile], pages: list[int]) -> dict[int, int]:
    """The page on which the first knot of each stitch stands furthest in."""
    return {knot.n: _page_with(knot.at, parts, pages) for knot, _ in stitches_used(plan)}


def _page_with(at: Knot, parts: Sequence[Tile], pages: Sequence[int]) -> int:
    """The page on which a knot stands furthest in."""
    return min(
        (tile.window.on_rim(at), page) for tile, page in zip(parts, pages) if tile.window.holds(at)
    )[1]


def ends_at(
    plan: Plan, look: Look, kind: str, parts: Sequence[Tile], pages: Sequence[int]
) -> list[Block]:
    """On which page each twine starts and ends: the one that has that knot furthest in.

    With the cuts, also where the numbers are of marks that have none. A seam is sewn on pages of
    its own, which tell where it starts.
    """
    if kind not in ("found", "sewing"):
        return []
    several = len(plan.sewing.twines) > 1
    places: list[str] = []
    for twine in plan.sewing.twines:
        start, end = (_page_with(twine.knots[at].at, parts, pages) for at in (0, -1))
        figures = {"name": twine.name, "start": start, "end": end}
        places.append(look.words.say("big.start_at", several=several, **figures))
    cuts_alone = plan.patch and kind == "found"
    told = [] if cuts_alone else [look.words.say("big.starts", places=", ".join(places))]
    if kind == "found" and any(cuts_marked(plan, tile.window) for tile in parts):
        told.append(look.words.say("big.marked_only"))
    return [plain(line, look) for line in told]


def _listed_at(plan: Plan, look: Look, kind: str, pages: Sequence[int]) -> list[Block]:
    """Where the list of the cuts is, that tells the stages: behind the last of their pages."""
    if kind != "found" or not say.staged(plan):
        return []
    return [plain(look.words.say("found.listed", page=pages[-1] + 1), look)]


DRAWN: dict[str, Draw] = {
    "found": found_shapes,
    "patch": patch_shapes,
    "sewing": sewing_shapes,
}


def _told(plan: Plan, kind: str) -> str:
    """Which words tell of a part: the sewing of a patch is its seam."""
    return "seam" if plan.patch and kind == "sewing" else kind


def _largest(plan: Plan, kind: str) -> int:
    """The largest number in a drawing."""
    if kind == "sewing":
        return plan.sewing.knots
    if kind == "patch":
        return max(patch_say.patch_of(plan).across, patch_say.patch_of(plan).down)
    return len(plan.cuts)


def _keys(plan: Plan, look: Look, kind: str) -> list[Key]:
    if kind == "sewing":
        return sewing_keys(plan, look)
    return _patch_keys(look) if kind == "patch" else found_keys(plan, look)


PagesOf = Mapping[int, Sequence[int]]  # on which pages each cut is shown


def _pages_of(plan: Plan, parts: list[Tile], pages: list[int]) -> PagesOf:
    found: dict[int, list[int]] = {}
    for tile, page in zip(parts, pages):
        for cut in cuts_shown(plan, tile.window):
            found.setdefault(cut.n, []).append(page)
    return found


def _table(
    plan: Plan, look: Look, kind: str, *, narrow: bool = False, on: PagesOf | None = None
) -> list[Block]:
    """What stands under a drawing, or beside it in a narrow column."""
    if kind == "sewing":
        return _seam_table(plan, look) if plan.patch else _sewing_table(plan, look)
    if kind == "patch":
        said = enumerate(patch_say.steps(plan, look.words), 1)
        return [plain(step, look, mark=str(number)) for number, step in said]
    return _cut_table(plan, look, narrow, on)


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
    plan: Plan,
    look: Look,
    parts: list[Tile],
    pages: list[int],
    head: list[Block],
    tail: Drawing | None,
    after: Sequence[Block] = (),
    hole: Hole | None = None,
    *,
    new_web: bool = False,
) -> list[Block]:
    """The pages that show all tiles small, round a hole or the trimmed one, and what signs mean.

    They leave room on the same page for what comes after, unless too little would be left to them.
    """

    def intro(bands: bool) -> list[Block]:
        seam = plan.patch is not None and hole is None
        told = {"tiles": len(parts), "bands": bands, "seam": seam, "new_web": new_web}
        said = look.words.say("big.overview_intro", **told)
        return [*head, plain(said, look), Gap(1.5)]

    room, width = room_of(plan, look), common_room(plan, look).width
    words_high = max(height_of(intro(bands), width) for bands in (False, True))
    tail_high = tail.height if tail else 0.0
    high = room.height - words_high - GAPS - tail_high
    lower = high - height_of(after, width)
    high = lower if lower >= 2 * LEAST_OVERVIEW else high
    if high < LEAST_OVERVIEW:
        high = max(high + tail_high, room.height * 0.6)
    trimmed = plan.trim.trimmed
    rows, whole = range(trimmed.top, trimmed.bottom), window_round(trimmed)
    sketch = overview(hole or trimmed, rows, whole, parts, pages, width, high, look.sizes.small)
    return [
        *intro(sketch.bands),
        Drawing(sketch.shapes, sketch.width, sketch.height),
        *_under(tail),
    ]


LEGEND_SHARE = 0.12  # of the room: a legend higher than that stands on the overview's page only
LINES = ("web", "twine", "patch")  # what can be told on the overview's page, once for all tiles


def legends(keys: Sequence[Key], look: Look, room: Room) -> tuple[Drawing | None, Drawing | None]:
    """What the signs mean, for the page of the overview and for each tile.

    It stands under each tile where the paper has room, and then on the overview's page no more:
    full and dashed lines mean something else there. Where only the signs have room the lines are
    told with the overview, where nothing has, all is.
    """
    whole = legend(keys, look, room.width)
    signs = legend([key for key in keys if key.sign not in LINES], look, room.width)
    most = LEGEND_SHARE * room.height
    if whole.height <= most:
        return None, whole
    return whole, signs if signs.height <= most else None


def tile_around(
    plan: Plan,
    look: Look,
    kind: str,
    width: float,
    signs: Drawing | None = None,
    head: Sequence[Block] = (),
) -> float:
    """How high the words above a tile are at the most, with the legend under it if it has one.

    `head` stands for words that are arranged in another way.
    """
    title = _tile_title(_most_lines(plan, look, kind), look)
    places = _tile_places(_all_places(look), look)
    words: Sequence[Block] = head or [*_room_for_cuts(plan, look, kind), title, places]
    return height_of([*words, Gap(1.5), *_under(signs)], width)


def bare_head(plan: Plan, look: Look) -> list[Block]:
    """The words above a bare tile where they are longest: its rows, and the pages beside it."""
    return [_tile_title(_bare_title(plan, look), look), _tile_places(_all_places(look), look)]


def _bare_title(plan: Plan, look: Look) -> str:
    """The title of a tile that names its rows alone, where that is longest."""
    rows = plan.trim.trimmed.bottom - plan.trim.trimmed.top
    return look.words.say("big.tile_bare", first_row=rows, last_row=rows)


def _all_places(look: Look) -> str:
    """What a tile in the middle of others says of them."""
    places = [look.words.say(f"big.{key}", page=COUNTED) for key in ("left", "right", "up", "down")]
    return look.words.say("big.beside", neighbours=", ".join(places))


def _under(signs: Drawing | None) -> list[Block]:
    """What stands under a tile."""
    return [] if signs is None else [Gap(1.5), signs]


def _most_lines(plan: Plan, look: Look, kind: str) -> str:
    """A title of a tile as high as any: on a small paper one of its rows alone."""
    return _bare_title(plan, look) if look.paper.brief else "\n\n" if kind == "sewing" else "\n"


def _cuts_first(
    plan: Plan, look: Look, kind: str, window: Window, listed: Mapping[int, int]
) -> list[Block]:
    """Which cuts are made before a knot of a tile: those of the stage that begins there."""
    if kind != "sewing" or not say.staged(plan):
        return []
    before = {knot.n: cuts for knot, cuts in say.cuts_before(plan) if window.holds(knot.at)}
    if not before:
        return []
    told = " ".join(
        look.words.say(
            "big.cuts_first",
            knot=knot,
            cuts=spans(cuts),
            several=len(cuts) > 1,
            page=listed.get(cuts[0], 0),
        )
        for knot, cuts in before.items()
    )
    short = look.words.say("big.cuts_first_short", knots=", ".join(map(str, before)))
    width, high = room_of(plan, look).width, height_of(_room_for_cuts(plan, look, kind), 1e6)
    titles = [replace(_tile_title(text, look), of="") for text in (told, short)]
    return [next((title for title in titles if height_of([title], width) <= high), titles[-1])]


def _room_for_cuts(plan: Plan, look: Look, kind: str) -> list[Block]:
    """As much room as that takes, a line."""
    if kind != "sewing" or not say.staged(plan):
        return []
    short = look.words.say("big.cuts_first_short", knots=str(plan.sewing.knots))
    return [_tile_title(short, look)]


def _tile_title(text: str, look: Look) -> Paragraph:
    return Paragraph(text, look.sizes.plain, bold=True, role="tile title", of=text)


def _tile_places(text: str, look: Look) -> Paragraph:
    return Paragraph(text, look.sizes.small, role="tile places")


Tables = dict[Tile, list[Block]]  # what stands behind which tiles


def _paged(
    plan: Plan, look: Look, kind: str, parts: list[Tile], first: int
) -> tuple[list[int], Tables]:
    """The page of each tile, where the first tile is on page `first`, and the tables between."""
    bands = _bands(plan, parts) if kind == "sewing" and not plan.patch else {}
    on: dict[int, int] = {}  # the page of each row of the web
    while True:
        tables: Tables = {}
        if bands:
            tables = {tile: _sewing_table(plan, look, rows, on) for tile, rows in bands.items()}
        elif kind != "patch":
            tables = {parts[-1]: _table(plan, look, kind)}
        pages: list[int] = []
        page = first
        for tile in parts:
            pages.append(page)
            page += 1 + (count_pages(plan, look, [tables[tile]]) if tile in tables else 0)
        at = dict(zip(parts, pages))
        told = {row: at[tile] + 1 for tile, rows in bands.items() for row in rows}
        # A page number is no wider than the one it is counted with: a table never grows.
        if told == on:
            return pages, tables
        on = told


def _bands(plan: Plan, parts: list[Tile]) -> dict[Tile, range]:
    """The rows of the web that a band of tiles is the first to show, by its last tile."""
    bands: dict[Tile, range] = {}
    sewn = {row.row for twine in plan.sewing.twines for row in twine.rows}
    shown = plan.trim.trimmed.top
    for _, band in groupby(parts, lambda tile: tile.down):
        last = list(band)[-1]
        rows = range(shown, last.window.bottom)
        shown = max(shown, last.window.bottom)
        if not sewn.isdisjoint(rows):
            bands[last] = rows
    return bands


def _intro(plan: Plan, look: Look, kind: str) -> list[str]:
    """What is said above a drawing, as paragraphs."""
    if kind == "patch":
        patch = patch_say.patch_of(plan)
        return [look.words.say("patch.intro", across=patch.across, down=patch.down)]
    if kind == "sewing":
        if plan.patch:
            seam = look.words.say("seam.intro", last=plan.sewing.knots)
            points = look.words.say("sewing.points")
            corners = look.words.say("seam.corners", numbers=patch_say.corner_knots(plan))
            strands = say.strands(plan, look.words)
            return [" ".join([seam, corners, points, *strands, say.tails(plan, look.words)])]
        return [" ".join(say.how_to_sew(plan, look.words))]
    staged = say.staged(plan)
    intro = look.words.say("found.intro", cuts=len(plan.cuts), staged=staged)
    said = [intro, look.words.say("found.stubs")]
    if staged:
        said.append(look.words.say("found.stages"))
    return [" ".join(said), *say.notes(plan, look.words)]


def with_work(plan: Plan, parts: list[Tile]) -> list[Tile]:
    """The tiles on which there is a cut to make, a start or an end."""
    ends = [knot.at for twine in plan.sewing.twines for knot in (twine.knots[0], twine.knots[-1])]
    return [
        tile
        for tile in parts
        if cuts_shown(plan, tile.window) or any(tile.window.holds(at) for at in ends)
    ]


def with_twine(plan: Plan, parts: list[Tile]) -> list[Tile]:
    """The tiles that show a knot to tie.

    Of a mend one is left out if all its knots are on tiles beside it as well: each of them then is
    on one other tile, on two side by side, or on the three round a corner.
    """
    shown = {tile: _knots_shown(plan, tile.window) for tile in parts}
    kept = [tile for tile in parts if shown[tile]]
    if plan.patch:
        return kept
    on: dict[int, list[Tile]] = {}
    for tile in kept:
        for n in shown[tile]:
            on.setdefault(n, []).append(tile)
    for tile in tuple(kept):
        others = [[other for other in on[n] if other != tile] for n in shown[tile]]
        if all(rest and _side_by_side(rest) for rest in others):
            kept.remove(tile)
            on |= dict(zip(shown[tile], others))
    return kept


def _side_by_side(some: list[Tile]) -> bool:
    """Whether tiles that share a knot are not just two that meet at a corner."""
    if len(some) != 2:
        return True
    one, other = some
    return one.across == other.across or one.down == other.down


SLANTWISE = (
    ("left_up", -1, -1),
    ("right_up", 1, -1),
    ("left_down", -1, 1),
    ("right_down", 1, 1),
)


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
    signs: Drawing | None = None,
    listed: Mapping[int, int] = MappingProxyType({}),
) -> list[Block]:
    """A tile of a large drawing, with what it shows, which pages are next to it, and a legend."""
    words, window = look.words, tile.window
    beside: list[tuple[str, int]] = []
    by_place = {(other.across, other.down): page for other, page in zip(parts, pages)}
    for key, dx, dy in (("left", -1, 0), ("right", 1, 0), ("up", 0, -1), ("down", 0, 1)):
        page = by_place.get((tile.across + dx, tile.down + dy))
        if page:
            beside.append((key, page))
    places = [words.say(f"big.{key}", page=page) for key, page in beside]
    # Where a tile is left out because its knots are on others, the way to those is slantwise.
    slant = []
    for key, dx, dy in SLANTWISE if kind == "sewing" else ():
        across, down = tile.across + dx, tile.down + dy
        page = by_place.get((across, down))
        round_it = (tile.across, down) in by_place and (across, tile.down) in by_place
        if page and not round_it:
            slant.append(words.say(f"big.{key}", page=page))
    width = room_of(plan, look).width
    most_high = height_of([_tile_places(_all_places(look), look)], width)
    told = [[*places, *slant], places]
    if kind == "found" and cuts_marked(plan, window):
        keys = {"right": "right_numbers"}
        told.insert(0, [words.say(f"big.{keys.get(key, key)}", page=page) for key, page in beside])
    said = [
        words.say("big.beside", neighbours=", ".join(near) or words.say("big.none"))
        for near in told
    ]
    beside_it = next(
        (text for text in said if height_of([_tile_places(text, look)], width) <= most_high),
        said[-1],
    )
    shown = _shown(plan, look, kind, window)
    titles = [_tile_title(told, look) for told in shown]
    most_high = height_of([_tile_title(_most_lines(plan, look, kind), look)], width)
    return [
        *_cuts_first(plan, look, kind, window, listed),
        next((title for title in titles if height_of([title], width) <= most_high), titles[-1]),
        _tile_places(beside_it, look),
        Gap(1.0),
        web_drawing(plan, scale, window, draw, sides),
        *_under(signs),
    ]


def _shown(plan: Plan, look: Look, kind: str, window: Window) -> list[str]:
    """Which rows, and which knots or cuts, a tile shows: in full, then in short."""
    words, trimmed = look.words, plan.trim.trimmed
    first = max(window.top, trimmed.top) - trimmed.top + 1
    last = min(window.bottom, trimmed.bottom) - trimmed.top
    if kind in ("bare", "patch"):
        return [words.say("big.tile_bare", first_row=first, last_row=last)]
    if kind == "sewing":
        key, name, numbers = "big.tile", "knots", _knots_shown(plan, window)
        exactly = spans(numbers)
    else:
        key, name = "big.tile_cuts", "cuts"
        numbers = [cut.n for cut in cuts_shown(plan, window)]
        exactly = say.cuts_told(plan, words, numbers)
    figures = {"first_row": first, "last_row": last, "several": len(numbers) > 1}
    told = [words.say(key, **figures, **{name: exactly})]
    if len(numbers) > 1:
        among = words.say("big.among", count=len(numbers), first=min(numbers), last=max(numbers))
        told.append(words.say(key, **figures, **{name: among}))
    return [*told, words.say("big.tile_bare", first_row=first, last_row=last)]


def _knots_shown(plan: Plan, window: Window) -> list[int]:
    return [
        knot.n
        for twine in plan.sewing.twines
        for knot in knots_shown(plan, twine, window)
        # The last of a closed one has its number beside the first, but not on the rim.
        if not (twine.closed and knot.n == twine.last and window.on_rim(knot.at))
    ]


def found_keys(plan: Plan, look: Look) -> list[Key]:
    """The legend of the drawing of the hole as found."""
    say_ = look.words.say
    keys = [Key("web", say_("found.legend_whole")), Key("stub", say_("found.legend_broken"))]
    if plan.cuts:
        keys.append(Key(f"cut {min(3, len(plan.cuts))}", say_("found.legend_cut")))
    if plan.patch:
        return [*keys, Key("start:A", say_("seam.start_and_end"))]
    return [
        *keys,
        Key("start:A", say_("found.legend_start")),
        Key("end:A", say_("found.legend_end")),
    ]


def sewing_keys(plan: Plan, look: Look) -> list[Key]:
    """The legend of the drawing of the sewing."""
    say_ = look.words.say
    first = say_("seam.start_and_end") if plan.patch else say_("terms.start")
    used = {stitch for twine in plan.sewing.twines for stitch in twine.stitches}
    signs = {
        "pickup above": Key("pickup above:", say_("terms.pickup_above")),
        "pickup below": Key("pickup below:", say_("terms.pickup_below")),
        "sider": Key("sider on the left:", say_("terms.sider")),
    }
    keys = [Key("start:1", first), *(key for stitch, key in signs.items() if stitch in used)]
    if not plan.patch:
        keys.append(Key("end:", say_("terms.end")))
    if plan.reckoning.refills:
        keys.append(Key("refill", say_("sewing.legend_refill")))
    keys += [] if plan.patch else [row_key(plan, look)]
    return [*keys, Key("twine", say_("terms.twine")), Key("web", say_("terms.web"))]


def row_key(plan: Plan, look: Look) -> Key:
    """What the numbers at the sides of a drawing are; a seam has none."""
    name = "A1" if len(plan.sewing.twines) > 1 else "1"
    return Key(f"row:{name}", look.words.say("sewing.legend_row"))


def _patch_keys(look: Look) -> list[Key]:
    say_ = look.words.say
    return [
        Key("patch", say_("patch.legend_patch")),
        Key("web", say_("patch.legend_left")),
        Key("cut", say_("found.legend_cut")),
        Key("corner", say_("patch.legend_corner")),
        Key("top", say_("patch.legend_top")),
    ]


# Several cuts that make one thing only.
TOGETHER = {"cuts in the start": "together_start", "cuts in the end": "together_end"}


def _cut_table(plan: Plan, look: Look, narrow: bool, on: PagesOf | None) -> list[Block]:
    """What each cut does: neighbours that do the same are told together, `on` which pages."""
    if not plan.cuts:
        return []
    words = look.words
    if plan.patch:
        by_side = Table((), patch_say.cuts_by_side(plan, words), (1.3, 6), look.sizes.plain)
        pairs = plain(f"{words.say('found.words')} {words.say('patch.cuts_pairs')}", look)
        return [heading(words.say("found.list_title"), look), by_side, Gap(1.0), pairs]
    sewn = {(stage.order, stage.stage): stage for stage in plan.stages}
    several = len(plan.sewing.twines) > 1
    pages = on or {}
    explained = f"{words.say('found.words')} {words.say('found.ends')}"
    blocks: list[Block] = [
        heading(words.say("found.list_title"), look),
        replace(plain(explained, look), keep=10.0),
        Gap(1.0),
    ]
    made = Counter((cut.does, cut.twine) for cut in plan.cuts)

    # On a long list what a cut leaves would part the lines that are alike.
    fallen = falls_with(plan.trim.trimmed, plan.cuts) if on is None else {}

    def told_of(cut: Cut) -> tuple[str, int, tuple[int, ...], str]:
        shown = tuple(pages.get(cut.n, ()))
        if cut.n in fallen:
            return "", cut.twine, shown, words.say("leaves.came_off", n=fallen[cut.n])
        # Cuts that only together make something are told together.
        parts = cut.does in TOGETHER and made[cut.does, cut.twine] > 1
        left = "" if parts or on is not None else say.left_by(cut, words, plan.cuts)
        return cut.does, cut.twine, shown, left

    for twine, own in groupby(plan.cuts, lambda cut: cut.before):
        rows: list[tuple[str, ...]] = []
        of: list[str] = []
        for stage, cuts in groupby(own, lambda cut: cut.stage):
            if say.staged(plan):
                title = words.say("found.list_title_stage", stage=stage + 1)
                said = say.rows_of_stage(plan, sewn[twine, stage], words, "found.stage_rows")
                rows.append((title, said) if on is None else (title, said, ""))
                of.append("")
            for (does, own_twine, shown, left), same in groupby(cuts, told_of):
                numbers = [cut.n for cut in same]
                told = words.say(f"does.{does}") if does else left
                if does and left:
                    told = words.say("leaves.both", does=told, left=left)
                if does and len(numbers) > 1:
                    told = words.say(f"found.{TOGETHER.get(does, 'each')}", does=told)
                if own_twine != twine and does in TOGETHER:
                    name = plan.sewing.twines[own_twine].name
                    told = words.say("found.of_twine", does=told, name=name)
                row = (spans(numbers), told)
                rows.append(row if on is None else (*row, spans(shown)))
                of.append(_of_line(numbers[0]))
        if several:
            name = words.say("sewing.twine_row", name=plan.sewing.twines[twine].name)
            blocks += [Gap(1.0), Paragraph(name, look.sizes.plain, bold=True, keep=10.0)]
        blocks.append(_listed(plan, look, rows, of, narrow or on is not None))
    blocks[0] = heading(
        words.say("found.list_title"),
        look,
        keep=min(height_of(blocks[1:], room_of(plan, look).width), 30.0),
    )
    return blocks


def _listed(
    plan: Plan, look: Look, rows: list[tuple[str, ...]], of: list[str], narrow: bool
) -> Block:
    """Rows of a list, in two columns where they are some and the paper is wide.

    Those with their pages may go over several pages themselves, and have a head on each.
    """
    if len(rows[0]) > 2:
        head = tuple(look.words.say(f"found.{name}_head") for name in ("cuts", "does", "pages"))
        return Table(head, tuple(rows), (1.3, 5, 1.2), look.sizes.plain, of=tuple(of))
    room = common_room(plan, look)
    below = Table((), tuple(rows), (1.3, 6), look.sizes.plain)
    wide = not narrow and room_of(plan, look).width > 2 * TEXT_COLUMN
    if not (wide and LISTED_TWICE <= len(rows) <= 8 * LISTED_TWICE):
        return below
    half = (len(rows) + 1) // 2
    halves = [
        Table((), tuple(part), (1, 4), look.sizes.plain) for part in (rows[:half], rows[half:])
    ]
    both = Columns(tuple((part,) for part in halves))
    return both if height_of([both], room.width) <= room.height else below


TABLE_SHARES = {
    "row": 0.9, "web_row": 0.8, "way": 0.9, "knots": 1.3,
    "stitches": 5.4, "so_far": 2.0, "refill": 1.6,
}  # fmt: skip


def _sewing_table(
    plan: Plan, look: Look, rows: range | None = None, on: Mapping[int, int] | None = None
) -> list[Block]:
    """The rows of twine; a column that says nothing in the whole plan is left out.

    Of a large drawing only some `rows` of the web; `on` which page each other one is.
    """
    words = look.words
    told = {
        # The pages of a large drawing count the rows of the web, several twines their own.
        "web_row": rows is not None and len(plan.sewing.twines) > 1,
        "so_far": plan.reckoning.length is not None,
        "refill": bool(plan.reckoning.refills),
    }
    pages = on or {}
    table = say.row_table(plan, words, rows, lambda row: pages.get(row, COUNTED))
    title = heading(words.say("sewing.table_title"), look, keep=20.0)
    if rows is not None:
        title = replace(title, role="heading between tiles")
    names = [name for name in TABLE_SHARES if told.get(name, True)]
    kept = [number for number, name in enumerate(TABLE_SHARES) if name in names]
    return [
        Gap(1.0),
        title,
        Table(
            tuple(words.say(f"sewing.{name}") for name in names),
            tuple(tuple(row[number] for number in kept) for row in table),
            tuple(TABLE_SHARES[name] for name in names),
            look.sizes.plain,
        ),
    ]


SEAM_SHARES = {"side": 1.3, "knots": 1.5, "stitches": 5.2, "so_far": 1.6, "refill": 1.7}


def _seam_table(plan: Plan, look: Look) -> list[Block]:
    """The sides of a patch's seam; a column that says nothing is left out."""
    words = look.words
    told = {"so_far": plan.reckoning.length is not None, "refill": bool(plan.reckoning.refills)}
    names = [name for name in SEAM_SHARES if told.get(name, True)]
    kept = [number for number, name in enumerate(SEAM_SHARES) if name in names]
    head = [words.say("seam.side" if name == "side" else f"sewing.{name}") for name in names]
    rows = patch_say.side_table(plan, words, look.paper.brief)
    return [
        heading(words.say("seam.sides"), look),
        Table(
            tuple(head),
            tuple(tuple(row[number] for number in kept) for row in rows),
            tuple(SEAM_SHARES[name] for name in names),
            look.sizes.plain,
        ),
    ]


def comparison_blocks(plan: Plan, look: Look) -> list[Block]:
    """Mend and patch side by side, and which wins, where both were planned."""
    if not plan.comparison:
        return []
    words = look.words
    head = ("", words.say("compare.mend"), words.say("compare.patch"))
    table = Table(head, patch_say.comparison(plan, words), (2, 2.5, 2.5), look.sizes.plain)
    title = heading(words.say("compare.title"), look, keep=height_of([table], 100.0))
    return [Gap(3.0), title, table, Gap(1.5), plain(patch_say.verdict(plan, words), look)]


def _stitches(plan: Plan, look: Look, used: float, on: Mapping[int, int]) -> list[Block]:
    """The stitches of this card, the heading kept with the first, below `used` mm of a page.

    `on` is the page of each one's first knot.
    """
    room = room_of(plan, look)
    intro = plain(look.words.say("stitches.of_card"), look)
    said = look.words.say("stitches.of_card_title")
    above = height_of([intro], room.width) + 1.0
    head = height_of([heading(said, look)], room.width) + above
    blocks = stitch_blocks(plan, look, room.width, room.height, head, used, on)
    least = room.height * 0.6
    while blocks[0].place(room.width, least).rest == blocks[0]:
        least += 2.0
    first = blocks[0].place(room.width, least).height - BELOW
    if head + first > room.height:
        first = 0.0  # the first stitch has a page of its own
    title = heading(said, look, keep=above + first)
    return [title, replace(intro, keep=first), Gap(1.0), *blocks]


def _needs(plan: Plan, look: Look) -> list[Block]:
    """What is needed, in one piece, and how mend and patch compare."""
    table = Table((), say.materials(plan, look.words), (2, 5), look.sizes.plain)
    keep = table.place(room_of(plan, look).width, 1e6).height
    said = look.words.say("materials.title", patch=plan.patch is not None)
    title = heading(said, look, keep=keep)
    return [title, table, *comparison_blocks(plan, look)]


def _in_one_piece(plan: Plan, look: Look, title: str, under: Sequence[Block]) -> list[Block]:
    """A heading with what stands under it, on one page where that is not a page of its own."""
    room, said = common_room(plan, look), look.words.say(title)
    keep = height_of(under, room.width)
    if keep + height_of([heading(said, look)], room.width) > OWN_PAGE * room.height:
        keep = 15.0
    return [heading(said, look, keep), *under]


def _closing(plan: Plan, look: Look) -> list[Block]:
    words = look.words
    figures = say.end_check(plan, words)
    steps = [
        plain(words.say(key, **figures), look, mark=f"{number}")
        for number, key in enumerate(words.group("check"))
        if number
    ]
    cautions = [
        replace(plain(words.say(key), look), whole=True)
        for key in words.group("safety")
        if key not in ("safety.title", "safety.strip")
    ]
    blocks = _in_one_piece(plan, look, "check.title", steps)
    blocks += [Gap(3.0), *_in_one_piece(plan, look, "safety.title", cautions)]
    names = [words.say(key) for key in words.group("log") if key != "log.title"]
    half = (len(names) + 1) // 2
    tables = [
        (Table((), tuple((name, "") for name in part), (1, 1.2), look.sizes.plain, row_height=7.0),)
        for part in (names[:half], names[half:])
    ]
    log = Columns(tuple(tables))
    keep = height_of([log], common_room(plan, look).width)
    return [*blocks, Gap(3.0), heading(words.say("log.title"), look, keep), log]
