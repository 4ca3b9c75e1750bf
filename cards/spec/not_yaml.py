"""Say in plain words why a text is not YAML, and at which line to look."""

from __future__ import annotations

import re
from typing import NamedTuple

import yaml

from cards.errors import Fault, shown

# A backslash alone in double quotes, which hides the second quote.
_HIDDEN_QUOTE = re.compile(r'[:,{\[-]\s*"\\"\s*[,}\]]?\s*$', re.MULTILINE)
# The characters that YAML takes: its rule c-printable (YAML 1.2, section 5.1).
_NO_TEXT = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_NOT_YAML = "text that is not YAML: "


class _Slip(NamedTuple):
    """A way of miswriting YAML: what its parsers call it, and what a person does."""

    problem: str
    found: str
    expected: str
    advice: str
    begun: bool = False  # whether the line to look at is where the thing begins


_TAB = _Slip(
    r"tab character|character '\\t'",
    "a tab at the beginning of the line",
    "spaces",
    "Indent with two spaces for each level.",
)
# Parsers word a problem differently; each pattern knows the words of both that PyYAML has.
_SLIPS = (
    _TAB,
    _Slip(
        "maximum (nesting|depth)|[Ee]xceeded",
        "groups within groups within groups",
        "a spec of a few lines",
        "",
    ),
    _Slip(
        "cannot start any token|alphabetic or numeric character|tag handle",
        "a value that begins with {character}",
        "a value in quotes",
        "That sign has a meaning of its own in YAML; write 'so' or \"so\".",
    ),
    _Slip(
        "unknown escape character",
        "a backslash in double quotes",
        "single quotes round it",
        "In double quotes a backslash changes the sign behind it. "
        "A drawing goes under `drawing: |`.",
    ),
    _Slip(
        "unexpected end of stream",
        "a quote that is opened and not closed",
        "a quote at both ends",
        "",
        begun=True,
    ),
    _Slip(
        r"expected ',' or [\]'}]",
        "a bracket that is opened and not closed",
        "[ ] or {{ }} round a list or group, with a comma between two entries",
        "",
        begun=True,
    ),
    _Slip(
        "expected (the )?node content",
        "a comma or bracket where a value should be",
        "a value, or text in quotes",
        "Is a bracket not closed?",
    ),
    _Slip(
        "could not find expected ':'",
        "a line without `: `",
        "fields written as `name: value`",
        "A line that belongs to the field above, as in a drawing, is indented by two spaces.",
        begun=True,
    ),
    _Slip(
        "chomping|comment or line break",
        "text on the line of a | or >",
        "the text from the next line on, indented by two spaces",
        "",
    ),
    _Slip(
        "entries are not allowed",
        "a list that begins on the line of its field",
        "each `- ` on a line of its own",
        "",
    ),
    _Slip(
        r"'-' indicator|but found '\?'",
        "a field among the entries of a list",
        "`- ` before each entry",
        "",
    ),
    _Slip(
        "expected key|expected <block end>",
        "something that does not line up with the fields above it",
        "the fields of a group under each other, a field a line",
        "Look at the indent.",
    ),
    _Slip(
        "<document start>",
        "a line further left than the first one, or text after `...`",
        "all top fields at the left edge",
        "Several specs in a file have a line --- between them.",
    ),
)
_TWO_COLONS = _Slip(
    "",
    "a second `: ` in one value",
    "one `: ` a line",
    "Put a text that holds `: ` in quotes.",
)
_NO_ROOM = _Slip(
    "",
    "a field where none can be",
    "fields written as `name: value`, those of a group under each other",
    "Is this line indented too far, or has one before it no space behind its colon?",
)
_HIDDEN = _Slip(
    "",
    'a backslash in double quotes ("\\")',
    "single quotes round it: '\\'",
    "In double quotes a backslash hides the quote behind it.",
)
_BEHIND_QUOTE = _Slip(
    "",
    "text behind a closing quote",
    "one pair of quotes round the whole value",
    "A ' inside '...' is written twice: ''.",
)
_OTHER = _Slip(
    "",
    "{problem}",
    "fields written as `name: value`",
    "Look at this line and the one before: a colon, a quote or the indent is wrong.",
)


def no_text(text: str) -> Fault | None:
    """The first character of a text that no text file holds, as a fault; or None."""
    match = _NO_TEXT.search(text)
    if match is None:
        return None
    return Fault(
        "",
        f"a character that no text has (U+{ord(match[0]):04X})",
        "plain text",
        _line(text, match.start()),
        "Save the file as text, in UTF-8.",
    )


def not_yaml(error: yaml.YAMLError, text: str) -> Fault:
    """The fault of a text that YAML cannot read.

    Parameters
    ----------
    error
        What the parser raised.
    text
        What it was given.
    """
    problem = str(getattr(error, "problem", None) or "unreadable text")
    mark = getattr(error, "problem_mark", None)
    begun = getattr(error, "context_mark", None) or mark
    hidden = _HIDDEN_QUOTE.search(text)
    if hidden and mark and _line(text, hidden.end()) <= mark.line + 1:
        return Fault(
            "",
            f"{_NOT_YAML}{_HIDDEN.found}",
            _HIDDEN.expected,
            _line(text, hidden.start()),
            _HIDDEN.advice,
        )
    rows = text.split("\n")
    row = rows[mark.line] if mark and mark.line < len(rows) else ""
    slip = _slip(problem, row, mark.column if mark else 0)
    at = begun if slip.begun else mark
    character = "".join(row[begun.column : begun.column + 1]) if begun else ""
    return Fault(
        "",
        _NOT_YAML
        + slip.found.format(problem=problem, character=shown(character) if character else "a sign"),
        slip.expected.format(),
        min(at.line, len(text.splitlines()) - 1) + 1 if at else None,
        slip.advice,
    )


def _slip(problem: str, row: str, column: int) -> _Slip:
    if "mapping values" in problem or "values are not allowed" in problem:
        return _TWO_COLONS if ": " in row[:column] else _NO_ROOM
    if "cannot start any token" in problem and row[column : column + 1] == "\t":
        return _TAB  # one parser names the tab, the other only where it stands
    if re.search("expected key|<block end>", problem) and row[:column].rstrip()[-1:] in ("'", '"'):
        return _BEHIND_QUOTE
    return next((slip for slip in _SLIPS if re.search(slip.problem, problem)), _OTHER)


def _line(text: str, at: int) -> int:
    return text.count("\n", 0, at) + 1
