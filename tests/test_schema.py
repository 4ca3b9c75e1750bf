"""The JSON Schema of a spec: in step with the model, and of one mind with the loader."""

from __future__ import annotations

from random import Random
from typing import Any

import jsonschema
import pytest
import yaml

from cards import SpecError, load_text
from cards.command import main
from cards.shelf import shelf
from cards.spec.convert import FORMS, Form, convert
from cards.spec.schema import SCHEMA_FILE, schema, schema_text
from tests.walk_holes import random_hole


class _CoreLoader(yaml.SafeLoader):
    """YAML as editors read it: no dates, and yes and no are text (YAML 1.2, core schema)."""


def _core(first: str, tag: str) -> bool:
    kind = tag.rpartition(":")[2]
    return kind != "timestamp" and not (kind == "bool" and first not in "tTfF")


_CoreLoader.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in pairs if _core(first, tag)]
    for first, pairs in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def documents(text: str) -> list[Any]:
    return list(yaml.load_all(text, Loader=_CoreLoader))


VALIDATOR = jsonschema.Draft202012Validator(schema())

SOUND = [
    "hole: {shape: {kind: slit across, across: 2}}",
    "hole: {shape: {kind: slit down, down: '2', across: }}",
    "hole: {shape: {kind: diamond, across: 4, down: 3}}\nnet:\nmender:\ncuts: []",
    "hole: {rows: ['', '3-6', 5, ~, '1,3'], first: /}",
    "hole: {walk: 4 3 4 4 3 4, first: up-left}",
    "hole: {walk: [4, 3, 2x4, 3, 4], first: down-left}",
    "hole: {walk: '4 3 4 4 3 4', first: down-left, rows: }",
    "hole: {bars: [[[-1, -1], [0, 0]]]}",
    "hole:\n  drawing: |\n    \\/\\/\n    /..\\\n",
    "title: 12\nauthor: true\ndate: 2030-01-02\nrevision: 1.5\nnote: No\n"
    "hole: {shape: {kind: slit across, across: 2}}",
    "net: {panel: 3, mesh: 4.5in, twine: {diameter: '3,5 mm', rtex: 5200.5, double: true}}\n"
    "mender: {hand: left, needle: 18 m, pace: 3.5}\nstart: auto\n"
    "hole: {shape: {kind: slit across, across: 2}}",
]

WRONG = [
    "title: x",
    "hole: {}",
    "holes: {shape: {kind: slit across, across: 2}}",
    "hole: {shape: {kind: slit across}}",
    "hole: {shape: {kind: slit across, across: 2, down: 2}}",
    "hole: {shape: {kind: circle, across: 2}}",
    "hole: {shape: {kind: rectangle, across: 0, down: 1}}",
    "hole: {shape: {kind: rectangle, across: 2.5, down: 1}}",
    "hole: {shape: {kind: slit across, across: 2}, first: /}",
    "hole: {shape: {kind: slit across, across: 2}, rows: ['1']}",
    "hole: {rows: ['3-6']}",
    "hole: {rows: ['3-6'], first: down-left}",
    "hole: {rows: 3-6, first: /}",
    "hole: {walk: 4 3 4 4 3 4}",
    "hole: {walk: 4 3 4 4 3 4, first: /}",
    "hole: {bars: [[[0.5, 1], [1, 2]]]}",
    "hole: {shape: {kind: slit across, across: 2}}\nnet: {mesh: 120}",
    "hole: {shape: {kind: slit across, across: 2}}\nnet: {mesh: 120 km}",
    "hole: {shape: {kind: slit across, across: 2}}\nnet: {twine: {rtex: 0}}",
    "hole: {shape: {kind: slit across, across: 2}}\nnet: {twine: {double: maybe}}",
    "hole: {shape: {kind: slit across, across: 2}}\nmender: {hand: both}",
    "hole: {shape: {kind: slit across, across: 2}}\nstart: top",
    "hole: {shape: {kind: slit across, across: 2}}\ntitle: [a]",
]


def test_the_file_is_what_the_command_prints(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema"]) == 0
    printed = capsys.readouterr().out
    assert printed == schema_text()
    kept = (shelf("specs") / SCHEMA_FILE).read_text(encoding="utf-8")
    assert kept == printed, "write it again: threebar schema > specs/spec.schema.json"


def test_it_is_a_sound_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(schema())


@pytest.mark.parametrize("text", SOUND)
def test_schema_and_loader_take_what_is_sound(text: str) -> None:
    load_text(text)
    for document in documents(text):
        VALIDATOR.validate(document)


@pytest.mark.parametrize("text", WRONG)
def test_schema_and_loader_refuse_what_is_wrong(text: str) -> None:
    with pytest.raises(SpecError):
        load_text(text)
    assert not all(VALIDATOR.is_valid(document) for document in documents(text))


def test_every_field_says_what_it_is_for() -> None:
    whole = schema()
    for part in [whole, *whole["$defs"].values()]:
        for name, field in part.get("properties", {}).items():
            told = "description" in field or any("$ref" in c for c in field.get("anyOf", [field]))
            assert told, name


@pytest.mark.parametrize("form", FORMS)
def test_holes_written_in_every_form_are_sound(form: Form) -> None:
    for seed in range(20):
        bars = [[list(k) for k in bar.ends] for bar in random_hole(Random(seed)).bars()]
        text = convert(f"title: '{seed}'\nhole: {{bars: {bars}}}\n", form).text
        for document in documents(text):
            VALIDATOR.validate(document)


def demo_specs() -> list[str]:
    texts = [file.read_text(encoding="utf-8") for file in sorted(shelf("specs").glob("*.yaml"))]
    return [*texts, (shelf("templates") / "new" / "spec.yaml").read_text(encoding="utf-8")]


def test_the_specs_that_come_with_it_are_sound() -> None:
    for text in demo_specs():
        for document in documents(text):
            VALIDATOR.validate(document)


def test_demo_specs_name_the_schema_for_editors() -> None:
    for file in shelf("specs").glob("*.yaml"):
        first = file.read_text(encoding="utf-8").splitlines()[0]
        assert first == f"# yaml-language-server: $schema={SCHEMA_FILE}", file.name
