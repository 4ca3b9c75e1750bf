"""Measure threebar side by side with other ways of doing the same, and print the ratios.

    python tests/bench/ratios.py             # all of them
    python tests/bench/ratios.py growth card # some

Both sides of a ratio run in turn in the same run of this program, and the best of a few runs of
each counts, so that what else the machine does weighs little.
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from cards import compose, load_text, plan  # noqa: E402
from cards.picture.shapes import Area, Curve, Disc, Line, Picture, Text  # noqa: E402
from cards.spec import Spec  # noqa: E402
from cards.trim import trim  # noqa: E402

CARD = """title: Belly, starboard side
net: {{panel: lower belly, mesh: 120 mm, twine: {{material: PE, diameter: 3.5 mm, rtex: 5200}}}}
mender: {{needle: 18 m, pace: 4}}
hole: {{shape: {{kind: {kind}, across: {across}, down: {down}}}}}
"""


def card_text(across: int, down: int, kind: str = "rectangle") -> str:
    """The spec of a hole with all that a card reckons from."""
    return CARD.format(across=across, down=down, kind=kind)


def card_spec(across: int, down: int, kind: str = "rectangle") -> Spec:
    """The same, loaded."""
    (spec,) = load_text(card_text(across, down, kind))
    return spec


def best(*ways: Callable[[], object], runs: int = 3) -> list[float]:
    """Seconds that each of some ways takes: the best of a few runs, run in turn."""
    least = [float("inf")] * len(ways)
    for _ in range(runs):
        for place, way in enumerate(ways):
            begun = time.perf_counter()
            way()
            least[place] = min(least[place], time.perf_counter() - begun)
    return least


def process(*arguments: str) -> Callable[[], object]:
    """A way of doing something: run Python with these arguments, from nothing."""

    def way() -> object:
        return subprocess.run(
            [sys.executable, *arguments],
            cwd=ROOT,
            stdout=subprocess.DEVNULL,
            env={**os.environ, "PYTHONDONTWRITEBYTECODE": ""},
            check=True,
        )

    return way


def row(what: str, target: str, measured: str) -> str:
    """A row of the table."""
    return f"| {what} | {target} | {measured} |"


# Planning


def planned(spec: Spec) -> int:
    """Plan a hole and number all its knots: the fewest cuts, the path, the knots one by one."""
    own = plan(spec)
    return sum(knot.n > 0 for twine in own.sewing.twines for knot in twine.knots)


def growth() -> Iterator[str]:
    """How planning grows with the bars to sew."""
    seconds = []
    for side in (50, 158, 500):
        spec = card_spec(side, side)
        bars = plan(spec).sewing.bars
        alone, numbered = best(lambda own=spec: plan(own), lambda own=spec: planned(own))
        seconds.append(numbered)
        measured = f"{alone:.3f} s, {numbered:.3f} s with every knot read"
        yield row(f"planning {bars} bars", "", measured)
    for larger, smaller in zip(seconds[1:], seconds):
        yield row("ten times the bars, times the time", "at most 11", f"{larger / smaller:.1f}")
    program = (
        "from bench.ratios import card_spec, plan\n"
        "def peak():\n"
        "    lines = open('/proc/self/status').read().splitlines()\n"
        "    return int(next(l for l in lines if l.startswith('VmHWM')).split()[1]) / 1024\n"
        "spec = card_spec(500, 500); before = peak(); own = plan(spec); after = peak()\n"
        "print(f'{after:.0f} MB, {after - before:.0f} MB of them for the plan')"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=ROOT / "tests",
        env={**os.environ, "PYTHONPATH": f"{ROOT}:{ROOT / 'tests'}"},
        capture_output=True,
        text=True,
        check=True,
    )
    yield row("peak memory of planning a million bars", "", done.stdout.strip())


def euler() -> Iterator[str]:
    """Planning against networkx's Euler path alone, on the same bars."""
    import networkx

    for side in (158, 500):
        spec = card_spec(side, side)
        trimmed = plan(spec).trim.trimmed
        graph = networkx.Graph(bar.ends for bar in trimmed.bars())
        ours, numbered, theirs = best(
            lambda own=spec: plan(own),
            lambda own=spec: planned(own),
            lambda own=graph: sum(1 for _ in networkx.eulerian_path(own)),
            runs=2,
        )
        yield row(
            f"networkx's Euler path alone, {trimmed.size} bars, against the plan",
            "at least 20 times slower",
            f"{theirs / ours:.0f} times ({theirs:.1f} s against {ours:.2f} s; "
            f"{theirs / numbered:.1f} times with every knot read)",
        )


def exact_cuts() -> Iterator[str]:
    """The fewest cuts against CP-SAT."""
    from exact import solve

    hole = card_spec(20, 20).hole
    sizes: list[int] = []

    def theirs() -> None:
        found = solve(hole.bars(), seconds=600)
        sizes[:] = [found.cost, int(found.proved)]

    (slow,) = best(theirs, runs=1)
    (quick,) = best(lambda: trim(hole, twines="one"), runs=20)
    ours = trim(hole, twines="one").trimmed.size
    same = "same count" if sizes[0] == ours else "NOT the same count"
    proved = "proved" if sizes[1] else "not proved in the time given"
    yield row(
        "CP-SAT's fewest cuts, hole of 20 by 20 meshes, against ours",
        "at least 1000 times slower",
        f"{slow / quick:.0f} times ({slow:.1f} s against {quick * 1000:.2f} ms; {same}, {proved})",
    )


# Cards


def drawn_by_hand(pages: list[Picture], fonts: tuple[str, str]) -> bytes:
    """The shapes of pages drawn as one would by hand, with the methods of reportlab's canvas."""
    from reportlab.lib.units import mm
    from reportlab.pdfgen.canvas import Canvas

    target = io.BytesIO()
    canvas = Canvas(target, pageCompression=1)
    for page in pages:
        canvas.setPageSize((page.width * mm, page.height * mm))
        for shape in page.shapes:
            by_hand(canvas, shape, page.height, fonts)
        canvas.showPage()
    canvas.save()
    return target.getvalue()


def by_hand(canvas: object, shape: object, height: float, fonts: tuple[str, str]) -> None:
    """One shape."""
    from reportlab.lib.units import mm

    own: object = canvas
    if isinstance(shape, Text):
        own.setFont(fonts[shape.bold], shape.size * mm)
        write = {
            "start": own.drawString,
            "middle": own.drawCentredString,
            "end": own.drawRightString,
        }[shape.anchor]
        write(shape.x * mm, (height - shape.y) * mm, shape.text)
        return
    own.setLineWidth(shape.weight * mm)
    own.setDash([length * mm for length in getattr(shape, "dash", ())])
    if isinstance(shape, Disc):
        fill, stroke = int(shape.fill != "none"), int(shape.weight > 0)
        own.setFillGray(1 if shape.fill == "white" else 0)
        own.circle(shape.x * mm, (height - shape.y) * mm, shape.radius * mm, stroke, fill)
        own.setFillGray(0)
        return
    at = [(x * mm, (height - y) * mm) for x, y in shape.points]
    if isinstance(shape, Line) and len(at) == 2:
        own.line(*at[0], *at[1])
        return
    path = own.beginPath()
    path.moveTo(*at[0])
    if isinstance(shape, Curve):
        for a, b, c in zip(at[1::3], at[2::3], at[3::3]):
            path.curveTo(*a, *b, *c)
    else:
        for point in at[1:]:
            path.lineTo(*point)
    fill = stroke = 0
    if isinstance(shape, Area):
        path.close()
        fill = int(shape.fill != "none")
        own.setFillGray(1 if shape.fill == "white" else 0)
    stroke = int(shape.weight > 0)
    own.drawPath(path, stroke=stroke, fill=fill)
    own.setFillGray(0)


# A process that imports reportlab and draws so many lines and texts on two pages.
BARE = """
from reportlab.pdfgen.canvas import Canvas
canvas = Canvas({out!r}, pagesize=(420, 595), pageCompression=1)
for page in range(2):
    for n in range({lines} // 2):
        canvas.setLineWidth(0.5)
        canvas.line(20 + n % 380, 20, 20 + n % 380, 575)
    for n in range({texts} // 2):
        canvas.setFont("Helvetica", 8)
        canvas.drawString(20, 20 + n % 550, str(n))
    canvas.showPage()
canvas.save()
"""


def card() -> Iterator[str]:
    """A card as a whole process, against a bare one that writes as many shapes with reportlab."""
    with tempfile.TemporaryDirectory() as folder:
        spec = Path(folder, "belly.yaml")
        spec.write_text(card_text(3, 2))
        pages = compose(plan(card_spec(3, 2)))
        kinds = Counter(type(shape) is Text for page in pages for shape in page.shapes)
        bare = BARE.format(out=f"{folder}/bare.pdf", lines=kinds[False], texts=kinds[True])
        ours, theirs, nothing = best(
            process("-m", "cards", "cards", str(spec), "--out", folder),
            process("-c", bare),
            process("-c", "pass"),
            runs=12,
        )
    yield row(
        f"a card of {len(pages)} pages, {sum(kinds.values())} shapes, the whole process, against a "
        "bare one with reportlab",
        "at most 2.5",
        f"{ours / theirs:.2f} ({ours:.3f} s against {theirs:.3f} s; Python alone {nothing:.3f} s)",
    )


def batch() -> Iterator[str]:
    """A batch of 200 specs, against reportlab's canvas drawing the same shapes; and two jobs."""
    from cards.picture.pdf import FONTS, _register_fonts
    from cards.sheet import card_pdf

    _register_fonts()
    texts = [card_text(1 + n % 6, 1 + n % 5) for n in range(200)]
    pages = [compose(plan(load_text(text)[0])) for text in texts]
    fonts = (FONTS[False], FONTS[True])

    def ours() -> None:
        for text in texts:
            card_pdf(plan(load_text(text)[0]))

    def theirs() -> None:
        for own in pages:
            drawn_by_hand(own, fonts)

    quick, slow = best(ours, theirs)
    yield row(
        "200 specs, from text to PDF, against reportlab's canvas drawing the same shapes",
        "at most 1.3",
        f"{quick / slow:.2f} ({quick * 5:.1f} ms a card against {slow * 5:.1f} ms)",
    )
    with tempfile.TemporaryDirectory() as folder:
        for n, text in enumerate(texts):
            Path(folder, f"s{n:03}.yaml").write_text(text)
        call = ("-m", "cards", "cards", folder, "--out", f"{folder}/out")
        one, two = best(process(*call, "--jobs", "1"), process(*call, "--jobs", "2"))
    yield row(
        "the same 200 with --jobs 2, against --jobs 1 (the whole process)",
        "",
        f"{two / one:.2f} ({two:.2f} s against {one:.2f} s)",
    )


def start() -> Iterator[str]:
    """How long the command takes to begin."""
    ours, theirs = best(process("-m", "cards", "--help"), process("-c", "pass"), runs=20)
    yield row(
        "`threebar --help` against `python -c pass`",
        "at most 6",
        f"{ours / theirs:.1f} ({ours * 1000:.0f} ms against {theirs * 1000:.0f} ms)",
    )


def html() -> Iterator[str]:
    """The same card through WeasyPrint, from HTML with the same SVG."""
    import weasyprint

    from cards.picture.svg import svg_text
    from cards.sheet import card_pdf

    spec = card_spec(3, 2)
    pages = compose(plan(spec))
    size = f"{pages[0].width}mm {pages[0].height}mm"
    svgs = "".join(
        f'<div style="break-after: page">{svg_text(page).split("?>", 1)[1]}</div>' for page in pages
    )
    style = f"<style>@page {{ size: {size}; margin: 0 }} svg {{ display: block }}</style>"
    sizes: dict[str, int] = {}

    def theirs() -> None:
        sizes["theirs"] = len(weasyprint.HTML(string=style + svgs).write_pdf())

    def ours() -> None:
        sizes["ours"] = len(card_pdf(plan(spec)))

    quick, slow = best(ours, theirs)
    yield row(
        "WeasyPrint from HTML with the same SVG, against a card",
        "at least 5 times slower",
        f"{slow / quick:.0f} times ({slow:.2f} s against {quick * 1000:.0f} ms)",
    )
    yield row(
        "size of the card against that of WeasyPrint's file",
        "at most 1",
        f"{sizes['ours'] / sizes['theirs']:.2f} ({sizes['ours']} against {sizes['theirs']} bytes)",
    )


BENCHES = {
    own.__name__: own for own in (start, card, batch, html, exact_cuts, growth, euler)
}  # from the quick ones to the slow ones


def main() -> None:
    """Print the table of the ratios asked for."""
    print("| what | target | measured |\n| --- | --- | --- |")
    for name in sys.argv[1:] or BENCHES:
        for line in BENCHES[name]():
            print(line, flush=True)


if __name__ == "__main__":
    main()
