"""``threebar plan``: the plan of a spec as JSON."""

from __future__ import annotations

import argparse
import sys

import msgspec

from cards.command import MADE, WRONG_CALL, complain
from cards.command.asked import SPEC_HELP, add_plan_arguments, plan_asked, specs_of
from cards.errors import CardError
from cards.job import as_data


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add this word's arguments."""
    parser.add_argument("spec", metavar="SPEC", help=SPEC_HELP)
    parser.add_argument(
        "--explain", action="store_true", help="tell cut by cut what each does, instead of JSON"
    )
    add_plan_arguments(parser)


def run(asked_for: argparse.Namespace) -> int:
    """Print an object for one card, an array of them for several."""
    specs, sound = specs_of([asked_for.spec])
    plans = []
    told: list[str] = []
    for spec in specs:
        try:
            made = plan_asked(spec, asked_for)
        except CardError as error:
            complain(str(error))
            sound = False
            continue
        if asked_for.explain:
            from cards.command.explain import explained

            told += [""] * bool(told) + list(explained(made))
        else:
            plans.append(as_data(made))
    if told:
        print("\n".join(told))
    if plans:
        text = msgspec.json.encode(plans[0] if len(plans) == 1 else plans)
        sys.stdout.buffer.write(msgspec.json.format(text, indent=1) + b"\n")
        sys.stdout.buffer.flush()
    return MADE if sound else WRONG_CALL
