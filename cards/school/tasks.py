"""What a sheet asks and what its answer is, all of it from its spec."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import zip_longest

from cards.errors import CardError, printable
from cards.grid import Bar, Hole, Knot
from cards.grid.knots import LOST, ONE_BAR, OPPOSITE, THREE_BAR, kind_of
from cards.grid.walk import Walk, walk_round
from cards.job import Plan, plan
from cards.limits import SHEET_BARS, check_bars
from cards.school.levels import Level, level_of
from cards.spec import Spec
from cards.spec.cuts import cuts_given
from cards.spec.given import Wrong
from cards.spec.model import ExerciseSpec, Hand, Task
from cards.spec.walk import read_counts
from cards.units import tenths

TASKS: tuple[Task, ...] = ("trim", "number", "name", "count", "mistake", "walk", "miscount")
LETTERS = "abcdefghjkmnpqrstuvwxyz"  # without i, l and o, that are misread
LETTERED = (6, 8, 10, 12, 12)  # most knots with a letter, level by level
MARGIN = 2  # half meshes of whole web drawn round the hole as found


@dataclass(frozen=True)
class Exercise:
    """A sheet: the plan of its hole, and what is asked.

    Attributes
    ----------
    plan
        The plan of the hole; its spec holds what the sheet is made from.
    fields
        Number, level, set and task.
    """

    plan: Plan
    fields: ExerciseSpec

    @property
    def spec(self) -> Spec:
        """The spec that the sheet is made from."""
        return self.plan.spec

    @property
    def level(self) -> Level:
        """The level it is meant to be of."""
        return level_of(self.fields.level)

    @cached_property
    def made(self) -> tuple[Bar, ...]:
        """The cuts shown in a wrong trim, in the order of their numbers."""
        return cuts_given(self.spec)

    @cached_property
    def wrong(self) -> Bar:
        """The bar that is cut too many in a wrong trim, or left out.

        Raises
        ------
        CardError
            When no bar, or more than one, would put the cuts right.
        """
        from cards.school.mistakes import mending_bars

        found = mending_bars(self.spec.hole, self.made, self.plan.trim)
        if len(found) != 1:
            raise _unfit(self.spec, f"{len(found)} bars that would put the cuts right", "one")
        return found[0]

    @cached_property
    def lettered(self) -> tuple[tuple[str, Knot], ...]:
        """The knots to name, with their letters, line by line from the left."""
        knots = knots_to_name(self.spec.hole, self.plan.trim.found, LETTERED[self.fields.level - 1])
        return tuple(zip(LETTERS, knots))

    @cached_property
    def tied(self) -> dict[Knot, int]:
        """The number of each knot tied, line by line from the left."""
        numbers = {knot.at: knot.n for twine in self.plan.sewing.twines for knot in twine.knots}
        return dict(sorted(numbers.items(), key=lambda own: (own[0].y, own[0].x)))

    @cached_property
    def walked(self) -> tuple[Walk, Knot]:
        """The walk round the hole and the knot it sets out from."""
        walk, start = walk_round(self.plan.trim.found)
        return walk, Knot(*start)

    @cached_property
    def told_walk(self) -> tuple[int, ...]:
        """The walk as the sheet tells it, one count wrong.

        Raises
        ------
        CardError
            When none of its counts is wrong, or more than one, or it cannot be read.
        """
        try:
            counts = read_counts(self.fields.walk)
        except Wrong as wrong:
            raise _unfit(self.spec, wrong.found, wrong.expected) from None
        true = self.walked[0].counts
        slips = sum(a != b for a, b in zip_longest(counts, true))
        if len(counts) != len(true) or slips != 1:
            raise _unfit(self.spec, f"a walk with {slips} miscounts", "one count wrong")
        return counts

    @property
    def miscount(self) -> tuple[int, int]:
        """Which count of the walk told is wrong, from 1, and what it should be."""
        true = self.walked[0].counts
        place = next(n for n, (a, b) in enumerate(zip(self.told_walk, true)) if a != b)
        return place + 1, true[place]

    @cached_property
    def answer(self) -> tuple[str, ...]:
        """The answer, as a row of texts in the order the sheet asks for them."""
        return _ANSWERS[self.fields.task](self)


def exercise_of(spec: Spec, hand: Hand | None = None) -> Exercise:
    """The exercise that a spec makes.

    Raises
    ------
    CardError
        When the spec is of no exercise, or its task cannot be set on its hole.
    """
    if spec.exercise is None:
        raise CardError(
            f"{printable(spec.source)}: found a spec without an exercise; expected one that "
            "`threebar exercise` wrote"
        )
    check_bars(spec.hole.enclosed, SHEET_BARS, spec.source)
    made = Exercise(plan(spec, hand=hand, method="mend"), spec.exercise)
    try:
        _ = made.answer
    except ValueError as error:
        raise _unfit(spec, f"a hole on which it cannot be set ({error})", "one opening") from None
    return made


def _unfit(spec: Spec, found: str, expected: str) -> CardError:
    task = spec.exercise.task if spec.exercise else "trim"
    return CardError(
        f"{printable(spec.source)}: exercise.task: {task}: found {found}; expected {expected}"
    )


# Knots to name


def knots_to_name(shown: Hole, found: Hole, most: int) -> list[Knot]:
    """Choose knots to name, every kind among them; none on which loose web leaves a doubt.

    Parameters
    ----------
    shown
        The broken bars as drawn.
    found
        The same with those of loose web.
    most
        How many knots at most, line by line from the left.
    """
    kinds: dict[str, list[Knot]] = {}
    for knot in shown.knots():
        name = kind_of(shown.name_at(knot))
        if name != LOST and shown.missing_at(knot) == found.missing_at(knot):
            kinds.setdefault(name, []).append(knot)
    chosen: list[Knot] = []
    for each in zip_longest(*(_spread(knots, most) for knots in kinds.values())):
        chosen += [knot for knot in each if knot is not None]
    return sorted(chosen[:most], key=lambda knot: (knot.y, knot.x))


def _spread(knots: list[Knot], most: int) -> list[Knot]:
    """Knots of one kind, from first to last, taken evenly."""
    step = max(1, len(knots) // most)
    return knots[::step]


# Answers


def _trim(own: Exercise) -> tuple[str, ...]:
    """The plan's own cuts, each as its row and bar in the drawing of the sheet."""
    return tuple(_place(own, cut.bar) for cut in own.plan.cuts)


def _place(own: Exercise, bar: Bar) -> str:
    hole = own.spec.hole
    return f"{bar.row - hole.top + MARGIN + 1}:{bar.column - hole.left + MARGIN + 1}"


def _number(own: Exercise) -> tuple[str, ...]:
    return tuple(str(n) for n in own.tied.values())


def _name(own: Exercise) -> tuple[str, ...]:
    return tuple(kind_of(own.spec.hole.name_at(knot)) for _, knot in own.lettered)


def _count(own: Exercise) -> tuple[str, ...]:
    plan = own.plan
    length = plan.reckoning.unjoined
    if length is None:
        raise _unfit(own.spec, "no mesh size or no twine diameter", "both, to reckon the twine")
    twine = tenths(length, own.spec.net.inches)
    return str(plan.sewing.bars), str(plan.sewing.knots), str(plan.meshes), twine


def _mistake(own: Exercise) -> tuple[str, ...]:
    return ("too many" if own.wrong in own.made else "left out", _place(own, own.wrong))


def _walk(own: Exercise) -> tuple[str, ...]:
    return tuple(map(str, own.walked[0].counts))


def _miscount(own: Exercise) -> tuple[str, ...]:
    return tuple(map(str, own.miscount))


_ANSWERS = {
    "trim": _trim,
    "number": _number,
    "name": _name,
    "count": _count,
    "mistake": _mistake,
    "walk": _walk,
    "miscount": _miscount,
}
NAMES = (THREE_BAR, "pickup", "sider", ONE_BAR, OPPOSITE)
