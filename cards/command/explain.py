"""The cuts of a plan told one by one: what the knot was and becomes, where the three-bar went."""

from __future__ import annotations

from collections.abc import Iterator

from cards.command.places import bar_told, counted_out, place_told, way_told
from cards.grid.knots import LOST, THREE_BAR, WHOLE
from cards.job import Plan, notes
from cards.trim import Cut

# Why a cut is made at a knot that does not ask for it, by what it does.
REASONS = {
    "cuts in the start": "The twine needs a three-bar to start on here.",
    "cuts in the end": "The twine needs a three-bar to end on here.",
    "cuts out the tongue": "It lies between two breaks of its row, which one twine sews through.",
    "cuts across": "The hole is cut through here, so that one twine can go on below.",
    "cuts on past a sider": "The sider there would hold, but the row of twine goes on past it.",
    "squares the corner": "It squares the corner.",
    "opens two opposite": "No stitch holds two bars that lie opposite, so one of them is cut.",
}


def explained(plan: Plan) -> Iterator[str]:
    """Tell a plan's cuts in plain sentences, in order, a line each."""
    twines = plan.sewing.twines
    told = f"{counted_out(len(plan.cuts), 'cut')} and {counted_out(len(twines), 'twine')}"
    yield f"{plan.spec.title}: {told}."
    if plan.patch:
        yield (
            "The cuts go once round a rectangle. Knots are counted on the edge of the hole that "
            "they leave. The patch is sewn in there."
        )
    if not plan.cuts:
        ready = "It is the rectangle already" if plan.patch else "The hole can be sewn as it is"
        yield f"{ready}."
    for cut in plan.cuts:
        name = f", for twine {twines[cut.twine].name}" if len(twines) > 1 else ""
        where = f"{bar_told(cut.bar, plan.spec.origin)}, {_bar(plan, cut)}"
        yield f"Cut {cut.n}{name}: {where}. {_at(plan, cut)} {_far(plan, cut)}"
    if plan.patch:
        start = place_told(plan.patch.opening, twines[0].knots[0].at)
        yield f"The seam starts on the pickup that is the {start}; it ends there too."
    for twine in () if plan.patch else twines:
        first, last = (place_told(plan.trim.trimmed, twine.knots[n].at) for n in (0, -1))
        name = f"Twine {twine.name}" if len(twines) > 1 else "The twine"
        yield f"{name} starts on the three-bar that is the {first}; it ends on the {last}."
    yield from notes(plan)


def _bar(plan: Plan, cut: Cut) -> str:
    hole = plan.patch.opening if plan.patch else plan.trim.found
    place = place_told(hole, cut.at)
    return f"{way_told(cut.at, cut.towards)} from the {place}"


def _at(plan: Plan, cut: Cut) -> str:
    reason = REASONS.get(cut.does, "")
    was = "a whole knot" if cut.was == WHOLE else _named(cut.was)
    return f"{reason} There it was {was}; it becomes {_named(cut.becomes)}.".strip()


def _far(plan: Plan, cut: Cut) -> str:
    """What becomes of the other end, and with it of the three-bar."""
    way = way_told(cut.at, cut.towards)
    if plan.patch and plan.patch.holds(cut.towards):
        return f"The next knot {way} comes away."
    if cut.was == cut.towards_was == THREE_BAR:
        return "The knot at its other end was a three-bar too: both are gone."
    if cut.towards_becomes == THREE_BAR:
        if cut.was == THREE_BAR:
            return f"The three-bar moves to the next knot {way}."
        return f"A three-bar turns up at the next knot {way}."
    return (
        f"The next knot {way} was {_named(cut.towards_was)}; it becomes "
        f"{_named(cut.towards_becomes)}."
    )


def _named(name: str) -> str:
    if name == LOST:
        return "a knot to be made new"
    if name == WHOLE:
        return "whole"
    if name == "two opposite":
        return "a knot with two bars that lie opposite"
    return f"a {name}"
