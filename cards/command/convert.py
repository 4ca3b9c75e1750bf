"""``threebar convert``: a spec with its hole given in another form."""

from __future__ import annotations

import argparse
import sys

from cards.command import MADE, complain
from cards.spec.convert import FORMS, convert
from cards.spec.load import read_text, source_name


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add this word's arguments."""
    parser.add_argument("spec", metavar="SPEC", help="a spec file, or - for standard input")
    parser.add_argument("--to", required=True, choices=FORMS, help="the form of the hole")


def run(asked_for: argparse.Namespace) -> int:
    """Print the spec; say on standard error where its knots are counted from another place."""
    source = source_name(asked_for.spec)
    converted = convert(read_text(asked_for.spec), asked_for.to, source)
    sys.stdout.write(converted.text + ("" if converted.text.endswith("\n") else "\n"))
    for number, (across, down) in enumerate(converted.shifts, 1):
        if (across, down) != (0, 0):
            which = f" of spec {number}" if len(converted.shifts) > 1 else ""
            complain(
                f"note: the knots{which} are now counted from another corner: "
                f"x {across:+d}, y {down:+d}"
            )
    return MADE
