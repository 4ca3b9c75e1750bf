"""``threebar show``: the hole of a spec drawn in the terminal."""

from __future__ import annotations

import argparse
import os
import sys
from typing import Iterator, TextIO

from cards.command import MADE, WRONG_CALL
from cards.command.asked import SPEC_HELP, add_plan_arguments, plan_asked, specs_of
from cards.command.places import bar_told, does_told
from cards.job import Plan
from cards.limits import check_drawing
from cards.picture.text import knot_drawing, row_drawing, signs_for, stressed
from cards.spec import Spec


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add this word's arguments."""
    parser.add_argument("spec", metavar="SPEC", nargs="+", help=SPEC_HELP)
    parser.add_argument("--cuts", action="store_true", help="mark the cuts with x and list them")
    parser.add_argument(
        "--knots", action="store_true", help="draw wide, with the number of every knot tied"
    )
    add_plan_arguments(parser)


def run(asked_for: argparse.Namespace) -> int:
    """Print each hole, one below the other."""
    specs, sound = specs_of(asked_for.spec)
    for number, spec in enumerate(specs):
        lines = [""] if number else []
        lines += _shown(spec, asked_for)
        _print(lines)
    return MADE if sound else WRONG_CALL


def _shown(spec: Spec, asked_for: argparse.Namespace) -> Iterator[str]:
    check_drawing(spec.hole, spec.source)
    bold = stressed if _takes_escapes(sys.stdout) else str
    yield f"{spec.title}: {_count(spec.hole.size, 'bar')} broken"
    yield ""
    if not (asked_for.cuts or asked_for.knots):
        yield from row_drawing(spec.hole, spec.origin)
        return
    plan = plan_asked(spec, asked_for)
    check_drawing(plan.trim.trimmed, spec.source)
    cuts = [cut.bar for cut in plan.cuts] if asked_for.cuts else []
    if not asked_for.knots:
        yield from map(bold, row_drawing(plan.trim.found, spec.origin, cuts))
    else:
        numbers: dict[tuple[int, int], int] = {
            knot.at: knot.n for twine in plan.sewing.twines for knot in twine.knots
        }
        signs = signs_for(sys.stdout.encoding)
        yield from map(bold, knot_drawing(plan.trim.trimmed, numbers, cuts, signs))
        yield ""
        yield from _knots_told(plan)
    if asked_for.cuts:
        yield ""
        yield from _cuts_told(plan)


def _cuts_told(plan: Plan) -> Iterator[str]:
    if not plan.cuts:
        yield "No cuts: the hole can be sewn as it is."
        return
    yield f"{_count(len(plan.cuts), 'cut')}, marked x, in this order:"
    for cut in plan.cuts:
        yield f"{cut.n:>4}. {bar_told(cut.bar, plan.spec.origin)}: {does_told(cut)}"


def _knots_told(plan: Plan) -> Iterator[str]:
    for twine in plan.sewing.twines:
        first, *_, last = twine.knots
        name = f"Twine {twine.name}: s" if len(plan.sewing.twines) > 1 else "S"
        yield f"{name}tart at knot {first.n}, going {first.going}; end at knot {last.n}."


def _count(number: int, name: str) -> str:
    return f"{number} {name}{'' if number == 1 else 's'}"


def _takes_escapes(stream: TextIO) -> bool:
    plain = os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb"
    return stream.isatty() and not plain


def _print(lines: list[str]) -> None:
    """Print; a letter that the terminal does not have becomes a question mark."""
    encoding = sys.stdout.encoding or "ascii"
    text = "".join(f"{line}\n" for line in lines)
    sys.stdout.write(text.encode(encoding, "replace").decode(encoding))
