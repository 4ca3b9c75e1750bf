"""A hole given as a walk round it: read the counts, and say where a walk goes wrong."""

from __future__ import annotations

import re
from typing import Iterator

from cards.errors import nearest, shown
from cards.grid.drawn import drawn
from cards.grid.walk import (
    FULL_TURN,
    HEADINGS,
    WALK_LIMIT,
    Clash,
    Walk,
    WalkError,
    clash_of,
    hole_inside,
)
from cards.spec.given import Given, Wrong, check_size
from cards.spec.lined import Path
from cards.spec.model import HoleSpec
from cards.spec.slips import Slip, likely_slips

FIELD: Path = ("walk",)
COUNTS = "1, 2, 3 or 4 bars left at the knot"
RULE = "Fours must be twos + twice the ones + 4"
# A drawing of a likely slip is shown up to this size, in bars across and rows down.
DRAWING_LIMIT = (70, 30)

_TIMES = re.compile(r"\s*[xX×*]\s*")
_COUNT = re.compile(r"(?:([0-9]{1,6})x)?([0-9]{1,6})")


def walked(spec: HoleSpec) -> Given:
    """Read a hole given as a walk.

    The hole is placed as in the smallest drawing with a whole bar round it: its uppermost broken
    bar in row 1, its leftmost in column 1 or 2.

    Raises
    ------
    Wrong
        When it does not close, crosses itself, goes round a whole mesh or a hole beyond the limits.
    """
    walk = Walk(read_counts(spec.walk), _first(spec.first))
    if not walk.counts:
        raise Wrong(FIELD, "no counts", "the bars left at each knot on the way round the hole")
    if not walk.closes:
        raise _open(walk)
    clash = clash_of(walk)
    if clash:
        raise _crossed(walk, clash)
    xs, ys = zip(*walk.knots)
    check_size(max(xs) - min(xs) - 2, max(ys) - min(ys) - 2, FIELD)
    try:
        hole = hole_inside(walk).cornered()
    except WalkError:
        raise Wrong(
            FIELD,
            "a walk round a whole mesh",
            "a walk with a bar broken inside it",
            "One broken bar is 4 3 4 4 3 4.",
        ) from None
    return Given(hole, (hole.left - 1, 0))


def _first(first: str | None) -> int:
    if first not in HEADINGS:
        known = ", ".join(HEADINGS)
        raise Wrong(
            ("first",),
            shown(first),
            f"the way of the walk's first step: {known}",
            nearest(first, HEADINGS) if first else "Without it the hole could lie any way round.",
        )
    return HEADINGS.index(first)


# Reading


def read_counts(walk: str | list[str] | None) -> tuple[int, ...]:
    """Read the counts of a walk as they are written; raise `Wrong` at the first that is none."""
    counts: list[int] = []
    for field, below, token in _tokens(walk or ""):
        match = _COUNT.fullmatch(token)
        times, count = (int(match[1] or 1), int(match[2])) if match else (0, 0)
        if times == 0 or not 1 <= count <= 4:
            before = " ".join(map(str, counts[-3:]))
            raise Wrong(
                field,
                f"{shown(token)} as count {len(counts) + 1}"
                + (f", after {before}" if before else ""),
                COUNTS,
                _why_not(token, match),
                below,
            )
        if len(counts) + times > WALK_LIMIT:
            raise Wrong(
                field,
                f"more than {WALK_LIMIT} knots",
                f"at most {WALK_LIMIT} on one walk",
                "Give a large tear in parts, a spec for each.",
                below,
            )
        counts += [count] * times
    return tuple(counts)


def _tokens(walk: str | list[str]) -> Iterator[tuple[Path, int, str]]:
    """Each count or run of counts, with its field and how many lines below it stands."""
    parts = (
        [(FIELD, walk)] if isinstance(walk, str) else [((*FIELD, i), t) for i, t in enumerate(walk)]
    )
    for field, text in parts:
        # Text of several lines stands under `walk: |`, from the line below on.
        block = isinstance(walk, str) and "\n" in text
        for at, line in enumerate(text.split("\n"), 1):
            for token in re.split(r"[\s,;]+", _TIMES.sub("x", line)):
                if token:
                    yield field, at if block else 0, token


def _why_not(token: str, match: re.Match[str] | None) -> str:
    if match and match[1] is None and int(match[2]) == 0:
        return "The walk goes along whole bars only, so every knot on it has at least one."
    if re.fullmatch("[1-4]{2,}", token):
        return "Write a space between two counts."
    if "x" in token:
        return "Write 5x3 for five knots with 3 bars each."
    if match:
        return "A knot has four bars; count the one you came along and the one you go on along."
    return "Counts stand apart by spaces, commas or new lines; 5x3 is five knots of 3."


# What is wrong


def _open(walk: Walk) -> Wrong:
    """The fault of a walk that does not close, with the likely slips."""
    said = _misses(walk)
    if walk.turning != -FULL_TURN:
        said += [*_rule(walk), *_slips(walk)]
    return Wrong(
        FIELD,
        f"a walk of {len(walk.counts)} counts that does not close",
        "a way round that ends where and as it began",
        "\n".join(["", *(f"  {line}" for line in said)]),
    )


def _misses(walk: Walk) -> list[str]:
    across, down = walk.gap
    ways = [
        f"{half_meshes(abs(by))} {way[by > 0]}"
        for by, way in (
            (across, ("to the left of", "to the right of")),
            (down, ("above", "below")),
        )
        if by
    ]
    began, ends = HEADINGS[walk.first], HEADINGS[walk.headings[-1]]
    place = f"It ends {' and '.join(ways)}" if ways else "It ends at"
    facing = "as it began" if began == ends else f"{ends} instead of {began}"
    said = [f"{place} the knot it set out from, facing {facing}."]
    if walk.turning == -FULL_TURN:
        said.append(
            "It turns round to the left, so the hole would lie outside it: "
            "walk with the hole on the right hand."
        )
    elif began == ends and walk.turning != FULL_TURN:
        turns = walk.turning // FULL_TURN
        said.append(f"It turns {turns} times round; a walk round a hole turns once, to the right.")
    return said


def half_meshes(number: int) -> str:
    """Say a distance of so many half meshes.

    Examples
    --------
    >>> [half_meshes(n) for n in (1, 2, 3, 4)]
    ['half a mesh', '1 mesh', '1 1/2 meshes', '2 meshes']
    """
    whole, half = divmod(number, 2)
    if not whole:
        return "half a mesh"
    return f"{whole}{' 1/2' if half else ''} {'mesh' if number == 2 else 'meshes'}"


def _rule(walk: Walk) -> list[str]:
    fours, twos, ones = (walk.counts.count(count) for count in (4, 2, 1))
    if walk.turning == FULL_TURN:
        one = all(abs(by) == 1 for by in walk.gap)
        slip = "a count of 3 is likely missed or doubled" if one else "several counts are wrong"
        return [f"{RULE}, and they are: so {slip}."]
    asked = f"{twos} + {2 * ones} + 4 = {twos + 2 * ones + 4}"
    return [f"{RULE}; here that is {asked}, and the fours counted are {fours}."]


def _slips(walk: Walk) -> list[str]:
    slips = likely_slips(walk)
    if not slips:
        return ["No single slip explains it: count again, and mark the knot you set out from."]
    said = ["Likely slips, the likeliest first; count again there:"]
    for number, slip in enumerate(slips, 1):
        said.append(f"{number}. {slip_text(slip, walk.counts)}")
        across, down = slip.hole.right - slip.hole.left, len(slip.hole.rows)
        if across < DRAWING_LIMIT[0] and down < DRAWING_LIMIT[1]:
            said += [f"     {row}" for row in drawn(slip.hole)]
    return said


def slip_text(slip: Slip, counts: tuple[int, ...]) -> str:
    """Say in one line which slip, where, and what to put there."""
    total = len(counts)
    if slip.kind == "one count wrong":
        where = f"count {slip.place} of {total}"
        return (
            f"One count wrong: {where} may be {slip.count}, not {counts[slip.place - 1]}: "
            f"{_round(counts, slip.place, slip.place)}"
        )
    if slip.kind == "one knot left out":
        return (
            f"One knot left out: a {slip.count} {_gap_at(slip, total)}: "
            f"{_round(counts, slip.place, slip.place - 1, slip.count)}"
        )
    first, last = slip.place, slip.last
    if first == last:
        return (
            f"One knot counted twice: the {slip.count} it sets out from, as the first count and "
            f"again as the last: {_round(counts, first, first)}"
        )
    return (
        f"One knot counted twice: a {slip.count} among counts {first} to {last} of {total}: "
        f"{_round(counts, first, last)}"
    )


def _gap_at(slip: Slip, total: int) -> str:
    if slip.last > slip.place + 1:
        return f"beside counts {slip.place} to {slip.last - 1} of {total}"
    if slip.place == 1:
        return "before the first count"
    if slip.place > total:
        return "after the last count"
    return f"between counts {slip.place - 1} and {slip.place} of {total}"


def _round(counts: tuple[int, ...], first: int, last: int, added: int | None = None) -> str:
    """The counts round a place, the place in brackets."""
    before = [str(count) for count in counts[max(0, first - 4) : first - 1]]
    if added is not None:
        middle, after = [f"[+{added}]"], counts[first - 1 : first + 2]
    else:
        run = counts[first - 1 : last]
        shown_run = " ".join(map(str, run)) if len(run) <= 6 else f"{len(run)}x{run[0]}"
        middle, after = [f"[{shown_run}]"], counts[last : last + 3]
    return " ".join([*before, *middle, *map(str, after)])


def _crossed(walk: Walk, clash: Clash) -> Wrong:
    total = len(walk.counts)
    if clash.kind == "again":
        found = (
            f"a walk that closes, but its step {clash.place} goes along the same bar the same way "
            f"as its step {clash.against}"
        )
    else:
        x, y = walk.knots[clash.against]
        ends = (walk.knots[clash.place - 1], walk.knots[clash.place])
        far = next(end for end in ends if end != (x, y))
        way = f"{'down' if far[1] > y else 'up'}-{'right' if far[0] > x else 'left'}"
        found = (
            f"a walk that closes but crosses itself: count {clash.against} has the bar {way} of "
            f"its knot as lost, and step {clash.place} of {total} goes along it"
        )
    return Wrong(
        FIELD,
        found,
        "a way round without crossing",
        "Two or more counts are wrong: count again, and mark the knot you set out from.",
    )
