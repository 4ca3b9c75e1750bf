"""``threebar cards``: the cards of specs as PDF."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from cards.command import FAILED, MADE, WRONG_CALL, complain
from cards.command.asked import (
    SPEC_HELP,
    add_plan_arguments,
    add_word_arguments,
    plan_asked,
    specs_of,
    words_asked,
)
from cards.command.output import folder_for, write_whole
from cards.errors import CardError, OutputError
from cards.job import Plan
from cards.sheet import EDITIONS, Card, bound_pdf, card_pdf, compose, spec_attached
from cards.sheet.paper import paper
from cards.spec import Spec
from cards.spec.load import plain_name
from cards.words import Words

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
    parser.add_argument(
        "--per-sheet",
        metavar="N",
        type=_count,
        default=1,
        help="pages on one sheet, at true size, with crop marks",
    )
    parser.add_argument("--bind", metavar="NAME", help="one PDF of this name for all specs")
    parser.add_argument("--log", metavar="FILE.csv", help="a repair log: add a row for each card")
    add_word_arguments(parser)
    add_plan_arguments(parser)


def _count(text: str) -> int:
    count = int(text) if text.isdecimal() and len(text) < 3 else 0
    if not 1 <= count <= 16:
        raise argparse.ArgumentTypeError(f"found {text}; expected a number from 1 to 16")
    return count


def run(asked_for: argparse.Namespace) -> int:
    """Make the PDFs and name each on standard output; go on where a card cannot be made."""
    if asked_for.paper:
        asked_for.paper = paper(asked_for.paper).name
    word_list = words_asked(asked_for)
    specs, sound = specs_of(asked_for.specs)
    code = MADE if sound else WRONG_CALL
    if not specs:
        return code
    folder = folder_for(asked_for.out)
    editions = (asked_for.edition, *EDITIONS[asked_for.edition].beside)
    bound: dict[str, list[Card]] = {edition: [] for edition in editions}
    made: list[Plan] = []
    for spec, name in progress(_named(specs), len(specs)):
        try:
            planned = plan_asked(spec, asked_for)
            for edition in editions:
                if asked_for.bind:
                    pages = compose(
                        planned, edition, paper_name=asked_for.paper, word_list=word_list
                    )
                    card = Card(spec.title, pages, spec_attached(planned, name))
                    bound[edition].append(card)
                    continue
                content = card_pdf(
                    planned,
                    edition,
                    paper_name=asked_for.paper,
                    word_list=word_list,
                    per_sheet=asked_for.per_sheet,
                )
                _write(folder / f"{name}-{edition}.pdf", content)
            made.append(planned)
            if not asked_for.bind:
                _log(asked_for, made)
        except OutputError as error:
            complain(str(error))
            code = code or FAILED
        except CardError as error:
            complain(str(error))
            code = WRONG_CALL
    if asked_for.bind:
        _bind(bound, asked_for, folder, word_list)
        _log(asked_for, made)
    return code


def _log(asked_for: argparse.Namespace, made: list[Plan]) -> None:
    """Log the cards that were made; after a log that cannot be written no other is tried."""
    if asked_for.log:
        from cards.log import append_all, row_of

        path, asked_for.log = asked_for.log, None
        append_all(path, map(row_of, made))
        asked_for.log = path
    made.clear()


def _bind(
    bound: dict[str, list[Card]], asked_for: argparse.Namespace, folder: Path, word_list: Words
) -> None:
    for edition, cards in bound.items():
        if cards:
            content = bound_pdf(
                cards,
                title=asked_for.bind,
                per_sheet=asked_for.per_sheet,
                language=word_list.language,
            )
            _write(folder / f"{plain_name(asked_for.bind)}-{edition}.pdf", content)


def _write(path: Path, content: bytes) -> None:
    write_whole(path, content)
    print(path)


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
