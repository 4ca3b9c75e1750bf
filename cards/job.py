"""The plan: all of the job, from the stages before it, and the plan as data."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from hashlib import blake2b
from typing import Any, Literal, NamedTuple

import msgspec

from cards.grid import Hole
from cards.reckon import (
    LAYING_IN,
    Comparison,
    EndCheck,
    Method,
    Reckoning,
    compare,
    end_checks,
    reckon,
)
from cards.sew import Hand, SeamSide, Sewing, Tied, seam_sides, sew, sew_seam
from cards.spec import Spec
from cards.trim import TWINE_COST, Cut, Start, Trim, Twines, order_cuts, other, trim
from cards.trim.cuts import STAGE
from cards.trim.patch import Patch, fit_patch, order_patch_cuts
from cards.units import half_up, millimetres, whole_minutes

FORMAT = "threebar.plan/1"


class Stage(NamedTuple):
    """A stage of a twine: its cuts, then the rows `first` to `last` of that twine."""

    order: int
    stage: int
    cuts: tuple[int, ...]
    first: int
    last: int


@dataclass(frozen=True)
class Plan:
    """The plan of one mend.

    Attributes
    ----------
    spec
        What was asked for.
    hand
        The hand it is for.
    trim
        The bars to cut and to sew.
    cuts
        The cuts in order.
    sewing
        The knots in order.
    reckoning
        Twine, needles and time.
    patch
        The patch, where one is sewn in: `trim` then has the bars of its seam and no run, `sewing`
        one closed twine.
    comparison
        Mend and patch side by side, where both were planned.
    """

    spec: Spec
    hand: Hand
    trim: Trim
    cuts: tuple[Cut, ...]
    sewing: Sewing
    reckoning: Reckoning
    patch: Patch | None = None
    comparison: Comparison | None = None

    @property
    def method(self) -> Method:
        """How the hole is made whole."""
        return "patch" if self.patch else "mend"

    @property
    def seam_sides(self) -> tuple[SeamSide, ...]:
        """The sides of a patch's seam in the order of sewing; none where it is a mend."""
        if not self.patch:
            return ()
        going = self.sewing.twines[0].rows[0].going
        return seam_sides(self.patch, "left" if going == "right" else "right")

    @cached_property
    def meshes(self) -> int:
        """How many meshes the mended hole has, those at its rim included.

        Counted on the trimmed hole, without the sewing: the meshes that touch a bar to be
        sewn.
        """
        return count_meshes(self.trim.trimmed)

    @cached_property
    def refilled_after(self) -> tuple[Tied, ...]:
        """The knots after which the needle is refilled."""
        return tuple(
            twine.knots[n - twine.first]
            for twine in self.sewing.twines
            for n in self.reckoning.refills
            if twine.first <= n <= twine.last
        )

    @property
    def tongue_bars(self) -> int:
        """How many good bars between two breaks are cut out."""
        return sum(cut.does == "cuts out the tongue" for cut in self.cuts)

    @cached_property
    def stages(self) -> tuple[Stage, ...]:
        """The stages in the order they are cut and sewn; a twine has one at the least.

        A row is sewn once the next one too is trimmed: its loops hang free then.
        """
        found: list[Stage] = []
        for order, (twine, run) in enumerate(zip(self.sewing.twines, self.trim.runs)):
            cuts: dict[int, list[int]] = {}
            for cut in self.cuts:
                if cut.before == order:
                    cuts.setdefault(cut.stage, []).append(cut.n)
            own = sorted(cuts) or [0]
            limits = [run.top + stage * STAGE - 1 for stage in own[1:]] + [run.bottom]
            first = 1
            for stage, limit in zip(own, limits):
                last = sum(row.row < limit for row in twine.rows)
                found.append(Stage(order, stage, tuple(cuts.get(stage, ())), first, last))
                first = last + 1
        return tuple(found)

    @cached_property
    def end_checks(self) -> tuple[EndCheck, ...]:
        """The counts of meshes to check each mended place by, the largest first."""
        return end_checks(self.trim.trimmed)

    @cached_property
    def number(self) -> str:
        """The card number: ten letters and digits from all that the plan says.

        Two plans that differ have the same number once in 2 ** 50.
        """
        written = {
            **as_data(self),
            "spec": [self.spec.author, self.spec.date, self.spec.revision, self.spec.note],
            "net": [self.spec.net.panel, str(self.spec.net.mesh), repr(self.spec.net.twine)],
            "mender": repr(self.spec.mender),
        }
        return card_number(msgspec.json.encode(written))

    def _repr_svg_(self) -> str:
        from cards.picture.svg import svg_text
        from cards.picture.web import picture_of

        return svg_text(picture_of(self))


# Digits and letters without I, L, O and U, that nobody misreads.
_DIGITS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def card_number(content: bytes) -> str:
    """A card number from all that a card says.

    Examples
    --------
    >>> card_number(b"a card")
    'CF11S-Y3W4P'
    """
    bits = int.from_bytes(blake2b(content, digest_size=8).digest(), "big")
    letters = "".join(_DIGITS[bits >> shift & 31] for shift in range(0, 50, 5))
    return f"{letters[:5]}-{letters[5:]}"


def plan(
    spec: Spec,
    *,
    hand: Hand | None = None,
    start: Start | None = None,
    twines: Twines = "fewest-cost",
    method: Method | Literal["auto"] | None = None,
) -> Plan:
    """Plan a mend, or the sewing in of a patch.

    Parameters
    ----------
    spec
        A checked spec.
    hand
        The hand that sews; the spec's where None.
    start
        The side to start on; the spec's where None. "auto" takes the side with fewer cuts; of
        as many the one with a start at the top of the hole; where both have that, the left for a
        right-hander, the right for a left-hander.
    twines
        "one" for a single twine; "fewest-cost" for the least bars to sew + cost of the twines.
    method
        Mend or patch; the spec's where None. "auto" takes what needs less time, the mend where both
        need the same.

    Returns
    -------
    Plan
        With both compared, unless a mend is asked for.

    Examples
    --------
    >>> from cards import load_text
    >>> spec, = load_text("hole: {shape: {kind: slit across, across: 2}}")
    >>> plan(spec).sewing.knots
    5
    """
    hand = hand or spec.mender.hand
    start, method = start or spec.start, method or spec.method
    mended = _mend(spec, hand, start, twines)
    if method == "mend":
        return mended
    patched = _patch(spec, hand, start, mended.trim)
    freed = patched.patch.patch_bars_cut if patched.patch else 0
    comparison = compare(mended.reckoning, patched.reckoning, spec.mender.pace, freed)
    wanted = comparison.wins if method == "auto" else method
    return replace(patched if wanted == "patch" else mended, comparison=comparison)


def _mend(spec: Spec, hand: Hand, start: Start, twines: Twines) -> Plan:
    twine_cost = TWINE_COST if spec.twine_cost is None else spec.twine_cost
    trimmed = trim(spec.hole, start, other(hand), twines, twine_cost)
    sewing, cuts = sew(trimmed, hand), order_cuts(trimmed)
    return Plan(spec, hand, trimmed, cuts, sewing, reckon(spec, sewing, len(cuts)))


def _patch(spec: Spec, hand: Hand, start: Start, mended: Trim) -> Plan:
    side = other(hand) if start == "auto" else start
    patch = fit_patch(spec.hole, side)
    sewing = Sewing((sew_seam(patch, side, hand),))
    cuts = order_patch_cuts(patch, side)
    reckoning = reckon(spec, sewing, len(cuts) + patch.patch_bars_cut, LAYING_IN)
    bars = patch.seam.size
    trimmed = replace(mended, trimmed=patch.seam, runs=(), cost=bars, bound=bars)
    return Plan(spec, hand, trimmed, cuts, sewing, reckoning, patch)


def count_meshes(hole: Hole) -> int:
    """Count the meshes that have at least one missing bar among their four.

    The mesh centred on column x between lines y and y + 2, whose middle is at line y + 1 with x + y
    even, has two bars in row y and two in row y + 1, at columns x - 1 and x.
    """
    count = 0
    for row in range(hole.top - 1, hole.bottom):
        # Middles of meshes at line row + 1 stand at columns x with x + row even.
        last = None
        for left, right in sorted((*hole.row(row), *hole.row(row + 1))):
            first = left if last is None else max(left, last + 1)
            first += (first + row) & 1
            if first <= right:
                count += (right - first) // 2 + 1
                last = first + (right - first) // 2 * 2
    return count


def as_data(plan: Plan) -> dict[str, Any]:
    """The plan as the plain values that JSON holds, in a stable order.

    Knots are ``[x, y]`` in half meshes, bars ``[upper knot, lower knot]``, lengths m, mass g.
    A figure that cannot be reckoned from the spec is None.
    """
    spec, trim, reckoning = plan.spec, plan.trim, plan.reckoning
    return {
        "format": FORMAT,
        "title": spec.title,
        "hand": plan.hand,
        "broken": [[list(knot) for knot in bar.ends] for bar in trim.found.bars()],
        "cuts": [
            {"n": cut.n, "bar": [list(knot) for knot in cut.bar.ends], "does": cut.does}
            for cut in plan.cuts
        ],
        "twines": [
            {
                "name": twine.name,
                "path": [list(at) for at in twine.path],
                "knots": [
                    {
                        "n": knot.n,
                        "at": list(knot.at),
                        "stitch": knot.stitch,
                        "going": knot.going,
                        "needle": knot.needle,
                    }
                    for knot in twine.knots
                ],
            }
            for twine in plan.sewing.twines
        ],
        "counts": {
            "broken": trim.found.size,
            "cuts": len(plan.cuts),
            "bars": plan.sewing.bars,
            "knots": plan.sewing.knots,
            "meshes": plan.meshes,
            "twines": len(plan.sewing.twines),
        },
        "twine": {
            "length_m": _rounded(reckoning.length, 3),
            "mass_g": _rounded(reckoning.mass, 1),
            "needles": reckoning.needles,
            "refill_after": list(reckoning.refills),
            "diameter_mm": _rounded(reckoning.diameter, 2),
            "about": reckoning.about,
        },
        "check": {
            "bar_mm": _rounded(reckoning.bar, 2),
            "mesh_mm": reckoning.mesh_range and list(reckoning.mesh_range),
            "row": plan.end_checks[0].row,
            "across_meshes": plan.end_checks[0].across,
            "down_meshes": plan.end_checks[0].down,
            "places": len(plan.end_checks),
        },
        "minutes": _rounded(reckoning.minutes, 1),
        "efforts": [
            {"what": effort.what, "count": effort.count, "knot_times": effort.each}
            for effort in reckoning.efforts
        ],
        "method": plan.method,
        "patch": _patch_as_data(plan),
        "comparison": _comparison_as_data(plan.comparison),
        "notes": notes(plan),
    }


def patch_hole_as_data(patch: Patch) -> dict[str, Any]:
    """The rectangle for a patch: its size in meshes, its columns and rows of bars."""
    return {
        "across": patch.hole_across,
        "down": patch.hole_down,
        "columns": [patch.left, patch.right],
        "rows": [patch.top, patch.bottom],
    }


def _patch_as_data(plan: Plan) -> dict[str, Any] | None:
    """A patch: its size in meshes, how to cut it from new web, and the sides of its seam."""
    patch = plan.patch
    if not patch:
        return None
    across = {"cut": "T", "cuts": patch.across, "points": patch.across}
    down = {"cut": "N", "cuts": patch.down, "siders": patch.down}
    return {
        "across": patch.across,
        "down": patch.down,
        "hole": {**patch_hole_as_data(patch), "comes_away": patch.away},
        "edges": {"top": across, "bottom": across, "left": down, "right": down},
        "corners": [list(knot) for knot in patch.corners],
        "bars_cut": patch.patch_bars_cut,
        "sides": [side._asdict() for side in plan.seam_sides],
    }


def _comparison_as_data(comparison: Comparison | None) -> dict[str, Any] | None:
    """Mend and patch side by side: lengths m, times minutes, paces knots a minute."""
    if not comparison:
        return None
    return {
        **{
            column.method: {
                "knots": column.knots,
                "cuts": column.cuts,
                "length_m": _rounded(column.length, 3),
                "minutes": _rounded(column.minutes, 1),
            }
            for column in (comparison.mend, comparison.patch)
        },
        "wins": comparison.wins,
        "pace": comparison.pace,
        "pace_assumed": comparison.assumed,
        "laying_in_minutes": LAYING_IN,
        "tips_at_pace": _rounded(comparison.tips_at, 2),
    }


def notes(plan: Plan) -> list[str]:
    """What a reader of the plan has to know beside it, in plain words."""
    trim = plan.trim
    said = []
    if trim.islands:
        bars = "1 bar hangs" if trim.islands == 1 else f"{trim.islands} bars hang"
        said.append(f"{bars} on nothing and count{'s' * (trim.islands == 1)} as broken.")
    if tongue := plan.tongue_bars:
        bars = "1 good bar" if tongue == 1 else f"{tongue} good bars"
        said.append(f"Cut out between two breaks of a row: {bars}.")
    if trim.bound < trim.cost:
        said.append(
            "The hole is too large to prove that no trim costs less: bars to sew and twines "
            f"come to {trim.cost}, and no trim comes to less than {trim.bound}."
        )
    if plan.spec.cuts:
        said.append("The cuts in the spec are not used: the plan makes its own.")
    for name in plan.reckoning.lacking:
        said.append(f"Not reckoned from: {name} is not given.")
    if plan.spec.mender.needle and plan.reckoning.length and plan.reckoning.needles is None:
        said.append("The needle holds too little twine for one knot.")
    return said + _notes_of_reckoning(plan) + _notes_of_patch(plan)


def _notes_of_reckoning(plan: Plan) -> list[str]:
    """What is assumed or does not fit, in the units of the spec's writer."""
    net, reckoning, said = plan.spec.net, plan.reckoning, []
    if reckoning.about and reckoning.diameter:
        thickness = millimetres(reckoning.diameter, net.inches)
        said.append(
            f"Twine thickness is not given: reckoned with about {thickness}, from material and "
            "Rtex."
        )
    width = plan.spec.mender.needle_width
    if reckoning.passes == "not at all":
        said.append(f"A needle {width} wide does not pass a mesh of {net.mesh}.")
    elif reckoning.passes == "tightly":
        said.append(
            f"A needle {width} wide is wider than a bar is long: it passes only where the mesh is "
            "pulled long."
        )
    pace = plan.spec.mender.pace
    if reckoning.minutes is not None and pace is not None:
        more = [
            f"{effort.each:g} for each {_ONE[effort.what]}"
            for effort in reckoning.efforts
            if effort.what != "knots" and effort.count
        ]
        beside = f", and {reckoning.laying_in:g} minutes to lay the patch in"
        said.append(
            f"Time at {_pace(pace)}; assumed beside the knots, in "
            f"knot-times: {', '.join(more)}{beside if plan.patch else ''}."
        )
    return said


def _notes_of_patch(plan: Plan) -> list[str]:
    """How to cut and lay in the patch, and which of mend and patch wins."""
    patch, both, said = plan.patch, plan.comparison, []
    if patch:
        said.append(
            f"Patch of {patch.across} by {patch.down} meshes from new web. T-cuts along the top, "
            f"points left there: {patch.across}; along the bottom as many. N-cuts down each side, "
            f"siders left there: {patch.down}. Mark its top: its rows of twine run sideways, as "
            "those of the web."
        )
    if both:
        pace = f"{_pace(both.pace)}{' (assumed)' if both.assumed else ''}"
        said.append(
            f"At {pace} a mend takes {whole_minutes(both.mend.minutes)} minutes, a patch "
            f"{whole_minutes(both.patch.minutes)} ({LAYING_IN:g} of them to lay it in, assumed): "
            f"{'the patch' if both.wins == 'patch' else 'the mend'} wins. The twine of the new web "
            "is not counted."
        )
        said.append(
            "The mend wins at every pace."
            if both.tips_at is None
            else f"The balance tips at {_pace(half_up(both.tips_at, 1))}: faster than that mending "
            "wins, slower the patch."
        )
    return said


def _pace(pace: float) -> str:
    return f"{pace:g} {'knot' if pace == 1 else 'knots'} a minute"


_ONE = {"cuts": "cut", "starts": "start", "refills": "refill"}


def _rounded(value: float | None, places: int) -> float | None:
    return None if value is None else half_up(value, places)
