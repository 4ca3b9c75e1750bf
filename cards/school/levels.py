"""The levels: what makes a sheet hard, measured on its plan, and between which bounds it lies."""

from __future__ import annotations

from dataclasses import dataclass

from cards.errors import CardError
from cards.grid.knots import THREE_BAR
from cards.job import Plan
from cards.school.tears import Tear, torn_round_a_flap, worn, worn_round_a_piece
from cards.spec.model import Task


@dataclass(frozen=True, slots=True)
class Hardness:
    """What is hard about a hole.

    Attributes
    ----------
    rows, broken
        Its size: rows of bars, and bars broken as found.
    cuts
        The fewest cuts.
    chased
        Cuts that make a three-bar of the knot at their other end, to be dealt with in its turn.
    pickups, siders
        Cuts that turn a three-bar into a pickup, and into a sider.
    forced
        Cuts made where no three-bar asks for one: a start cut in, a tongue, and the like.
    twines
        Twines it takes.
    loose
        Whole bars that hang on nothing.
    """

    rows: int
    broken: int
    cuts: int
    chased: int
    pickups: int
    siders: int
    forced: int
    twines: int
    loose: int


FORCED = (
    "cuts in the start",
    "cuts in the end",
    "cuts out the tongue",
    "cuts across",
    "cuts on past a sider",
    "opens two opposite",
)


def hardness(plan: Plan) -> Hardness:
    """Measure what is hard about the hole of a plan."""
    does = [cut.does for cut in plan.cuts]
    return Hardness(
        rows=len(plan.spec.hole.rows),
        broken=plan.spec.hole.size,
        cuts=len(plan.cuts),
        chased=sum(cut.towards_becomes == THREE_BAR for cut in plan.cuts),
        pickups=does.count("turns into a pickup"),
        siders=does.count("turns into a sider"),
        forced=sum(own in FORCED for own in does),
        twines=len(plan.sewing.twines),
        loose=plan.trim.islands,
    )


Bounds = tuple[int, int]
MANY = 99


@dataclass(frozen=True, slots=True)
class Level:
    """A level: least and most of all that `Hardness` measures, and the tasks it sets in turn.

    `rows` and `columns` are the box in which a hole is torn by `tear`.
    """

    number: int
    tear: Tear
    box: tuple[int, int]
    tasks: tuple[Task, ...]
    rows: Bounds
    broken: Bounds
    cuts: Bounds
    chased: Bounds = (0, MANY)
    pickups: Bounds = (0, MANY)
    siders: Bounds = (0, MANY)
    forced: Bounds = (0, 0)
    twines: Bounds = (1, 1)
    loose: Bounds = (0, 0)

    def holds(self, own: Hardness) -> bool:
        """Whether a hole is as hard as this level says."""
        return all(
            least <= getattr(own, name) <= most
            for name in Hardness.__slots__
            for least, most in (getattr(self, name),)
        )


EVERY: tuple[Task, ...] = ("trim", "name", "number", "count", "walk", "mistake")
EVERY_HARD: tuple[Task, ...] = ("trim", "name", "number", "count", "miscount", "mistake")

LEVELS: tuple[Level, ...] = (
    Level(
        number=1,
        tear=worn,
        box=(4, 8),
        tasks=EVERY,
        rows=(2, 4),
        broken=(3, 14),
        cuts=(1, 3),
        chased=(0, 1),
    ),
    Level(
        number=2,
        tear=worn,
        box=(5, 8),
        tasks=EVERY,
        rows=(3, 5),
        broken=(6, 20),
        cuts=(3, 6),
        chased=(2, 3),
    ),
    Level(
        number=3,
        tear=worn,
        box=(7, 10),
        tasks=EVERY,
        rows=(5, 7),
        broken=(12, 36),
        cuts=(5, 10),
        chased=(4, MANY),
        pickups=(1, MANY),
        siders=(1, MANY),
        forced=(0, 1),
    ),
    Level(
        number=4,
        tear=worn_round_a_piece,
        box=(8, 11),
        tasks=EVERY_HARD,
        rows=(5, 8),
        broken=(14, 46),
        cuts=(4, 12),
        chased=(2, MANY),
        forced=(0, 3),
        loose=(1, 6),
    ),
    Level(
        number=5,
        tear=torn_round_a_flap,
        box=(8, 12),
        tasks=EVERY_HARD,
        rows=(5, 8),
        broken=(14, 46),
        cuts=(2, 10),
        forced=(0, 3),
        twines=(2, 2),
    ),
)


def level_of(number: int) -> Level:
    """The level of a number.

    Raises
    ------
    CardError
        When there is none.
    """
    if not 1 <= number <= len(LEVELS):
        raise CardError(f"found level {number}; expected one from 1 to {len(LEVELS)}")
    return LEVELS[number - 1]
