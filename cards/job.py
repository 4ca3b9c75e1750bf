"""The plan: all of the job, from the stages before it, and the plan as data."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b
from typing import Any

import msgspec

from cards.grid import Hole
from cards.reckon import Reckoning, reckon
from cards.sew import Hand, Sewing, sew
from cards.spec import Spec
from cards.trim import TWINE_COST, Cut, Start, Trim, Twines, order_cuts, other, trim

FORMAT = "threebar.plan/1"


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
    """

    spec: Spec
    hand: Hand
    trim: Trim
    cuts: tuple[Cut, ...]
    sewing: Sewing
    reckoning: Reckoning

    @cached_property
    def meshes(self) -> int:
        """How many meshes the mended hole has, those at its rim included.

        Counted on the trimmed hole, without the sewing: the meshes that touch a bar to be
        sewn.
        """
        return count_meshes(self.trim.trimmed)

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
) -> Plan:
    """Plan a mend.

    Parameters
    ----------
    spec
        A checked spec.
    hand
        The hand that sews; the spec's where None.
    start
        The side to start on; the spec's where None. "auto" takes the side with fewer cuts, and
        where both have the same the left for a right-hander, the right for a left-hander.
    twines
        "one" for a single twine; "fewest-cost" for the least bars to sew + cost of the twines.

    Returns
    -------
    Plan

    Examples
    --------
    >>> from cards import load_text
    >>> spec, = load_text("hole: {shape: {kind: slit across, across: 2}}")
    >>> plan(spec).sewing.knots
    5
    """
    hand = hand or spec.mender.hand
    prefer = other(hand)
    twine_cost = TWINE_COST if spec.twine_cost is None else spec.twine_cost
    trimmed = trim(spec.hole, start or spec.start, prefer, twines, twine_cost)
    sewing = sew(trimmed, hand)
    return Plan(spec, hand, trimmed, order_cuts(trimmed), sewing, reckon(spec, sewing))


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
        },
        "minutes": _rounded(reckoning.minutes, 1),
        "notes": notes(plan),
    }


def notes(plan: Plan) -> list[str]:
    """What a reader of the plan has to know beside it, in plain words."""
    trim = plan.trim
    said = []
    if trim.islands:
        said.append(f"{trim.islands} bars hang on nothing and count as broken.")
    if trim.tongues:
        said.append(f"A tongue is cut out: {trim.tongues} good bars.")
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
    return said


def _rounded(value: float | None, places: int) -> float | None:
    return None if value is None else round(value, places)
