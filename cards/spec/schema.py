"""The JSON Schema of a spec file, made from the model, for editors that check as one writes."""

from __future__ import annotations

from typing import Any

import msgspec

from cards.grid.walk import HEADINGS
from cards.spec.holes import FIRST, SHAPE_SIZES, WAYS
from cards.spec.model import SpecFields
from cards.units import MILLIMETRES

SCHEMA_FILE = "spec.schema.json"
DIALECT = "https://json-schema.org/draft/2020-12/schema"

Schema = dict[str, Any]


def schema() -> Schema:
    """Return the schema.

    Notes
    -----
    A spec keeps every scalar as the text it was written as, so ``title: 12`` is the text 12. An
    editor sees a number there, and a truth value in ``title: true``; so where the model has
    text, the schema takes these too, and text where the model has a number.

    Examples
    --------
    >>> sorted(schema()["properties"])[:3]
    ['author', 'cuts', 'date']
    """
    (reference,), parts = msgspec.json.schema_components([SpecFields])
    parts = {name: _widened(part) for name, part in parts.items()}
    parts["Length"] = _length()
    _hole_rules(parts["HoleSpec"])
    _shape_rules(parts["Shape"])
    for part in parts.values():
        _may_be_empty(part)
    whole = parts.pop(reference["$ref"].rpartition("/")[2])
    return {
        "$schema": DIALECT,
        "title": "A spec for a repair card",
        **whole,
        "$defs": {name: parts[name] for name in sorted(parts)},
    }


def schema_text() -> str:
    """The schema as it stands in its file."""
    return msgspec.json.format(msgspec.json.encode(schema()), indent=2).decode() + "\n"


def _length() -> Schema:
    units = "|".join(MILLIMETRES)
    return {
        "description": f"a number with its unit: {', '.join(MILLIMETRES)}",
        "type": "string",
        "pattern": rf"^\s*[0-9]{{1,9}}([.,][0-9]{{1,6}})?\s*({units})\s*$",
        "examples": ["120 mm", "4.5 in"],
    }


def _widened(part: Any) -> Any:
    """The schema with every scalar also as YAML may read it."""
    if isinstance(part, list):
        return [_widened(each) for each in part]
    if not isinstance(part, dict):
        return part
    part = {
        key: value if key in ("examples", "enum", "required") else _widened(value)
        for key, value in part.items()
        # A class has its name in the model only; that nothing is given is no value to suggest.
        if not (key == "title" and isinstance(value, str)) and (key, value) != ("default", None)
    }
    kind = part.get("type")
    if kind == "string" and "enum" not in part:
        part["type"] = ["string", "number", "boolean"]
    elif kind in ("number", "integer"):
        told = {key: part.pop(key) for key in ("description",) if key in part}
        return {**told, "anyOf": [part, {"type": "string", "pattern": "^-?[0-9][0-9.eE+-]*$"}]}
    elif kind == "boolean":
        part["enum"] = [True, False, "true", "false"]
        del part["type"]
    elif "anyOf" in part:
        choices = [c for each in part["anyOf"] for c in each.get("anyOf", [each])]
        part["anyOf"] = choices
        if {} in choices:
            del part["anyOf"]
    return part


def _may_be_empty(part: Schema) -> None:
    """Let every field that is not needed stand without a value."""
    properties = part.get("properties", {})
    for name in properties.keys() - set(part.get("required", ())):
        own = properties[name]
        if "$ref" in own:
            properties[name] = {"anyOf": [own, {"type": "null"}]}
        elif "enum" in own:
            own["enum"] = [*own["enum"], None]


def _hole_rules(hole: Schema) -> None:
    """Exactly one way to give the hole, and `first` where that way needs it and nowhere else."""
    firsts = {"rows": ["\\", "/"], "walk": list(HEADINGS)}
    hole["oneOf"] = [
        {
            "required": [way, "first"] if way in FIRST else [way],
            "properties": {
                way: {"not": {"type": "null"}},
                "first": {"enum": firsts[way]} if way in FIRST else {"type": "null"},
                **{other: {"type": "null"} for other in WAYS if other != way},
            },
        }
        for way in WAYS
    ]


def _shape_rules(shape: Schema) -> None:
    """The sizes that each shape needs, and those it has not."""
    shape["allOf"] = [
        {
            "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
            "then": {
                "required": list(sizes),
                "properties": {
                    size: {"type": "null"} for size in ("across", "down") if size not in sizes
                },
            },
        }
        for kind, sizes in SHAPE_SIZES.items()
    ]
