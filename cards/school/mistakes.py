"""A trim with one mistake in it: a cut left out, or one too many, and nothing else amiss."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cards.grid import Bar, Hole
from cards.grid.islands import with_islands
from cards.school.chance import Chance
from cards.trim import Cut, Trim
from cards.trim.check import judged

REACH = 2  # bars round the hole in which a second way to put it right is looked for


def planted(chance: Chance, found: Hole, cuts: Sequence[Cut], best: Trim) -> tuple[Bar, ...] | None:
    """Plant one mistake in a trim.

    Parameters
    ----------
    chance
        What chooses it.
    found
        The broken bars.
    cuts, best
        The trim, its cuts in order.

    Returns
    -------
    tuple of Bar
        Cuts that cannot be sewn, and that one change alone puts right: one cut more, or one less.
        None where no mistake is like that.
    """
    right = [cut.bar for cut in cuts]
    loose = with_islands(found)[1]
    left_out = [(bar, 0) for bar in right]
    too_many = [(bar, chance.below(len(right) + 1)) for bar in _beside(best.trimmed)]
    for changes in (left_out, too_many) if chance.below(3) else (too_many, left_out):
        for bar, place in chance.mixed(changes)[:TRIED]:
            wrong = [own for own in right if own != bar] if bar in right else right.copy()
            if bar not in right:
                wrong.insert(place, bar)
            if not wrong or len(judged(found, wrong, best).loose) > loose:
                continue  # web cut loose would be a second mistake
            if mending_bars(found, wrong, best) == [bar]:
                return tuple(wrong)
    return None


TRIED = 8


def _beside(trimmed: Hole) -> list[Bar]:
    """The whole bars at the knots round a trimmed hole."""
    return [
        bar
        for bar in _within(trimmed, 1)
        if not trimmed.misses(*bar) and any(trimmed.missing_at(knot) for knot in bar.ends)
    ]


def _within(hole: Hole, reach: int) -> Iterator[Bar]:
    for row in range(hole.top - reach, hole.bottom + reach):
        for column in range(hole.left - reach, hole.right + reach):
            yield Bar(row, column)


def mending_bars(found: Hole, cuts: Sequence[Bar], best: Trim) -> list[Bar]:
    """The bars of which one change, to cut it or to leave it whole, makes a trim one can sew.

    With no more twines than the best trim has. None where the cuts can be sewn as they are.
    """
    if judged(found, cuts, best).sewable:
        return []
    twines = len(best.runs)
    missing, loose = with_islands(found.plus(cuts))
    odd = {knot for knot in missing.knots() if missing.missing_at(knot).bit_count() & 1}
    bars = []
    for bar in _within(missing, REACH):
        if found.misses(*bar):
            continue
        changed = [own for own in cuts if own != bar] if bar in cuts else [*cuts, bar]
        # A change turns odd knots even and even ones odd, and each twine needs two odd ones. Where
        # it cuts web loose it changes more than its own two knots.
        fits = len(odd ^ set(bar.ends)) <= 2 * twines
        if not fits and with_islands(found.plus(changed))[1] == loose:
            continue
        check = judged(found, changed, best)
        if check.sewable and check.twines <= twines:
            bars.append(bar)
    return bars
