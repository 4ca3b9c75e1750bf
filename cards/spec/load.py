"""Load spec files: read, check every field, and make frozen specs; every fault with its line."""

from __future__ import annotations

import os
import re
import stat
import sys
import unicodedata
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path as FilePath
from types import UnionType
from typing import Annotated, Any, Iterable, Iterator, Union, get_args, get_origin, get_type_hints

import msgspec

from cards.errors import CardError, Fault, SpecError, nearest, printable, shown
from cards.limits import FAULT_LIMIT, FILE_LIMIT
from cards.spec.given import Wrong
from cards.spec.holes import hole_given
from cards.spec.lined import Document, Path, Value, dotted, read_documents
from cards.spec.model import HoleSpec, Spec, SpecFields
from cards.units import MILLIMETRES, Length

SPEC_ENDINGS = (".yaml", ".yml")
STANDARD_INPUT = "-"
LENGTH_LIMIT = 10_000_000.0  # mm


def load(path: str | os.PathLike[str]) -> list[Spec]:
    """Load every spec of a file.

    Parameters
    ----------
    path
        A spec file, or ``-`` for standard input.

    Returns
    -------
    list of Spec
        One a document, in the file's order.

    Raises
    ------
    SpecError
        With every fault of the file, its line and field.
    """
    specs, errors = load_each(path)
    if errors:
        raise SpecError(str(path), [fault for error in errors for fault in error.faults])
    return specs


def load_text(text: str, name: str = "card", source: str = "spec") -> list[Spec]:
    """Load every spec of a YAML text.

    Parameters
    ----------
    text
        The text of a spec file.
    name
        The name from which output files are named.
    source
        What messages call the text.

    Raises
    ------
    SpecError
        With every fault of the text, its line and field.

    Examples
    --------
    >>> spec, = load_text("hole: {shape: {kind: slit across, across: 2}}")
    >>> spec.hole.size
    4
    """
    specs, errors = _load_each_text(text, name, source)
    if errors:
        raise SpecError(source, [fault for error in errors for fault in error.faults])
    return specs


def load_each(path: str | os.PathLike[str]) -> tuple[list[Spec], list[SpecError]]:
    """Load the specs of a file that can be used, and the errors of those that cannot."""
    source = source_name(path)
    name = "card" if str(path) == STANDARD_INPUT else FilePath(source).stem
    try:
        text = read_text(path)
    except SpecError as error:
        return [], [error]
    return _load_each_text(text, name, source)


def source_name(path: str | os.PathLike[str]) -> str:
    """What messages call a file, or standard input."""
    return "standard input" if str(path) == STANDARD_INPUT else os.fsdecode(path)


def read_text(path: str | os.PathLike[str]) -> str:
    """Read the text of a spec file, or of standard input for ``-``.

    Raises
    ------
    SpecError
        When it cannot be read or is not text.
    """
    try:
        return _read(path)
    except UnicodeDecodeError as error:
        byte = f"0x{error.object[error.start]:02x}"
        line = error.object.count(b"\n", 0, error.start) + 1
        advice = "Save the file as text, in UTF-8."
        fault = Fault("", f"a byte that is not UTF-8 ({byte})", "text in UTF-8", line, advice)
    except OSError as error:
        fault = Fault("", f"a file that cannot be read ({error.strerror})", "a spec file")
    raise SpecError(source_name(path), [fault])


def spec_files(paths: Iterable[str | os.PathLike[str]]) -> Iterator[str]:
    """Name the spec files that paths stand for: files as they are, folders by their specs.

    Raises
    ------
    CardError
        When a folder holds no spec, or a path is not there.
    """
    for path in paths:
        name = os.fsdecode(path)
        if name != STANDARD_INPUT and os.path.isdir(name):
            found = sorted(
                entry.path
                for entry in os.scandir(name)
                if entry.name.endswith(SPEC_ENDINGS) and entry.is_file()
            )
            if not found:
                raise CardError(f"{printable(name)}: found no spec in this folder; expected *.yaml")
            yield from found
        else:
            yield name


def _read(path: str | os.PathLike[str]) -> str:
    if str(path) == STANDARD_INPUT:
        raw = sys.stdin.buffer.read(FILE_LIMIT + 1)
        source = "standard input"
    else:
        source = os.fsdecode(path)
        raw = read_plain(path, FILE_LIMIT + 1)
        if raw is None:
            raise SpecError(source, [Fault("", "a device, pipe or folder", "a spec file")])
    if len(raw) > FILE_LIMIT:
        fault = Fault("", f"more than {FILE_LIMIT} bytes", "a spec of a few lines")
        raise SpecError(source, [fault])
    return raw.decode("utf-8-sig")


def read_plain(path: str | os.PathLike[str], most: int) -> bytes | None:
    """Read at most so many bytes of a plain file; None of what is none and may have no end."""
    with open(path, "rb", opener=_open_plain) as file:
        return file.read(most) if stat.S_ISREG(os.fstat(file.fileno()).st_mode) else None


def _open_plain(path: str, flags: int) -> int:
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def _load_each_text(text: str, name: str, source: str) -> tuple[list[Spec], list[SpecError]]:
    documents, error = read_documents(text, source)
    errors = [error] if error else []
    if not documents and not errors:
        advice = "`threebar new FILE` writes one to fill in."
        errors.append(SpecError(source, [Fault("", "an empty file", "a spec", 1, advice)]))
    specs: list[Spec] = []
    stem = plain_name(name)
    for number, document in enumerate(documents, 1):
        own_name = stem if len(documents) == 1 else f"{stem}-{number}"
        try:
            specs.append(_spec(document, own_name, name, source))
        except SpecError as fault:
            errors.append(fault)
    return specs, errors


def plain_name(name: str) -> str:
    """Make a file name of letters, digits, ``-`` and ``_`` from any text.

    Examples
    --------
    >>> plain_name("../Belly: starboard"), plain_name("Løft"), plain_name("CON")
    ('Belly-starboard', 'Loft', 'card-CON')
    """
    text = unicodedata.normalize("NFKD", name.replace("ø", "o").replace("Ø", "O"))
    text = text.encode("ascii", "ignore").decode()
    text = re.sub(r"[^A-Za-z0-9_-]+", "-", text).strip("-")[:80]
    if not text or re.fullmatch(r"(?i)con|prn|aux|nul|com\d|lpt\d", text):
        text = f"card-{text}".strip("-")
    return text


# One document


def _spec(document: Document, name: str, title: str, source: str) -> Spec:
    faults: list[Fault] = []
    if not isinstance(document.value, dict):
        fault = Fault(
            "",
            shown(document.value),
            "fields such as title:, net: and hole:",
            document.lines.get((), 1),
        )
        raise SpecError(source, [fault])
    reading = _Reading(document.lines, faults)
    fields = reading.struct(SpecFields, document.value, ())
    given = None
    hole = fields.get("hole")
    if isinstance(hole, HoleSpec):
        try:
            given = hole_given(hole)
        except Wrong as wrong:
            faults.append(wrong.fault(reading.line(wrong.field)))
    net = fields.get("net")
    if net and net.mesh and net.tolerance and net.tolerance.mm >= net.mesh.mm:
        reading.fault(("net", "tolerance"), shown(str(net.tolerance)), "less than the mesh size")
    if faults or given is None:
        raise SpecError(source, sorted(faults, key=lambda fault: fault.line or 0))
    del fields["hole"]
    shown_title = fields.pop("title", None) or "".join(c for c in title if c.isprintable()) or name
    return Spec(
        name=name,
        title=shown_title,
        hole=given.hole,
        origin=given.origin,
        text=document.text,
        source=source,
        lines=document.lines,
        **fields,
    )


@dataclass
class _Reading:
    """Reads text values into the model, gathering faults."""

    lines: dict[Path, int]
    faults: list[Fault] = field(default_factory=list)

    def line(self, path: Path) -> int | None:
        """The line of a field, or of the nearest group round it."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path)

    def fault(self, path: Path, found: str, expected: str, advice: str = "") -> None:
        self.faults.append(Fault(dotted(path), found, expected, self.line(path), advice))

    def struct(
        self, cls: type[msgspec.Struct], value: dict[str, Any], path: Path
    ) -> dict[str, Any]:
        """Read a group into the fields of a model class; faulty fields are left out."""
        known = _fields(cls)
        read: dict[str, Any] = {}
        unknown = [name for name in value if name not in known]
        for name in unknown[:FAULT_LIMIT]:
            self.fault((*path, name), "an unknown field", "a field of a spec", nearest(name, known))
        if len(unknown) > FAULT_LIMIT:
            more = len(unknown) - FAULT_LIMIT
            self.fault(path, f"{more} more unknown fields", "only fields of a spec")
        for name, (kind, required) in known.items():
            given = value.get(name)
            here = (*path, name)
            if given is None:
                if required:
                    self.fault(
                        here, "nothing", _EXPECTED.get(name, "a value"), "This field is needed."
                    )
                continue
            if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
                if not isinstance(given, dict):
                    fields = ", ".join(_fields(kind))
                    self.fault(here, shown(given), f"a group of fields ({fields})")
                    continue
                before = len(self.faults)
                fields_read = self.struct(kind, given, here)
                if len(self.faults) == before:
                    read[name] = kind(**fields_read)
                continue
            try:
                read[name] = _convert(given, kind)
                self._plain_text(here, read[name], name)
            except ValueError as error:
                at, found = _where(here, given, str(error))
                expected, advice = _expected(name, kind, found)
                self.fault(at, shown(found), expected, advice)
        return read

    def _plain_text(self, path: Path, value: Any, name: str) -> None:
        if not isinstance(value, str) or name in ("drawing", "walk", "cuts"):
            return
        for character in value:
            allowed = character == "\n" and name == "note"
            if (
                unicodedata.category(character) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")
                and not allowed
            ):
                self.fault(
                    path,
                    f"a control character (U+{ord(character):04X})",
                    "letters, digits and signs on one line",
                    "Take it out.",
                )
                return


@cache
def _fields(cls: type[msgspec.Struct]) -> dict[str, tuple[Any, bool]]:
    """Each field's type, without Optional, and whether it is required."""
    hints = get_type_hints(cls, include_extras=True)
    return {own.name: (_bare(hints[own.name]), own.required) for own in msgspec.structs.fields(cls)}


def _bare(kind: Any) -> Any:
    """The type without Optional round it, its limits kept."""
    metas = []
    while True:
        if get_origin(kind) is Annotated:
            kind, *more = get_args(kind)
            metas += more
        elif get_origin(kind) in (Union, UnionType) and type(None) in get_args(kind):
            parts = tuple(part for part in get_args(kind) if part is not type(None))
            kind = parts[0] if len(parts) == 1 else Union[parts]
            if len(parts) > 1:
                break
        else:
            break
    for meta in metas:
        if any(getattr(meta, limit) is not None for limit in ("gt", "ge", "le", "max_length")):
            kind = Annotated[kind, meta]
    return kind


def _convert(value: Value, kind: Any) -> Any:
    """Turn text into what a field holds; raise ValueError where it cannot be."""
    if kind is not Length:
        return msgspec.convert(value, kind, strict=False)
    if not isinstance(value, str):
        raise ValueError("not a number with a unit")
    length = Length.read(value)
    if not 0 < length.mm <= LENGTH_LIMIT:
        raise ValueError("not above 0, or too long")
    return length


def _where(path: Path, value: Value, message: str) -> tuple[Path, Value]:
    """Follow the place a validation message names (`$[2][0]`) down to the value itself."""
    at = message.rpartition("`$")[2].rstrip("`") if "`$" in message else ""
    for step in re.findall(r"\[(\d+)\]", at):
        if isinstance(value, list) and int(step) < len(value):
            value = value[int(step)]
            path = (*path, int(step))
    return path, value


_EXPECTED: dict[str, str] = {
    "hole": "the hole, as a drawing, rows, a shape, bars or a walk",
    "kind": "the kind of shape: rectangle, diamond, slit across, slit down, slit along bar",
    "mesh": "a length above 0 such as 120 mm",
    "diameter": "a length above 0 such as 3.5 mm",
    "needle": "a length above 0 such as 18 m",
    "needle_width": "a length above 0 such as 25 mm",
    "tolerance": "a length above 0 such as 2 mm",
    "rtex": "a number above 0, up to 1000000 g per 1000 m",
    "twine_cost": "a whole number of bars from 0 to 1000",
    "sheet": "a whole number from 1 to 999",
    "level": "a whole number from 1 to 5",
    "set": "a whole number from 0 to 999999999",
    "task": "trim, number, name, count, mistake, walk or miscount",
    "pace": "a number from 0.01 to 100 knots a minute",
    "across": "a whole number of meshes, 1 to 2000",
    "down": "a whole number of meshes, 1 to 2000",
    "rows": 'a list with a text for each row: ["3-6", "2-7"]',
    "walk": "counts of 1 to 4 in the order walked, such as 4 3 4 4 3 4",
    "bars": "a list of pairs of knots: [[[x, y], [x, y]], ...]",
}


def _expected(name: str, kind: Any, found: Value) -> tuple[str, str]:
    """What a field wants, and what to do about what was found."""
    bare = get_args(kind)[0] if get_origin(kind) is Annotated else kind
    choices = get_args(bare)
    if bare is bool:
        return "true or false", ""
    if choices and all(isinstance(choice, str) for choice in choices):
        return "one of " + ", ".join(choices), ""
    if bare is Length:
        advice = _length_advice(found)
        return _EXPECTED.get(name, "a length such as 120 mm"), advice
    if bare is str:
        limit = get_args(kind)[1].max_length if get_origin(kind) is Annotated else None
        if isinstance(found, str) and limit and len(found) > limit:
            return f"at most {limit} characters", f"It has {len(found)}."
        return "text", ""
    return _EXPECTED.get(name, "another kind of value"), ""


def _length_advice(found: Value) -> str:
    """What to do about a length that cannot be taken."""
    units = ", ".join(MILLIMETRES)
    if not isinstance(found, str):
        return f"Units are {units}."
    if found.lstrip().startswith("-"):
        return ""
    try:
        length = Length.read(found)
    except ValueError as error:
        bare = str(error) == "no unit"
        return f"Write the unit behind the number: {units}." if bare else f"Units are {units}."
    return f"At most {LENGTH_LIMIT / 1000:.0f} m." if length.mm > LENGTH_LIMIT else ""
