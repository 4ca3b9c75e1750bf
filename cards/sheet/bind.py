"""Bind cards into one PDF with an outline, and set several small cards on one sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cards.errors import PageError
from cards.picture import pen
from cards.picture.pdf import Attachment, Bookmark, pdf_bytes
from cards.picture.shapes import Line, Picture, Shape, Text, moved
from cards.picture.type import drawable
from cards.sheet.paper import SIZES
from cards.words import Words, words

MARK = 5.0  # length of a crop mark in mm
EDGE = 4.0  # mm of a sheet's edge that no printer reaches, kept free of marks


@dataclass(frozen=True)
class Card:
    """A card ready to bind: its title for the outline, its pages, and its spec."""

    title: str
    pages: Sequence[Picture]
    spec: Attachment


def bound_pdf(
    cards: Sequence[Card], *, title: str, per_sheet: int = 1, word_list: Words | None = None
) -> bytes:
    """Bind cards into one PDF.

    Parameters
    ----------
    cards
        In their order.
    title
        The title of the PDF.
    per_sheet
        How many pages stand on one sheet, at true size, with crop marks.
    word_list
        The words of the cards; English where None.

    Returns
    -------
    bytes
        With an entry in the outline for each card and for each of its parts, and each card's spec
        as an attachment.
    """
    said = word_list or words()
    pages: list[Picture] = []
    bookmarks: list[Bookmark] = []
    for card in cards:
        bookmarks.append(Bookmark(card.title, len(pages) // per_sheet))
        bookmarks += outline(card.pages, per_sheet, first=len(pages), level=1)
        pages += card.pages
    return pdf_bytes(
        on_sheets(pages, per_sheet) if per_sheet > 1 else pages,
        title=title,
        subject=", ".join(card.title for card in cards)[:500],
        keywords=said.say("file.keywords", number=title),
        attachments=[card.spec for card in cards],
        bookmarks=bookmarks,
        language=said.language,
    )


# The levels of what is in an outline, by the role of its text: a tile or a table between tiles is
# part of what its heading names.
LEVELS = {"heading": 0, "tile title": 1, "heading between tiles": 1}


def outline(
    pages: Sequence[Picture], per_sheet: int = 1, *, first: int = 0, level: int = 0
) -> list[Bookmark]:
    """The headings on the pages of a card, and under them its tiles and the tables between.

    Parameters
    ----------
    pages
        The pages of one card.
    per_sheet
        How many pages stand on one sheet.
    first
        How many pages stand before the card's.
    level
        The level of a heading; from 1 on an entry with the card's title stands above.

    Returns
    -------
    list of Bookmark
        In their order; none where there is only one. A first page without a heading has the
        card's title.
    """
    marks: list[Bookmark] = []
    under = 0
    for number, page in enumerate(pages, first):
        title = ""  # the lines of one title follow each other
        for shape in page.shapes:
            if not isinstance(shape, Text) or shape.role not in LEVELS or shape.of in ("", title):
                continue
            title = shape.of
            if shape.role == "heading":
                under = 1
                if marks and marks[-1].title == title:
                    continue  # what goes over to the next page has its heading there again
            marks.append(Bookmark(title, number // per_sheet, level + under * LEVELS[shape.role]))
    if marks and not level and marks[0].page > first:
        marks.insert(0, Bookmark(drawable(pages[0].title), first))
    return marks if len(marks) > 1 else []


@dataclass(frozen=True, slots=True)
class Layout:
    """How pages stand on a sheet: its size in mm, and how many across and down."""

    width: float
    height: float
    across: int
    down: int


def layout(page: Picture, count: int) -> Layout:
    """Find the smallest sheet on which `count` pages stand at true size.

    Raises
    ------
    PageError
        When no sheet is large enough.
    """
    found: list[tuple[float, float, Layout]] = []
    for across in range(1, count + 1):
        if count % across:
            continue
        down = count // across
        need = across * page.width, down * page.height
        for upright in SIZES.values():
            for width, height in (upright, upright[::-1]):
                if need[0] <= width + 1e-6 and need[1] <= height + 1e-6:
                    waste = width * height - need[0] * need[1]
                    found.append((width * height, waste, Layout(width, height, across, down)))
    if not found:
        raise PageError(
            f"found {count} pages of {page.width:.0f} by {page.height:.0f} mm for one sheet; "
            "expected so few or so small that they fit on A3. Take fewer, or a smaller --paper."
        )
    return min(found, key=lambda entry: (entry[0], entry[1], entry[2].width, entry[2].across))[2]


def on_sheets(pages: Sequence[Picture], count: int) -> list[Picture]:
    """Set pages of one size on sheets, `count` on each, with crop marks.

    Raises
    ------
    PageError
        When the pages are not of one size, or too large.
    """
    sizes = {(page.width, page.height) for page in pages}
    if len(sizes) != 1:
        raise PageError("found pages of several sizes; expected one size for --per-sheet")
    place = layout(pages[0], count)
    width, height = pages[0].width, pages[0].height
    left = (place.width - place.across * width) / 2
    top = (place.height - place.down * height) / 2
    marks = _crop_marks(place, left, top, width, height)
    sheets = []
    for first in range(0, len(pages), count):
        shapes: list[Shape] = []
        for number, page in enumerate(pages[first : first + count]):
            row, column = divmod(number, place.across)
            shapes += moved(page.shapes, left + column * width, top + row * height)
        title, language = pages[first].title, pages[first].language
        sheets.append(
            Picture(place.width, place.height, (*shapes, *marks), title, language=language)
        )
    return sheets


def _crop_marks(place: Layout, left: float, top: float, width: float, height: float) -> list[Shape]:
    """Short lines on every line of cutting: at the rim of the sheet, and where two lines cross."""
    xs = [left + column * width for column in range(place.across + 1)]
    ys = [top + row * height for row in range(place.down + 1)]
    inner_xs = [x for x in xs if EDGE < x < place.width - EDGE]
    inner_ys = [y for y in ys if EDGE < y < place.height - EDGE]
    shapes: list[Shape] = []
    for x in inner_xs:
        for y in ys:
            shapes += _mark(x, y, 0, place)
    for y in inner_ys:
        for x in xs:
            shapes += _mark(x, y, 1, place)
    return shapes


def _mark(x: float, y: float, way: int, place: Layout) -> list[Shape]:
    """A mark along one line of cutting, both ways from a corner, clear of the sheet's rim."""
    limit = place.height if way == 0 else place.width
    at = y if way == 0 else x
    begin, end = max(EDGE, at - MARK), min(limit - EDGE, at + MARK)
    if at <= EDGE:
        end = EDGE + MARK
    elif at >= limit - EDGE:
        begin = limit - EDGE - MARK
    points = ((x, begin), (x, end)) if way == 0 else ((begin, y), (end, y))
    return [Line(points, pen.FINE, "crop mark")]
