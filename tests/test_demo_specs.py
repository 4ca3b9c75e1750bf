"""The demo specs: what they show, and that their plans obey every rule of sewing."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from cards import Spec, load, plan
from cards.command import MADE, main

SPECS = Path(__file__).resolve().parent.parent / "specs"
FILES = sorted(SPECS.glob("*.yaml"))
DEMOS = [(file.stem, spec) for file in FILES for spec in load(file)]
by_name = pytest.mark.parametrize("spec", [spec for _, spec in DEMOS], ids=lambda s: s.name)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_a_demo_spec_says_that_its_scenario_is_invented(file: Path) -> None:
    comments = " ".join(x for x in file.read_text("utf-8").splitlines() if x.startswith("#"))
    for word in ("nvented", "vessel Grey Petrel", "Harl Loft", "Skerry School"):
        assert word in comments


def demo(name: str) -> Spec:
    (spec,) = load(SPECS / f"{name}.yaml")
    return spec


def test_there_is_a_demo_of_each_kind_of_hole() -> None:
    assert demo("one-bar").hole.size == 1
    lost = demo("lost-knot").hole
    assert [lost.name_at(knot) for knot in lost.knots()].count("lost") == 1
    across, down, along = (demo(f"slit-{way}") for way in ("across", "down", "along-bar"))
    assert len(across.hole.rows) == 1
    assert down.hole.right - down.hole.left == 1
    assert len({bar.lean for bar in along.hole.bars()}) == 1
    assert along.hole.size == len(along.hole.rows) > 1
    assert len(set(demo("rectangle").hole.rows)) == 1
    assert len({row[0].left for row in demo("ragged-round").hole.rows}) > 3
    wide = demo("uneven-wide").hole
    assert wide.right - wide.left > 2 * len(wide.rows)
    large = demo("large").hole
    # Sixty meshes across and forty down: a mesh is two half meshes wide and two deep.
    assert (large.right - large.left) // 2 == 60
    assert len(large.rows) // 2 == 40
    inches = demo("inches").net.mesh
    assert inches is not None
    assert inches.inches
    assert demo("left-handed").mender.hand == "left"
    assert len(load(SPECS / "three-cards.yaml")) == 3


@by_name
def test_a_demo_gives_all_that_the_reckoning_needs_but_a_needle_and_a_pace(spec: Spec) -> None:
    made = plan(spec).reckoning
    assert made.length is not None
    assert made.mass is not None
    assert set(made.lacking) <= {"mender.needle", "mender.pace"}


def test_the_folder_of_demos_is_planned_at_one_call(capfdbinary: Any) -> None:
    assert main(["plan", str(SPECS)]) == MADE
    plans = json.loads(capfdbinary.readouterr().out)
    assert [made["title"] for made in plans] == [spec.title for _, spec in DEMOS]
