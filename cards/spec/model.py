"""What a spec file may say: the fields, their meaning and their limits."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Optional, Union

from msgspec import Meta, Struct, field

from cards.grid import Hole
from cards.units import Length

Text = Annotated[str, Meta(max_length=200)]
RowText = Annotated[str, Meta(max_length=40_000)]
Meshes = Annotated[int, Meta(ge=1, le=2000)]
Hand = Literal["right", "left"]
ShapeKind = Literal["rectangle", "diamond", "slit across", "slit down", "slit along bar"]
Lean = Literal["\\", "/"]
Side = Literal["left", "right", "auto"]
Method = Literal["mend", "patch", "auto"]


class TwineSpec(Struct, frozen=True, forbid_unknown_fields=True):
    """The twine of the web and of the mend."""

    material: Annotated[
        Optional[Text], Meta(description="PE, PA, PES ... as the loft names it")
    ] = None
    diameter: Annotated[Optional[Length], Meta(description="thickness of the twine: 3.5 mm")] = None
    rtex: Annotated[
        Optional[Annotated[float, Meta(gt=0, le=1_000_000)]],
        Meta(description="mass of 1000 m of the finished twine, in g"),
    ] = None
    double: Annotated[bool, Meta(description="whether the web is made of double twine")] = False


class Net(Struct, frozen=True, forbid_unknown_fields=True):
    """The web that is torn."""

    panel: Annotated[Optional[Text], Meta(description="which panel of the net")] = None
    mesh: Annotated[
        Optional[Length],
        Meta(description="mesh size, stretched, knot centre to knot centre: 120 mm"),
    ] = None
    tolerance: Annotated[
        Optional[Length],
        Meta(description="how much more or less a mesh may measure, from local rules: 2 mm"),
    ] = None
    twine: TwineSpec = field(default_factory=TwineSpec)

    @property
    def inches(self) -> bool:
        """Whether its writer measures in inches and feet."""
        return self.mesh is not None and self.mesh.inches


class Mender(Struct, frozen=True, forbid_unknown_fields=True):
    """Who mends, and with what."""

    hand: Annotated[Hand, Meta(description="the hand that holds the needle")] = "right"
    needle: Annotated[Optional[Length], Meta(description="twine on one full needle: 18 m")] = None
    needle_width: Annotated[
        Optional[Length], Meta(description="width of the needle, loaded: 25 mm")
    ] = None
    pace: Annotated[
        Optional[Annotated[float, Meta(ge=0.01, le=100)]],
        Meta(description="knots tied in a minute"),
    ] = None


class Shape(Struct, frozen=True, forbid_unknown_fields=True):
    """A hole of a regular shape, its size in meshes: a mesh is two bars wide and two rows deep."""

    kind: Annotated[ShapeKind, Meta(description="which shape")]
    across: Annotated[Optional[Meshes], Meta(description="meshes across")] = None
    down: Annotated[Optional[Meshes], Meta(description="meshes down")] = None


class HoleSpec(Struct, frozen=True, forbid_unknown_fields=True):
    """The hole, given in exactly one way."""

    drawing: Annotated[
        Optional[str],
        Meta(
            description="rows from the top, a character a bar: \\ or / whole, . broken",
            examples=["\\/\\/\n/..\\\n\\/\\/"],
        ),
    ] = None
    rows: Annotated[
        Optional[list[Optional[RowText]]],
        Meta(
            description='for each row which bars are broken, counted from a mark: "2-4,6-7"',
            examples=[["3-6", "2-7", "2-4,6-7"]],
        ),
    ] = None
    first: Annotated[
        Optional[Text],
        Meta(
            description="with `rows`: the lean of bar 1 of row 1, \\ or /; "
            "with `walk`: the way of the first step"
        ),
    ] = None
    shape: Annotated[Optional[Shape], Meta(description="a regular shape, in meshes")] = None
    bars: Annotated[
        Optional[list[list[list[int]]]],
        Meta(description="pairs of knots: [[x, y], [x, y]]", examples=[[[[1, 1], [2, 2]]]]),
    ] = None
    walk: Annotated[
        Optional[Union[str, list[Text]]],
        Meta(
            description="bars left at each knot on the way round, hole on the right: "
            "4 3 4 4 3 4, or 2x3 for two knots of 3",
            examples=["4 3 4 4 3 4"],
        ),
    ] = None


Task = Literal["trim", "number", "name", "count", "mistake", "walk", "miscount"]


class ExerciseSpec(Struct, frozen=True, forbid_unknown_fields=True):
    """The sheet of an exercise that a spec belongs to."""

    sheet: Annotated[int, Meta(ge=1, le=999, description="number of the sheet in its set")]
    level: Annotated[int, Meta(ge=1, le=5, description="how hard it is")]
    set: Annotated[int, Meta(ge=0, le=999_999_999, description="the seed of its set")]
    task: Annotated[Task, Meta(description="what is asked")]
    walk: Annotated[
        Optional[Annotated[str, Meta(max_length=2000)]],
        Meta(description="the walk with a miscount in it, for the task miscount"),
    ] = None


class SpecFields(Struct, frozen=True, forbid_unknown_fields=True):
    """A spec: one hole to mend, and what is known of the net and the mender."""

    hole: HoleSpec
    title: Annotated[Optional[Text], Meta(description="what the card is called")] = None
    author: Annotated[Optional[Text], Meta(description="who wrote the spec")] = None
    date: Annotated[
        Optional[Text], Meta(description="date of the spec, as it shall be printed")
    ] = None
    revision: Annotated[Optional[Text], Meta(description="revision of the card")] = None
    note: Annotated[
        Optional[Annotated[str, Meta(max_length=500)]], Meta(description="printed on the card")
    ] = None
    net: Net = field(default_factory=Net)
    mender: Mender = field(default_factory=Mender)
    start: Annotated[Side, Meta(description="the side on which the mend starts")] = "auto"
    twine_cost: Annotated[
        Optional[Annotated[int, Meta(ge=0, le=1000)]],
        Meta(description="what one more twine costs, in bars to sew: 8 if not given"),
    ] = None
    method: Annotated[
        Method, Meta(description="mend, sew a patch in, or auto: whichever takes less time")
    ] = "mend"
    cuts: Annotated[
        Optional[Any],
        Meta(description="cuts made or proposed: pairs of knots, a drawing with x, or cut numbers"),
    ] = None
    exercise: Annotated[
        Optional[ExerciseSpec], Meta(description="the sheet of a set of exercises that it makes")
    ] = None


class Spec(Struct, frozen=True):
    """A checked spec, ready to plan.

    Attributes
    ----------
    name
        A plain name for files, from the spec file's own name.
    title
        What the card is called; the file's name where the spec gives none.
    hole
        The broken bars.
    origin
        Column and row of the grid at which the drawing or the count of rows begins.
    text
        The spec as it was written.
    twine_cost
        What one more twine costs, in bars to sew; None where the spec does not say.
    cuts
        The `cuts` of the spec as written, or None.
    exercise
        The sheet of an exercise that it makes, if any.
    lines
        Line in the file of each field, for messages.
    """

    name: str
    title: str
    hole: Hole
    origin: tuple[int, int]
    text: str
    net: Net = field(default_factory=Net)
    mender: Mender = field(default_factory=Mender)
    start: Side = "auto"
    method: Method = "mend"
    author: Optional[str] = None
    date: Optional[str] = None
    revision: Optional[str] = None
    note: Optional[str] = None
    twine_cost: Optional[int] = None
    cuts: Any = None
    exercise: Optional[ExerciseSpec] = None
    source: str = ""
    lines: dict[tuple[str | int, ...], int] = field(default_factory=dict)
