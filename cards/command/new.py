"""``threebar new``: a spec to fill in, or one made from answers to questions."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import dedent
from typing import Any

import yaml

from cards.command import MADE
from cards.command.output import check_new, write_whole
from cards.errors import CardError, Fault, OutputError, SpecError, nearest, printable
from cards.shelf import shelf
from cards.spec import load_text
from cards.spec.written import yaml_lines

Fields = dict[str, Any]

# Stands for the hole while another answer is tried.
_ANY_HOLE: Fields = {"shape": {"kind": "slit across", "across": 1}}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add this word's arguments."""
    parser.add_argument(
        "file", metavar="FILE", nargs="?", help="the file to write; one that is there is kept"
    )
    parser.add_argument(
        "--ask", action="store_true", help="ask for each field; also done where no FILE is given"
    )


def run(asked_for: argparse.Namespace) -> int:
    """Write the file; without one ask, and print the spec."""
    file = asked_for.file
    if file is not None and not asked_for.ask:
        write_whole(file, (shelf("templates") / "new" / "spec.yaml").read_bytes(), new=True)
        _say(f"Written: {printable(file)}. Fill it in, then: threebar cards {printable(file)}")
        return MADE
    if file is not None:
        check_new(file)
    interview = Interview.read()
    text = "\n".join(yaml_lines(interview.spec())) + "\n"
    if file is None and sys.stdout.isatty():
        file = interview.file_name()
    if file is None:
        sys.stdout.write(text)
    else:
        write_whole(file, text.encode("utf-8", "replace"), new=True)
        _say(f"Written: {printable(file)}. Next: threebar show {printable(file)}")
    return MADE


def _say(text: str) -> None:
    """Speak on standard error: standard output is for the spec."""
    print(text, file=sys.stderr, flush=True)


@dataclass
class Interview:
    """The questions, and the answers taken so far."""

    words: dict[str, Any]
    fields: Fields

    @classmethod
    def read(cls) -> Interview:
        """Read the questions."""
        text = (shelf("templates") / "new" / "questions.yaml").read_text(encoding="utf-8")
        return cls(yaml.safe_load(text), {})

    def spec(self) -> Fields:
        """Ask everything; return the fields of the spec."""
        _say(self.words["opening"].rstrip())
        for question in self.words["questions"]:
            self._ask(question)
        ways = self.words["ways"]
        while True:
            way = self._line(self.words["way"]) or next(iter(ways))
            if way in ways:
                break
            _say(f"  {self.words['again']} {nearest(way, ways)}")
        self._hole(ways[way])
        return self.fields

    def _hole(self, questions: list[dict[str, Any]]) -> None:
        """Ask for the hole; again for what of it cannot be used."""
        asked = questions
        while True:
            for question in asked:
                given = self._lines(question) if question.get("many") else self._line(question)
                put(self.fields, question["field"], _as_written(question["field"], given))
            faults = _faults(self.fields)
            if not faults:
                return
            self._refuse(faults)
            asked = [
                question
                for question in questions
                if any(fault.field.startswith(question["field"]) for fault in faults)
            ] or questions

    def _ask(self, question: dict[str, Any]) -> None:
        """Ask for one field until it can be used."""
        while answer := self._line(question):
            alone: Fields = {"hole": _ANY_HOLE}
            put(alone, question["field"], answer)
            faults = _faults(alone)
            if not faults:
                put(self.fields, question["field"], answer)
                return
            self._refuse(faults)

    def _refuse(self, faults: Sequence[Fault]) -> None:
        _say(f"  {self.words['again']}")
        for fault in faults:
            for line in str(fault).splitlines():
                _say(f"  {line}")

    def file_name(self) -> str | None:
        """Ask where to save; None where the spec shall be printed."""
        while name := self._line({"ask": self.words["save"]}):
            try:
                check_new(name)
            except OutputError as error:
                _say(f"  {error}")
            else:
                return name
        return None

    def _line(self, question: dict[str, Any]) -> str:
        note = f" ({question['note']})" if question.get("note") else ""
        _say(f"{question['ask']}{note}")
        return _answer().strip()

    def _lines(self, question: dict[str, Any]) -> str:
        _say(f"{question['ask']} ({question['note']}) {self.words['end_of_lines']}")
        lines: list[str] = []
        try:
            while line := _answer().rstrip():
                lines.append(line)
        except CardError:
            if not lines:
                raise
        return dedent("\n".join(lines))


def _as_written(field: str, given: str) -> Any:
    """An answer as the field holds it; None where there is none."""
    if field == "hole.rows" and given:
        return ["" if row.strip() == "-" else row.strip() for row in given.split("\n")]
    return given or None


def _answer() -> str:
    print("> ", end="", file=sys.stderr, flush=True)
    try:
        return input()
    except EOFError:
        print(file=sys.stderr)
        raise CardError("found the end of the answers; expected one to every question") from None
    except UnicodeDecodeError:
        raise CardError("found a byte that is not text; expected answers in UTF-8") from None


def put(fields: Fields, dotted: str, value: Any) -> None:
    """Put a value at a dotted place, as in ``net.twine.rtex``.

    Examples
    --------
    >>> fields = {"net": {"mesh": "120 mm"}}
    >>> put(fields, "net.twine.rtex", "5200")
    >>> fields
    {'net': {'mesh': '120 mm', 'twine': {'rtex': '5200'}}}
    """
    *groups, name = dotted.split(".")
    for group in groups:
        fields = fields.setdefault(group, {})
    fields[name] = value


def _faults(fields: Fields) -> tuple[Fault, ...]:
    """What the loader says of the fields; without lines, for there is no file yet."""
    try:
        load_text("\n".join(yaml_lines(fields)))
    except SpecError as error:
        return error.faults
    return ()
