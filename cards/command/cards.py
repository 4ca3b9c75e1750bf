"""``threebar cards``: the cards of specs as PDF."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator

from cards.command import FAILED, MADE, WRONG_CALL, complain
from cards.command.asked import SPEC_HELP, add_plan_arguments, plan_asked, specs_of
from cards.command.output import folder_for, write_whole
from cards.errors import CardError, OutputError
from cards.sheet import EDITIONS, card_pdf
from cards.sheet.paper import paper
from cards.spec import Spec
from cards.words import Words, own_words, words

LONG_BATCH = 5  # specs from which progress is shown


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add this word's arguments."""
    parser.add_argument("specs", metavar="SPEC", nargs="+", help=SPEC_HELP)
    parser.add_argument(
        "--out", metavar="DIR", default="out", help="the folder to write into (out)"
    )
    parser.add_argument(
        "--edition", choices=tuple(EDITIONS), default="loft", help="which edition (loft)"
    )
    parser.add_argument(
        "--paper", metavar="PAPER", help="A6, A5, A4, A3, half-letter, letter; A5-across lies"
    )
    parser.add_argument("--words", metavar="FILE", help="a word list of your own")
    add_plan_arguments(parser)


def run(asked_for: argparse.Namespace) -> int:
    """Make a PDF a spec and name each on standard output; go on where one cannot be made."""
    if asked_for.paper:
        asked_for.paper = paper(asked_for.paper).name
    word_list = own_words(asked_for.words, words()) if asked_for.words else words()
    specs, sound = specs_of(asked_for.specs)
    code = MADE if sound else WRONG_CALL
    if not specs:
        return code
    folder = folder_for(asked_for.out)
    for spec, name in progress(_named(specs), len(specs)):
        try:
            path = folder / f"{name}-{asked_for.edition}.pdf"
            write_whole(path, _card(spec, asked_for, word_list))
            print(path)
        except OutputError as error:
            complain(str(error))
            code = code or FAILED
        except CardError as error:
            complain(str(error))
            code = WRONG_CALL
    return code


def _card(spec: Spec, asked_for: argparse.Namespace, word_list: Words) -> bytes:
    return card_pdf(
        plan_asked(spec, asked_for),
        asked_for.edition,
        paper_name=asked_for.paper,
        word_list=word_list,
    )


def _named(specs: list[Spec]) -> Iterator[tuple[Spec, str]]:
    """Give each spec a name no other one has."""
    taken: set[str] = set()
    for spec in specs:
        name, number = spec.name, 2
        while name.lower() in taken:
            name = f"{spec.name}-{number}"
            number += 1
        taken.add(name.lower())
        yield spec, name


def progress(items: Iterable[tuple[Spec, str]], count: int) -> Iterable[tuple[Spec, str]]:
    """Show how far a long batch is, on a terminal only."""
    if count < LONG_BATCH or not sys.stderr.isatty():
        return items
    from tqdm import tqdm

    return tqdm(items, total=count, unit="card", leave=False)
