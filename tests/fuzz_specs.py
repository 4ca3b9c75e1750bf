"""Make spec files of every kind of wrong, and watch that the command takes each of them well.

    python tests/fuzz_specs.py --count 100000 --seed 1

A file passes when the command ends by itself with one of its own exit codes and a message, in 2 s
of processor time and 300 MB, with nothing written but whole files in the output folder. File n of
a seed is always the same: `--from n --count 1` makes it again.
"""

from __future__ import annotations

import argparse
import gc
import io
import json
import os
import random
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from xml.etree import ElementTree

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from holes import random_hole  # noqa: E402

from cards.__main__ import OBJECTS  # noqa: E402
from cards.command import FAILED, MADE, WRONG_CALL, main  # noqa: E402

SECONDS = 2.0  # of processor time for one file, unless told otherwise
WAITING = 20.0  # seconds by the clock, for one that waits for something
MEMORY = 300 << 20  # bytes

BASES = [path.read_bytes() for path in sorted((ROOT / "specs").glob("*.yaml"))]
BASES += [path.read_bytes() for path in sorted((ROOT / "templates").glob("new/spec.yaml"))]

NUMBERS = "0 1 -1 2 3 7 12 60 199 2000 2001 8000 999999 1e3 1e308 1e-320 nan inf -0 0x10 1_000 "
NUMBERS += "9223372036854775808 " + "9" * 400 + " 0.1 3,5 ½ ٣ ²"
TEXTS = [
    "", "~", "null", "true", "No", "../../x", "/etc/passwd", "CON", "a\\b", "<b>&amp;</b>", "]]>",
    "<script>alert(1)</script>", "{{ t }}", "{% for a in b %}", "%s%n", "$(touch x)", "'; --",
    "\u202eeman", "\u200f\u061c", "\x00", "\x07\x1b[31m", "\ufeff", "\ufffe", "\ud7ff",
    "\U0001f9f5", "e\u0301" * 90, "ﬁ", "Ærø", "x" * 199, "x" * 5000, "\u2028", "\t", " ", "-",
    "---", "...", "*a", "&a [1]", "!!python/object:os.system x", "!x", "|", ">", "?", "? a",
    "[", "]", "{", "}", "{a: b}", "[1, [2, [3]]]", "#", "%YAML 9.9", "@", "`", '"', "'",
    "<<: *a", ": :", "- - -",
]  # fmt: skip
FIELDS = [
    "title", "author", "date", "revision", "note", "net", "panel", "mesh", "twine", "material",
    "diameter", "rtex", "double", "mender", "hand", "needle", "pace", "hole", "drawing", "rows",
    "first", "shape", "kind", "across", "down", "bars", "walk", "start", "cuts", "method",
]  # fmt: skip
KINDS = ["rectangle", "diamond", "slit across", "slit down", "slit along bar"]
LENGTHS = ["120 mm", "12 cm", "4.5 in", "0.12 m", "1e-9 mm", "10000 m", "120", "-3 mm", "1 ell"]


def mutated(rng: random.Random) -> bytes:
    """A demo spec with some of its bytes or lines changed."""
    text = bytearray(rng.choice(BASES))
    for _ in range(rng.choice((1, 1, 1, 2, 3, 6, 20))):
        rng.choice(MUTATIONS)(rng, text)
    return bytes(text)


def _span(rng: random.Random, text: bytearray) -> tuple[int, int]:
    begin = rng.randrange(len(text) + 1)
    return begin, min(len(text), begin + int(rng.expovariate(0.1)) + 1)


def _flip(rng: random.Random, text: bytearray) -> None:
    if text:
        text[rng.randrange(len(text))] ^= 1 << rng.randrange(8)


def _put_bytes(rng: random.Random, text: bytearray) -> None:
    at = rng.randrange(len(text) + 1)
    text[at:at] = rng.randbytes(rng.randint(1, 8))


def _cut_out(rng: random.Random, text: bytearray) -> None:
    begin, end = _span(rng, text)
    del text[begin:end]


def _repeat(rng: random.Random, text: bytearray) -> None:
    begin, end = _span(rng, text)
    text[begin:end] = text[begin:end] * rng.choice((2, 2, 3, 50))


def _put_text(rng: random.Random, text: bytearray) -> None:
    begin, end = _span(rng, text)
    text[begin : rng.choice((begin, end))] = rng.choice(TEXTS).encode("utf-8", "surrogatepass")


def _change_value(rng: random.Random, text: bytearray) -> None:
    """Put another value behind a colon."""
    places = list(re.finditer(rb":[ \t]+([^\n,}#]*)", text))
    if places:
        place = rng.choice(places)
        value = rng.choice([*TEXTS, *NUMBERS.split(), *KINDS, *LENGTHS])
        text[place.start(1) : place.end(1)] = value.encode("utf-8", "surrogatepass")


def _change_number(rng: random.Random, text: bytearray) -> None:
    places = list(re.finditer(rb"[0-9]+", text))
    if places:
        place = rng.choice(places)
        value = rng.choice([*NUMBERS.split(), str(int(10 ** rng.uniform(0, 5)))])
        text[place.start() : place.end()] = value.encode()


def _change_lines(rng: random.Random, text: bytearray) -> None:
    lines = bytes(text).split(b"\n")
    a, b = rng.randrange(len(lines)), rng.randrange(len(lines))
    match rng.randrange(5):
        case 0:
            lines[a], lines[b] = lines[b], lines[a]
        case 1:
            del lines[a]
        case 2:
            lines.insert(b, lines[a])
        case 3:
            lines[a] = b" " * rng.randrange(4) + lines[a].lstrip()
        case 4:
            lines[a] = lines[a].rstrip() + rng.choice(BASES).split(b"\n")[0]
    text[:] = b"\n".join(lines)


def _splice(rng: random.Random, text: bytearray) -> None:
    other = rng.choice(BASES)
    text[rng.randrange(len(text) + 1) :] = other[rng.randrange(len(other)) :]


MUTATIONS = (
    _flip, _put_bytes, _cut_out, _repeat, _put_text, _put_text, _change_value, _change_value,
    _change_number, _change_number, _change_lines, _change_lines, _splice,
)  # fmt: skip


def grown(rng: random.Random) -> bytes:
    """A spec made from the fields that there are, most of it right."""
    documents = [_document(rng) for _ in range(rng.choice((1, 1, 1, 1, 1, 2, 5)))]
    return "\n---\n".join(documents).encode("utf-8", "surrogatepass")


def _document(rng: random.Random) -> str:
    def some(value: object, chance: float = 0.5) -> object:
        return value if rng.random() < chance else None

    fields: dict[str, object] = {
        "title": some(_text(rng)),
        "author": some(_text(rng), 0.2),
        "date": some(_text(rng), 0.2),
        "note": some(_text(rng), 0.3),
        "net": some(
            {
                "panel": some(_text(rng)),
                "mesh": some(rng.choice(LENGTHS)),
                "twine": some(
                    {
                        "material": some(_text(rng)),
                        "diameter": some(rng.choice(LENGTHS)),
                        "rtex": some(_number(rng)),
                        "double": some(rng.choice(["true", "false", "yes"]), 0.2),
                    }
                ),
            }
        ),
        "mender": some(
            {
                "hand": some(rng.choice(["right", "left", "both"])),
                "needle": some(rng.choice(LENGTHS)),
                "pace": some(_number(rng)),
            }
        ),
        "start": some(rng.choice(["left", "right", "auto"]), 0.3),
        "hole": _hole(rng),
    }
    if rng.random() < 0.2:
        fields[rng.choice(FIELDS)] = rng.choice([_text(rng), _number(rng), [[1]], {"a": {}}])
    return json.dumps(_without_none(fields), ensure_ascii=False)


def _without_none(value: object) -> object:
    if isinstance(value, dict):
        return {name: _without_none(own) for name, own in value.items() if own is not None}
    return value


def _text(rng: random.Random) -> str:
    if rng.random() < 0.6:
        return rng.choice(["Belly", "Wing, port", "Grey Petrel", "Łoft – 3", "a < b & c > d"])
    return rng.choice(TEXTS)


def _number(rng: random.Random) -> object:
    return rng.choice([4, 5200, 0.5, -1, 10**30, "5", *NUMBERS.split()])


def _hole(rng: random.Random) -> object:
    size = int(10 ** rng.uniform(0, 1.6))
    bars = random_hole(rng.randrange(1 << 30), size, int(10 ** rng.uniform(0, 1.6)))
    if rng.random() < 0.1:
        bars |= {(r + rng.choice((9, 99, 999, 9999)), c) for r, c in list(bars)[:3]}
    top, left = min(r for r, _ in bars), min(c for _, c in bars)
    match rng.randrange(6):
        case 0:
            return {"shape": _shape(rng)}
        case 1:
            pairs = [[[c + (r + c) % 2, r], [c + 1 - (r + c) % 2, r + 1]] for r, c in bars]
            return {"bars": pairs}
        case 2:
            rows: list[str] = []
            for row in range(top, max(r for r, _ in bars) + 1):
                rows.append(",".join(str(c - left + 1) for r, c in sorted(bars) if r == row))
            return {"rows": rows, "first": rng.choice("\\/\\/x")}
        case 3:
            turns = rng.choice(["12344", "34", "3"])
            counts = [rng.choice(turns) for _ in range(int(10 ** rng.uniform(0, 3)))]
            return {"walk": " ".join(counts), "first": rng.choice(["down-right", "up-left", "up"])}
        case 4:
            a, b, c, d = (rng.choice((0, 1, 2, 9)) for _ in range(4))
            return {"walk": f"{a}x3 4 {b}x3 4 {c}x3 4 {d}x3 4", "first": "down-right"}
    bottom, right = max(r for r, _ in bars), max(c for _, c in bars)
    drawn = [
        "".join("." if (r, c) in bars else "\\/"[(r + c) % 2] for c in range(left - 1, right + 2))
        for r in range(top - 1, bottom + 2)
    ]
    return {"drawing": "\n".join(drawn[: 9999 if rng.random() < 0.9 else 2])}


def _shape(rng: random.Random) -> dict[str, object]:
    sizes = [int(10 ** rng.uniform(0, rng.choice((0.8, 1.8, 3.4)))) for _ in range(2)]
    kind = rng.choice(KINDS)
    shape: dict[str, object] = {"kind": kind}
    if kind in ("rectangle", "diamond", "slit across") or rng.random() < 0.05:
        shape["across"] = sizes[0]
    if kind != "slit across" or rng.random() < 0.05:
        shape["down"] = sizes[1]
    return shape


def spec_file(seed: int, number: int) -> tuple[bytes, list[str]]:
    """File `number` of a seed, and how the command is called with it."""
    rng = random.Random(f"{seed} {number}")
    raw = rng.choice((mutated, grown))(rng)
    word = rng.choice(("cards", "cards", "plan", "plan", "show", "picture", "convert"))
    call = [word, "in/torn.yaml"]
    if word == "cards":
        call += ["--out", "out"]
        call += rng.choice(([], [], ["--edition", "deck"], ["--edition", "class"]))
        call += rng.choice(([], [], [], ["--paper", "A4"], ["--per-sheet", "2"], ["--bind", "a/b"]))
    elif word == "picture":
        call += ["-o", "out/torn.svg"]
    elif word == "show":
        call += rng.choice(([], ["--cuts"], ["--knots"]))
    elif word == "convert":
        call += ["--to", rng.choice(("drawing", "walk", "rows", "bars"))]
    return raw, call


class Late(BaseException):
    """The command took too long."""


@contextmanager
def watched(seconds: float) -> Iterator[None]:
    """Raise `Late` where what is done takes more processor time than `seconds`."""

    def late(number: int, frame: object) -> None:
        raise Late

    for number in (signal.SIGPROF, signal.SIGALRM):
        signal.signal(number, late)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    signal.setitimer(signal.ITIMER_REAL, WAITING)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.setitimer(signal.ITIMER_REAL, 0)


class Ground:
    """The folder in which the command is called, and what may be in it."""

    def __init__(self, folder: Path, seconds: float) -> None:
        self.folder, self.seconds = folder, seconds
        self.below = folder / "a" / "b"  # so that a name with .. in it stays in sight
        for name in ("in", "out"):
            (self.below / name).mkdir(parents=True)
        os.chdir(self.below)

    def try_one(self, raw: bytes, call: list[str]) -> tuple[int | None, str]:
        """Call the command with a file: its exit code, and what is wrong with how it took it."""
        Path("in/torn.yaml").write_bytes(raw)
        streams = [io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2)]
        usual = sys.stdout, sys.stderr
        begun, code, wrong = time.process_time(), None, ""
        try:
            sys.stdout, sys.stderr = streams
            with watched(self.seconds):
                code = main(call)
        except Late:
            wrong = "took too long"
        except BaseException:
            wrong = traceback.format_exc()
        finally:
            sys.stdout, sys.stderr = usual
        used = time.process_time() - begun
        if not wrong and used > self.seconds:
            wrong = f"took {used:.1f} s"
        told = [stream.buffer.getvalue() for stream in map(_flushed, streams)]
        return code, wrong or self._judged(code, call, *told)

    def _judged(self, code: int | None, call: list[str], out: bytes, err: bytes) -> str:
        said = err.decode()
        if code not in (MADE, FAILED, WRONG_CALL):
            return f"exit code {code}"
        if (code == MADE) != (not said) and call[0] != "convert":
            return f"exit code {code} with this message: {said!r}"
        for line in said.splitlines():
            if not line.isprintable() or not line.startswith("threebar: "):
                return f"a message that is not the command's: {line!r}"
        if call[0] == "plan" and out:
            json.loads(out)
        return self._files_judged(code, call)

    def _files_judged(self, code: int, call: list[str]) -> str:
        places = {str(p.relative_to(self.below.parent.parent)) for p in self.folder.rglob("*")}
        made = [Path(name) for name in os.listdir("out")]
        allowed = {"a", "a/b", "a/b/in", "a/b/out", "a/b/in/torn.yaml"}
        allowed |= {f"a/b/out/{name}" for name in made}
        if places != allowed:
            return f"files out of place: {sorted(places ^ allowed)}"
        if code == MADE and call[0] in ("cards", "picture") and not made:
            return "nothing made, and nothing said"
        for name in made:
            content = (Path("out") / name).read_bytes()
            if not re.fullmatch(r"[A-Za-z0-9_-]+\.(pdf|svg)", str(name)):
                return f"a file named {name}"
            if name.suffix == ".svg":
                ElementTree.fromstring(content)
            elif not (content.startswith(b"%PDF-") and content.rstrip().endswith(b"%%EOF")):
                return f"half a file: {name}"
            os.unlink(Path("out") / name)
        return ""


def _flushed(stream: io.TextIOWrapper) -> io.TextIOWrapper:
    stream.flush()
    return stream


def run(arguments: list[str] | None = None) -> int:
    """Try the files and say how they went; 1 where one did not go well."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--from", dest="first", type=int, default=0, metavar="N")
    parser.add_argument("--seconds", type=float, default=SECONDS, help="for one file")
    parser.add_argument("--keep", metavar="DIR", help="keep the files that did not go well")
    asked = parser.parse_args(arguments)
    keep = Path(asked.keep).resolve() if asked.keep else None
    from cards.sheet import card_pdf  # noqa: F401  (loaded before the memory is counted)

    gc.set_threshold(OBJECTS)  # as the command itself does
    resource.setrlimit(resource.RLIMIT_DATA, (MEMORY, resource.RLIM_INFINITY))
    codes: Counter[int | None] = Counter()
    failures, slowest, begun = 0, (0.0, asked.first), time.monotonic()
    home = os.getcwd()
    folder = Path(tempfile.mkdtemp(prefix="fuzz"))
    try:
        ground = Ground(folder, asked.seconds)
        for number in range(asked.first, asked.first + asked.count):
            raw, call = spec_file(asked.seed, number)
            # Other work on the machine takes processor time too: what took long is tried again.
            for _ in range(2):
                before = time.process_time()
                try:
                    code, wrong = ground.try_one(raw, call)
                except (ValueError, ElementTree.ParseError) as error:
                    code, wrong = None, f"output that cannot be read: {error}"
                used = time.process_time() - before
                if not wrong.startswith("took "):
                    break
            slowest = max(slowest, (used, number))
            codes[code] += 1
            if wrong:
                failures += 1
                print(f"file {number}: {' '.join(call)}\n{wrong}", flush=True)
                if keep:
                    keep.mkdir(exist_ok=True, parents=True)
                    (keep / f"{asked.seed}-{number}.yaml").write_bytes(raw)
            if (number + 1) % 5000 == 0:
                print(f"{number + 1} files, {failures} not taken well", flush=True)
    finally:
        os.chdir(home)
        shutil.rmtree(folder)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{asked.count} files of seed {asked.seed}: {codes[MADE]} made, "
        f"{codes[WRONG_CALL]} refused, {codes[FAILED]} not written, {failures} not taken well; "
        f"slowest {slowest[0]:.2f} s (file {slowest[1]}), peak {peak:.0f} MB, "
        f"{time.monotonic() - begun:.0f} s in all"
    )
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(run())
