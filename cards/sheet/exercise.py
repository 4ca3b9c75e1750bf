"""The sheet of an exercise and its key: the same page, blank and filled in."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from cards.errors import PageError
from cards.grid import Bar, Hole, Knot
from cards.grid.walk import AHEAD, STEPS
from cards.picture import pen
from cards.picture.shapes import Area, Picture, Shape, Text, moved
from cards.picture.task import Marks, counted_sides, side_room, task_scale, task_shapes
from cards.picture.type import CAP_HEIGHT
from cards.picture.web import Window
from cards.school.sets import LONGEST_WALK
from cards.school.tasks import MARGIN, Exercise
from cards.school.tears import loose_bars
from cards.sheet.blocks import Block, Columns, Drawing, Gap, Table
from cards.sheet.loft import heading, plain
from cards.sheet.pages import Look, height_of, make_pages, room_of
from cards.sheet.school import PENCIL, asked, given, name_line
from cards.sheet.web_blocks import Key, legend
from cards.trim.check import judged
from cards.words import knot_term

BELOW = 4.0  # mm left free below all else
GROWTH = 2.1  # how much larger than the least a drawing is made where there is room
BOXES = 15  # boxes for counts in a line
BOX = 9.0  # mm, height of a box


def sheet_page(own: Exercise, look: Look) -> Picture:
    """Set the sheet of an exercise, without its answer.

    Raises
    ------
    PageError
        When the paper is too small for it.
    """
    return _page(own, look, filled=False)


def answer_page(own: Exercise, look: Look) -> Picture:
    """Set the key of an exercise: its sheet filled in."""
    return _page(own, look, filled=True)


def _page(own: Exercise, look: Look, *, filled: bool) -> Picture:
    words, task = look.words, own.fields.task
    room = room_of(own.plan, look)
    title = words.say(f"school.title_{task}")
    if filled:
        title = f"{title} · {words.say('school.key')}"
    twines = len(own.plan.sewing.twines)
    head: list[Block] = [heading(title, look), name_line(look, room.width, filled)]
    head.append(plain(words.say(f"school.task_{task}", twines=twines), look))
    if task in ("walk", "miscount"):
        head.append(plain(words.say("school.turns"), look))
    if own.level.loose[1] and task not in ("number", "name"):
        head.append(plain(words.say("school.loose"), look))
    head.append(Gap(2.0))
    tail: list[Block] = [
        _legend(own, look, room.width),
        Gap(1.0),
        *_TAILS[task](own, look, filled, room.width),
    ]
    hole, marks = _drawn(own, filled)
    limit = room.height - BELOW - height_of(head, room.width) - height_of(tail, room.width)
    drawing = _drawing(own, look, hole, marks, room.width, limit)
    pages = make_pages(own.plan, look, [[*head, drawing, *tail]])
    if len(pages) != 1:
        raise _too_small(own, look)
    return pages[0]


def _legend(own: Exercise, look: Look, width: float) -> Drawing:
    """What is whole, what is broken, and on a sheet with cuts what is cut."""
    signs = {"web": "legend_whole", "stub": "legend_broken", "cut": "legend_cut"}
    if own.fields.task not in ("trim", "count", "mistake"):
        del signs["cut"]
    said = [Key(sign, look.words.say(f"found.{key}")) for sign, key in signs.items()]
    return legend(said, look, width)


def _too_small(own: Exercise, look: Look) -> PageError:
    return PageError(
        f"{own.spec.source}: found paper {look.paper.name} too small for the sheet; "
        "expected A4 or letter"
    )


# The drawing


def _drawing(
    own: Exercise, look: Look, hole: Hole, marks: Marks, width: float, height: float
) -> Drawing:
    """Draw the web as large as there is room for, with the numbers of rows and bars."""
    found = own.spec.hole
    window = Window(
        found.left - MARGIN, found.right + MARGIN, found.top - MARGIN, found.bottom + MARGIN
    )
    label = look.sizes.label
    side, above = side_room(window, label)
    least = task_scale(len(own.plan.cuts), look.sizes.digits)
    # As far from the right edge as from the left, so that it stands in the middle.
    growth = min(
        (width - 2 * side) / (window.columns * least.dx),
        (height - 2 * above) / (window.rows * least.dy),
        GROWTH,
    )
    if growth < 1:
        raise _too_small(own, look)
    scale = least.grown(growth)
    shapes = [*task_shapes(hole, scale, window, marks), *counted_sides(window, scale, label)]
    return Drawing(
        list(moved(shapes, side, above)),
        window.columns * scale.dx + 2 * side,
        window.rows * scale.dy + 2 * above,
    )


def _drawn(own: Exercise, filled: bool) -> tuple[Hole, Marks]:
    """The hole that a sheet shows, and the marks on it."""
    hole, plan, task = own.spec.hole, own.plan, own.fields.task
    struck = tuple(loose_bars(hole)) if filled else ()
    if task == "trim":
        if not filled:
            return hole, Marks()
        cuts = [(cut.bar, cut.n) for cut in plan.cuts]
        return hole, Marks(cuts=cuts, ends=tuple(_ends(own)), struck=struck)
    if task == "number":
        shown = own.tied if filled else {knot: n for knot, n in own.tied.items() if n == 1}
        rings = {knot: str(shown.get(knot, "")) for knot in own.tied}
        twines = plan.sewing.twines if filled else ()
        return plan.trim.trimmed, Marks(rings=rings, twines=twines)
    if task == "name":
        return hole, Marks(rings={knot: letter for letter, knot in own.lettered})
    if task == "count":
        return hole, Marks(cuts=[(cut.bar, cut.n) for cut in plan.cuts], struck=struck)
    if task == "mistake":
        made = [(bar, n) for n, bar in enumerate(own.made, 1)]
        return hole, Marks(cuts=made, struck=struck, ringed=own.wrong if filled else None)
    walk, start = own.walked
    row, column = AHEAD[walk.first]
    x, y = STEPS[walk.first]
    first = Bar(start.y + row, start.x + column), Knot(start.x + x, start.y + y)
    return hole, Marks(rings={start: ""}, towards=first, struck=struck)


def _ends(own: Exercise) -> Iterator[tuple[str, str, Knot]]:
    for twine in own.plan.sewing.twines:
        yield "start", twine.name, twine.knots[0].at
        yield "end", twine.name, twine.knots[-1].at


# What is asked below the drawing


def _table(look: Look, rows: list[tuple[str, str]], filled: bool) -> Table:
    shown = tuple((asked, answer if filled else "") for asked, answer in rows)
    return Table((), shown, (3, 2), look.sizes.plain, row_height=PENCIL)


def _trim(own: Exercise, look: Look, filled: bool, width: float) -> list[Block]:
    cuts, twines = len(own.plan.cuts), len(own.plan.sewing.twines)
    blocks: list[Block] = [
        _table(look, [(look.words.say("class.cuts", patch=False), str(cuts))], filled)
    ]
    if filled:
        said = look.words.say("school.right_too", cuts=cuts, twines=twines)
        blocks += [Gap(1.0), plain(said, look)]
    return blocks


def _number(own: Exercise, look: Look, filled: bool, width: float) -> list[Block]:
    return [_table(look, [(look.words.say("class.knots"), str(len(own.tied)))], filled)]


def _name(own: Exercise, look: Look, filled: bool, width: float) -> list[Block]:
    rows = [
        (letter, knot_term(name, look.words)) for (letter, _), name in zip(own.lettered, own.answer)
    ]
    half = (len(rows) + 1) // 2
    head = look.words.say("school.letter"), look.words.say("school.name")
    tables: list[tuple[Block, ...]] = []
    for part in (rows[:half], rows[half:]):
        shown = tuple((letter, name if filled else "") for letter, name in part)
        tables.append((Table(head, shown, (1, 4), look.sizes.plain, row_height=PENCIL),))
    return [Columns(tuple(tables), 6.0)]


def _count(own: Exercise, look: Look, filled: bool, width: float) -> list[Block]:
    names = asked(own.plan, look, ("bars", "knots", "meshes", "twine"))
    rows = list(zip(names, own.answer))
    return [*given(own.plan, look), _table(look, rows, filled)]


def _mistake(own: Exercise, look: Look, filled: bool, width: float) -> list[Block]:
    words = look.words
    if own.wrong in own.made:
        kind = words.say("school.too_many", n=own.made.index(own.wrong) + 1)
    else:
        kind = words.say("school.left_out")
    check = judged(own.spec.hole, own.made, own.plan.trim)
    wrong = [len(knots) for knots in (check.three_bars, check.one_bars, check.opposite)]
    return [
        _table(
            look,
            [
                (words.say("school.kind"), kind),
                (words.say("school.left"), ", ".join(map(str, wrong))),
            ],
            filled,
        )
    ]


def _walk(own: Exercise, look: Look, filled: bool, width: float) -> list[Block]:
    counts = list(own.answer) if filled else []
    return [_boxes(look, width, counts + [""] * (LONGEST_WALK - len(counts)))]


def _miscount(own: Exercise, look: Look, filled: bool, width: float) -> list[Block]:
    place, true = own.miscount
    words = look.words
    rows = [(words.say("school.which"), str(place)), (words.say("school.should"), str(true))]
    counts = [str(count) for count in own.told_walk]
    return [
        _boxes(look, width, counts, place if filled else None),
        Gap(1.5),
        _table(look, rows, filled),
    ]


def _boxes(look: Look, width: float, counts: list[str], wrong: int | None = None) -> Drawing:
    """A numbered box for each count; that of a wrong one framed."""
    wide = width / BOXES
    shapes: list[Shape] = []
    small, large = look.sizes.small, look.sizes.heading
    for n, count in enumerate(counts, 1):
        row, column = divmod(n - 1, BOXES)
        x, y = column * wide, row * BOX
        frame = ((x, y), (x + wide, y), (x + wide, y + BOX), (x, y + BOX))
        shapes.append(Area(frame, pen.FINE, role="box", of=f"count {n}"))
        base = y + 1.1 + small * CAP_HEIGHT
        shapes.append(Text(x + 1.1, base, str(n), small, False, "start", "legend"))
        if count:
            base = y + BOX - 1.2
            shapes.append(Text(x + wide * 0.62, base, count, large, True, "middle", "count"))
        if n == wrong:
            half = pen.MARK / 2
            left, right, top, bottom = x + half, x + wide - half, y + half, y + BOX - half
            inner = ((left, top), (right, top), (right, bottom), (left, bottom))
            shapes.append(Area(inner, pen.MARK, role="mistake"))
    lines = (len(counts) + BOXES - 1) // BOXES
    return Drawing(shapes, width, lines * BOX)


Tail = Callable[[Exercise, Look, bool, float], list[Block]]
_TAILS: dict[str, Tail] = {
    "trim": _trim,
    "number": _number,
    "name": _name,
    "count": _count,
    "mistake": _mistake,
    "walk": _walk,
    "miscount": _miscount,
}
