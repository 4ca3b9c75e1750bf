"""A trimmed hole: the runs of one or more twines, and the bars they cost."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cards.grid import Hole, Stretch

Side = Literal["left", "right"]
SIDES: tuple[Side, Side] = ("left", "right")


def other(side: Side) -> Side:
    """The side opposite."""
    return "right" if side == "left" else "left"


@dataclass(frozen=True, slots=True)
class Run:
    """The way of one twine: one stretch in each row from `top` down, sewn to and fro.

    Two neighbouring stretches end on the same column on the side where a sider joins them:
    on the side away from `start` for the first two, then alternately.
    """

    top: int
    stretches: tuple[Stretch, ...]
    start: Side

    @property
    def bottom(self) -> int:
        """The row after the last one."""
        return self.top + len(self.stretches)

    @property
    def size(self) -> int:
        """How many bars are sewn."""
        return sum(right - left for left, right in self.stretches)

    @property
    def end(self) -> Side:
        """The side of the last row on which the run ends."""
        return self.start if len(self.stretches) % 2 == 0 else other(self.start)

    @property
    def leads_up(self) -> bool:
        """Whether its first bar leads up: it then starts below the top of the hole."""
        left, right = self.stretches[0]
        return bool(((left if self.start == "left" else right) + self.top) & 1)

    @property
    def rank(self) -> tuple[int, bool]:
        """The fewest bars first, and of as many a start at the top of the hole."""
        return self.size, self.leads_up

    def begins(self, row: int) -> Side:
        """The side from which a row is sewn."""
        return self.start if (row - self.top) % 2 == 0 else other(self.start)

    def mirrored(self) -> Run:
        """The run seen from behind."""
        return Run(self.top, tuple(Stretch(-r, -l) for l, r in self.stretches), other(self.start))


@dataclass(frozen=True, slots=True)
class Trim:
    """A hole trimmed so that it can be sewn.

    Attributes
    ----------
    found
        The broken bars, those of islands among them.
    trimmed
        All bars to sew.
    runs
        One a twine, in the order in which they are sewn.
    islands
        How many of the broken bars were whole but hung on nothing.
    cost
        Bars to sew + cost of a twine x twines.
    bound
        No trim costs less. Less than `cost` where the hole was too large to prove the trim.
    """

    found: Hole
    trimmed: Hole
    runs: tuple[Run, ...]
    islands: int
    cost: int
    bound: int

    @property
    def cuts(self) -> int:
        """How many bars are cut."""
        return sum(1 for bar in self.trimmed.bars() if not self.found.misses(*bar))
