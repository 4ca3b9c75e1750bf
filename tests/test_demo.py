"""The demo specs: invented, complete, and planned by the rules."""

from __future__ import annotations

import itertools
import json
import subprocess
import sys
from pathlib import Path

import networkx as nx
import pytest
from rules import check
from test_patch import check_patch, check_seam

import cards
from cards import as_data, load, plan
from cards.spec import spec_files

ROOT = Path(__file__).resolve().parent.parent
FILES = list(spec_files([ROOT / "specs"]))
SPECS = [pytest.param(spec, id=spec.name) for file in FILES for spec in load(file)]


def test_there_are_enough_of_them() -> None:
    assert len(FILES) >= 8
    assert any(spec.values[0].mender.hand == "left" for spec in SPECS)
    assert max(spec.values[0].hole.size for spec in SPECS) > 5000


@pytest.mark.parametrize("file", FILES, ids=lambda file: Path(file).stem)
def test_each_says_that_it_is_invented(file: str) -> None:
    assert "# Invented:" in Path(file).read_text(encoding="utf-8").splitlines()[1]


@pytest.mark.parametrize("spec", SPECS)
@pytest.mark.parametrize("hand", ["right", "left"])
def test_a_demo_plan_obeys_the_rules_of_sewing(spec: cards.Spec, hand: str) -> None:
    """By rules that share no code with the engine, on the JSON as it is printed."""
    printed = json.loads(json.dumps(as_data(plan(spec, hand=hand))))
    if printed["method"] == "patch":
        check_seam(printed)
        check_patch(printed)
    else:
        check(printed)


@pytest.mark.parametrize("spec", SPECS)
def test_networkx_walks_a_demo_plan_from_start_to_end(spec: cards.Spec) -> None:
    for twine in as_data(plan(spec))["twines"]:
        path = [tuple(at) for at in twine["path"]]
        graph = nx.Graph(itertools.pairwise(path))
        walked = list(nx.eulerian_path(graph, path[0]))
        assert walked[-1][1] == path[-1]
        assert len(walked) == len(path) - 1


def test_the_command_prints_one_object_or_an_array() -> None:
    def printed(name: str) -> object:
        call = [sys.executable, "-m", "cards", "plan", f"specs/{name}.yaml"]
        return json.loads(subprocess.run(call, cwd=ROOT, check=True, capture_output=True).stdout)

    one, several = printed("rectangle"), printed("three-cards")
    assert isinstance(one, dict)
    assert list(one)[:4] == ["format", "title", "hand", "broken"]
    assert isinstance(several, list)
    assert [card["title"] for card in several] == [
        "Top wing, first hole",
        "Top wing, second hole",
        "Top wing, third hole",
    ]


def test_card_numbers_tell_plans_apart() -> None:
    plans = [plan(spec.values[0], hand=hand) for spec in SPECS for hand in ("right", "left")]
    numbers = [planned.number for planned in plans]
    assert len(set(numbers)) == len(numbers)
    assert numbers == [plan(planned.spec, hand=planned.hand).number for planned in plans], (
        "the same plan has the same number"
    )


def test_a_plan_shows_its_picture_in_a_notebook() -> None:
    svg = plan(SPECS[0].values[0])._repr_svg_()
    assert "<svg" in svg
    assert "</svg>" in svg


def test_values_are_frozen() -> None:
    planned = plan(SPECS[0].values[0])
    for value in (planned, planned.spec, planned.trim, planned.sewing, planned.reckoning):
        with pytest.raises((AttributeError, TypeError)):
            value.hand = "left"  # type: ignore[union-attr,misc]
