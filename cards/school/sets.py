"""Sets of exercises: as many sheets as a class has pupils, no two alike, all from one seed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cards.errors import CardError
from cards.grid import Hole
from cards.grid.islands import with_islands
from cards.grid.knots import kind_of
from cards.grid.walk import WalkError, openings, walk_round
from cards.job import Plan, plan
from cards.school.chance import Chance
from cards.school.forms import WEBS, placed, spec_text
from cards.school.levels import Level, hardness
from cards.school.mistakes import planted
from cards.school.tasks import LETTERED, Exercise, exercise_of, knots_to_name
from cards.school.tears import upside_down
from cards.spec import Spec
from cards.spec.load import load_text
from cards.spec.model import ExerciseSpec, Hand, Task
from cards.words import Words

TRIES = 3000  # holes torn for one sheet before a set is given up
LONGEST_WALK = 60  # counts, as many as the sheet has room for
OUTSIDE = 1  # bars that a trim may reach beyond the hole on either side


def make_set(
    count: int,
    levels: Sequence[Level],
    seed: int,
    words: Words,
    hand: Hand = "right",
    task: Task | None = None,
) -> list[Exercise]:
    """Make the sheets of a set.

    Parameters
    ----------
    count
        How many.
    levels
        Their levels: the sheets are shared out over them evenly, the easier first.
    seed
        The same seed gives the same set.
    words
        The words of the titles.
    hand
        The hand the sheets are for.
    task
        The one task of all sheets; the tasks of each level in turn where None.

    Returns
    -------
    list of Exercise
        No two with the same hole, mirrored or upside down either, and no two with the same answer.

    Raises
    ------
    CardError
        When a level has no more different sheets.
    """
    made: list[Exercise] = []
    shapes: set[object] = set()
    answers: set[object] = set()
    for sheet, (level, place) in enumerate(_shared_out(count, levels), 1):
        asked = task or level.tasks[place % len(level.tasks)]
        chance = Chance(seed, level.number, place)
        for _ in range(TRIES):
            own = _torn(chance, level, asked, sheet, seed, words, hand)
            if own is None:
                continue
            shape, answer = shape_of(own.spec.hole), (asked, own.answer)
            if shape not in shapes and answer not in answers:
                shapes.add(shape)
                answers.add(answer)
                made.append(own)
                break
        else:
            raise CardError(
                f"found {len(made)} sheets no two alike, and no more of level {level.number} "
                f"(task {asked}); expected {count}. Ask for fewer, another level or all tasks."
            )
    return made


def _shared_out(count: int, levels: Sequence[Level]) -> Iterator[tuple[Level, int]]:
    """The level of each sheet, and which sheet of that level it is, from 0."""
    for number, level in enumerate(levels):
        own = count // len(levels) + (number < count % len(levels))
        yield from ((level, place) for place in range(own))


def shape_of(hole: Hole) -> object:
    """The shape of a hole wherever it is, seen from behind or upside down."""
    turned = (hole, hole.mirrored(), upside_down(hole), upside_down(hole.mirrored()))
    return min((own.left, own.rows) for own in (each.cornered() for each in turned))


def _torn(
    chance: Chance,
    level: Level,
    task: Task,
    sheet: int,
    seed: int,
    words: Words,
    hand: Hand,
) -> Exercise | None:
    """Tear one hole and set the task on it; None where it is not of the level or not fit."""
    hole = placed(level.tear(chance, *level.box))
    web = chance.pick(WEBS)
    if not _may_be(level, hole):
        return None
    trial = plan(Spec("", "", hole, (0, 0), ""), hand=hand)
    if not level.holds(hardness(trial)) or not _fit(trial):
        return None
    walk, cuts = None, None
    if task == "mistake":
        cuts = planted(chance, hole, trial.cuts, trial.trim)
        if cuts is None:
            return None
    elif task in ("walk", "miscount"):
        counts = _counts(hole)
        if counts is None:
            return None
        walk = _slipped(chance, counts) if task == "miscount" else None
    elif task == "name" and not _worth_naming(trial, level):
        return None
    fields = ExerciseSpec(sheet=sheet, level=level.number, set=seed, task=task, walk=walk)
    name = f"sheet-{sheet:02}"
    (spec,) = load_text(spec_text(hole, fields, web, hand, words, cuts or ()), name, f"{name}.yaml")
    return exercise_of(spec)


def _may_be(level: Level, hole: Hole) -> bool:
    """Whether a hole may be of a level, by what is known before it is planned."""
    sizes = ((len(hole.rows), level.rows), (hole.size, level.broken))
    loose = with_islands(hole)[1]
    return all(least <= own <= most for own, (least, most) in (*sizes, (loose, level.loose)))


def _fit(trial: Plan) -> bool:
    """Whether a plan makes a fair sheet: proved best, in one piece, near enough to the hole."""
    trim, hole = trial.trim, trial.spec.hole
    return (
        trim.bound == trim.cost
        and all(len(run.stretches) > 1 for run in trim.runs)
        and len(openings(trim.found)) == 1
        and trim.trimmed.left >= hole.left - OUTSIDE
        and trim.trimmed.right <= hole.right + OUTSIDE
        and trim.trimmed.top >= hole.top
        and trim.trimmed.bottom <= hole.bottom
    )


def _counts(hole: Hole) -> tuple[int, ...] | None:
    """The counts of a walk round a hole; None where they are too many or not plain to see.

    A walk counts as lost only the bars on the hole's side. Where it comes by a knot twice, each
    time with other bars lost, a pupil would have to know that; such a hole is left to menders.
    """
    found = with_islands(hole)[0]
    try:
        walk, (x, y) = walk_round(found)
    except WalkError:
        return None
    left = [4 - found.missing_at((x + dx, y + dy)).bit_count() for dx, dy in walk.knots[1:]]
    plain = list(walk.counts) == left and len(left) <= LONGEST_WALK
    return walk.counts if plain else None


def _slipped(chance: Chance, counts: tuple[int, ...]) -> str:
    """A walk with one count wrong by one."""
    place = chance.below(len(counts))
    true = counts[place]
    wrong = chance.pick([own for own in (true - 1, true + 1) if 1 <= own <= 4])
    return " ".join(map(str, (*counts[:place], wrong, *counts[place + 1 :])))


def _worth_naming(trial: Plan, level: Level) -> bool:
    """Whether the knots to name are of three kinds at least."""
    hole = trial.spec.hole
    knots = knots_to_name(hole, trial.trim.found, LETTERED[level.number - 1])
    return len({kind_of(hole.name_at(knot)) for knot in knots}) >= 3
