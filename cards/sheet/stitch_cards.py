"""Stitch cards: the eight knots of a mend for one hand, a knot a page, on A6."""

from __future__ import annotations

from cards.errors import PageError
from cards.picture import pen
from cards.picture.pdf import Bookmark, pdf_bytes
from cards.picture.shapes import Area, Disc, Line, Picture, Shape, Text, moved
from cards.picture.stitches import NUMBER, STAGES, number_text, stage_shapes
from cards.picture.type import CAP_HEIGHT, text_width, wrapped
from cards.sew.sewing import Hand, Stitch, needle_side
from cards.sheet.blocks import LEADING
from cards.sheet.paper import BENCH_SIZES, EYELET, EYELET_CLEAR, MARGIN, paper
from cards.trim import Side
from cards.words import Words, words

PAPER = "A6"
ACROSS = 2  # stages in a line
GUTTER = 2.0  # between two columns, mm
STRIP = NUMBER + 1.2  # for the number, beside the drawing, mm

# The eight, for the right hand; the left hand's go the other way.
EIGHT: tuple[tuple[Stitch, Side], ...] = (
    ("start", "right"),
    ("pickup above", "right"),
    ("pickup above", "left"),
    ("pickup below", "right"),
    ("pickup below", "left"),
    ("sider", "right"),
    ("sider", "left"),
    ("end", "right"),
)
OTHER: dict[Side, Side] = {"right": "left", "left": "right"}


def eight_knots(hand: Hand) -> tuple[tuple[Stitch, Side], ...]:
    """The eight knots of a mend, each with the way of its row, for a hand."""
    if hand == "right":
        return EIGHT
    return tuple((stitch, OTHER[going]) for stitch, going in EIGHT)


def stitch_title(stitch: Stitch, going: Side, word_list: Words) -> str:
    """The name of a stitch with the way of its row."""
    key = f"stitches.{stitch.replace(' ', '_')}"
    return word_list.say(key, **_ways(going, word_list))


def stitch_sentences(stitch: Stitch, going: Side, hand: Hand, word_list: Words) -> list[str]:
    """What to do at each stage of a stitch, as its drawing shows it.

    Parameters
    ----------
    stitch, going, hand
        Which knot, the way of the row, and the hand that sews.
    word_list
        The words.

    Returns
    -------
    list of str
        A text for each stage.
    """
    side = "behind" if needle_side(going, hand) == "from behind" else "front"
    group = f"stitch_{stitch.replace(' ', '_')}"
    ways = _ways(going, word_list)
    return [word_list.say(f"{group}.{side}_{n}", **ways) for n in range(1, STAGES + 1)]


def _ways(going: Side, word_list: Words) -> dict[str, str]:
    return {
        "ahead": word_list.say(f"stitches.{going}"),
        "astern": word_list.say(f"stitches.{OTHER[going]}"),
    }


def stitch_cards(hand: Hand, word_list: Words | None = None) -> list[Picture]:
    """Lay out the eight stitch cards of a hand.

    Parameters
    ----------
    hand
        The hand that sews.
    word_list
        The words; English when not given.

    Returns
    -------
    list of Picture
        Eight pages of A6, upright.

    Raises
    ------
    PageError
        When a text of the word list is too long for its place.
    """
    word_list = word_list or words()
    knots = eight_knots(hand)
    return [
        _page(stitch, going, hand, word_list, page, len(knots))
        for page, (stitch, going) in enumerate(knots, 1)
    ]


def stitch_cards_pdf(hand: Hand, word_list: Words | None = None) -> bytes:
    """Return the eight stitch cards of a hand as one PDF with an outline."""
    word_list = word_list or words()
    pages = stitch_cards(hand, word_list)
    return pdf_bytes(
        pages,
        title=word_list.say("stitches.title"),
        subject=word_list.say("stitches.subject", hand=word_list.say(f"label.{hand}_hand")),
        bookmarks=[Bookmark(page.title, number) for number, page in enumerate(pages)],
        language=word_list.language,
    )


def _page(
    stitch: Stitch, going: Side, hand: Hand, word_list: Words, page: int, pages: int
) -> Picture:
    sheet = paper(PAPER)
    shapes: list[Shape] = []
    title = stitch_title(stitch, going, word_list)
    top = _head(shapes, title, stitch, going, hand, word_list, page, pages)
    bottom = _foot(shapes, word_list)
    sentences = stitch_sentences(stitch, going, hand, word_list)
    _stages(shapes, stitch, going, hand, sentences, top, bottom)
    description = " ".join(f"{n}. {text}" for n, text in enumerate(sentences, 1))
    language = word_list.language
    return Picture(sheet.width, sheet.height, tuple(shapes), title, description, language)


def _head(
    shapes: list[Shape],
    title: str,
    stitch: Stitch,
    going: Side,
    hand: Hand,
    word_list: Words,
    page: int,
    pages: int,
) -> float:
    """Draw eyelet, title, hand and page number; return where the room below begins."""
    sheet, sizes = paper(PAPER), BENCH_SIZES
    left, right = MARGIN, sheet.width - MARGIN
    centre = MARGIN + EYELET + pen.RULE
    shapes.append(Disc(sheet.width / 2, centre, EYELET, pen.RULE, role="eyelet"))
    small = sizes.small
    line = MARGIN + CAP_HEIGHT * sizes.plain
    hand_text = word_list.say(f"label.{hand}_hand")
    page_text = word_list.say("label.page", page=page, pages=pages)
    shapes.append(Text(left, line, hand_text, sizes.plain, bold=True, role="hand"))
    shapes.append(Text(right, line, page_text, small, anchor="end", role="page"))
    below = line + LEADING * sizes.plain
    shapes.append(
        Area(
            ((left, below), (left + 1.8, below), (left + 0.9, below - CAP_HEIGHT * small)),
            fill="black",
            role="top",
        )
    )
    top_text = word_list.say("label.top")
    shapes.append(Text(left + 2.6, below, top_text, small, role="top"))
    entry = needle_side(going, hand).replace(" ", "_")
    entry_text = word_list.say(f"stitches.{entry}")
    y = centre + EYELET_CLEAR + 0.3 + CAP_HEIGHT * sizes.heading
    room = right - left - text_width(entry_text, small) - 3.0
    if text_width(title, sizes.heading, True) > room:
        raise PageError(f'found the title "{title}"; expected one that fits an A6 card')
    shapes.append(Text(right, y, entry_text, small, anchor="end", role="needle side"))
    shapes.append(Text(left, y, title, sizes.heading, bold=True, role="title"))
    y += 1.4
    shapes.append(Line(((left, y), (right, y)), pen.RULE, role="rule"))
    return y + 1.6


def _foot(shapes: list[Shape], word_list: Words) -> float:
    """Draw the cautions; return where the room above ends."""
    sheet, size = paper(PAPER), BENCH_SIZES.small
    lines = wrapped(word_list.say("safety.strip"), size, sheet.width - 2 * MARGIN)
    y = sheet.height - MARGIN - 0.25 * size - (len(lines) - 1) * LEADING * size
    top = y - CAP_HEIGHT * size - 1.2
    shapes.append(Line(((MARGIN, top), (sheet.width - MARGIN, top)), pen.RULE, role="rule"))
    for n, line in enumerate(lines):
        shapes.append(Text(MARGIN, y + n * LEADING * size, line, size, role="safety"))
    return top - 0.8


def _stages(
    shapes: list[Shape],
    stitch: Stitch,
    going: Side,
    hand: Hand,
    sentences: list[str],
    top: float,
    bottom: float,
) -> None:
    """Draw the stages two by two, each text below its drawing."""
    sheet, size = paper(PAPER), BENCH_SIZES.plain
    column = (sheet.width - 2 * MARGIN - (ACROSS - 1) * GUTTER) / ACROSS
    texts = [wrapped(text, size, column) for text in sentences]
    rows = [range(n, min(n + ACROSS, len(texts))) for n in range(0, len(texts), ACROSS)]
    deep = [max(len(texts[n]) for n in row) for row in rows]
    spare = bottom - top - sum(deep) * LEADING * size - 3.0 * len(rows)
    side = min(column - STRIP, spare / len(rows))
    if side < 0.8 * (column - STRIP):
        raise PageError(f"found too many words for the stages of {stitch}; expected shorter ones")
    y = top
    for row, lines in zip(rows, deep):
        for place, n in enumerate(row):
            x = MARGIN + place * (column + GUTTER)
            shapes.append(number_text(x, y + 0.5, n + 1))
            inset = STRIP + (column - STRIP - side) / 2
            shapes += moved(stage_shapes(stitch, going, hand, n + 1, side), x + inset, y)
            base = y + side + 1.5 + CAP_HEIGHT * size
            for k, line in enumerate(texts[n]):
                role = f"stage {n + 1}"
                shapes.append(Text(x, base + k * LEADING * size, line, size, role="step", of=role))
        y += side + 3.0 + lines * LEADING * size
