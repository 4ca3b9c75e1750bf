"""Let blocks flow into pages: the frame is drawn round each of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from cards.errors import PageError, printable
from cards.job import Plan
from cards.limits import PAGE_LIMIT, PAPER_LIMIT
from cards.picture.shapes import Picture, Text, moved
from cards.sheet.blocks import Block, Gap, Placed
from cards.sheet.frame import Frame, Imprint, Room, frame, imprint
from cards.sheet.paper import Paper, Sizes, larger_papers
from cards.words import Words


@dataclass(frozen=True)
class Look:
    """How pages are made: paper, sizes of type, words."""

    paper: Paper
    sizes: Sizes
    words: Words


def room_of(plan: Plan, look: Look, *, first: bool = False) -> Room:
    """The room that the frame leaves on a page; a small paper's first page may leave less."""
    return _room(imprint(plan, look.words), look.paper, look.sizes, look.words, 1 if first else 88)


@lru_cache(maxsize=64)
def _room(own: Imprint, paper: Paper, sizes: Sizes, words: Words, page: int) -> Room:
    return frame(own, paper, sizes, words, page, 88).room


def common_room(plan: Plan, look: Look) -> Room:
    """The room that there is on the first page of a card as on all others."""
    first, other = room_of(plan, look, first=True), room_of(plan, look)
    return Room(0, 0, min(first.width, other.width), min(first.height, other.height))


def count_pages(
    plan: Plan, look: Look, parts: Sequence[Sequence[Block]], *, first: bool = False
) -> int:
    """How many pages some parts take; `first` where they begin the card."""
    return len(_contents(plan, look, parts, first=first))


def texts_of(plan: Plan, look: Look, part: Sequence[Block]) -> list[list[Text]]:
    """The texts on each page of a part that begins on a new page, not on the first of a card."""
    return [
        [shape for placed, _ in content for shape in placed.shapes if isinstance(shape, Text)]
        for content in _contents(plan, look, [part], first=False)
    ]


def height_of(blocks: Sequence[Block], width: float) -> float:
    """How high blocks are, one below the other."""
    return sum(block.place(width, 1e6).height for block in blocks)


def height_used(plan: Plan, look: Look, part: Sequence[Block]) -> float:
    """How much of the height of its last page a part takes that begins on a new page, in mm."""
    return _filled(part, [room_of(plan, look)], look)[1]


def make_pages(
    plan: Plan, look: Look, parts: Sequence[Sequence[Block]], kind: str = ""
) -> list[Picture]:
    """Set the parts of a card, each beginning on a new page.

    Each page says of what `kind` it is where its head has room for that.

    Raises
    ------
    PageError
        When the paper is too small for a block.
    """
    contents = _contents(plan, look, parts, first=True)
    check_pages(plan, look, len(contents))
    pages = []
    own = replace(imprint(plan, look.words), kind=kind)
    for number, content in enumerate(contents, 1):
        around: Frame = frame(own, look.paper, look.sizes, look.words, number, len(contents))
        x, top = around.room.x, around.room.y
        shapes = [*around.shapes]
        for placed, y in content:
            shapes += moved(placed.shapes, x + placed.at[0], top + y + placed.at[1])
        pages.append(
            Picture(
                look.paper.width,
                look.paper.height,
                tuple(shapes),
                title=plan.spec.title,
                description=look.words.say("label.page", page=number, pages=len(contents)),
                language=look.words.language,
            )
        )
    return pages


def check_pages(plan: Plan, look: Look, count: int, files: int = 1) -> None:
    """Raise `PageError` for a card of more pages than a card in so many files may have."""
    most = _most_pages(look.paper, files)
    if count > most:
        raise PageError(
            f"{printable(plan.spec.source)}: found a card of {count} pages or more; "
            f"expected at most {most} of {look.paper.name}. {_advice(look.paper, count, files)}"
        )


def _most_pages(own: Paper, files: int) -> int:
    return min(PAGE_LIMIT, int(PAPER_LIMIT * 1e6 / (own.width * own.height))) // files


def _advice(own: Paper, count: int, files: int) -> str:
    """Name a paper that will do: a larger one takes fewer pages at least by its area."""
    parts = "give the tear in parts, a spec for each."
    others = larger_papers(own)
    if not others:
        return parts.capitalize()
    area = own.width * own.height
    will_do = (
        other
        for other in others
        if count * area / (other.width * other.height) <= _most_pages(other, files)
    )
    return f"Take a larger paper, such as {next(will_do, others[-1]).name}, or {parts}"


def _contents(
    plan: Plan, look: Look, parts: Sequence[Sequence[Block]], *, first: bool
) -> list[Content]:
    rooms = [room_of(plan, look, first=True)] if first else []
    usual = room_of(plan, look)
    contents: list[Content] = []
    for part in parts:
        contents += _filled(part, [*rooms[len(contents) :], usual], look)[0]
    return contents


# What stands on a page: what of each block, and how far down it begins.
Content = list[tuple[Placed, float]]


def _filled(
    blocks: Sequence[Block], rooms: Sequence[Room], look: Look
) -> tuple[list[Content], float]:
    """Fill rooms with blocks, one after the other; the last room stands for all that follow.

    Also how much of the height of the last one is taken.
    """
    pages: list[Content] = []
    content: Content = []
    y = 0.0
    waiting = list(blocks)[::-1]
    while waiting:
        room = rooms[min(len(pages), len(rooms) - 1)]
        block = waiting.pop()
        if not content and isinstance(block, Gap):
            continue
        placed = block.place(room.width, room.height - y)
        short = placed.rest is not None or (
            block.keep and y + placed.height + block.keep > room.height
        )
        if short and content and (not placed.shapes or placed.rest is None):
            pages.append(content)
            content, y = [], 0.0
            waiting.append(block)
            continue
        if placed.rest is not None and not placed.shapes:
            raise PageError(
                f"found paper {look.paper.name} too small for what must stand on it; "
                "expected a larger paper"
            )
        if placed.shapes:
            content.append((placed, y))
        y += placed.height
        if placed.rest is not None:
            waiting.append(placed.rest)
            pages.append(content)
            content, y = [], 0.0
    if content:
        pages.append(content)
    return pages, y
