"""A file is the old one or the new one, whole: killed, without room or leave, twice at once."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pikepdf
import pytest

from cards.command import FAILED, MADE, WRONG_CALL, main
from cards.command.output import STRAY_AGE

ROOT = Path(__file__).parent.parent
SPEC = "title: {title}\nhole: {{shape: {{kind: rectangle, across: {across}, down: 3}}}}\n"


@pytest.fixture
def ground() -> Iterator[Path]:
    """A folder that every user may enter, with three specs and the cards of an earlier run."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        (folder / "specs").mkdir()
        for number in range(3):
            text = SPEC.format(title=f"Belly {number}", across=2 + number)
            (folder / "specs" / f"belly{number}.yaml").write_text(text)
        yield folder


def contents(out: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(out.iterdir())}


def run_as_nobody(call: list[str]) -> subprocess.CompletedProcess[str]:
    """Run the command without root's leave to do anything."""
    program = (
        "import os, sys\n"
        "import cards.sheet, cards.command.cards\n"
        "from cards.command import main\n"
        "from cards.words import words\n"
        "from cards.picture.pdf import _register_fonts\n"
        "words(); _register_fonts()\n"
        "main(['cards', '-', '--out', sys.argv[1]])\n"
        "os.geteuid() or os.setuid(65534)\n"
        "sys.exit(main(sys.argv[2:]))\n"
    )
    with tempfile.TemporaryDirectory() as warm:
        return subprocess.run(
            [sys.executable, "-c", program, warm, *call],
            input=SPEC.format(title="x", across=1),
            capture_output=True,
            text=True,
            cwd=ROOT,
            check=False,
        )


# Forks a run of the command again and again and kills it at a random moment of its life.
KILLER = """
import os, random, signal, sys, time
from cards.command import main
import cards.sheet, cards.command.cards

specs, out, seed = sys.argv[1], sys.argv[2], sys.argv[3]
rng = random.Random(seed)
if len(sys.argv) > 4:  # a writer that writes where the file stands
    def written_in_place(path, content):
        with open(path, "wb") as file:
            for begin in range(0, len(content), 8192):
                file.write(content[begin : begin + 8192])
                file.flush()
                time.sleep(0.002)
    cards.command.cards.write_whole = written_in_place

def started():
    child = os.fork()
    if not child:
        sys.stdout = open(os.devnull, "w")
        os.fsync = lambda handle: time.sleep(0.02)  # a slow disk: many are killed while it writes
        os._exit(main(["cards", specs, "--out", out]))
    return child

begun = time.monotonic()
os.waitpid(started(), 0)
whole = time.monotonic() - begun
killed = 0
for _ in range(100):
    child = started()
    time.sleep(rng.uniform(0, whole))
    os.kill(child, signal.SIGKILL)
    killed += os.WIFSIGNALED(os.waitpid(child, 0)[1])
    for name in os.listdir(out):
        if not name.endswith(".part"):
            content = open(os.path.join(out, name), "rb").read()
            if not (content.startswith(b"%PDF") and content.rstrip().endswith(b"%%EOF")):
                sys.exit(f"half a file: {name}")
print(killed)
"""


def test_killed_at_any_moment_no_half_file_is_left(ground: Path) -> None:
    out = ground / "out"
    call = [sys.executable, "-c", KILLER, str(ground / "specs"), str(out), "1"]
    done = subprocess.run(call, capture_output=True, text=True, cwd=ROOT, check=False)
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) > 50
    assert list(out.glob(".threebar-*.part")), "none was killed while it wrote"
    # What runs that were killed left does not get in the way, and goes when it is old.
    old = time.time() - STRAY_AGE - 1
    for stray in (out / ".threebar-old.part", *out.glob(".threebar-*.part")):
        stray.touch()
        os.utime(stray, (old, old))
    young, other = out / ".threebar-young.part", out / ".other.part"
    young.touch()
    other.touch()
    os.utime(other, (old, old))
    assert main(["cards", str(ground / "specs"), "--out", str(out)]) == MADE
    cards = {f"belly{number}-loft.pdf" for number in range(3)}
    assert set(contents(out)) == {*cards, young.name, other.name}
    for name in cards:
        with pikepdf.open(out / name) as pdf:
            assert len(pdf.pages) > 1


def test_a_writer_that_writes_in_place_is_seen(ground: Path) -> None:
    call = [sys.executable, "-c", KILLER, str(ground / "specs"), str(ground / "out"), "1", "broken"]
    done = subprocess.run(call, capture_output=True, text=True, cwd=ROOT, check=False)
    assert done.returncode == 1
    assert done.stderr.startswith("half a file: belly")


def test_a_full_disk_leaves_the_earlier_cards(ground: Path) -> None:
    out = ground / "out"
    call = ["cards", str(ground / "specs"), "--out", str(out)]
    assert main(call) == MADE
    before = contents(out)
    for spec in (ground / "specs").iterdir():
        spec.write_text(spec.read_text().replace("down: 3", "down: 4"))

    def no_room() -> None:
        # No file may grow beyond this: the system's answer is that of a disk without room.
        resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, 10_000))

    done = subprocess.run(
        [sys.executable, "-m", "cards", *call],
        preexec_fn=no_room,
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
    )
    assert done.returncode == FAILED
    lines = done.stderr.splitlines()
    assert len(lines) == 3
    for number, line in enumerate(lines):
        assert line.startswith(f"threebar: {out}/belly{number}-loft.pdf: found no way to write it")
    assert done.stdout == ""
    assert contents(out) == before


@pytest.mark.skipif(os.geteuid() != 0, reason="only root may mount")
def test_a_disk_that_fills_up_leaves_the_cards_that_had_room(ground: Path) -> None:
    out = ground / "out"
    out.mkdir()
    elsewhere = ground / "elsewhere"
    assert main(["cards", str(ground / "specs"), "--out", str(elsewhere)]) == MADE
    sizes = [len(content) for content in contents(elsewhere).values()]
    room = (sum(sizes) - min(sizes) // 2) // 1024  # for all but one
    mount = ["mount", "-t", "tmpfs", "-o", f"size={room}k", "tmpfs", str(out)]
    if subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("no file system may be mounted here")
    try:
        call = ["cards", str(ground / "specs"), "--out", str(out)]
        done = subprocess.run(
            [sys.executable, "-m", "cards", *call],
            capture_output=True,
            text=True,
            cwd=ROOT,
            check=False,
        )
        assert done.returncode == FAILED
        assert "No space left on device" in done.stderr
        made = contents(out)
        assert set(made) == {Path(line).name for line in done.stdout.splitlines()}
        assert 0 < len(made) < 3
        for content in made.values():
            assert content.rstrip().endswith(b"%%EOF")
    finally:
        subprocess.run(["umount", str(out)], check=True)


def test_a_folder_that_may_no_longer_be_written_keeps_its_cards(ground: Path) -> None:
    out = ground / "out"
    assert main(["cards", str(ground / "specs"), "--out", str(out)]) == MADE
    before = contents(out)
    out.chmod(0o555)
    done = run_as_nobody(["cards", str(ground / "specs"), "--out", str(out)])
    out.chmod(0o755)
    assert done.returncode == FAILED, done.stderr
    assert done.stderr.startswith(f"threebar: {out}: found a folder that cannot be written")
    assert contents(out) == before


def test_a_spec_that_may_not_be_read_is_named(ground: Path) -> None:
    (ground / "out").mkdir()
    (ground / "out").chmod(0o777)
    (ground / "specs" / "belly1.yaml").chmod(0)
    done = run_as_nobody(["cards", str(ground / "specs"), "--out", str(ground / "out")])
    assert done.returncode == WRONG_CALL, done.stderr
    (line,) = done.stderr.splitlines()
    assert "belly1.yaml: found a file that cannot be read (Permission denied)" in line
    assert set(contents(ground / "out")) == {"belly0-loft.pdf", "belly2-loft.pdf"}


def test_two_runs_into_one_folder_do_not_harm_each_other(ground: Path) -> None:
    once, out = ground / "once", ground / "out"
    assert main(["cards", str(ground / "specs"), "--out", str(once)]) == MADE
    call = [sys.executable, "-m", "cards", "cards", str(ground / "specs"), "--out", str(out)]
    runs = [
        subprocess.Popen(call, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        for _ in range(2)
    ]
    for run in runs:
        assert run.communicate()[1] == b""
        assert run.returncode == MADE
    assert contents(out) == contents(once)


def test_a_stopped_run_says_so(ground: Path) -> None:
    for number in range(3, 100):
        spec = SPEC.format(title=f"Belly {number}", across=20)
        (ground / "specs" / f"belly{number}.yaml").write_text(spec)
    out = ground / "out"
    call = [sys.executable, "-m", "cards", "cards", str(ground / "specs"), "--out", str(out)]
    # A process begun in the background may have been told to ignore interrupts.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    run = subprocess.Popen(call, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert run.stdout is not None
    run.stdout.readline()
    run.send_signal(signal.SIGINT)
    assert run.communicate()[1] == b"threebar: stopped\n"
    assert run.returncode == 130
    assert 0 < len(contents(out)) < 100
