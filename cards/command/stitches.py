"""``threebar stitches``: the cards of the eight knots as PDF."""

from __future__ import annotations

import argparse

from cards.command import MADE
from cards.command.asked import add_word_arguments, words_asked
from cards.command.output import folder_for, write_whole
from cards.sheet.stitch_cards import stitch_cards_pdf


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add this word's arguments."""
    parser.add_argument(
        "--out", metavar="DIR", default="out", help="the folder to write into (out)"
    )
    parser.add_argument(
        "--hand", choices=("right", "left"), default="right", help="the hand that holds the needle"
    )
    add_word_arguments(parser)


def run(asked_for: argparse.Namespace) -> int:
    """Make the PDF and name it on standard output."""
    content = stitch_cards_pdf(asked_for.hand, words_asked(asked_for))
    path = folder_for(asked_for.out) / f"stitches-{asked_for.hand}-hand.pdf"
    write_whole(path, content)
    print(path)
    return MADE
