"""Draw a patch in the new web it is cut from."""

from __future__ import annotations

from collections.abc import Iterator

from cards.grid import Bar, Knot
from cards.job import Plan
from cards.picture import pen
from cards.picture.pen import Scale
from cards.picture.shapes import Area, Disc, Line, Point, Shape, Text
from cards.picture.type import text_width
from cards.picture.web import Web, Window, cut_mark, of_bar
from cards.trim.patch import Patch

CORNER = 1.1  # radius in mm of the disc on a corner knot
TAG = 2.2  # mm from the middle of the mark of the patch's top to its point, at the most
TAG_PART = 0.42  # and of half a mesh down


def patch_shapes(plan: Plan, scale: Scale, window: Window) -> list[Shape]:
    """The patch in new web: a mark across each bar to cut, points and siders counted, its top.

    Parameters
    ----------
    plan
        The plan of a patch.
    scale
        Size of the drawing.
    window
        The part that is shown, in columns and lines of the hole it is for.

    Returns
    -------
    list of Shape
        Web that stays behind thin, the patch heavier, in mm from the window's left upper corner.
    """
    patch = plan.patch
    assert patch is not None, "only the plan of a patch has one to draw"
    web = Web(window, scale, {})
    shapes: list[Shape] = []
    marks: list[Shape] = []
    for row in range(window.top, window.bottom):
        for column in range(window.left, window.right):
            bar = Bar(row, column)
            within = sum(map(patch.holds, bar.ends))
            weight, role = (pen.PATCH, "patch") if within == 2 else (pen.WEB, "web")
            shapes.append(Line(web.ends(bar), weight, role, of_bar(bar)))
            if within == 1:
                marks.append(cut_mark(web, bar, f"patch {of_bar(bar)}"))
    corners = [
        Disc(*web.at(*corner), CORNER, fill="black", role="corner", of=f"corner {n}")
        for n, corner in enumerate(patch.corners, 1)
        if window.holds(corner)
    ]
    return [*shapes, *marks, *corners, *_counts(web, patch), *_top(web, patch)]


def _counts(web: Web, patch: Patch) -> Iterator[Text]:
    """The number of each point in the mesh beyond it, and of each sider in the mesh beside it."""
    left, right = patch.left + 2, patch.right - 2
    for n, x in enumerate(range(left, right + 1, 2), 1):
        yield from _count(web, Knot(x, patch.top + 1), (0, -1), n, "point")
        yield from _count(web, Knot(x, patch.bottom - 1), (0, 1), n, "point")
    for n, y in enumerate(range(patch.top + 2, patch.bottom - 1, 2), 1):
        yield from _count(web, Knot(patch.left + 1, y), (-1, 0), n, "sider")
        yield from _count(web, Knot(patch.right - 1, y), (1, 0), n, "sider")


def _count(web: Web, knot: Knot, way: tuple[int, int], n: int, what: str) -> Iterator[Text]:
    middle = Knot(knot.x + way[0], knot.y + way[1])
    if not _well_within(web.window, middle):
        return
    x, y = web.at(*middle)
    high = web.scale.digits / 2
    size = web.scale.size
    half = text_width(str(n), size, True) / 2
    # Clear of the marks half way along the bars of the mesh.
    x += way[0] * half * 0.5
    yield Text(x, y + high, str(n), size, True, "middle", f"{what} number", f"{what} {n}")


def _well_within(window: Window, knot: Knot) -> bool:
    """Whether the mesh round a place is drawn whole."""
    return window.left < knot.x < window.right and window.top < knot.y < window.bottom


def _top(web: Web, patch: Patch) -> Iterator[Shape]:
    """A black triangle, point up, in the mesh under the first point of the patch's top."""
    corner = patch.corners[0]
    middle = Knot(corner.x, corner.y + 1)
    if patch.down < 2 or not _well_within(web.window, middle):
        return
    x, y = web.at(*middle)
    yield Area(
        top_mark(x, y, min(TAG, web.scale.dy * TAG_PART)), fill="black", role="top mark", of="patch"
    )


def top_mark(x: float, y: float, high: float) -> tuple[Point, ...]:
    """The corners of a triangle, point up, about (x, y)."""
    return (x, y - high), (x + high, y + high * 0.8), (x - high, y + high * 0.8)
