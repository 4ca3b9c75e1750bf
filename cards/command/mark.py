"""``threebar mark``: mark the answers to worksheets, one in words, a folder of them as a table."""

from __future__ import annotations

import argparse
import csv
import io
import os
import re
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from cards.command import MADE, WRONG_CALL, complain
from cards.command.asked import SPEC_HELP, add_word_arguments, specs_of, words_asked
from cards.command.check import wrong_besides, wrong_knots
from cards.command.output import write_whole
from cards.command.places import counted_out
from cards.errors import CardError, printable
from cards.limits import ANSWER_LIMIT, PLAN_BARS, check_bars
from cards.school.marking import FULL, Marked, amiss, mark
from cards.school.tasks import Exercise, exercise_of
from cards.spec import Spec
from cards.spec.load import SPEC_ENDINGS, read_plain
from cards.spec.model import ExerciseSpec
from cards.trim.check import Check
from cards.units import spans

FORMULA = tuple("=+-@")
REMARKS = 6  # remarks on one answer that are told one by one
HEAD = ("sheet", "answer", "task", "right", "score", "of", "cuts", "over", "remark")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add this word's arguments."""
    parser.add_argument("spec", metavar="SPEC", help=f"what the sheets are made from: {SPEC_HELP}")
    parser.add_argument(
        "answer",
        metavar="ANSWER",
        help="an answer file, or a folder of them named after the numbers of their sheets",
    )
    parser.add_argument("--csv", metavar="FILE", help="write the table of marks as CSV too")
    add_word_arguments(parser)


def run(asked_for: argparse.Namespace) -> int:
    """Mark; 0 where every answer could be read, right or not, else 2."""
    words = words_asked(asked_for)
    specs, sound = specs_of([asked_for.spec])
    if not specs:
        return WRONG_CALL
    code = MADE if sound else WRONG_CALL
    sheets = _sheets(specs, asked_for.spec)
    several = os.path.isdir(asked_for.answer)
    marked: list[tuple[str, Marked]] = []
    for path in _answers(asked_for.answer):
        try:
            own = _sheet_of(path, sheets)
            marked.append((path, mark(own, _text(path), path, words)))
        except CardError as error:
            complain(str(error))
            code = WRONG_CALL
    marked.sort(key=lambda pair: (pair[1].own.fields.sheet, pair[0]))
    rows = [_row(path, each) for path, each in marked]
    if asked_for.csv and rows:
        write_whole(asked_for.csv, _csv(rows).encode())
    if several:
        lines = [*_table(rows), *_missed(marked, sheets)] if rows else []
    else:
        lines = [line for _, each in marked for line in _told(each)]
    encoding = sys.stdout.encoding or "ascii"
    for line in lines:
        print(printable(line).encode(encoding, "replace").decode(encoding))
    return code


# Which sheet an answer belongs to


def _sheets(specs: Sequence[Spec], source: str) -> dict[int, Exercise]:
    """The sheets by their numbers; a spec of no exercise is a trim to make, numbered in turn."""
    sheets: dict[int, Exercise] = {}
    for place, spec in enumerate(specs, 1):
        check_bars(spec.hole.enclosed, PLAN_BARS, spec.source)
        if spec.exercise is None:
            from cards.job import plan

            fields = ExerciseSpec(sheet=min(place, 999), level=1, set=0, task="trim")
            own = Exercise(plan(spec, method="mend"), fields)
        else:
            own = exercise_of(spec)
        number = own.fields.sheet
        if number in sheets:
            raise CardError(
                f"{printable(source)}: found sheet {number} twice; expected each sheet of one set "
                "once"
            )
        sheets[number] = own
    return sheets


def _answers(path: str) -> list[str]:
    """The answer files that a path stands for."""
    if not os.path.isdir(path):
        return [path]
    found = sorted(
        entry.path
        for entry in os.scandir(path)
        if entry.name.lower().endswith(SPEC_ENDINGS) and not entry.name.startswith(".")
    )
    if not found:
        raise CardError(f"{printable(path)}: found no answer in this folder; expected *.yaml")
    return found


def _sheet_of(path: str, sheets: dict[int, Exercise]) -> Exercise:
    """The sheet that an answer is named after; the only one there is, whatever its name."""
    if len(sheets) == 1:
        return next(iter(sheets.values()))
    name = Path(path).name
    number = re.search(r"[0-9]{1,9}", name)
    if number is None:
        raise CardError(
            f"{printable(path)}: found a name without a number; expected that of a sheet in it, "
            "such as sheet-07.yaml"
        )
    own = sheets.get(int(number[0]))
    if own is None:
        raise CardError(
            f"{printable(path)}: found an answer to sheet {int(number[0])}; expected one of "
            f"sheets {spans(sheets, ' to ')}"
        )
    return own


def _text(path: str) -> str:
    """The text of an answer file."""
    name = printable(path)
    try:
        raw = read_plain(path, ANSWER_LIMIT + 1)
    except OSError as error:
        raise CardError(
            f"{name}: found a file that cannot be read ({error.strerror}); expected an answer"
        ) from None
    if raw is None:
        raise CardError(f"{name}: found a device, pipe or folder; expected an answer")
    if len(raw) > ANSWER_LIMIT:
        raise CardError(
            f"{name}: found more than {ANSWER_LIMIT} bytes; expected an answer of a few lines"
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise CardError(f"{name}: found bytes that are not UTF-8; expected text") from None


# One answer in words


def _told(marked: Marked) -> Iterator[str]:
    own = marked.own
    yield f"{own.spec.title}, {own.fields.task}: {_verdict(marked)}, {marked.score} of {FULL}."
    check = marked.check
    if not marked.given:
        yield "Nothing is answered."
    elif check is not None:
        cuts = counted_out(check.counted, "cut")
        if check.sewable:
            twines = counted_out(check.twines, "twine")
            yield f"{cuts} made: the hole can be sewn with {twines}."
        else:
            still = counted_out(len(check.further), "cut")
            yield f"{cuts} made: the hole cannot be sewn, {still} still to make."
            yield from (f"  {said}" for said in _broken(marked.own.spec, check))
        twines = counted_out(len(own.plan.sewing.twines), "twine")
        yield f"The fewest are {counted_out(marked.fewest, 'cut')}, with {twines}."
    yield from (f"  {remark}" for remark in marked.remarks[:REMARKS])
    if len(marked.remarks) > REMARKS:
        yield f"  and {len(marked.remarks) - REMARKS} more"


def _verdict(marked: Marked) -> str:
    return "right" if marked.right else "not right"


# A table


def _row(path: str, marked: Marked) -> tuple[str, ...]:
    check = marked.check
    return (
        str(marked.own.fields.sheet),
        Path(path).name,
        marked.own.fields.task,
        "yes" if marked.right else "no",
        str(marked.score),
        str(FULL),
        "" if check is None else str(len(check.cuts)),
        "" if marked.over is None else str(marked.over),
        _remark(marked),
    )


def _remark(marked: Marked) -> str:
    """What is wrong, in one line: the first rule broken and where."""
    if marked.right:
        return ""
    if not marked.given:
        return "nothing answered"
    check = marked.check
    if check is None:
        more = f"; and {len(marked.remarks) - 1} more" if len(marked.remarks) > 1 else ""
        return f"{marked.remarks[0]}{more}" if marked.remarks else ""
    if check.sewable:
        over = marked.over or 0
        said = [f"{counted_out(over, 'cut')} over the fewest"] if over > 0 else []
        if marked.twines_over:
            said.append(f"{counted_out(marked.twines_over, 'twine')} too many")
        return ", ".join(said)
    broken = _broken(marked.own.spec, check)
    more = f"; and {len(broken) - 1} more" if len(broken) > 1 else ""
    return f"{broken[0].strip()}{more}" if broken else "cannot be sewn"


def _broken(spec: Spec, check: Check) -> list[str]:
    """The rules that a trim breaks and where, as the check of a trim says them."""
    wrong = set(amiss(check))
    knots = [said for knot, said in wrong_knots(check).items() if knot in wrong]
    return [*knots, *wrong_besides(spec, check)]


def _csv(rows: Sequence[Sequence[str]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(HEAD)
    # Else a spreadsheet takes a file's name that begins so for a formula.
    writer.writerows([f"'{cell}" if cell[:1] in FORMULA else cell for cell in row] for row in rows)
    return text.getvalue()


def _table(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    widths = [max(len(row[n]) for row in (HEAD, *rows)) for n in range(len(HEAD))]
    for row in (HEAD, *rows):
        yield "  ".join(cell.ljust(wide) for cell, wide in zip(row, widths)).rstrip()
    score = sum(int(row[4]) for row in rows)
    right = sum(row[3] == "yes" for row in rows)
    yield f"{right} of {len(rows)} right, {score} of {FULL * len(rows)} points."


def _missed(marked: Sequence[tuple[str, Marked]], sheets: dict[int, Exercise]) -> Iterator[str]:
    """Which sheets have no answer that could be read."""
    left = sorted(set(sheets) - {each.own.fields.sheet for _, each in marked})
    if left and len(sheets) > 1:
        yield f"No answer: sheets {spans(left, ' to ')}."
