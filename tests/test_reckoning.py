"""Twine against the published knot factors and netting mass formula."""

from __future__ import annotations

import pint
import pytest

from cards import load_text, plan
from cards.reckon.twine import KNOT_DIAMETERS
from cards.units import MILLIMETRES, Length

# K by mesh size and twine diameter in mm: J. Prado, P. Y. Dremiere, Fisherman's Workbook, FAO /
# Fishing News Books, 1990 (from memory).
KNOT_FACTORS = [
    (20, 0.25, 1.20),
    (20, 0.50, 1.40),
    (30, 0.25, 1.13),
    (30, 0.75, 1.40),
    (60, 0.75, 1.20),
    (60, 2.0, 1.53),
    (80, 1.0, 1.20),
    (80, 3.0, 1.60),
    (100, 1.0, 1.16),
    (100, 2.0, 1.32),
    (100, 4.0, 1.64),
    (140, 2.0, 1.23),
    (200, 2.0, 1.16),
    (200, 4.0, 1.32),
]


def lengths(
    mesh: float, diameter: float, across: int, down: int = 4, double: str = "false"
) -> float:
    (spec,) = load_text(
        f"net: {{mesh: {mesh} mm, twine: {{diameter: {diameter} mm, double: {double}}}}}\n"
        f"hole: {{shape: {{kind: rectangle, across: {across}, down: {down}}}}}"
    )
    length = plan(spec).reckoning.length
    assert length is not None
    return length * 1000


@pytest.mark.parametrize(("mesh", "diameter", "factor"), KNOT_FACTORS)
def test_the_knot_factors_of_the_workbook(mesh: float, diameter: float, factor: float) -> None:
    """Inside the web two rows one mesh wider take two knots: K x mesh size of twine each."""
    wider = [
        lengths(mesh, diameter, 31, down) - lengths(mesh, diameter, 30, down) for down in (5, 4)
    ]
    knot = (wider[0] - wider[1]) / 2
    assert knot / mesh == pytest.approx(factor, abs=0.006)
    assert knot == pytest.approx(mesh + KNOT_DIAMETERS * diameter)


def test_double_twine_takes_twice_as_much() -> None:
    assert lengths(100, 3, 6, double="true") == pytest.approx(2 * lengths(100, 3, 6))


def test_tex_is_grams_a_kilometre() -> None:
    """1 tex = 1 g/km: ISO 1144 (from memory)."""
    (spec,) = load_text(
        "net: {mesh: 100 mm, twine: {diameter: 3 mm, rtex: 5000}}\n"
        "hole: {shape: {kind: rectangle, across: 5, down: 4}}"
    )
    reckoning = plan(spec).reckoning
    assert reckoning.length is not None
    assert reckoning.mass == pytest.approx(reckoning.length * 5)


def test_what_is_not_given_is_not_guessed() -> None:
    (spec,) = load_text("hole: {shape: {kind: slit down, down: 3}}")
    reckoning = plan(spec).reckoning
    assert reckoning.length is None
    assert reckoning.mass is None
    assert reckoning.needles is None
    assert reckoning.minutes is None
    assert set(reckoning.lacking) >= {"net.mesh", "net.twine.diameter", "mender.needle"}


UNITS = pint.UnitRegistry()


@pytest.mark.parametrize("unit", sorted(MILLIMETRES))
@pytest.mark.parametrize("number", ["1", "4.5", "0.14", "120", "3,5"])
def test_units_of_length_are_those_of_pint(unit: str, number: str) -> None:
    """1 in = 25.4 mm: International yard and pound agreement, 1959; the same by Pint."""
    wanted = UNITS.Quantity(float(number.replace(",", ".")), unit).to("mm").magnitude
    assert Length.read(f"{number} {unit}").mm == pytest.approx(wanted)


def test_an_inch_is_25_4_millimetres() -> None:
    assert Length.read("1 in").mm == 25.4


def test_a_mend_measured_in_inches_takes_as_much_twine() -> None:
    hole = "hole: {shape: {kind: diamond, across: 4, down: 4}}"
    lengths = [
        plan(load_text(f"net: {{mesh: {mesh}, twine: {{diameter: {thick}}}}}\n{hole}")[0])
        for mesh, thick in (("4.5 in", "0.125 in"), ("114.3 mm", "3.175 mm"))
    ]
    assert lengths[0].reckoning.length == pytest.approx(lengths[1].reckoning.length)
