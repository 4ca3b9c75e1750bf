"""A walk that does not close: by how much it misses, and where the miscount likely is."""

from __future__ import annotations

import time
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards import SpecError, load_text
from cards.grid.walk import Walk, walk_round
from cards.spec.slips import KINDS, likely_slips
from cards.spec.walk import slip_text
from tests.measure_slips import measure, share
from tests.walk_holes import random_hole, ripped, slipped

PATIENCE = 20.0  # seconds: a guard against a hang, on a slow machine too


def test_the_true_slip_is_among_the_first_three_in_95_of_100() -> None:
    for largest in (20, 80):
        assert share(measure(900, seed=11, largest=largest)) >= 0.95


def test_it_is_on_holes_by_which_the_weights_were_not_chosen() -> None:
    assert share(measure(800, seed=13, largest=40), "others") >= 0.95


def test_each_kind_of_slip_is_found_in_small_holes() -> None:
    came = measure(900, seed=12, largest=20)
    for kind in KINDS:
        assert share(came, kind) >= 0.95


@given(st.integers(0, 2**32), st.sampled_from([5, 20, 60]))
def test_every_slip_named_explains_the_walk(seed: int, largest: int) -> None:
    random = Random(seed)
    walk, _ = walk_round(random_hole(random, largest))
    _, counts = slipped(random, walk)
    slips = likely_slips(Walk(counts))
    assert slips
    for slip in slips:
        put_right = list(slip.walk.counts)
        written = list(counts)
        if slip.kind == "one count wrong":
            assert written[slip.place - 1] != slip.count
            written[slip.place - 1] = slip.count
            assert written == put_right
        elif slip.kind == "one knot left out":
            for place in range(slip.place, slip.last + 1):
                assert [*written[: place - 1], slip.count, *written[place - 1 :]] == put_right
        else:
            for place in range(slip.place, slip.last + 1):
                assert written[place - 1] == slip.count
                assert [*written[: place - 1], *written[place:]] == put_right
        assert walk_round(slip.hole)[0].turning == 4
    assert len({slip.hole for slip in slips}) == len(slips)


def test_a_knot_counted_twice_where_the_walk_begins() -> None:
    first, *_ = [slip for slip in likely_slips(Walk((4, 4, 3, 4, 4, 3, 4))) if slip.hole.size == 1]
    assert first.kind == "one knot counted twice"


def test_a_long_walk_is_answered_without_a_long_wait() -> None:
    random = Random(5)
    walk, _ = walk_round(ripped(random, 1700))
    assert len(walk.counts) > 1900
    for _ in range(5):
        _, counts = slipped(random, walk)
        began = time.perf_counter()
        likely_slips(Walk(counts))
        assert time.perf_counter() - began < PATIENCE


@pytest.mark.parametrize(
    ("counts", "told"),
    [
        # One broken bar, 4 3 4 4 3 4, miscounted by hand in each way.
        ("4 3 4 4 4 4", "One count wrong: count 5 of 6 may be 3, not 4: 3 4 4 [4] 4"),
        ("4 3 4 4 4", "One knot left out: a 3 between counts 4 and 5 of 5: 3 4 4 [+3] 4"),
        ("4 3 4 4 3 3 4", "One knot counted twice: a 3 among counts 5 to 6 of 7: 3 4 4 [3 3] 4"),
        # One lost knot: the knot set out from is counted first, and again last.
        (
            "4 3 4 3 4 3 4 3 4",
            "One knot counted twice: the 4 it sets out from, as the first count and again as the "
            "last: [4] 3 4 3",
        ),
    ],
)
def test_places_are_told_as_a_mender_finds_them(counts: str, told: str) -> None:
    written = tuple(map(int, counts.split()))
    first, *_ = likely_slips(Walk(written))
    assert slip_text(first, written) == told


def test_the_message_tells_gap_rule_places_and_drawings() -> None:
    with pytest.raises(SpecError) as error:
        load_text("hole:\n  walk: 4 3 4 4 4\n  first: down-right\n", source="a.yaml")
    said = str(error.value).splitlines()
    assert said[0] == (
        "a.yaml:2: hole.walk: found a walk of 5 counts that does not close; "
        "expected a way round that ends where and as it began."
    )
    assert said[1] == (
        "  It ends half a mesh to the left of and half a mesh below the knot it set out from, "
        "facing as it began."
    )
    assert said[2].startswith("  Fours must be twos + twice the ones + 4, and they are")
    assert said[3] == "  Likely slips, the likeliest first; count again there:"
    assert said[4].startswith("  1. One knot left out: a 3 ")
    # The walk goes on down-left past the broken bar, which lies to its right: it leans as \\ does.
    assert [line.strip() for line in said[5:]] == ["\\/\\", "/./", "\\/\\"]


def test_no_single_slip_is_said_so() -> None:
    with pytest.raises(SpecError, match="No single slip explains it"):
        load_text("hole: {walk: 2 2 3 3 2 1 1 1, first: up-left}")
