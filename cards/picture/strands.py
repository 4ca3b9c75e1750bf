"""Strands: ropes with two outlines, broken where another strand passes over them.

A strand is a smooth curve through points. Where two strands meet, or one meets itself, is found
from the curves; who is over is told along one strand, the one that is tied. So what is drawn and
what is read off a drawing is the same thing.

Millimetres; x to the right, y downwards.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate, pairwise
from typing import Literal, NamedTuple

from cards.picture.shapes import Line, Point, Shape

Pass = Literal["over", "under"]
Coat = Literal["plain", "laid"]

STEP = 0.25  # length of a chord of a drawn curve, mm
PIECES = 40  # chords between two points before they are evened


class Pen(NamedTuple):
    """How a strand is drawn, in mm.

    Attributes
    ----------
    width
        From the middle of one outline to the middle of the other.
    outline
        Weight of the outlines.
    gap
        Clear white between an under strand's outlines and the strand over it.
    lay
        Length along the strand from one lay mark to the next; 0 for none.
    mark
        Weight of the lay marks.
    """

    width: float
    outline: float
    gap: float
    lay: float = 0.0
    mark: float = 0.0


@dataclass(frozen=True)
class Strand:
    """A smooth curve through points (a centripetal Catmull-Rom spline).

    Attributes
    ----------
    name
        What it is: "twine", "web", "bar".
    points
        Points it passes through, from its beginning to its end.
    """

    name: str
    points: tuple[Point, ...]

    @cached_property
    def line(self) -> tuple[Point, ...]:
        """The curve as chords of about `STEP` mm."""
        return tuple(_evenly(_spline(self.points), STEP))

    @cached_property
    def lengths(self) -> tuple[float, ...]:
        """Length along the curve at each point of `line`, in mm."""
        chords = (math.dist(a, b) for a, b in pairwise(self.line))
        return tuple(accumulate(chords, initial=0.0))

    @property
    def length(self) -> float:
        """Length of the curve in mm."""
        return self.lengths[-1]

    def at(self, along: float) -> Point:
        """The point `along` mm from the beginning."""
        i, part = self._chord(along)
        (ax, ay), (bx, by) = self.line[i], self.line[i + 1]
        return ax + part * (bx - ax), ay + part * (by - ay)

    def way(self, along: float) -> Point:
        """The direction of the curve there, of length 1."""
        i, _ = self._chord(along)
        ax, ay = self.line[max(i - 1, 0)]
        bx, by = self.line[min(i + 2, len(self.line) - 1)]
        long = math.hypot(bx - ax, by - ay)
        return (bx - ax) / long, (by - ay) / long

    def nearest(self, point: Point) -> float:
        """How far along the strand comes nearest to a point."""
        i = min(range(len(self.line)), key=lambda i: math.dist(self.line[i], point))
        return self.lengths[i]

    def along_of(self, point: float) -> float:
        """How far along the strand its given point number `point` (from 0) stands.

        Half numbers stand half way to the next point, and so on.
        """
        dense = list(_spline(self.points))[: round(point * PIECES) + 1]
        return sum(math.dist(a, b) for a, b in pairwise(dense))

    def until(self, along: float) -> Strand:
        """The strand's first `along` mm, on the very same curve."""
        cut = Strand(self.name, self.points)
        i, _ = self._chord(along)
        line = (*self.line[: i + 1], self.at(along))
        # cached properties of a frozen value: the curve is kept, not drawn anew through points
        cut.__dict__["line"] = line if math.dist(line[-2], line[-1]) > 1e-9 else line[:-1]
        return cut

    def placed(self, scale: float, dx: float, dy: float) -> Strand:
        """The very same curve, enlarged and moved."""
        points = tuple((scale * x + dx, scale * y + dy) for x, y in self.points)
        strand = Strand(self.name, points)
        strand.__dict__["line"] = tuple((scale * x + dx, scale * y + dy) for x, y in self.line)
        return strand

    def _chord(self, along: float) -> tuple[int, float]:
        along = min(max(along, 0.0), self.length)
        i = min(max(bisect_left(self.lengths, along) - 1, 0), len(self.line) - 2)
        return i, (along - self.lengths[i]) / (self.lengths[i + 1] - self.lengths[i])


class Crossing(NamedTuple):
    """Where one strand passes over another, or over itself.

    Attributes
    ----------
    at
        Where, in mm.
    over, over_along
        The strand on top (its place among the strands) and how far along it.
    under, under_along
        The strand beneath and how far along it.
    """

    at: Point
    over: int
    over_along: float
    under: int
    under_along: float

    def along(self, strand: int) -> list[tuple[float, Pass]]:
        """Each time a strand comes through here: how far along it, and how."""
        visits: list[tuple[float, Pass]] = []
        if self.over == strand:
            visits.append((self.over_along, "over"))
        if self.under == strand:
            visits.append((self.under_along, "under"))
        return visits


@dataclass(frozen=True)
class Tangle:
    """Strands with their crossings.

    Attributes
    ----------
    strands
        All strands; the last one is tied, the others lie beneath or above it as it says.
    passes
        For each time the last strand comes through a crossing, from its beginning to its end,
        whether it passes over or under there.
    """

    strands: tuple[Strand, ...]
    passes: tuple[Pass, ...]

    @property
    def tied(self) -> int:
        """The place among the strands of the one that is tied."""
        return len(self.strands) - 1

    @cached_property
    def crossings(self) -> tuple[Crossing, ...]:
        """All crossings, in the order in which the tied strand comes to them first.

        Raises
        ------
        ValueError
            When the curves cross more or fewer times than `passes` tells, or a strand that is
            not tied crosses another such strand, or a crossing with itself is told twice over.
        """
        met = sorted(self._met())
        visits = sorted(
            [(a, n) for n, (a, _, _, _) in enumerate(met)]
            + [(b, n) for n, (_, other, b, _) in enumerate(met) if other == self.tied]
        )
        if len(visits) != len(self.passes):
            raise ValueError(
                f"found {len(visits)} passes of {self.strands[-1].name}; "
                f"expected {len(self.passes)}"
            )
        told: dict[int, list[Pass]] = {}
        for (_, n), way in zip(visits, self.passes):
            told.setdefault(n, []).append(way)
        crossings = []
        for n, (a, other, b, at) in enumerate(met):
            if other == self.tied and told[n][0] == told[n][1]:
                raise ValueError(f"found {told[n][0]} twice where a strand crosses itself")
            if told[n][0] == "over":
                crossings.append(Crossing(at, self.tied, a, other, b))
            else:
                crossings.append(Crossing(at, other, b, self.tied, a))
        return tuple(crossings)

    def _met(self) -> Iterator[tuple[float, int, float, Point]]:
        """Each meeting of the tied strand: along it, with which, along that one, where."""
        own = self.strands[self.tied]
        for n, strand in enumerate(self.strands):
            for along, other, at in _meetings(own, strand):
                yield along, n, other, at

    def walk(self, strand: int | None = None) -> list[tuple[Pass, int, float]]:
        """Walk a strand from its beginning to its end and read off its crossings.

        Parameters
        ----------
        strand
            Its place among the strands; the tied one when not given.

        Returns
        -------
        list of (pass, other, along)
            Whether it passes over or under, which strand it meets, and how far along that one.
        """
        walked = self.tied if strand is None else strand
        read: list[tuple[float, Pass, int, float]] = []
        for c in self.crossings:
            if c.over == walked:
                read.append((c.over_along, "over", c.under, c.under_along))
            if c.under == walked:
                read.append((c.under_along, "under", c.over, c.over_along))
        return [(way, other, along) for _, way, other, along in sorted(read)]

    def until(self, along: float) -> Tangle:
        """The same tangle with the tied strand come only `along` mm of its way.

        A crossing with itself is there as soon as the second visit is made.
        """
        own = self.strands[self.tied]
        kept: list[tuple[float, Pass]] = []
        for c in self.crossings:
            visits = c.along(self.tied)
            if all(a < along for a, _ in visits):
                kept += visits
        strands = (*self.strands[:-1], own.until(along))
        return Tangle(strands, tuple(way for _, way in sorted(kept)))


def drawn(tangle: Tangle, pens: Sequence[Pen]) -> list[Shape]:
    """Draw a tangle: two outlines a strand, an under strand's broken at every crossing.

    Parameters
    ----------
    tangle
        Strands with their crossings.
    pens
        How each strand is drawn.

    Returns
    -------
    list of Line
        Outlines (role "web" or "twine" and so on: the strand's name) and lay marks (role "lay").
    """
    spans = _spans(tangle)
    shapes: list[Shape] = []
    for n, (strand, pen) in enumerate(zip(tangle.strands, pens)):
        hidden = [
            Band(
                _stretch(tangle.strands[c.over], spans[c.over, c.over_along]),
                (pens[c.over].width + pens[c.over].outline + pen.outline) / 2 + pens[c.over].gap,
                *spans[n, c.under_along],
            )
            for c in tangle.crossings
            if c.under == n
        ]
        drawn_lines = [
            Line(tuple(run), pen.outline, role=strand.name, of=f"outline {side}")
            for side in (-1, 1)
            for run in _seen(*_offset(strand, side * pen.width / 2), hidden)
        ]
        shapes += drawn_lines
        shapes += _lay(strand, pen, hidden, drawn_lines)
    return shapes


LAY_CLEAR = 0.25  # between a lay mark and the outlines, mm
SLIVER = 4  # chords: what is left of an outline and is shorter only smudges
SQUARE = 2.0  # side of the squares in which strokes near a mark are looked for, mm
REACH = 9.0  # how far from a crossing one strand may hide the other, mm along either


class Band(NamedTuple):
    """What hides an under strand: a stretch of curve, room on either side, from, to."""

    stretch: tuple[Point, ...]
    room: float
    begin: float
    end: float


def _spans(tangle: Tangle) -> dict[tuple[int, float], tuple[float, float]]:
    """For each visit of a strand to a crossing the part of the strand that belongs to it.

    The strand on top hides the other no farther than half way to the next crossing of the same
    two, where it may be beneath; the one beneath may be hidden somewhat farther.
    """
    spans = {}
    beneath = {(c.under, c.under_along) for c in tangle.crossings}
    for n in range(len(tangle.strands)):
        for other in range(len(tangle.strands)):
            visits = sorted(
                along
                for c in tangle.crossings
                if {c.over, c.under} == {n, other}
                for along, _ in c.along(n)
            )
            for before, along, after in zip(
                [-math.inf, *visits], visits, [*visits[1:], math.inf], strict=False
            ):
                part = 0.75 if (n, along) in beneath else 0.5
                spans[n, along] = (
                    max(along - part * (along - before), along - REACH),
                    min(along + part * (after - along), along + REACH),
                )
    return spans


def _stretch(strand: Strand, span: tuple[float, float]) -> tuple[Point, ...]:
    return tuple(p for p, s in zip(strand.line, strand.lengths) if span[0] <= s <= span[1])[::2]


def _hides(point: Point, along: float, hidden: Sequence[Band]) -> bool:
    x, y = point
    for stretch, room, begin, end in hidden:
        if begin <= along <= end:
            limit = room * room
            for ox, oy in stretch:
                dx, dy = x - ox, y - oy
                if dx * dx + dy * dy < limit:
                    return True
    return False


def _seen(
    line: Sequence[Point], lengths: Sequence[float], hidden: Sequence[Band]
) -> Iterator[list[Point]]:
    """The runs of an outline that no strand hides."""
    run: list[Point] = []
    for point, along in zip(line, lengths):
        if _hides(point, along, hidden):
            if len(run) > SLIVER:
                yield run
            run = []
        else:
            run.append(point)
    if len(run) > SLIVER:
        yield run


def _lay(
    strand: Strand, pen: Pen, hidden: Sequence[Band], outlines: Sequence[Line]
) -> Iterator[Shape]:
    """Short slanted marks inside a laid rope, where the whole mark is seen and stands clear."""
    if not pen.lay:
        return
    half = pen.width / 2 - pen.outline / 2 - pen.mark / 2 - LAY_CLEAR
    room = (pen.outline + pen.mark) / 2 + 0.8 * LAY_CLEAR
    strokes: dict[tuple[int, int], list[Point]] = {}
    for line in outlines:
        for point in line.points:
            strokes.setdefault(_square(point), []).append(point)
    for k in range(1, int(strand.length / pen.lay) - 1):
        along = (k + 0.5) * pen.lay
        (x, y), (ux, uy) = strand.at(along), strand.way(along)
        lean = 0.55 * half
        ends = (
            (x + half * uy - lean * ux, y - half * ux - lean * uy),
            (x - half * uy + lean * ux, y + half * ux + lean * uy),
        )
        if any(_hides(p, along, hidden) for p in (*ends, (x, y))):
            continue
        if all(_clear(end, room, strokes) for end in ends):
            yield Line(ends, pen.mark, role="lay", of=strand.name)


def _square(point: Point) -> tuple[int, int]:
    """The square that a point stands in."""
    return math.floor(point[0] / SQUARE), math.floor(point[1] / SQUARE)


def _clear(point: Point, room: float, strokes: dict[tuple[int, int], list[Point]]) -> bool:
    """Whether a point is farther than `room`, less than `SQUARE`, from all others."""
    column, row = _square(point)
    return all(
        math.dist(point, other) > room
        for x in (column - 1, column, column + 1)
        for y in (row - 1, row, row + 1)
        for other in strokes.get((x, y), ())
    )


def _offset(strand: Strand, by: float) -> tuple[list[Point], list[float]]:
    """An outline of a strand, and how far along the strand each of its points is.

    Inside a sharp turn the points that would come too near the middle of the strand are left out.
    """
    line, lengths = strand.line, strand.lengths
    reach = int(3 * abs(by) / STEP)
    points, along = [], []
    for i, (x, y) in enumerate(line):
        (ax, ay), (bx, by_) = line[max(i - 1, 0)], line[min(i + 1, len(line) - 1)]
        long = math.hypot(bx - ax, by_ - ay)
        point = (x - by * (by_ - ay) / long, y + by * (bx - ax) / long)
        near = line[max(i - reach, 0) : i + reach + 1 : 2]
        if all(math.dist(point, middle) > abs(by) - 0.02 for middle in near):
            points.append(point)
            along.append(lengths[i])
    return points, along


def _spline(points: Sequence[Point]) -> Iterator[Point]:
    """A centripetal Catmull-Rom spline through points."""
    first = (2 * points[0][0] - points[1][0], 2 * points[0][1] - points[1][1])
    last = (2 * points[-1][0] - points[-2][0], 2 * points[-1][1] - points[-2][1])
    knots = [first, *points, last]
    yield points[0]
    for p0, p1, p2, p3 in zip(knots, knots[1:], knots[2:], knots[3:]):
        t1 = math.sqrt(math.dist(p0, p1))
        t2 = t1 + math.sqrt(math.dist(p1, p2))
        t3 = t2 + math.sqrt(math.dist(p2, p3))
        for k in range(1, PIECES + 1):
            t = t1 + (t2 - t1) * k / PIECES
            a1 = _between(p0, p1, 0.0, t1, t)
            a2 = _between(p1, p2, t1, t2, t)
            a3 = _between(p2, p3, t2, t3, t)
            yield _between(_between(a1, a2, 0.0, t2, t), _between(a2, a3, t1, t3, t), t1, t2, t)


def _between(a: Point, b: Point, ta: float, tb: float, t: float) -> Point:
    part = (t - ta) / (tb - ta)
    return a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])


def _evenly(line: Iterator[Point], step: float) -> Iterator[Point]:
    """The same line in chords of about one length."""
    last = next(line)
    yield last
    left = step
    before = last
    for point in line:
        chord = math.dist(before, point)
        while chord >= left:
            part = left / chord
            before = (
                before[0] + part * (point[0] - before[0]),
                before[1] + part * (point[1] - before[1]),
            )
            yield before
            last, chord, left = before, math.dist(before, point), step
        left -= chord
        before = point
    if math.dist(last, before) > 0.1 * step:
        yield before


def _meetings(own: Strand, other: Strand) -> Iterator[tuple[float, float, Point]]:
    """Where the chords of two strands cross; a strand's meetings with itself once each."""
    same = own is other
    boxes = _boxes(other.line)
    for i, (p, q) in enumerate(zip(own.line, own.line[1:])):
        low, high = min(p[0], q[0]), max(p[0], q[0])
        for start, (x0, y0, x1, y1) in boxes:
            if x1 < low or x0 > high or y1 < min(p[1], q[1]) or y0 > max(p[1], q[1]):
                continue
            for j in range(start, min(start + BOX, len(other.line) - 1)):
                if same and j <= i + 1:
                    continue
                parts = _cross(p, q, other.line[j], other.line[j + 1])
                if parts:
                    s, t = parts
                    at = (p[0] + s * (q[0] - p[0]), p[1] + s * (q[1] - p[1]))
                    yield (
                        own.lengths[i] + s * (own.lengths[i + 1] - own.lengths[i]),
                        other.lengths[j] + t * (other.lengths[j + 1] - other.lengths[j]),
                        at,
                    )


BOX = 16  # chords in one box


def _boxes(line: Sequence[Point]) -> list[tuple[int, tuple[float, float, float, float]]]:
    boxes = []
    for start in range(0, len(line) - 1, BOX):
        xs, ys = zip(*line[start : start + BOX + 1])
        boxes.append((start, (min(xs), min(ys), max(xs), max(ys))))
    return boxes


def _cross(p: Point, q: Point, r: Point, s: Point) -> tuple[float, float] | None:
    """Where two chords cross, as parts of each, the first end in and the last end out."""
    ax, ay = q[0] - p[0], q[1] - p[1]
    bx, by = s[0] - r[0], s[1] - r[1]
    turn = ax * by - ay * bx
    if abs(turn) < 1e-12:
        return None
    cx, cy = r[0] - p[0], r[1] - p[1]
    t, u = (cx * by - cy * bx) / turn, (cx * ay - cy * ax) / turn
    return (t, u) if 0 <= t < 1 and 0 <= u < 1 else None


def turned(tangle: Tangle, matrix: tuple[Point, Point], *, seen_from_behind: bool) -> Tangle:
    """Turn a tangle: its points by a matrix, and every over to under when seen from behind.

    Parameters
    ----------
    tangle
        Strands with their crossings.
    matrix
        Rows of a matrix of ones and noughts that turns or mirrors (x, y).
    seen_from_behind
        Whether the turn shows the other face: then what was over is under.
    """
    (a, b), (c, d) = matrix
    strands = tuple(
        replace(strand, points=tuple((a * x + b * y, c * x + d * y) for x, y in strand.points))
        for strand in tangle.strands
    )
    passes = tangle.passes
    if seen_from_behind:
        passes = tuple("under" if way == "over" else "over" for way in passes)
    return Tangle(strands, passes)
