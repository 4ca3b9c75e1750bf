"""Cutting rates against worked examples of the trade, and the spread of their cuts."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards import CardError
from cards.command import main
from cards.reckon.taper import spread, taper

# A cut goes from knot to knot; in half meshes across and down. Letters of ISO 1532 (from memory).
STEPS = {"B": (1, 1), "N": (0, 2), "T": (2, 0)}


def test_more_deep_than_lost_gives_bars_and_points() -> None:
    """180 meshes to 140 over a depth of 30, both sides: 20 a side, 40 : 10, 4 bars 1 point.

    Calculating and cutting netting tapers, course notes MSC 132/134, Fishing Gear Technology.
    """
    rate = taper((180 - 140) // 2, 30)
    assert str(rate) == "4 B 1 N"
    assert (rate.bars * rate.rounds, rate.straight * rate.rounds) == (40, 10)
    assert rate.order == "BBBBN"


def test_points_and_bars() -> None:
    """M_T 10, M_N 25 gives 4 B : 3 N. Net cutting, lecture notes."""
    rate = taper(10, 25)
    assert str(rate) == "4 B 3 N"
    assert rate.groups == ((2, "B"), (1, "N"), (1, "B"), (1, "N"), (1, "B"), (1, "N"))


def test_meshes_and_bars() -> None:
    """M_N 25, M_T 40 gives 10 B : 3 T. Net cutting, lecture notes."""
    rate = taper(40, 25)
    assert str(rate) == "10 B 3 T"
    assert rate.groups == ((4, "B"), (1, "T"), (3, "B"), (1, "T"), (3, "B"), (1, "T"))


@pytest.mark.parametrize("meshes", [1, 7, 25])
def test_as_many_lost_as_deep_is_all_bars(meshes: int) -> None:
    """Equal gives all bars. Net cutting, lecture notes."""
    rate = taper(meshes, meshes)
    assert set(rate.order) == {"B"}
    assert rate.bars * rate.rounds == 2 * meshes


def test_straight_edges() -> None:
    """An edge that loses nothing is all points, one without depth all meshes."""
    assert (str(taper(0, 12)), taper(0, 12).rounds) == ("1 N", 12)
    assert (str(taper(12, 0)), taper(12, 0).rounds) == ("1 T", 12)


@given(st.integers(0, 300), st.integers(0, 300))
def test_the_cuts_lead_from_corner_to_corner(lose: int, over: int) -> None:
    if lose == over == 0:
        return
    rate = taper(lose, over)
    steps = [STEPS[cut] for cut in rate.order]
    assert rate.rounds * sum(across for across, _ in steps) == 2 * lose
    assert rate.rounds * sum(down for _, down in steps) == 2 * over
    assert "".join(letter * count for count, letter in rate.groups) == rate.order


@given(st.integers(0, 40), st.integers(0, 40))
def test_no_stretch_of_cuts_has_more_bars_than_another_by_two(bars: int, straight: int) -> None:
    if bars == straight == 0:
        return
    order = spread(bars, straight, "N")
    assert order.count("B") == bars
    assert order.count("N") == straight
    round_and_round = order + order
    for length in range(1, len(order)):
        counts = {round_and_round[at : at + length].count("B") for at in range(len(order))}
        assert max(counts) - min(counts) <= 1


def test_no_edge_has_no_rate() -> None:
    with pytest.raises(CardError, match="at least one mesh"):
        taper(0, 0)
    with pytest.raises(CardError, match="--over: found 10001"):
        taper(3, 10_001)


def test_the_command_in_plain_words(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["taper", "--lose", "20", "--over", "30"]) == 0
    said = capsys.readouterr().out
    assert "Lose 20 meshes at one edge, over a depth of 30 meshes." in said
    assert "Cutting rate: 4 B 1 N (4 bars, 1 point)." in said
    assert "Order: 4 B 1 N." in said
    assert "Cut this 10 times: 40 bars, 10 points in all." in said
    assert "\nT: " not in said


@pytest.mark.parametrize(
    ("lose", "over", "line"),
    [
        ("40", "25", "Order: 4 B 1 T, then 2 times (3 B 1 T)."),
        ("9", "9", "Cutting rate: all B (all bars)."),
        ("0", "1", "Cut 1 point."),
        ("1", "0", "Cutting rate: all T (all meshes, straight across)."),
        ("1", "4", "Order: 1 B 1 N, then 1 B 2 N."),
    ],
)
def test_the_command_tells_every_branch(
    capsys: pytest.CaptureFixture[str], lose: str, over: str, line: str
) -> None:
    assert main(["taper", "--lose", lose, "--over", over]) == 0
    assert line in capsys.readouterr().out.splitlines()


@pytest.mark.parametrize("wrong", ["-3", "2.5", "x", "", "²", "99999999999"])
def test_what_is_no_number_of_meshes_is_told(
    capsys: pytest.CaptureFixture[str], wrong: str
) -> None:
    assert main(["taper", f"--lose={wrong}", "--over", "30"]) == 2
    assert "expected a whole number of meshes" in capsys.readouterr().err


def test_zero_and_zero_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["taper", "--lose", "0", "--over", "0"]) == 2
    assert "expected an edge of at least one mesh" in capsys.readouterr().err
