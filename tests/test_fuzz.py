"""A short run of the fuzzer; the long one is a command: see `fuzz_specs`."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.parametrize("seed", [11, 12])
def test_the_command_takes_any_file_well(seed: int) -> None:
    call = [sys.executable, "tests/fuzz_specs.py", "--count", "200", "--seed", str(seed)]
    call += ["--seconds", "20"]  # a guard against a hang, on a slow machine too
    done = subprocess.run(
        call, cwd=Path(__file__).parent.parent, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert ", 0 not taken well" in done.stdout
