"""What is shipped: a wheel that works in an empty environment, and a README that is true."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import venv
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A new environment with nothing in it but the wheel and what it stands on."""
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(folder), str(ROOT)],
        check=True,
    )
    (wheel,) = folder.glob("threebar-*.whl")
    venv.create(folder / "env", with_pip=True)
    binaries = folder / "env" / "bin"
    subprocess.run([binaries / "pip", "install", "-q", str(wheel)], check=True)
    return binaries


def test_the_wheel_works_from_another_folder(installed: Path, tmp_path: Path) -> None:
    specs = installed.parent.glob("lib/python*/site-packages/cards/specs/rectangle.yaml")
    spec = next(specs)
    made = subprocess.run(
        [installed / "threebar", "cards", str(spec), "--out", "made"],
        cwd=tmp_path,
        check=True,
        capture_output=True,
        text=True,
    )
    assert made.stdout.strip() == "made/rectangle-loft.pdf"
    assert (tmp_path / "made" / "rectangle-loft.pdf").read_bytes().startswith(b"%PDF")
    planned = subprocess.run(
        [installed / "threebar", "plan", str(spec)], check=True, capture_output=True, cwd=tmp_path
    )
    assert json.loads(planned.stdout)["format"] == "threebar.plan/1"


def test_the_readme_sets_up_and_runs_with_one_line_each() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    commands = re.findall(r"^    (python3 -m venv .*)$", readme, re.MULTILINE)
    assert len(commands) == 2
    assert "threebar cards specs" in commands[0]
    assert commands[1].endswith("-m pytest")
    assert "README.md" in (ROOT / ".ci" / "run").read_text()


def test_the_readmes_own_hole_is_a_spec(tmp_path: Path) -> None:
    from cards import load_text, plan

    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    block = re.search(r"## Your own hole, in ten lines\n\n((?:    .*\n)+)", readme)
    assert block
    lines = [line[4:] for line in block[1].splitlines()]
    assert len(lines) == 10
    (spec,) = load_text("\n".join(lines))
    assert plan(spec).sewing.knots > 0
