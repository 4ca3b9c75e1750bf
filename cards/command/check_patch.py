"""What ``threebar check`` says of the cuts for a patch, in words and as data."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from cards.command.places import bar_told, bars_told, counted_out, next_cut_told, place_told
from cards.grid import Bar
from cards.job import patch_hole_as_data
from cards.spec import Spec
from cards.trim.check_patch import PatchCheck
from cards.trim.patch import Patch

_WRONG = {
    "three-bar": "three-bar, round a patch only pickups and siders may be left",
    "one-bar": "one-bar, its last bar is to be cut off",
    "two opposite": "its two bars lie opposite, no stitch holds it",
}


def patch_said(spec: Spec, check: PatchCheck) -> Iterator[str]:
    """What is to be said of the cuts for a patch, a sentence or two a line."""
    if check.sewable:
        yield f"A patch of {_size(check.patch)} can be sewn in as it stands."
    else:
        yield "No patch can be sewn in as it stands."
    for number, (knot, name) in enumerate(check.wrong.items(), 1):
        yield f"{number:>4}. {place_told(check.missing, knot)}: {_WRONG[name]}"
    if check.away:
        verb = "hangs on nothing and comes" if check.away == 1 else "hang on nothing and come"
        yield f"{counted_out(check.away, 'whole bar')} {verb} away."
    if not check.sewable:
        yield from _still_to_cut(spec, check)
    yield from _compared(spec, check)
    if check.further:
        yield next_cut_told(check.further[0], check.missing, spec.origin)


def _still_to_cut(spec: Spec, check: PatchCheck) -> Iterator[str]:
    patch = check.patch
    if not check.wrong:
        yield "Every knot has its stitch, but the hole is no rectangle."
    first = bar_told(Bar(patch.top, patch.left), spec.origin)
    last = bar_told(Bar(patch.bottom - 1, patch.right - 1), spec.origin)
    yield (
        f"The rectangle round it goes from {first} to {last} of the web as drawn: "
        f"{counted_out(len(check.further), 'cut')} still to make. "
        f"The patch would be {_size(patch)}."
    )


def _compared(spec: Spec, check: PatchCheck) -> Iterator[str]:
    plan = f"The plan has {counted_out(check.best_cuts, 'cut')} for a patch of {_size(check.best)}"
    if check.more > 0:
        yield f"{plan}: this comes to {counted_out(check.more, 'cut')} more."
    elif check.more == 0:
        yield f"{plan}: this comes to as many cuts."
    else:
        yield f"{plan}: this comes to {counted_out(-check.more, 'cut')} fewer."
    if check.needless:
        told = _which(spec, check.needless)
        yield f"Not needed, as the web inside comes away: {told}."
    if check.outside and check.more > 0:
        yield f"Outside the rectangle of the plan: {_which(spec, check.outside)}."


def _which(spec: Spec, bars: tuple[Bar, ...]) -> str:
    return f"{counted_out(len(bars), 'cut')}, {bars_told(bars, spec.origin)}"


def _size(patch: Patch) -> str:
    across = f"{patch.across} mesh{'' if patch.across == 1 else 'es'} across"
    return f"{across} and {patch.down} down"


def patch_check_as_data(spec: Spec, check: PatchCheck) -> dict[str, Any]:
    """A check of the cuts for a patch as the plain values that JSON holds, in a stable order.

    `patch` is the one that fits as it stands, or with the cuts still to make.
    """

    def bars(those: Iterable[Bar]) -> list[list[list[int]]]:
        return [[list(knot) for knot in bar.ends] for bar in those]

    def knots(name: str) -> list[list[int]]:
        return [list(knot) for knot, own in check.wrong.items() if own == name]

    following = check.further[0] if check.further else None
    return {
        "title": spec.title,
        "method": "patch",
        "cuts": bars(check.cuts),
        "three_bars": knots("three-bar"),
        "one_bars": knots("one-bar"),
        "two_opposite": knots("two opposite"),
        "comes_away": check.away,
        "sewable": check.sewable,
        "patch": _patch_as_data(check.patch),
        "patch_of_the_plan": _patch_as_data(check.best),
        "cuts_of_the_plan": check.best_cuts,
        "cuts_more": check.more,
        "cuts_to_make": len(check.further),
        "not_needed": bars(check.needless),
        "outside_the_plan": bars(check.outside),
        "next": following
        and {
            "bar": [list(knot) for knot in following.bar.ends],
            "at": list(following.at),
            "does": following.does,
        },
    }


def _patch_as_data(patch: Patch) -> dict[str, Any]:
    return {
        "across": patch.across,
        "down": patch.down,
        "hole": patch_hole_as_data(patch),
    }
