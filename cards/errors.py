"""The one family of errors, and the one place for their wording's shape."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from typing import Iterable

FIELD_LIMIT = 80  # characters of a field's name that a message shows


class CardError(Exception):
    """Something the user can put right; shown without a traceback."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in a spec: where it stands, what stands there, what should.

    `line` counts from 1 in the file; `field` is dotted, as in ``net.mesh``.
    """

    field: str
    found: str
    expected: str
    line: int | None = None
    advice: str = ""

    def __str__(self) -> str:
        field = f"{printable(_cut(self.field, FIELD_LIMIT))}: " if self.field else ""
        # Advice of several lines begins with a line of its own.
        space = " " if self.advice and not self.advice.startswith("\n") else ""
        return f"{field}found {self.found}; expected {self.expected}.{space}{self.advice}"


class SpecError(CardError):
    """A spec that cannot be used, with every fault found in it."""

    def __init__(self, source: str, faults: Iterable[Fault]) -> None:
        self.source = source
        self.faults = tuple(faults)
        super().__init__("\n".join(self.lines()))

    def lines(self) -> list[str]:
        """One line a fault, ``file:line: field: found ...; expected ...``."""
        source = printable(self.source)
        return [
            f"{source}:{fault.line}: {fault}" if fault.line else f"{source}: {fault}"
            for fault in self.faults
        ]


class HoleError(CardError):
    """A hole that cannot be planned: nothing broken, or too large."""


class PageError(CardError):
    """A page that cannot be laid out: the paper is too small for what must stand on it."""


class OutputError(CardError):
    """A file that cannot be written."""


def printable(text: str) -> str:
    """Return `text` with every character that could disturb a terminal written out."""
    return "".join(c if c.isprintable() else repr(c)[1:-1] for c in text)


def shown(value: object, limit: int = 60) -> str:
    """Return `value` as a message names it: quoted, on one line, cut to `limit` characters."""
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return "a group of fields"
    if isinstance(value, list):
        return "a list"
    text = printable(str(value))
    return f'"{_cut(text, limit)}"'


def _cut(text: str, limit: int) -> str:
    return text if len(text) <= limit else text[: limit - 1] + "…"


def nearest(word: str, known: Iterable[str]) -> str:
    """Return advice naming the known word nearest to `word`, or all of them."""
    known = sorted(known)
    near = get_close_matches(word.strip().lower(), known, n=1, cutoff=0.6)
    return f'Did you mean "{near[0]}"?' if near else "Known here: " + ", ".join(known) + "."
