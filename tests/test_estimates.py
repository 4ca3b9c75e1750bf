"""Needles, estimated thickness, gauge, end check and time, each against a count of its own."""

from __future__ import annotations

import dataclasses
from itertools import groupby, pairwise
from math import pi

import networkx as nx
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from cards import Spec, as_data, load_text, plan
from cards.job import Plan, notes
from cards.reckon.twine import END_KNOT_FACTOR, KNOT_DIAMETERS, TAIL, reckon
from cards.sew import sew
from cards.trim import trim, trimmed_by
from cards.units import Length
from tests.holes import random_hole
from tests.test_reckoning import KNOT_FACTORS


def planned(
    hole: str = "shape: {kind: rectangle, across: 5, down: 4}", net: str = "", mender: str = ""
) -> Plan:
    (spec,) = load_text(f"net: {{{net}}}\nmender: {{{mender}}}\nhole: {{{hole}}}")
    return plan(spec)


@pytest.mark.parametrize(("mesh", "diameter", "factor"), KNOT_FACTORS)
@pytest.mark.parametrize(("across", "down"), [(60, 30), (60, 60), (120, 60)])
def test_a_rectangle_weighs_what_the_netting_formula_says(
    mesh: float, diameter: float, factor: float, across: int, down: int
) -> None:
    """W = H x L x Rtex / 1000 x K: Prado and Dremiere, Fisherman's Workbook, 1990 (from memory).

    H counts rows of knots: two a mesh of depth, and that of the upper rim. L is the stretched
    length of the meshes across, in m. A mend also ties half a knot more a row, into the web at
    its sides: less than 1 % from 60 meshes across.
    """
    rtex = 1000 * diameter
    mended = planned(
        f"shape: {{kind: rectangle, across: {across}, down: {down}}}",
        f"mesh: {mesh} mm, twine: {{diameter: {diameter} mm, rtex: {rtex}}}",
    )
    mass = (2 * down + 1) * across * mesh / 1000 * rtex / 1000 * factor
    assert mended.reckoning.mass == pytest.approx(mass, rel=0.01)


def twine_until(twine: dict, n: int, bar: float, knot: float, parts: int) -> float:
    """The twine in mm, its first tail included, until knot n is tied: counted on the path."""
    used, at = TAIL, 0
    for tied in twine["knots"]:
        bars = 0
        while twine["path"][at] != tied["at"] or (
            tied["stitch"] == "pickup above" and not came_to_tie(twine["path"], at)
        ):
            at, bars = at + 1, bars + 1
        ends = tied["stitch"] in ("start", "end")
        used += bars * bar + knot * (END_KNOT_FACTOR if ends else 1)
        if tied["n"] == n:
            return used * parts
    raise AssertionError(n)


def came_to_tie(path: list, at: int) -> bool:
    """Whether the twine is at this knot for the last time."""
    return path[at] not in path[at + 1 :]


@settings(max_examples=150, deadline=None)
@given(
    seed=st.integers(0, 100_000),
    needle=st.integers(700, 9000),
    double=st.booleans(),
    diameter=st.sampled_from([1.0, 3.5]),
)
def test_every_stretch_between_refills_fits_the_needle(
    seed: int, needle: int, double: bool, diameter: float
) -> None:
    """And a refill is at a side knot whenever one is within reach, and the last of them."""
    bars = [[row, column] for row, column in sorted(random_hole(seed, 9, 9))]
    ends = [
        [[column + (row + column) % 2, row], [column + 1 - (row + column) % 2, row + 1]]
        for row, column in bars
    ]
    mended = planned(
        f"bars: {ends}",
        f"mesh: 120 mm, twine: {{diameter: {diameter} mm, double: {str(double).lower()}}}",
        f"needle: {needle} mm",
    )
    data = as_data(mended)
    refills = data["twine"]["refill_after"]
    parts, bar, knot = 1 + double, 60.0, KNOT_DIAMETERS * diameter
    tail = TAIL * parts
    last = data["twines"][-1]["knots"][-1]["n"]

    def use(since: int, until: int) -> float:
        """What a needle filled after knot `since` gives out until `until`, all tails included."""
        total = 0.0
        for twine in data["twines"]:
            low = max(since, twine["knots"][0]["n"] - 1)
            high = min(until, twine["knots"][-1]["n"])
            if low < high:
                begun = low >= twine["knots"][0]["n"]
                before = twine_until(twine, low, bar, knot, parts) - tail if begun else 0.0
                total += twine_until(twine, high, bar, knot, parts) - before + tail
        return total

    # A row that comes after another on the same needle begins without a tail.
    rows = [(row, row is twine.rows[0]) for twine in mended.sewing.twines for row in twine.rows]
    longest = max(use(row.first - 1, row.last) - (0 if begins else tail) for row, begins in rows)
    assert mended.reckoning.longest_row == pytest.approx(longest / 1000)
    most = max(use(n, n + 1) for n in range(last))
    if data["twine"]["needles"] is None:
        assert most > needle, "some knot takes more than a full needle"
        return
    assert most <= needle + 1e-6 or not refills
    assert data["twine"]["needles"] == len(refills) + 1
    side_knots = [row.last for twine in mended.sewing.twines for row in twine.rows]
    for since, until in pairwise([0, *refills, last]):
        assert use(since, until) <= needle + 1e-6
        if until == last:
            continue
        reachable = [n for n in side_knots if since < n < last and use(since, n) <= needle]
        assert not reachable or until == max(reachable)
        if not reachable:
            assert use(since, until + 1) > needle
    stops = [0, *refills, last]
    total = sum(use(since, until) for since, until in pairwise(stops))
    assert mended.reckoning.length == pytest.approx(total / 1000)


def test_a_needle_filled_between_two_twines_costs_no_tails() -> None:
    """Two slits a twine each; a needle that just holds one of them is filled between."""
    runs = tuple(trim(planned_slit(across).hole).runs[0] for across in (0, 20))
    both = trimmed_by(runs)
    one = trim(planned_slit(0).hole)
    sewing = sew(dataclasses.replace(one, found=both, trimmed=both, runs=runs))
    (spec,) = load_text(
        "net: {mesh: 120 mm, twine: {diameter: 3 mm}}\nmender: {needle: 100 m}\n"
        "hole: {shape: {kind: slit across, across: 3}}"
    )
    whole = reckon(spec, sewing)
    assert whole.length is not None
    assert whole.refills == ()
    half = Length(whole.length * 1000 / 2 + 1)
    filled = reckon(replace(spec, mender=replace(spec.mender, needle=half)), sewing)
    first, second = sewing.twines
    assert filled.refills == (first.last,)
    assert filled.length == pytest.approx(whole.length)
    assert filled.after_row[1] == pytest.approx(whole.after_row[1])
    small = Length(whole.length * 1000 / 4 + 4 * TAIL)
    for needle in (small, half):
        mender = replace(spec.mender, needle=needle)
        told = reckon(replace(spec, mender=mender), sewing)
        within = [n for n in told.refills if n not in (first.last, second.last)]
        assert told.length == pytest.approx(whole.length + len(within) * 2 * TAIL / 1000)


def planned_slit(across: int) -> Spec:
    """A slit of three meshes, so many columns to the right."""
    ends = [[[across + x + x % 2, 0], [across + x + 1 - x % 2, 1]] for x in range(6)]
    (spec,) = load_text(f"hole: {{bars: {ends}}}")
    return spec


def test_what_a_needle_cannot_hold_is_not_reckoned() -> None:
    small = planned(net="mesh: 120 mm, twine: {diameter: 3 mm}", mender="needle: 300 mm")
    assert small.reckoning.needles is None
    assert "The needle holds too little twine for one knot." in notes(small)


@pytest.mark.parametrize(
    ("material", "gravity"),
    # US Fish and Wildlife Service, Fish sampling techniques: net materials. Polyethylene: the
    # middle of 0.96 to 0.98.
    [("PA", 1.14), ("nylon", 1.14), ("PE", 0.97), ("polyester", 1.35), ("pes", 1.35)],
)
def test_thickness_from_material_and_rtex(material: str, gravity: float) -> None:
    """Three strands that fill the twine weigh its Rtex again."""
    rough = planned(net=f"mesh: 100 mm, twine: {{material: {material}, rtex: 5200}}").reckoning
    assert rough.about
    assert rough.diameter is not None
    assert rough.length is not None
    # Radius of the circle round three touching circles of radius 1: centres at 2 / sqrt(3).
    strand = rough.diameter / (1 + 2 / 3**0.5)
    units = pint.UnitRegistry()
    area = 3 * pi / 4 * strand**2 * units.mm**2
    per_km = (area * gravity * units.g / units.cm**3).to(units.g / units.km)
    assert per_km.magnitude == pytest.approx(5200)
    given_so = planned(
        net=f"mesh: 100 mm, twine: {{diameter: {rough.diameter:.6f} mm, rtex: 5200}}"
    ).reckoning
    assert not given_so.about
    assert given_so.length == pytest.approx(rough.length)


def test_an_estimated_thickness_is_told_in_the_writers_unit() -> None:
    said = notes(planned(net="mesh: 100 mm, twine: {material: PE, rtex: 5200}"))
    assert any("about 3.3 mm, from material and Rtex" in note for note in said)
    said = notes(planned(net="mesh: 4 in, twine: {material: PE, rtex: 5200}"))
    assert any("about 0.13 in, from material and Rtex" in note for note in said)


def test_an_unknown_material_is_not_guessed() -> None:
    unknown = planned(net="mesh: 100 mm, twine: {material: hemp, rtex: 5200}").reckoning
    assert unknown.diameter is unknown.length is None
    assert "net.twine.diameter" in unknown.lacking


@pytest.mark.parametrize(
    ("width", "passes", "note"),
    [
        ("60 mm", "freely", None),
        ("61 mm", "tightly", "A needle 61 mm wide is wider than a bar is long"),
        ("4.7 in", "tightly", "A needle 4.7 in wide is wider than a bar is long"),
        ("120 mm", "not at all", "A needle 120 mm wide does not pass a mesh of 120 mm."),
    ],
)
def test_whether_the_needle_passes(width: str, passes: str, note: str | None) -> None:
    """Pulled square a mesh is a bar wide, pulled long it is two (plane geometry)."""
    wide = planned(net="mesh: 120 mm", mender=f"needle_width: {width}")
    assert wide.reckoning.passes == passes
    assert any(said.startswith(note) for said in notes(wide)) if note else True
    assert (note is None) == (not any("wide" in said for said in notes(wide)))


def test_the_gauge_takes_the_tolerance_of_the_spec_and_no_other() -> None:
    assert planned(net="mesh: 120 mm, tolerance: 2 mm").reckoning.mesh_range == (118, 122)
    assert planned(net="mesh: 120 mm").reckoning.mesh_range is None
    data = as_data(planned(net="mesh: 4 in, tolerance: 0.125 in"))
    assert data["check"]["mesh_mm"] == pytest.approx([98.425, 104.775])


@given(seed=st.integers(0, 100_000))
@settings(deadline=None)
def test_the_end_check_counts_meshes_from_rim_to_rim(seed: int) -> None:
    data = as_data(planned(f"bars: {_ends(seed)}"))
    sides = [
        frozenset({tuple(a), tuple(b)}) for t in data["twines"] for a, b in pairwise(t["path"])
    ]
    meshes = nx.Graph()
    for side in sides:
        (ax, ay), (bx, by) = side
        meshes.add_edges_from((side, ("mesh", *middle)) for middle in ((ax, by), (bx, ay)))
    places = [
        [node for node in place if isinstance(node, frozenset)]
        for place in nx.connected_components(meshes)
    ]
    most = max(map(len, places))
    possible = [_counts(place) for place in places if len(place) == most]
    check = data["check"]
    assert (check["row"], check["across_meshes"], check["down_meshes"]) in possible
    assert check["places"] == len(places)


def _counts(place: list[frozenset[tuple[int, int]]]) -> tuple[int, float, float]:
    sewn: dict[int, list[int]] = {}
    for side in place:
        sewn.setdefault(min(y for _, y in side), []).append(min(x for x, _ in side))
    widths = {row: longest_run(columns) for row, columns in sewn.items()}
    widest = min(row for row, width in widths.items() if width == max(widths.values()))
    return widest, widths[widest] / 2, (max(sewn) - min(sewn) + 1) / 2


def longest_run(columns: list[int]) -> int:
    """How many numbers in a row there are at the most."""
    runs = groupby(enumerate(sorted(columns)), lambda pair: pair[1] - pair[0])
    return max(len(list(run)) for _, run in runs)


def _ends(seed: int) -> list[list[list[int]]]:
    return [
        [[column + (row + column) % 2, row], [column + 1 - (row + column) % 2, row + 1]]
        for row, column in sorted(random_hole(seed, 9, 9))
    ]


def test_time_is_knots_and_allowances_that_the_reader_sees() -> None:
    mended = planned(
        "shape: {kind: diamond, across: 5, down: 4}",
        "mesh: 120 mm, twine: {diameter: 3 mm}",
        "pace: 4, needle: 3 m",
    )
    data = as_data(mended)
    each = {effort["what"]: effort for effort in data["efforts"]}
    assert each["knots"] == {"what": "knots", "count": data["counts"]["knots"], "knot_times": 1}
    assert each["cuts"]["count"] == data["counts"]["cuts"] > 0
    assert each["starts"]["count"] == 1
    assert each["refills"]["count"] == len(data["twine"]["refill_after"]) > 0
    total = sum(effort["count"] * effort["knot_times"] for effort in data["efforts"])
    assert data["minutes"] == pytest.approx(total / 4, abs=0.05)
    assert (
        "Time at 4 knots a minute; assumed beside the knots, in knot-times: 0.5 for each cut, "
        "4 for each start, 8 for each refill." in data["notes"]
    )
