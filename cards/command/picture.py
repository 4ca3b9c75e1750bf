"""``threebar picture``: the drawing of a spec as SVG."""

from __future__ import annotations

import argparse
import sys

from cards.command import MADE, WRONG_CALL
from cards.command.asked import (
    SPEC_HELP,
    add_plan_arguments,
    add_word_arguments,
    only_one,
    plan_asked,
    specs_of,
    words_asked,
)
from cards.command.output import check_svg, write_whole
from cards.limits import CARD_BARS, check_drawing
from cards.picture.svg import svg_text
from cards.picture.web import picture_of


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add this word's arguments."""
    parser.add_argument("spec", metavar="SPEC", help=SPEC_HELP)
    parser.add_argument(
        "-o", "--output", metavar="FILE.svg", help="the file to write (standard output)"
    )
    parser.add_argument(
        "--found", action="store_true", help="draw the hole as found with its cuts, not the sewing"
    )
    add_word_arguments(parser)
    add_plan_arguments(parser)


def run(asked_for: argparse.Namespace) -> int:
    """Write one drawing."""
    word_list = words_asked(asked_for)
    specs, sound = specs_of([asked_for.spec])
    if not sound:
        return WRONG_CALL
    if asked_for.output:
        check_svg(asked_for.output)
    planned = plan_asked(only_one(specs, asked_for.spec), asked_for, CARD_BARS)
    check_drawing(planned.trim.trimmed, asked_for.spec)
    drawing = picture_of(planned, found=asked_for.found, word_list=word_list)
    text = svg_text(drawing).encode()
    if asked_for.output:
        write_whole(asked_for.output, text)
    else:
        sys.stdout.buffer.write(text)
    return MADE
