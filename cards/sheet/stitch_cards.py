"""Stitch cards: the eight knots of a mend for one hand, a knot a page, on A6."""

from __future__ import annotations

from dataclasses import replace

from cards.errors import PageError
from cards.job import card_number
from cards.picture.pdf import Bookmark, pdf_bytes
from cards.picture.shapes import Picture, Text, moved
from cards.sew import Hand, Tying
from cards.sheet.frame import Imprint, frame
from cards.sheet.pages import Look
from cards.sheet.paper import BENCH_SIZES, paper
from cards.sheet.say import OTHER_WAY, needle_entry, stitch_sentences, stitch_title
from cards.sheet.stitch_blocks import BELOW, LEAST_SIDE, Shown, largest_side
from cards.trim import Side
from cards.words import Words, words

PAPER = "A6"
ACROSS = 2  # stages in a line

# The eight, for the right hand; the left hand's go the other way.
EIGHT: tuple[tuple[Tying, Side], ...] = (
    ("start", "right"),
    ("pickup above", "right"),
    ("pickup above", "left"),
    ("pickup below", "right"),
    ("pickup below", "left"),
    ("sider", "right"),
    ("sider", "left"),
    ("end", "right"),
)


def eight_knots(hand: Hand) -> tuple[tuple[Tying, Side], ...]:
    """The eight knots of a mend, each with the way of its row, for a hand."""
    if hand == "right":
        return EIGHT
    return tuple((stitch, OTHER_WAY[going]) for stitch, going in EIGHT)


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
    stitch: Tying, going: Side, hand: Hand, word_list: Words, page: int, pages: int
) -> Picture:
    look = Look(paper(PAPER), BENCH_SIZES, word_list)
    title = stitch_title(stitch, going, word_list)
    sentences = stitch_sentences(stitch, going, hand, word_list)
    about = needle_entry(going, hand, word_list)
    hand_text = word_list.say(f"label.{hand}_hand")
    own = Imprint(
        title=title,
        number=card_number("\n".join((title, hand_text, about, *sentences)).encode()),
        hand=hand_text,
        about=(about,),
        measures=False,
        lean=True,
    )
    around = frame(own, look.paper, look.sizes, word_list, page, pages)
    room = around.room
    if not any(shape.text == title for shape in around.shapes if isinstance(shape, Text)):
        raise PageError(f'found the title "{title}"; expected one that fits an A6 card')
    shown = Shown(look, hand, stitch, going, ACROSS, LEAST_SIDE)
    high = room.height
    if shown.height(room.width) - BELOW > high:  # nothing follows the last words
        raise PageError(f"found too many words for the stages of {stitch}; expected shorter ones")
    shown = replace(shown, side=largest_side([shown], 1, room.width, high))
    stages = moved(shown.place(room.width, high).shapes, room.x, room.y)
    description = " ".join(f"{n}. {text}" for n, text in enumerate(sentences, 1))
    shapes = (*around.shapes, *stages)
    return Picture(look.paper.width, look.paper.height, shapes, title, description)
