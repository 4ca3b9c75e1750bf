"""Lengths as people write them, the one table of units, and numbers as they are told."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, floor

# 1 in = 25.4 mm exactly: International yard and pound agreement, 1959.
MILLIMETRES = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}

_LENGTH = re.compile(r"([0-9]{1,9}(?:[.,][0-9]{1,6})?)\s*([A-Za-z\"]*)")


@dataclass(frozen=True, slots=True)
class Length:
    """A length in mm, with the unit it was written in.

    Examples
    --------
    >>> Length.read("4.5 in").mm
    114.3
    >>> str(Length.read("120mm"))
    '120 mm'
    """

    mm: float
    unit: str = "mm"

    @classmethod
    def read(cls, text: str) -> Length:
        """Read a number with a unit (mm, cm, m, in, ft).

        Raises
        ------
        ValueError
            With a message that says which of number and unit is wrong.
        """
        match = _LENGTH.fullmatch(text.strip())
        if not match:
            raise ValueError("not a number with a unit")
        number, unit = match.groups()
        if not unit:
            raise ValueError("no unit")
        if unit not in MILLIMETRES:
            raise ValueError(f'unknown unit "{unit}"')
        value = float(number.replace(",", ".")) * MILLIMETRES[unit]
        return cls(round(value, 6), unit)

    @property
    def inches(self) -> bool:
        """Whether the writer measures in inches and feet."""
        return self.unit in ("in", "ft")

    def __str__(self) -> str:
        return f"{self.mm / MILLIMETRES[self.unit]:.6g} {self.unit}"


def millimetres(mm: float, inches: bool = False) -> str:
    """Say a short length: millimetres to a tenth, or inches to two places.

    Examples
    --------
    >>> millimetres(60.0), millimetres(57.25), millimetres(57.15, inches=True)
    ('60 mm', '57.3 mm', '2.25 in')
    """
    if inches:
        return f"{_short(mm / 25.4, 2)} in"
    return f"{_short(mm, 1)} mm"


def metres(m: float, inches: bool = False) -> str:
    """Say a length of twine in metres or feet, to one place.

    Examples
    --------
    >>> metres(18.04), metres(18.04, inches=True), metres(3.15)
    ('18 m', '59.2 ft', '3.2 m')
    """
    return tenths(m, inches).replace(".0 ", " ")


def tenths(m: float, inches: bool = False) -> str:
    """Say a length of twine to a tenth, with the nought where it is one.

    Examples
    --------
    >>> tenths(5.98), tenths(18.04, inches=True)
    ('6.0 m', '59.2 ft')
    """
    unit = twine_unit(inches)
    return f"{half_up(m * 1000 / MILLIMETRES[unit], 1):.1f} {unit}"


def no_less(m: float, inches: bool = False) -> str:
    """Say a length of twine that there has to be: to a tenth, and never a shorter one.

    Examples
    --------
    >>> no_less(8.4295), no_less(8.4)
    ('8.5 m', '8.4 m')
    """
    tenth = MILLIMETRES[twine_unit(inches)] / 10_000
    return metres(ceil(round(m / tenth, 6)) * tenth, inches)


def twine_unit(inches: bool) -> str:
    """What twine is measured in."""
    return "ft" if inches else "m"


def grams(g: float, inches: bool = False) -> str:
    """Say a mass of twine in g or kg; ounces for who measures in inches.

    Examples
    --------
    >>> grams(88.4), grams(1250.0)
    ('88 g', '1.25 kg')
    """
    if inches:
        return f"{_short(g / 28.349523125, 1)} oz"
    return f"{_short(g, 0)} g" if half_up(g, 0) < 1000 else f"{_short(g / 1000, 2)} kg"


def half_up(value: float, places: int) -> float:
    """A figure to so many places, a half up however a float holds it: 3.15 is 3.2."""
    step = 10.0**places
    return floor(round(value * step, 6) + 0.5) / step


def whole_minutes(minutes: float) -> int:
    """A time as it is told: never none at all."""
    return max(1, int(half_up(minutes, 0)))


def _short(value: float, places: int) -> str:
    said = f"{half_up(value, places):.{places}f}"
    return said.rstrip("0").rstrip(".") if places else said


def spans(numbers: Iterable[int], to: str = "–") -> str:
    """Numbers with neighbours gathered.

    Examples
    --------
    >>> spans([1, 2, 3, 7, 9, 10]), spans([4, 5], " to ")
    ('1–3, 7, 9–10', '4 to 5')
    """
    found: list[list[int]] = []
    for n in sorted(numbers):
        if found and n == found[-1][1] + 1:
            found[-1][1] = n
        else:
            found.append([n, n])
    return ", ".join(str(a) if a == b else f"{a}{to}{b}" for a, b in found)
