"""``threebar taper``: the cutting rate of a sloping edge."""

from __future__ import annotations

import argparse
import textwrap
from itertools import groupby, zip_longest
from typing import Iterator

from cards.command import MADE
from cards.reckon.taper import Taper, taper

_NAMES = {"B": ("bar", "bars"), "N": ("point", "points"), "T": ("mesh", "meshes")}
_MEANING = {
    "B": "B: cut along a bar. It loses half a mesh and goes half a mesh deep.",
    "N": "N: cut a point, straight down the web. It goes one mesh deep and loses none.",
    "T": "T: cut a mesh, straight across the web. It loses one mesh and goes no deeper.",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add this word's arguments."""
    parser.add_argument(
        "--lose", metavar="MESHES", type=_meshes, required=True, help="meshes lost at this edge"
    )
    parser.add_argument(
        "--over", metavar="MESHES", type=_meshes, required=True, help="depth of it in meshes"
    )


def _meshes(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise argparse.ArgumentTypeError(f"found {text}; expected a whole number of meshes")
    return int(text)


def run(asked_for: argparse.Namespace) -> int:
    """Print the rate, the order of the cuts and what each letter means."""
    for line in told(taper(asked_for.lose, asked_for.over), asked_for.lose, asked_for.over):
        print(line)
    return MADE


def told(rate: Taper, lose: int, over: int) -> Iterator[str]:
    """Say a cutting rate in plain words."""
    counts = [(rate.bars, "B"), (rate.straight, rate.letter)]
    kinds = [(count, letter) for count, letter in counts if count]
    yield f"Lose {_count(lose, 'T')} at one edge, over a depth of {_count(over, 'T')}."
    if len(kinds) == 1:
        ((count, letter),) = kinds
        name = {"B": "bars", "N": "points, straight down", "T": "meshes, straight across"}[letter]
        yield f"Cutting rate: all {letter} (all {name})."
        yield f"Cut {_count(count * rate.rounds, letter)}."
    else:
        said = ", ".join(_count(count, letter) for count, letter in kinds)
        yield f"Cutting rate: {rate} ({said})."
        yield from textwrap.wrap(f"Order: {_order(rate)}.", 78, subsequent_indent="  ")
        times = "once" if rate.rounds == 1 else f"{rate.rounds} times"
        total = ", ".join(_count(count * rate.rounds, letter) for count, letter in kinds)
        yield f"Cut this {times}: {total} in all."
    yield ""
    yield from (_MEANING[letter] for _, letter in kinds)
    yield "N is up and down the web, across the run of the twine. Count again before cutting;"
    yield "cut away from the body and from the holding hand."


def _order(rate: Taper) -> str:
    """The groups of one round, alike pairs that follow each other told once."""
    groups = [f"{count} {letter}" for count, letter in rate.groups]
    pairs = [" ".join(filter(None, pair)) for pair in zip_longest(groups[::2], groups[1::2])]
    runs = [(pair, len(list(same))) for pair, same in groupby(pairs)]
    return ", then ".join(pair if count == 1 else f"{count} times ({pair})" for pair, count in runs)


def _count(number: int, letter: str) -> str:
    one, many = _NAMES[letter]
    return f"{number} {one if number == 1 else many}"
