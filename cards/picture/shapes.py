"""Plain shapes in millimetres: all that a picture is made of, and all that a writer knows.

x runs to the right, y downwards. A page is a picture too, as large as its paper. Everything is
black on white; what differs, differs by weight, dash or shape.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple, Union

Point = tuple[float, float]
Paint = Literal["black", "white", "none"]
Anchor = Literal["start", "middle", "end"]


class Line(NamedTuple):
    """An open line through points.

    `weight` and `dash` (lengths of ink and gap) are in mm. `role` says what the line stands for
    ("web", "twine", "cut" ...) and `of` which one ("bar 3 4", "cut 2"): for tests and readers of
    the picture, not for writers.
    """

    points: tuple[Point, ...]
    weight: float
    role: str = ""
    of: str = ""
    dash: tuple[float, ...] = ()
    paint: Paint = "black"
    round: bool = False


class Curve(NamedTuple):
    """An open run of cubic Bezier arcs: a first point, then three points an arc."""

    points: tuple[Point, ...]
    weight: float
    role: str = ""
    of: str = ""
    paint: Paint = "black"
    round: bool = False


class Area(NamedTuple):
    """A closed polygon, drawn round, filled, or both."""

    points: tuple[Point, ...]
    weight: float = 0.0
    fill: Paint = "none"
    role: str = ""
    of: str = ""
    dash: tuple[float, ...] = ()


class Disc(NamedTuple):
    """A circle, drawn round, filled, or both."""

    x: float
    y: float
    radius: float
    weight: float = 0.0
    fill: Paint = "none"
    role: str = ""
    of: str = ""
    dash: tuple[float, ...] = ()


class Text(NamedTuple):
    """One line of text; (x, y) is on its baseline, at its start, middle or end.

    `size` is the size of the type in mm (1 pt = 25.4 / 72 mm).
    """

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    anchor: Anchor = "start"
    role: str = ""
    of: str = ""


# Named tuples, as a large card has hundreds of thousands of them: frozen too, and made in a third
# of the time of a frozen dataclass.
Shape = Union[Line, Curve, Area, Disc, Text]


@dataclass(frozen=True)
class Picture:
    """Shapes on a ground of `width` x `height` mm, later ones on top.

    `title` and `description` are for screen readers, `language` is the tag of all its words.
    """

    width: float
    height: float
    shapes: tuple[Shape, ...]
    title: str = ""
    description: str = ""
    language: str = "en"

    def _repr_svg_(self) -> str:
        from cards.picture.svg import svg_text

        return svg_text(self)


def moved(shapes: Iterable[Shape], dx: float, dy: float) -> Iterator[Shape]:
    """Shift shapes by `dx`, `dy` mm."""
    if not dx and not dy:
        yield from shapes
        return
    # Written out, as a page moves thousands of them and `_replace` takes three times as long.
    for s in shapes:
        if isinstance(s, Text):
            yield Text(s.x + dx, s.y + dy, s.text, s.size, s.bold, s.anchor, s.role, s.of)
        elif isinstance(s, Line):
            if len(s.points) == 2:
                (ax, ay), (bx, by) = s.points
                points: tuple[Point, ...] = ((ax + dx, ay + dy), (bx + dx, by + dy))
            else:
                points = tuple([(x + dx, y + dy) for x, y in s.points])
            yield Line(points, s.weight, s.role, s.of, s.dash, s.paint, s.round)
        elif isinstance(s, Disc):
            yield Disc(s.x + dx, s.y + dy, s.radius, s.weight, s.fill, s.role, s.of, s.dash)
        else:
            yield s._replace(points=tuple([(x + dx, y + dy) for x, y in s.points]))


def mirrored(shapes: Iterable[Shape], axis: float) -> Iterator[Shape]:
    """Mirror shapes left for right about the upright line x = `axis`; text stays readable."""
    turned: dict[Anchor, Anchor] = {"start": "end", "middle": "middle", "end": "start"}
    for shape in shapes:
        if isinstance(shape, Text):
            yield shape._replace(x=2 * axis - shape.x, anchor=turned[shape.anchor])
        elif isinstance(shape, Disc):
            yield shape._replace(x=2 * axis - shape.x)
        else:
            yield shape._replace(points=tuple((2 * axis - x, y) for x, y in shape.points))


def scaled(shapes: Iterable[Shape], by: float) -> Iterator[Shape]:
    """Enlarge shapes about the origin, their weights too."""
    for s in shapes:
        if isinstance(s, Text):
            yield s._replace(x=s.x * by, y=s.y * by, size=s.size * by)
        elif isinstance(s, Disc):
            yield s._replace(x=s.x * by, y=s.y * by, radius=s.radius * by, weight=s.weight * by)
        else:
            points = tuple([(x * by, y * by) for x, y in s.points])
            yield s._replace(points=points, weight=s.weight * by)
