"""Figures of a plan as the words of a card."""

from __future__ import annotations

from collections import Counter
from itertools import groupby

from cards.job import Plan
from cards.picture.type import drawable
from cards.sew import RowSewn, Twine
from cards.units import grams, metres, millimetres
from cards.words import Words


def inches(plan: Plan) -> bool:
    """Whether the spec's writer measures in inches."""
    return bool(plan.spec.net.mesh and plan.spec.net.mesh.inches)


def twine_needed(plan: Plan, words: Words) -> str:
    """How much twine, or why that is not known."""
    reckoning = plan.reckoning
    if reckoning.length is None:
        names = {
            "net.mesh": words.say("materials.mesh_size"),
            "net.twine.diameter": words.say("materials.diameter"),
        }
        lacking = [said for name, said in names.items() if name in reckoning.lacking]
        return words.say("materials.no_length", lacking=", ".join(lacking))
    length = words.figure(metres(reckoning.length, inches(plan)))
    if reckoning.mass is None:
        return length
    mass = words.figure(grams(reckoning.mass, inches(plan)))
    return words.say("materials.mass", length=length, mass=mass)


def needles_needed(plan: Plan, words: Words) -> str:
    """How many needles of how much twine each."""
    needle = plan.spec.mender.needle
    if plan.reckoning.needles is None or needle is None:
        return words.say("label.not_given")
    return words.say(
        "materials.needles_of", n=plan.reckoning.needles, length=words.figure(str(needle))
    )


def time_needed(plan: Plan, words: Words) -> str:
    """How long at which pace."""
    minutes, pace = plan.reckoning.minutes, plan.spec.mender.pace
    if minutes is None or pace is None:
        return words.say("materials.no_minutes")
    whole = max(1, round(minutes))
    hours, left = divmod(whole, 60)
    told = words.figure(f"{pace:g}")
    if hours:
        return words.say("materials.hours", hours=hours, minutes=left, pace=told)
    return words.say("materials.minutes", minutes=whole, pace=told)


def materials(plan: Plan, words: Words) -> tuple[tuple[str, str], ...]:
    """What is needed, as rows of name and figure."""
    refills = plan.reckoning.refills
    rows = [
        (words.say("materials.cuts"), str(len(plan.cuts))),
        (words.say("materials.knots"), str(plan.sewing.knots)),
        (words.say("materials.twine"), twine_needed(plan, words)),
        (words.say("materials.needles"), needles_needed(plan, words)),
        (words.say("materials.time"), time_needed(plan, words)),
    ]
    if refills:
        named = ", ".join(map(str, refills))
        rows.append((words.say("sewing.refill"), words.say("sewing.refill_after", n=named)))
    return tuple(rows)


def knot_span(row: RowSewn) -> str:
    """First and last number of a row."""
    return str(row.first) if row.first == row.last else f"{row.first}–{row.last}"


def stitches_of(twine: Twine, row: RowSewn, words: Words) -> str:
    """The stitches of a row in their order, alike ones counted together."""
    names = {
        "start": "terms.start",
        "pickup above": "terms.pickup_above",
        "pickup below": "terms.pickup_below",
        "sider": "terms.sider",
        "end": "terms.end",
    }
    stitches = [knot.stitch for knot in twine.knots_of(row)]
    runs = [(stitch, len(list(group))) for stitch, group in groupby(stitches)]
    if len(runs) > 4:
        runs = list(Counter(stitches).items())
    return ", ".join(
        words.say(names[stitch]) + (f" × {count}" if count > 1 else "") for stitch, count in runs
    )


def row_table(
    plan: Plan, words: Words, web_rows: range | None = None
) -> tuple[tuple[str, ...], ...]:
    """The rows of twine: number, way, knots, stitches, twine so far, refill.

    Only those in some rows of the web, where these are given.
    """
    rows: list[tuple[str, ...]] = []
    several = len(plan.sewing.twines) > 1
    used = plan.reckoning.after_row
    for order, twine in enumerate(plan.sewing.twines):
        for number, row in enumerate(twine.rows, 1):
            if web_rows is not None and row.row not in web_rows:
                continue
            refills = [str(n) for n in plan.reckoning.refills if row.first <= n <= row.last]
            rows.append(
                (
                    f"{twine.name}{number}" if several else str(number),
                    words.say(f"sewing.{row.going}"),
                    knot_span(row),
                    stitches_of(twine, row, words),
                    words.figure(metres(used[order][number - 1], inches(plan))) if used else "–",
                    words.say("sewing.refill_after", n=", ".join(refills)) if refills else "",
                )
            )
    return tuple(rows)


def mesh_size(plan: Plan, words: Words) -> str:
    """The mesh size as written, or nothing."""
    mesh = plan.spec.net.mesh
    return words.figure(str(mesh)) if mesh else ""


def bar_length(plan: Plan, words: Words) -> str:
    """The length of a bar, or nothing."""
    bar = plan.reckoning.bar
    return words.figure(millimetres(bar, inches(plan))) if bar else ""


def notes(plan: Plan, words: Words) -> list[str]:
    """What a reader has to know beside the plan: the spec's own note first."""
    said = [drawable(plan.spec.note)] if plan.spec.note else []
    if plan.trim.islands:
        said.append(words.say("notes.islands", n=plan.trim.islands))
    if plan.trim.tongues:
        said.append(words.say("notes.tongues", n=plan.trim.tongues))
    if plan.spec.mender.needle and plan.reckoning.length and plan.reckoning.needles is None:
        said.append(words.say("notes.needle_small"))
    return said
