"""The spec of a sheet, and the form in which its answer is given, as YAML."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cards.grid import Bar, Hole
from cards.grid.drawn import drawn
from cards.school.tasks import MARGIN, Exercise
from cards.spec.model import ExerciseSpec, Hand
from cards.spec.written import yaml_lines
from cards.words import Words

# Mesh size and twine thickness in mm of invented practice web.
WEBS = ((60, 2), (80, 2.5), (80, 3), (100, 3), (100, 4), (120, 3.5), (120, 4), (140, 4), (160, 5))


def spec_text(
    hole: Hole,
    fields: ExerciseSpec,
    web: tuple[float, float],
    hand: Hand,
    words: Words,
    cuts: Sequence[Bar] = (),
) -> str:
    """Write the spec of a sheet.

    Parameters
    ----------
    hole
        The broken bars, where they shall stand in the drawing's own grid.
    fields
        What the sheet asks.
    web
        Mesh size and twine thickness in mm.
    hand
        The hand that sews.
    words
        The words of title and panel.
    cuts
        The cuts of a wrong trim.
    """
    mesh, thick = web
    written: dict[str, object] = {
        "title": words.say("school.sheet", sheet=fields.sheet, level=fields.level, set=fields.set),
        "net": {
            "panel": words.say("school.panel"),
            "mesh": f"{mesh:g} mm",
            "twine": {"material": "PE", "diameter": f"{thick:g} mm"},
        },
        "mender": {"hand": hand},
        "hole": {"drawing": "\n".join(_drawing(hole))},
    }
    lines = list(yaml_lines(written))
    if cuts:
        pairs = [[list(knot) for knot in bar.ends] for bar in cuts]
        lines.append(f"cuts: {pairs}")
    lines += yaml_lines(
        {
            "exercise": {
                "sheet": fields.sheet,
                "level": fields.level,
                "set": fields.set,
                "task": fields.task,
                "walk": fields.walk,
            }
        }
    )
    return "\n".join(lines) + "\n"


def placed(hole: Hole) -> Hole:
    """The hole where the drawing of its spec has it: rows from `MARGIN`, columns as it leans."""
    moved = hole.cornered()
    across = MARGIN - moved.left
    return moved.moved(across + ((across + MARGIN - 1) & 1), MARGIN - 1)


def _drawing(hole: Hole) -> list[str]:
    return drawn(hole, margin=MARGIN)


# What a teacher fills in, by the task: a field and whether the drawing stands in it.
FIELDS: Mapping[str, tuple[str, ...]] = {
    "trim": ("cuts",),
    "number": ("numbers",),
    "name": ("names",),
    "count": ("bars", "knots", "meshes", "twine"),
    "mistake": ("wrong",),
    "walk": ("walk",),
    "miscount": ("count_wrong", "should_be"),
}
DRAWN = ("cuts", "wrong")


def form_text(own: Exercise, words: Words) -> str:
    """Write the form in which the answer to a sheet is given, to fill in."""
    task = own.fields.task
    lines = [f"# {own.spec.title}", f"# {words.say(f'school.form_{task}')}"]
    for name in FIELDS[task]:
        if name in DRAWN:
            lines += yaml_lines({name: "\n".join(_drawing(own.spec.hole))})
        else:
            lines.append(f"{name}:")
    return "\n".join(lines) + "\n"
