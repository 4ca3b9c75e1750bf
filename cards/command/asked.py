"""Arguments that several words of the command share, and the specs they name."""

from __future__ import annotations

import argparse

from cards.command import complain
from cards.errors import CardError
from cards.job import Plan, plan
from cards.limits import PLAN_BARS, check_bars
from cards.spec import Spec, spec_files
from cards.spec.load import load_each
from cards.words import Words, languages, own_words, words

SPEC_HELP = "a spec file, a folder of specs, or - for standard input"


def add_plan_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that steer planning."""
    parser.add_argument("--hand", choices=("right", "left"), help="the hand that holds the needle")
    parser.add_argument(
        "--start",
        choices=("left", "right", "auto"),
        help="the side to start on; auto: the side with fewer cuts",
    )
    parser.add_argument(
        "--twines",
        choices=("one", "fewest-cost"),
        default="fewest-cost",
        help="one: a single twine; fewest-cost: least bars to sew and twines (fewest-cost)",
    )
    parser.add_argument(
        "--method",
        choices=("mend", "patch", "auto"),
        help="mend, sew a patch in, or auto: whichever takes less time",
    )


def add_word_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that choose the words on the cards."""
    parser.add_argument(
        "--language",
        metavar="TAG",
        default="en",
        help=f"the language of the words: {', '.join(languages())} (en); "
        "a mender who speaks Spanish should read es over first",
    )
    parser.add_argument(
        "--words", metavar="FILE", help="a word list of your own over that of the language"
    )


def words_asked(asked_for: argparse.Namespace) -> Words:
    """The word list that the arguments choose."""
    base = words(asked_for.language)
    return own_words(asked_for.words, base) if asked_for.words else base


def specs_of(paths: list[str]) -> tuple[list[Spec], bool]:
    """Load all specs that can be used, complaining of the others; and whether all could."""
    specs: list[Spec] = []
    sound = True
    for path in spec_files(paths):
        loaded, errors = load_each(path)
        specs += loaded
        for error in errors:
            complain(str(error))
            sound = False
    return specs, sound


def plan_asked(spec: Spec, asked_for: argparse.Namespace, most: int = PLAN_BARS) -> Plan:
    """Plan a spec as the arguments say, with at most so many bars in its hole."""
    check_bars(spec.hole.enclosed, most, spec.source)
    return plan(
        spec,
        hand=asked_for.hand,
        start=asked_for.start,
        twines=asked_for.twines,
        method=asked_for.method,
    )


def only_one(specs: list[Spec], source: str) -> Spec:
    """The only spec of several; raise where there are more."""
    if len(specs) != 1:
        raise CardError(f"{source}: found {len(specs)} specs; expected one")
    return specs[0]
