"""The cutting rate of a sloping edge in N, T and B, and the order of its cuts."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from math import gcd
from typing import Literal

from cards.errors import CardError

CutLetter = Literal["N", "T", "B"]
LARGEST = 10_000  # meshes; a wider or deeper panel is a slip of the keyboard


@dataclass(frozen=True, slots=True)
class Taper:
    """A cutting rate, and how often it is cut.

    Attributes
    ----------
    bars
        B-cuts in one round of the rate. A B-cut follows a bar: half a mesh lost, half a mesh
        deep.
    straight
        N-cuts or T-cuts in one round. An N-cut is a mesh deep and loses none, a T-cut loses a
        mesh and is not deep.
    letter
        "N" or "T": which of them; "B" where there are bars only.
    rounds
        How often the rate is cut over the whole edge.
    """

    bars: int
    straight: int
    letter: CutLetter
    rounds: int

    @property
    def order(self) -> str:
        """The cuts of one round, a letter each, spread as evenly as they go."""
        return spread(self.bars, self.straight, self.letter)

    @property
    def groups(self) -> tuple[tuple[int, CutLetter], ...]:
        """The cuts of one round, alike ones that follow each other counted together."""
        letters: dict[str, CutLetter] = {"N": "N", "T": "T", "B": "B"}
        return tuple((len(list(same)), letters[cut]) for cut, same in groupby(self.order))

    def __str__(self) -> str:
        parts = [(self.bars, "B"), (self.straight, self.letter)]
        return " ".join(f"{count} {letter}" for count, letter in parts if count)


def taper(lose: int, over: int) -> Taper:
    """Find the cutting rate of an edge.

    Parameters
    ----------
    lose
        Meshes lost across at this edge.
    over
        Its depth in meshes.

    Returns
    -------
    Taper

    Raises
    ------
    CardError
        When neither is above 0, or one is negative or beyond any panel.

    Notes
    -----
    Deeper than what is lost: bars to points as 2 x lost to (depth - lost). Less deep: bars to
    meshes as 2 x depth to (lost - depth). Equal: all bars.

    References
    ----------
    Letters N, T, B and the rate from meshes lost and rows cut: ISO 1532 and ISO 2075:1972,
    Cutting netting to shape (from memory). The proportions: Calculating and cutting netting
    tapers, course notes MSC 132/134, Fishing Gear Technology; Net cutting, lecture notes.

    Examples
    --------
    >>> str(taper(20, 30)), taper(20, 30).rounds
    ('4 B 1 N', 10)
    >>> str(taper(40, 25)), taper(40, 25).order
    ('10 B 3 T', 'BBBBTBBBTBBBT')
    """
    for name, meshes in (("--lose", lose), ("--over", over)):
        if not 0 <= meshes <= LARGEST:
            raise CardError(f"{name}: found {meshes}; expected 0 to {LARGEST} meshes")
    if lose == over == 0:
        raise CardError("--lose and --over: found 0 and 0; expected an edge of at least one mesh")
    bars, straight = 2 * min(lose, over), abs(over - lose)
    rounds = gcd(bars, straight)
    letter: CutLetter = "B" if lose == over else "N" if over > lose else "T"
    return Taper(bars // rounds, straight // rounds, letter, rounds)


def spread(bars: int, straight: int, letter: str) -> str:
    """Order cuts so that each kind comes as evenly as it can, bars first.

    Any two stretches of equally many cuts, taken anywhere in the round, hold the same number of
    bars or one more or less.
    """
    count = bars + straight
    order = []
    for at in range(count):
        # The number of bars among the first n cuts is n x bars / count, rounded up.
        new = -((at + 1) * -bars // count) + (at * -bars // count)
        order.append("B" if new else letter)
    return "".join(order)
