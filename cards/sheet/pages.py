"""Let blocks flow into pages: the frame is drawn round each of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cards.errors import PageError
from cards.job import Plan
from cards.picture.shapes import Picture, Shape, moved
from cards.sheet.blocks import Block, Gap
from cards.sheet.frame import Frame, Room, frame
from cards.sheet.paper import Paper, Sizes
from cards.words import Words

PAGE_LIMIT = 600


@dataclass(frozen=True)
class Look:
    """How pages are made: paper, sizes of type, words."""

    paper: Paper
    sizes: Sizes
    words: Words


def room_of(plan: Plan, look: Look) -> Room:
    """The room that the frame leaves on a page."""
    return frame(plan, look.paper, look.sizes, look.words, 88, 88).room


def count_pages(plan: Plan, look: Look, parts: Sequence[Sequence[Block]]) -> int:
    """How many pages some parts take."""
    room = room_of(plan, look)
    return sum(len(_filled(part, room, look)) for part in parts)


def make_pages(plan: Plan, look: Look, parts: Sequence[Sequence[Block]]) -> list[Picture]:
    """Set the parts of a card, each beginning on a new page.

    Raises
    ------
    PageError
        When the paper is too small for a block.
    """
    room = room_of(plan, look)
    contents = [content for part in parts for content in _filled(part, room, look)]
    if len(contents) > PAGE_LIMIT:
        raise PageError(
            f"{plan.spec.title}: found a card of {len(contents)} pages; "
            f"expected at most {PAGE_LIMIT}. Take a larger paper, or give the tear in parts."
        )
    pages = []
    for number, content in enumerate(contents, 1):
        around: Frame = frame(plan, look.paper, look.sizes, look.words, number, len(contents))
        shapes = (*around.shapes, *moved(content, room.x, room.y))
        pages.append(
            Picture(
                look.paper.width,
                look.paper.height,
                shapes,
                title=plan.spec.title,
                description=look.words.say("label.page", page=number, pages=len(contents)),
            )
        )
    return pages


def _filled(blocks: Sequence[Block], room: Room, look: Look) -> list[list[Shape]]:
    """Fill rooms with blocks, one after the other."""
    pages: list[list[Shape]] = []
    content: list[Shape] = []
    y = 0.0
    waiting = list(blocks)[::-1]
    while waiting:
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
        content += moved(placed.shapes, 0, y)
        y += placed.height
        if placed.rest is not None:
            waiting.append(placed.rest)
            pages.append(content)
            content, y = [], 0.0
    if content:
        pages.append(content)
    return pages
