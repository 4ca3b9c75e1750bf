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
        Values by name: text, true or false, numbers, lists, or groups of fields.
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
        if isinstance(value, str) and "\n" in value:
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
        else:
            yield f"{indent}{name}: {_quoted(value)}"


def yaml_inline(value: Any) -> str:
    """Write a value on one line."""
    return _quoted(value)


def _quoted(value: Any) -> str:
    # JSON is YAML, as long as no character outside the basic plane is escaped.
    return json.dumps(value, ensure_ascii=False)
