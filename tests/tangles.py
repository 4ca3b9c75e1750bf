"""Knot theory for the tests of the stitches: the Kauffman bracket of strands with loose ends.

Written for itself, not on the drawing code: it knows only which strand passes over which, in what
order, and the sign of each crossing.

L. H. Kauffman, State models and the Jones polynomial, Topology 26, 1987 (from memory): a crossing
is A times one smoothing plus 1/A times the other, a circle is -A^2 - A^-2, and
(-A^3)^(-writhe) makes it independent of how the strands are laid down.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import product

Polynomial = dict[int, int]  # power of A: coefficient
Code = dict[str, list[tuple[int, str]]]  # strand: its crossings in order, each "over" or "under"


def times(a: Polynomial, b: Polynomial) -> Polynomial:
    made: Polynomial = defaultdict(int)
    for (i, x), (j, y) in product(a.items(), b.items()):
        made[i + j] += x * y
    return {power: c for power, c in sorted(made.items()) if c}


def power(a: Polynomial, n: int) -> Polynomial:
    made: Polynomial = {0: 1}
    for _ in range(n):
        made = times(made, a)
    return made


def mirror(invariant: dict) -> dict:
    return {
        pairing: {-power: c for power, c in reversed(polynomial.items())}
        for pairing, polynomial in invariant.items()
    }


CIRCLE: Polynomial = {2: -1, -2: -1}


def bracket(code: Code, signs: dict[int, int], closed: tuple[str, ...] = ()) -> dict:
    """The bracket, for each way in which the loose ends can hang together.

    `closed` names strands whose two ends are joined. Ends are written (strand, 0) and (strand, 1).
    """
    arcs: dict[tuple[int, str], tuple] = {}
    ends: dict[tuple, tuple[str, int]] = {}
    for strand, visits in code.items():
        for n, (crossing, way) in enumerate(visits):
            after = n + 1
            if strand in closed and after == len(visits):
                after = 0
            arcs[crossing, way] = ((strand, n), (strand, after))
        if strand not in closed:
            ends[strand, 0] = (strand, 0)
            ends[strand, len(visits)] = (strand, 1)
    every_arc = {arc for pair in arcs.values() for arc in pair} | set(ends)
    total: dict = defaultdict(lambda: defaultdict(int))
    numbers = sorted(signs)
    for state in product((1, -1), repeat=len(numbers)):
        joins = []
        for crossing, smoothing in zip(numbers, state):
            under_in, under_out = arcs[crossing, "under"]
            over_in, over_out = arcs[crossing, "over"]
            # counterclockwise from the arc on which the under strand comes
            if signs[crossing] > 0:
                a, b, c, d = under_in, over_out, under_out, over_in
            else:
                a, b, c, d = under_in, over_in, under_out, over_out
            joins += [(a, b), (c, d)] if smoothing == 1 else [(a, d), (b, c)]
        parent = {arc: arc for arc in every_arc}

        def root(arc, parent=parent):
            while parent[arc] != arc:
                arc = parent[arc]
            return arc

        for p, q in joins:
            parent[root(p)] = root(q)
        groups: dict = defaultdict(list)
        for arc in every_arc:
            groups[root(arc)] += [ends[arc]] if arc in ends else []
        pairing = frozenset(frozenset(group) for group in groups.values() if group)
        circles = sum(1 for group in groups.values() if not group)
        for exponent, c in times({sum(state): 1}, power(CIRCLE, circles)).items():
            total[pairing][exponent] += c
    return {
        pairing: {e: c for e, c in sorted(polynomial.items()) if c}
        for pairing, polynomial in total.items()
        if any(polynomial.values())
    }


def own_writhe(code: Code, signs: dict[int, int]) -> int:
    """Sum of the signs of crossings of strands with themselves; no way of walking changes it."""
    return sum(
        signs[n]
        for visits in code.values()
        for n in {n for n, _ in visits}
        if [m for m, _ in visits].count(n) == 2
    )


def invariant(code: Code, signs: dict[int, int], closed: tuple[str, ...] = ()) -> dict:
    """The bracket made independent of kinks: the same for two drawings of one knot.

    Ends are told apart by their strand only, so that a knot and the same knot seen from behind
    give the same.
    """
    writhe = own_writhe(code, signs)
    kink = {-3: -1} if writhe > 0 else {3: -1}
    unkinked = power(kink, abs(writhe))
    made: dict = {}
    for pairing, polynomial in bracket(code, signs, closed).items():
        among = sorted("".join(sorted(strand for strand, _ in pair)) for pair in pairing)
        key = "; ".join(among)
        assert key not in made, "two pairings of one kind: strands drawn on no plane"
        made[key] = times(polynomial, unkinked)
    return made


def jones_of_sides(code: Code, signs: dict[int, int]) -> Polynomial:
    """The Jones polynomial, in powers of t, of the knot made by joining the ends at the sides.

    The web's beginning is joined with the twine's beginning and the web's end with the twine's
    end, as they lie beside each other in a pickup above: one knot, walked along the web and back
    along the twine.
    """
    total: Polynomial = defaultdict(int)
    for pairing, polynomial in bracket(code, signs).items():
        apart = any(len({strand for strand, _ in pair}) == 1 for pair in pairing)
        for e, c in times(polynomial, {0: 1} if apart else CIRCLE).items():
            total[e] += c
    between = sum(signs.values()) - own_writhe(code, signs)
    writhe = own_writhe(code, signs) - between
    kink = {-3: -1} if writhe > 0 else {3: -1}
    made = times({e: c for e, c in total.items() if c}, power(kink, abs(writhe)))
    assert all(e % 4 == 0 for e in made)
    return {-e // 4: c for e, c in made.items()}
