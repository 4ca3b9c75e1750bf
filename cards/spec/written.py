"""Write fields as the YAML of a spec, so that they read back as the same text."""

from __future__ import annotations

import json
import re
from typing import Any, Iterator, Mapping

# Text that needs no quotes: no sign that YAML gives a meaning to.
_PLAIN = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9 .,_/-]*[A-Za-z0-9.])?")
_NO_TEXT = ("null", "Null", "NULL")


def yaml_lines(fields: Mapping[str, Any], indent: str = "") -> Iterator[str]:
    """Write fields, one below the other.

    Parameters
    ----------
    fields
        Values by name: text, true or false, numbers, lists, or groups of fields; None is
        left out.
    indent
        What stands before every line.

    Examples
    --------
    >>> print(*yaml_lines({"net": {"mesh": "120 mm"}, "first": "/", "rows": ["1-2"]}), sep="\\n")
    net:
      mesh: 120 mm
    first: "/"
    rows:
      - "1-2"
    """
    for name, value in fields.items():
        if value is None:
            continue
        if isinstance(value, str) and _is_block(value):
            yield f"{indent}{name}: |"
            yield from (f"{indent}  {line}" for line in value.split("\n"))
        elif isinstance(value, Mapping):
            yield f"{indent}{name}:"
            yield from yaml_lines(value, f"{indent}  ")
        elif isinstance(value, list):
            yield f"{indent}{name}:"
            yield from (f"{indent}  - {_quoted(item)}" for item in value)
        elif isinstance(value, str) and _PLAIN.fullmatch(value) and value not in _NO_TEXT:
            yield f"{indent}{name}: {value}"
        elif isinstance(value, str) and "\\" in value and value.isprintable():
            # In single quotes a backslash is a backslash.
            doubled = value.replace("'", "''")
            yield f"{indent}{name}: '{doubled}'"
        else:
            yield f"{indent}{name}: {_quoted(value)}"


def yaml_inline(value: Any) -> str:
    """Write a value on one line."""
    return _quoted(value)


def _is_block(value: str) -> bool:
    """Whether a text of several lines can stand as they are under its field."""
    lines = value.split("\n")
    return (
        len(lines) > 1 and all(map(str.isprintable, lines)) and lines[0].strip() == lines[0] != ""
    )


def _quoted(value: Any) -> str:
    """JSON, which is YAML too, with the letters of all languages as they are."""
    text = json.dumps(value, ensure_ascii=False)
    return "".join(c if c.isprintable() else f"\\U{ord(c):08x}" for c in text)
