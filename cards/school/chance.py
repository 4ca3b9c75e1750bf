"""Chance that is the same wherever it is asked for: the numbers that follow from a seed."""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import blake2b
from random import Random
from typing import TypeVar

Choice = TypeVar("Choice")


class Chance:
    """A row of choices that follows from some numbers.

    Notes
    -----
    Only `Random.random` is used: of all that the module offers, it alone is promised to give the
    same row for the same seed in every version of Python.

    Examples
    --------
    >>> chance = Chance(1, 2)
    >>> [chance.below(100) for _ in range(3)]
    [46, 54, 61]
    """

    def __init__(self, *numbers: int) -> None:
        text = " ".join(map(str, numbers)).encode()
        self._random = Random(int.from_bytes(blake2b(text, digest_size=16).digest(), "big"))

    def part(self) -> float:
        """A part of one, from 0 up to, not with, 1."""
        return self._random.random()

    def below(self, count: int) -> int:
        """A whole number from 0 up to, not with, `count`."""
        return int(self.part() * count)

    def between(self, least: int, most: int) -> int:
        """A whole number from `least` to `most`."""
        return least + self.below(most - least + 1)

    def pick(self, choices: Sequence[Choice]) -> Choice:
        """One of some choices."""
        return choices[self.below(len(choices))]

    def mixed(self, choices: Sequence[Choice]) -> list[Choice]:
        """Some choices in any order."""
        left = list(choices)
        return [left.pop(self.below(len(left))) for _ in choices]
