"""``threebar check``: judge the cuts of a spec and say what is still wrong."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from typing import Any

import msgspec

from cards.command import FAILED, MADE, WRONG_CALL, complain
from cards.command.asked import SPEC_HELP, add_plan_arguments, only_one, plan_asked, specs_of
from cards.command.check_patch import patch_check_as_data, patch_said
from cards.command.output import check_svg, write_whole
from cards.command.places import bars_told, counted_out, next_cut_told, place_told
from cards.errors import SpecError
from cards.grid import Hole, Knot
from cards.limits import check_drawing
from cards.picture.check import picture_of_check
from cards.picture.svg import svg_text
from cards.picture.text import knot_drawing, signs_for
from cards.spec import Spec
from cards.spec.cuts import cuts_given
from cards.trim import TWINE_COST, other
from cards.trim.check import Check, Way, check_trim
from cards.trim.check_patch import PatchCheck, check_patch

FORMAT = "threebar.check/1"
DRAWN = (
    "In the drawing a bar that is cut has a mark across it, the next one to cut a circle round "
    "it; a way that cannot be sewn is dashed."
)
DRAWN_PATCH = (
    "In the drawing a bar that is cut has a mark across it, one still to cut is dashed, the next "
    "one to cut has a circle round it."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add this word's arguments."""
    parser.add_argument("spec", metavar="SPEC", nargs="+", help=SPEC_HELP)
    parser.add_argument("--json", action="store_true", help="print it as JSON")
    parser.add_argument(
        "--picture", metavar="FILE.svg", help="draw it too, for one spec, with what is said of it"
    )
    add_plan_arguments(parser)


def run(asked_for: argparse.Namespace) -> int:
    """Judge each spec; 0 where all can be sewn, 1 where one cannot, 2 for a wrong spec."""
    specs, sound = specs_of(asked_for.spec)
    checks: list[tuple[Spec, Check | PatchCheck]] = []
    for spec in specs:
        try:
            checks.append((spec, checked(spec, asked_for)))
        except SpecError as error:
            complain(str(error))
            sound = False
    if asked_for.picture and checks:
        check_svg(asked_for.picture)
        spec = only_one(specs, asked_for.picture)
        for own, check in checks:
            check_drawing(_shown(check), spec.source)
            legend = DRAWN_PATCH if isinstance(check, PatchCheck) else DRAWN
            said = [line.strip() for line in _said(own, check)]
            drawn = picture_of_check(check, own.title, [*said, legend])
            write_whole(asked_for.picture, svg_text(drawn).encode())
    if asked_for.json:
        told = [as_data(spec, check) for spec, check in checks]
        if told:
            text = msgspec.json.encode(told[0] if len(told) == 1 else told)
            sys.stdout.buffer.write(msgspec.json.format(text, indent=1) + b"\n")
            sys.stdout.buffer.flush()
    else:
        for number, (spec, check) in enumerate(checks):
            lines = ([""] if number else []) + list(_told(spec, check))
            encoding = sys.stdout.encoding or "ascii"
            text_out = "".join(f"{line}\n" for line in lines)
            sys.stdout.write(text_out.encode(encoding, "replace").decode(encoding))
    if not sound:
        return WRONG_CALL
    return MADE if all(check.sewable for _, check in checks) else FAILED


def _shown(check: Check | PatchCheck) -> Hole:
    """All that the drawing of a check has to show."""
    return (
        check.missing.plus(check.patch.seam.bars())
        if isinstance(check, PatchCheck)
        else check.missing
    )


def checked(spec: Spec, asked_for: argparse.Namespace) -> Check | PatchCheck:
    """Judge the cuts of a spec beside the plan that the arguments ask for: of a mend or a patch.

    Raises
    ------
    SpecError
        When the cuts cannot be read.
    """
    planned = plan_asked(spec, asked_for)
    cuts = cuts_given(spec, [cut.bar for cut in planned.cuts])
    if planned.patch:
        going = planned.sewing.twines[0].rows[0].going
        return check_patch(spec.hole, cuts, "left" if going == "right" else "right")
    twine_cost = TWINE_COST if spec.twine_cost is None else spec.twine_cost
    prefer = other(planned.hand)
    return check_trim(spec.hole, cuts, planned.trim, twine_cost, prefer, asked_for.twines)


def as_data(spec: Spec, check: Check | PatchCheck) -> dict[str, Any]:
    """A check as the plain values that JSON holds, in a stable order."""
    if isinstance(check, PatchCheck):
        return {"format": FORMAT, **patch_check_as_data(spec, check)}

    def bars(way: Way) -> list[list[list[int]]]:
        return [[list(knot) for knot in bar.ends] for bar in way.bars]

    following = check.further[0] if check.further else None
    return {
        "format": FORMAT,
        "title": spec.title,
        "method": "mend",
        "cuts": [[list(knot) for knot in bar.ends] for bar in check.cuts],
        "three_bars": [list(knot) for knot in check.three_bars],
        "one_bars": [list(knot) for knot in check.one_bars],
        "two_opposite": [list(knot) for knot in check.opposite],
        "rings": [bars(way) for way in check.rings],
        "climbing": [bars(way) for way in check.climbing],
        "ordered": check.order is not None,
        "loose": [[list(knot) for knot in bar.ends] for bar in check.loose],
        "sewable": check.sewable,
        "twines": check.twines if check.sewable else None,
        "cuts_of_the_plan": check.best.cuts,
        "twines_of_the_plan": len(check.best.runs),
        "cuts_more": check.more,
        "cuts_to_make": len(check.further),
        "next": following
        and {
            "bar": [list(knot) for knot in following.bar.ends],
            "at": list(following.at),
            "does": following.does,
        },
    }


def _told(spec: Spec, check: Check | PatchCheck) -> Iterator[str]:
    """A check in a mender's words, with a drawing on which the knots named have numbers."""
    numbers: dict[tuple[int, int], int] = {knot: n for n, knot in enumerate(check.wrong, 1)}
    yield f"{spec.title}: {counted_out(len(check.cuts), 'cut')} made, marked x in the drawing"
    yield ""
    signs = signs_for(sys.stdout.encoding)
    yield from knot_drawing(check.missing, numbers, check.cuts, signs)
    yield ""
    yield from _said(spec, check)


def _said(spec: Spec, check: Check | PatchCheck) -> Iterator[str]:
    """What is to be said of a check, a sentence or two a line."""
    if isinstance(check, PatchCheck):
        return patch_said(spec, check)
    return _mend_said(spec, check)


def _mend_said(spec: Spec, check: Check) -> Iterator[str]:
    if check.sewable:
        yield f"It can be sewn as it stands, with {counted_out(check.twines, 'twine')}."
    else:
        yield "It cannot be sewn as it stands."
    for number, said in enumerate(wrong_knots(check).values(), 1):
        yield f"{number:>4}. {said}"
    yield from wrong_besides(spec, check)
    yield from _compared(check)
    if check.further:
        yield next_cut_told(check.further[0], check.missing, spec.origin)


def wrong_knots(check: Check) -> dict[Knot, str]:
    """What is wrong at which knot, in a mender's words."""
    return {
        knot: f"{place_told(check.missing, knot)}: {_WRONG[name]}"
        for knot, name in check.wrong.items()
    }


def wrong_besides(spec: Spec, check: Check) -> Iterator[str]:
    """What is wrong beside single knots, in a mender's words, a line each."""
    if check.loose:
        bars = counted_out(len(check.loose), "whole bar")
        one = len(check.loose) == 1
        hangs = "hangs on nothing and counts" if one else "hang on nothing and count"
        yield f"Web is loose: {bars} {hangs} as broken."
    for way in check.rings:
        bars = counted_out(len(way.bars), "bar")
        yield f"A ring would be left, of {bars}: {bars_told(way.bars, spec.origin)}."
        yield "  The twine would come back to where it began and could not leave."
    for way in check.climbing:
        yield f"A twine would have to climb back up: {bars_told(way.bars, spec.origin)}."
    if check.order is None:
        yield "No order of twines: each would tie loops that another has not hung yet."


_WRONG = {
    "three-bar": "three-bar, still to be cut unless a twine starts or ends on it",
    "one-bar": "one-bar, its last bar is to be cut off",
    "two opposite": "its two bars lie opposite, no stitch holds it",
}


def _compared(check: Check) -> Iterator[str]:
    best = check.best
    plan = (
        f"The plan has {counted_out(best.cuts, 'cut')} and {counted_out(len(best.runs), 'twine')}"
    )
    if check.fallen:
        are = "itself is" if check.fallen == 1 else "themselves are"
        yield f"{counted_out(check.fallen, 'bar')} that fell off by {are} counted as cut."
    if check.further:
        yield f"{counted_out(len(check.further), 'cut')} still to make."
    if check.more > 0:
        yield f"{plan}: this comes to {counted_out(check.more, 'cut')} more."
    elif check.more == 0:
        yield f"{plan}: this comes to as many cuts."
    else:
        yield f"{plan}: this comes to {counted_out(-check.more, 'cut')} fewer, and more twines."
