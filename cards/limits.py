"""How large a file, a hole and a card may be, so that any card is made, or refused, in 2 s."""

from __future__ import annotations

from cards.errors import HoleError, printable
from cards.grid import Hole

# A spec file.
FILE_LIMIT = 4_000_000  # bytes
VALUE_LIMIT = 400_000  # values, names of fields among them
DEPTH_LIMIT = 8  # groups within groups
DOCUMENT_LIMIT = 1000  # specs
FAULT_LIMIT = 30  # unknown fields of one group that are named one by one

WORDS_LIMIT = 1_000_000  # bytes of a word list
SET_LIMIT = 200  # worksheets in a set
ANSWER_LIMIT = 100_000  # bytes of an answer to a worksheet

# A hole: the box round it, in half meshes.
SIDE_LIMIT = 8_000  # either way
BOX_LIMIT = 4_000_000  # rows times columns
GAP_LIMIT = 500_000  # of these, in rows in which nothing is broken

# What the command plans, in bars between the outermost breaks of each row. The library plans any
# hole.
PLAN_BARS = 80_000  # printed as data or text
CARD_BARS = 12_000  # drawn
SHEET_BARS = 1_000  # on a sheet of a class; one page holds far fewer
NAMED_BARS = 20_000  # named one by one when a hole is converted
DRAWING_BOX = 14_000  # drawn in one piece: rows times columns, with whole web round the hole
DRAWN_ROUND = 4  # half meshes of it, both sides together

# A card.
PAGE_LIMIT = 170  # pages
PAPER_LIMIT = 6.0  # m2 of paper: 96 pages of A4, half as many where a key comes with the card
TILE_LIMIT = 1_000  # parts of a page's size that a drawing is cut into, empty ones too


def check_bars(bars: int, most: int, source: str) -> None:
    """Raise `HoleError` for more bars than can be planned or drawn.

    Raises
    ------
    HoleError
        When there are more than `most`.
    """
    if bars > most:
        raise HoleError(
            f"{printable(source)}: found a hole of {bars} bars, counted between the outermost "
            f"breaks of each row; expected at most {most}. "
            "Give a large tear in parts, a spec for each."
        )


def check_drawing(hole: Hole, source: str) -> None:
    """Raise `HoleError` for a hole that is too large to be drawn in one piece.

    Raises
    ------
    HoleError
        When the box round it is.
    """
    columns, rows = hole.right - hole.left, len(hole.rows)
    if (columns + DRAWN_ROUND) * (rows + DRAWN_ROUND) > DRAWING_BOX:
        raise HoleError(
            f"{printable(source)}: found a hole of {columns} bars across and {rows} rows; "
            f"expected at most {DRAWING_BOX:,} bars in one drawing, counted in the box round "
            f"the hole and {DRAWN_ROUND // 4} mesh of whole web all round. Give it in parts."
        )
