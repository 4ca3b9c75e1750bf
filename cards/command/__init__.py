"""The command ``threebar``: one module for each of its words, imported when it is called.

A module of this folder has `add_arguments`, which gives a parser its arguments, and `run`, which
takes the parsed arguments and returns the exit code.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module

MADE, FAILED, WRONG_CALL = 0, 1, 2

# Each word of the command, in the order of the help, and what it does.
WORDS: dict[str, str] = {
    "cards": "make the cards of specs as PDF",
    "plan": "print the plan of a spec as JSON",
    "check": "judge the cuts of a spec: what is wrong, the next cut",
    "show": "draw the hole of a spec in the terminal",
    "new": "write a spec to fill in, or make one by asking",
    "convert": "print a spec with its hole given in another form",
    "taper": "tell the cutting rate of a sloping edge in N, T and B",
    "schema": "print the JSON Schema of a spec file",
    "picture": "write the drawing of a spec as SVG",
    "stitches": "make the cards of the eight knots as PDF",
    "exercise": "make a set of worksheets for a class, with their keys",
    "mark": "mark the answers to worksheets",
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code: 0 made, 1 not made, 2 a wrong call or spec."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    parser = argparse.ArgumentParser(
        prog="threebar",
        description="Printable cards for mending torn trawl net.",
        epilog="A card is a work aid: local rules, the vessel's own safety procedures and a "
        "qualified net maker come first.",
    )
    parser.add_argument("--version", action="store_true", help="print the version and stop")
    words = parser.add_subparsers(dest="word", metavar="WORD")
    asked = next((word for word in given if not word.startswith("-")), None)
    for word, does in WORDS.items():
        own = words.add_parser(word, help=does, description=f"{does[0].upper()}{does[1:]}.")
        if word == asked:
            module = import_module(f"cards.command.{word}")
            module.add_arguments(own)
            own.set_defaults(run=module.run)
    try:
        asked_for = parser.parse_args(given)
    except SystemExit as stop:
        return int(stop.code or 0)
    if asked_for.version:
        from cards import __version__

        print(f"threebar {__version__}")
        return MADE
    if asked_for.word is None:
        parser.print_help(sys.stderr)
        return WRONG_CALL
    return _guarded(asked_for)


def _guarded(asked_for: argparse.Namespace) -> int:
    """Run one word; say what went wrong without a traceback."""
    from cards.errors import CardError, OutputError

    try:
        return int(asked_for.run(asked_for))
    except OutputError as error:
        complain(str(error))
        return FAILED
    except CardError as error:
        complain(str(error))
        return WRONG_CALL
    except KeyboardInterrupt:
        complain("stopped")
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return FAILED


def complain(text: str) -> None:
    """Print a message on standard error, a line each, with the command's name."""
    from cards.errors import printable

    for line in text.splitlines():
        print(f"threebar: {printable(line)}", file=sys.stderr)
