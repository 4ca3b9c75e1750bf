"""Read YAML as plain text values that remember their lines.

Every scalar stays the text it was written as; what it means is for the field to say. So a title
may be ``No`` or ``12:30``, and no tag, anchor or alias can build anything.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Union

import yaml

from cards.errors import Fault, SpecError, printable, shown
from cards.limits import DEPTH_LIMIT, DOCUMENT_LIMIT, VALUE_LIMIT
from cards.spec.not_yaml import no_text, not_yaml

# A value is text, nothing, a list of values or a group of named values.
Value = Union[str, None, "list[Any]", "dict[str, Any]"]
Path = tuple[Union[str, int], ...]

PARSER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass
class Document:
    """One document of a file: its value, the line of every field, and its own text."""

    value: Value
    lines: dict[Path, int]
    text: str


@dataclass
class _Group:
    value: list[Any] | dict[str, Any]
    path: Path
    line: int
    key: str | None = None
    key_line: int = 0
    seen: dict[str, int] = field(default_factory=dict)


def read_documents(text: str, source: str) -> tuple[list[Document], SpecError | None]:
    """Read the documents of a YAML text.

    Parameters
    ----------
    text
        The text of the file.
    source
        The file's name for messages.

    Returns
    -------
    documents
        Those before the first fault.
    error
        The fault that ended the reading, if there was one.
    """
    reader = _Reader(text, source)
    fault = no_text(text)
    if fault:
        return [], SpecError(source, [fault])
    try:
        reader.read()
    except yaml.YAMLError as error:
        # Where a line stands too far left the document before it is cut off, not whole.
        cut_off = "<document start>" in str(getattr(error, "problem", ""))
        whole = reader.documents[:-1] if cut_off else reader.documents
        return whole, SpecError(source, [not_yaml(error, text)])
    except SpecError as error:
        return reader.documents, error
    return reader.documents, None


class _Reader:
    def __init__(self, text: str, source: str) -> None:
        self.text = text
        self.source = source
        self.documents: list[Document] = []

    def fault(
        self, line: int, path: Path, found: str, expected: str, advice: str = ""
    ) -> SpecError:
        return SpecError(self.source, [Fault(dotted(path), found, expected, line, advice)])

    def read(self) -> None:
        file_lines = self.text.splitlines(keepends=True)
        stack: list[_Group] = []
        lines: dict[Path, int] = {}
        root: Value = None
        begun = values = 0
        event: Any
        for event in yaml.parse(self.text, Loader=PARSER):
            first, last = event.start_mark.line, event.end_mark.line
            within = event.end_mark.column > 0
            line = first + 1
            if isinstance(event, yaml.DocumentStartEvent):
                lines, root, begun = {}, None, first
            elif isinstance(event, yaml.DocumentEndEvent):
                # One that ends where the next begins ends before that one's mark.
                ends = last + 1 if event.explicit or within else last
                own = "".join(file_lines[begun:ends])
                if self.documents or root is not None:
                    self.documents.append(Document(root, lines, own))
                if len(self.documents) > DOCUMENT_LIMIT:
                    raise self.fault(
                        line, (), "too many documents", f"at most {DOCUMENT_LIMIT} in a file"
                    )
            elif isinstance(event, yaml.AliasEvent):
                raise self.fault(
                    line, (), f"an alias (*{event.anchor})", "the value itself", "Write it out."
                )
            elif isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
                stack.pop()
            elif isinstance(event, (yaml.ScalarEvent, yaml.CollectionStartEvent)):
                values += 1
                if values > VALUE_LIMIT:
                    raise self.fault(
                        line,
                        (),
                        f"more than {VALUE_LIMIT} values",
                        "a spec of a few lines",
                        "Give a large hole as a shape, rows or a drawing.",
                    )
                value = self._value(event, line)
                path: Path = ()
                if stack:
                    group = stack[-1]
                    if isinstance(group.value, list):
                        path = (*group.path, len(group.value))
                        group.value.append(value)
                    elif group.key is None:
                        self._take_key(group, value, line)
                        continue
                    else:
                        path = (*group.path, group.key)
                        group.value[group.key] = value
                        line = group.key_line
                        group.key = None
                else:
                    root = value
                lines[path] = line
                if isinstance(value, (list, dict)):
                    stack.append(_Group(value, path, line))
                    if len(stack) > DEPTH_LIMIT:
                        raise self.fault(
                            line,
                            path[:4],
                            "groups within groups within groups",
                            f"at most {DEPTH_LIMIT} levels",
                        )

    def _value(self, event: Any, line: int) -> Value:
        if event.tag is not None and event.tag not in ("!", "tag:yaml.org,2002:str"):
            raise self.fault(
                line,
                (),
                f"a tag ({printable(_tag(event.tag))})",
                "a plain value",
                "Leave the tag out.",
            )
        if isinstance(event, yaml.MappingStartEvent):
            return {}
        if isinstance(event, yaml.SequenceStartEvent):
            return []
        text: str = event.value
        if event.implicit[0] and text in ("", "~", "null"):
            return None
        return text

    def _take_key(self, group: _Group, key: Value, line: int) -> None:
        if not isinstance(key, str):
            raise self.fault(line, group.path, shown(key), "the name of a field")
        if key in group.seen:
            raise self.fault(
                line,
                (*group.path, key),
                f"the field a second time (first in line {group.seen[key]})",
                "each field once",
            )
        group.key, group.key_line = key, line
        group.seen[key] = line


def _tag(tag: str) -> str:
    """A tag as people write it: ``!!int`` for the long name that YAML gives it."""
    return tag.replace("tag:yaml.org,2002:", "!!", 1)


def dotted(path: Path) -> str:
    """Name a field as ``net.mesh`` or ``hole.rows[2]``; list items count from 1.

    Examples
    --------
    >>> dotted(("hole", "bars", 0))
    'hole.bars[1]'
    """
    name = ""
    for step in path:
        name += f"[{step + 1}]" if isinstance(step, int) else f".{step}" if name else step
    return name
