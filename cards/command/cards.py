"""``threebar cards``: the cards of specs as PDF."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from cards.command import FAILED, MADE, WRONG_CALL, complain
from cards.command.asked import (
    SPEC_HELP,
    add_plan_arguments,
    add_word_arguments,
    plan_asked,
    specs_of,
    words_asked,
)
from cards.command.crew import in_order, processes_for
from cards.command.output import folder_for, write_whole
from cards.errors import CardError, OutputError
from cards.job import Plan
from cards.limits import CARD_BARS
from cards.sheet import EDITIONS, Card, bound_pdf, card_pdf, compose, spec_attached
from cards.sheet.paper import paper
from cards.spec import Spec
from cards.spec.load import plain_name
from cards.words import Words

if TYPE_CHECKING:
    from cards.log import LogRow

LONG_BATCH = 5  # specs from which progress is shown

Item = TypeVar("Item")


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
    parser.add_argument(
        "--bind", metavar="NAME", type=_given, help="one PDF of this name for all specs"
    )
    parser.add_argument(
        "--jobs",
        metavar="N",
        type=_count,
        help="processes to share the specs out over (as many as pay; with --bind one)",
    )
    parser.add_argument(
        "--log", metavar="FILE.csv", type=_log_file, help="a repair log: add a row for each card"
    )
    add_word_arguments(parser)
    add_plan_arguments(parser)


def _given(text: str) -> str:
    if not text.strip():
        raise argparse.ArgumentTypeError("found nothing; expected a name")
    return text


def _log_file(text: str) -> str:
    if text in ("", "-"):  # standard output has the names of the cards
        raise argparse.ArgumentTypeError(f'found "{text}"; expected the name of a CSV file')
    return text


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
    named = list(_named(specs))
    log = _Log(asked_for.log)
    if asked_for.bind:
        return max(code, _bind(named, editions, asked_for, folder, word_list, log))
    make = partial(_made, asked_for, word_list, editions)
    with in_order(make, named, asked_for.jobs or processes_for(len(named))) as results:
        for made in progress(results, len(named)):
            code = max(code, _kept(made, folder, log))
    return code


class _Log:
    """The repair log of a run; after a row that cannot be written no other is tried."""

    def __init__(self, path: str | None) -> None:
        self.path = path

    def add(self, rows: Sequence[LogRow]) -> None:
        """Append rows, where there is a log."""
        if self.path is None:
            return
        from cards.log import append_all

        path, self.path = self.path, None
        append_all(path, rows)
        self.path = path


def _kept(made: Made, folder: Path, log: _Log) -> int:
    """Write what came of a spec and say why there is no more; the exit code it comes to."""
    try:
        for name, content in made.files:
            _write(folder / name, content)
        if made.row:
            log.add([made.row])
    except OutputError as error:
        complain(str(error))
        return FAILED
    if made.fault:
        complain(made.fault)
        return WRONG_CALL
    return MADE


@dataclass(frozen=True)
class Made:
    """What came of a spec: the files made, in order, and why there are no more of them.

    `row` is the card's row of the repair log, where one is kept and all files were made.
    """

    files: tuple[tuple[str, bytes], ...]
    fault: str = ""
    row: LogRow | None = None


def _made(
    asked_for: argparse.Namespace,
    word_list: Words,
    editions: Sequence[str],
    named: tuple[Spec, str],
) -> Made:
    """Make the PDFs of one spec."""
    spec, name = named
    files: list[tuple[str, bytes]] = []
    try:
        planned = plan_asked(spec, asked_for, CARD_BARS)
        for edition in editions:
            content = card_pdf(
                planned,
                edition,
                paper_name=asked_for.paper,
                word_list=word_list,
                per_sheet=asked_for.per_sheet,
            )
            files.append((f"{name}-{edition}.pdf", content))
    except CardError as error:
        return Made(tuple(files), str(error))
    return Made(tuple(files), row=_row(planned) if asked_for.log else None)


def _row(planned: Plan) -> LogRow:
    from cards.log import row_of

    return row_of(planned)


def _bind(
    named: Sequence[tuple[Spec, str]],
    editions: Sequence[str],
    asked_for: argparse.Namespace,
    folder: Path,
    word_list: Words,
    log: _Log,
) -> int:
    """Make one PDF of all specs for each edition; leave out those that cannot be made."""
    code = MADE
    bound: dict[str, list[Card]] = {edition: [] for edition in editions}
    rows: list[LogRow] = []
    for spec, name in progress(named, len(named)):
        try:
            planned = plan_asked(spec, asked_for, CARD_BARS)
            for edition in editions:
                pages = compose(planned, edition, paper_name=asked_for.paper, word_list=word_list)
                bound[edition].append(
                    Card(spec.title, pages, spec_attached(planned, name, word_list))
                )
            if asked_for.log:
                rows.append(_row(planned))
        except CardError as error:
            complain(str(error))
            code = WRONG_CALL
    for edition, cards in bound.items():
        if cards:
            content = bound_pdf(
                cards,
                title=asked_for.bind,
                per_sheet=asked_for.per_sheet,
                word_list=word_list,
            )
            _write(folder / f"{plain_name(asked_for.bind)}-{edition}.pdf", content)
    log.add(rows)
    return code


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


def progress(items: Iterable[Item], count: int) -> Iterable[Item]:
    """Show how far a long batch is, on a terminal only."""
    if count < LONG_BATCH or not sys.stderr.isatty():
        return items
    from tqdm import tqdm

    return tqdm(items, total=count, unit="card", leave=False)
