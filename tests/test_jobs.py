"""Specs shared out over processes give the same files, names and messages as with one."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from cards.command import MADE, WRONG_CALL, main
from cards.command.crew import in_order, processes_for
from cards.errors import OutputError

ROOT = Path(__file__).parent.parent


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Specs of unlike sizes, two of which are refused: one read, one only when it is laid out."""
    specs = tmp_path / "specs"
    specs.mkdir()
    for number in range(13):
        size = f"across: {1 + number * 7 % 10}, down: {1 + number % 3}"
        text = f"title: Belly {number}\nhole: {{shape: {{kind: rectangle, {size}}}}}\n"
        (specs / f"belly{number:02}.yaml").write_text(text)
    (specs / "belly04.yaml").write_text("hole: {shape: {kind: round}}\n")
    too_large = "hole: {shape: {kind: rectangle, across: 200, down: 100}}\n"
    (specs / "belly07.yaml").write_text(too_large)
    return specs


def contents(out: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(out.iterdir())}


@pytest.mark.parametrize("jobs", ["2", "3", "16"])
@pytest.mark.parametrize("edition", ["loft", "class"])
def test_several_processes_make_the_same_in_the_same_order(
    jobs: str, edition: str, folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told, made = [], []
    for count in ("1", jobs):
        out = tmp_path / "out"
        call = ["cards", str(folder), "--edition", edition, "--out", str(out), "--jobs", count]
        assert main(call) == WRONG_CALL
        told.append(capsys.readouterr())
        made.append(contents(out))
        out.rename(tmp_path / f"out{count}")
    assert told[0] == told[1]
    assert made[0] == made[1]
    assert len(made[0]) == 11 * (1 + (edition == "class"))
    assert "belly04.yaml:1: hole.shape.kind" in told[0].err
    assert "belly07.yaml: found a hole of 80000 bars" in told[0].err


def test_a_few_specs_are_made_by_one_process() -> None:
    assert processes_for(1) == processes_for(5) == 1
    assert 1 <= processes_for(10_000) <= (os.cpu_count() or 1)


def test_results_come_in_order() -> None:
    for processes in (1, 3, 30):
        with in_order(lambda n: n * n, range(20), processes) as made:
            assert list(made) == [n * n for n in range(20)]


def test_a_process_that_is_ended_is_told() -> None:
    def make(number: int) -> int:
        if number == 5:
            os.kill(os.getpid(), signal.SIGKILL)
        return number

    with in_order(make, range(9), 2) as results:
        assert [next(results) for _ in range(5)] == list(range(5))
        with pytest.raises(OutputError, match="ended before its cards were made"):
            next(results)


def children(process: int) -> list[int]:
    listed = Path(f"/proc/{process}/task/{process}/children")
    return [int(child) for child in listed.read_text().split()] if listed.exists() else []


def running(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_no_process_goes_on_alone(how: signal.Signals, folder: Path, tmp_path: Path) -> None:
    for number in range(13, 200):
        text = (folder / "belly03.yaml").read_text()
        (folder / f"belly{number}.yaml").write_text(text)
    call = [sys.executable, "-m", "cards", "cards", str(folder), "--out", str(tmp_path / "out")]
    # A process begun in the background may have been told to ignore interrupts.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    run = subprocess.Popen(
        [*call, "--jobs", "3"],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert run.stdout is not None
    run.stdout.readline()
    crew = children(run.pid)
    assert len(crew) == 3
    run.send_signal(how)
    err = run.communicate()[1]
    assert run.returncode not in (MADE, WRONG_CALL)
    assert b"Traceback" not in err, err.decode()
    until = time.monotonic() + 10
    while any(map(running, crew)) and time.monotonic() < until:
        time.sleep(0.05)
    assert not any(map(running, crew))
