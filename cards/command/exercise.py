"""``threebar exercise``: worksheets for a class, their keys, and what they are made from."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Sequence
from pathlib import Path

from cards.command import MADE, WRONG_CALL
from cards.command.asked import add_word_arguments, specs_of, words_asked
from cards.command.output import folder_for, write_whole
from cards.errors import CardError
from cards.limits import SET_LIMIT
from cards.picture.shapes import Picture
from cards.school.forms import form_text
from cards.school.levels import LEVELS, Level
from cards.school.sets import make_set
from cards.school.tasks import TASKS, Exercise, exercise_of
from cards.sheet import Card, bound_pdf, spec_attached
from cards.sheet.exercise import answer_page, sheet_page
from cards.sheet.pages import Look
from cards.sheet.paper import BENCH_SIZES, paper
from cards.spec.load import load_text
from cards.words import Words

SEED_LIMIT = 999_999_999
SPECS, SHEETS, KEYS, FORMS = "sheets.yaml", "sheets.pdf", "keys.pdf", "forms"
HEAD = "# Invented holes. `threebar exercise` makes the sheets of this file again.\n"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add this word's arguments."""
    parser.add_argument(
        "specs", metavar="SPEC", nargs="*", help="make the sheets of these specs again, no others"
    )
    parser.add_argument("--count", metavar="N", type=_count, help="how many sheets (30)")
    parser.add_argument(
        "--level", metavar="L", type=_levels, help="1 to 5, or several: 1..5, 2,4 (1..5)"
    )
    parser.add_argument("--seed", metavar="N", type=_seed, help="another seed, another set (1)")
    parser.add_argument("--task", choices=TASKS, help="one task for all sheets (all in turn)")
    parser.add_argument("--hand", choices=("right", "left"), help="the hand that holds the needle")
    parser.add_argument("--paper", metavar="PAPER", default="A4", help="A4 or letter (A4)")
    parser.add_argument(
        "--out", metavar="DIR", default="out", help="the folder to write into (out)"
    )
    add_word_arguments(parser)


def _number(text: str, least: int, most: int) -> int:
    number = int(text) if re.fullmatch(r"[0-9]{1,9}", text) else -1
    if not least <= number <= most:
        raise argparse.ArgumentTypeError(f"found {text}; expected a number from {least} to {most}")
    return number


def _count(text: str) -> int:
    return _number(text, 1, SET_LIMIT)


def _seed(text: str) -> int:
    return _number(text, 0, SEED_LIMIT)


def _levels(text: str) -> tuple[Level, ...]:
    """Levels as a number, a range 1..5, or a list of both; each once, the easiest first."""
    numbers: set[int] = set()
    for part in text.split(","):
        first, between, last = part.strip().partition("..")
        begin = _number(first, 1, len(LEVELS))
        end = _number(last, 1, len(LEVELS)) if between else begin
        if end < begin:
            raise argparse.ArgumentTypeError(f"found {part}; expected the easier level first")
        numbers |= set(range(begin, end + 1))
    return tuple(level for level in LEVELS if level.number in numbers)


def run(asked_for: argparse.Namespace) -> int:
    """Make the set and name each file on standard output."""
    look = Look(paper(asked_for.paper), BENCH_SIZES, words_asked(asked_for))
    code, written = MADE, ""
    if asked_for.specs:
        made, code = _again(asked_for)
    else:
        # Read back from the text that is kept, so that sheets made again from it are the same.
        written = _written(asked_for, look.words)
        made = [exercise_of(spec) for spec in load_text(written, Path(SPECS).stem, SPECS)]
    if not made:
        return WRONG_CALL
    files: dict[str, bytes] = {}
    for name, page, title in (
        (SHEETS, sheet_page, "book_sheets"),
        (KEYS, answer_page, "book_keys"),
    ):
        said = look.words.say(f"school.{title}", set=made[0].fields.set)
        files[name] = _bound(made, page, look, said)
    folder = folder_for(asked_for.out)
    if written:
        files[SPECS] = written.encode()
        folder_for(str(folder / FORMS))
        for own in made:
            files[f"{FORMS}/{_sheet_name(own)}.yaml"] = form_text(own, look.words).encode()
    for name, content in files.items():
        write_whole(folder / name, content)
    for name in files:
        if Path(name).parent.name != FORMS:
            print(folder / name)
    if written:
        print(folder / FORMS)
    return code


def _written(asked_for: argparse.Namespace, words: Words) -> str:
    """The specs of a new set, as one text."""
    made = make_set(
        asked_for.count or 30,
        asked_for.level or LEVELS,
        1 if asked_for.seed is None else asked_for.seed,
        words,
        asked_for.hand or "right",
        asked_for.task,
    )
    return HEAD + "---\n".join(own.spec.text for own in made)


def _again(asked_for: argparse.Namespace) -> tuple[list[Exercise], int]:
    """The exercises of specs, in the order of their sheets."""
    for name in ("count", "level", "seed", "task"):
        if getattr(asked_for, name) is not None:
            raise CardError(f"found --{name} beside specs; expected it for a new set only")
    specs, sound = specs_of(asked_for.specs)
    made = [exercise_of(spec, asked_for.hand) for spec in specs]
    return made, MADE if sound else WRONG_CALL


def _sheet_name(own: Exercise) -> str:
    return f"sheet-{own.fields.sheet:02}"


def _bound(
    made: Sequence[Exercise], page: Callable[[Exercise, Look], Picture], look: Look, title: str
) -> bytes:
    cards = [
        Card(
            own.spec.title,
            [page(own, look)],
            spec_attached(own.plan, f"{number:03}-{_sheet_name(own)}", look.words),
        )
        for number, own in enumerate(made, 1)
    ]
    return bound_pdf(cards, title=title, word_list=look.words)
