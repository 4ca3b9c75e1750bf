"""Cards of a patch show all that is cut and sewn, on every paper, for both hands and languages.

That a patch is sewn once round, from a point at its top: common practice, no source.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

import pytest

from cards import as_data, load_text, plan
from cards.job import Plan
from cards.picture import Picture
from cards.picture.stitches import stages
from cards.sheet import compose
from cards.words import words
from tests import print_craft as craft
from tests.holes import random_hole
from tests.print_craft import PAPERS
from tests.rules import missing_at

SIZES = {"least": (2, 2), "small": (5, 4), "large": (31, 21)}
NET = "net: {panel: lower belly, mesh: 120 mm, twine: {material: PE, diameter: 3 mm, rtex: 4000}}"


@lru_cache(maxsize=32)
def patched(across: int, down: int, hand: str = "right") -> Plan:
    (spec,) = load_text(
        f"{NET}\nmender: {{hand: {hand}, needle: 9 m}}\nmethod: patch\n"
        f"hole: {{shape: {{kind: rectangle, across: {across}, down: {down}}}}}"
    )
    return plan(spec)


def unshown(own: Plan, pages: Sequence[Picture]) -> list[str]:
    """What a card of a patch does not show of its hole, of its patch and of its seam."""
    assert own.patch is not None
    seen = {(s.role, s.of) for page in pages for s in page.shapes if getattr(s, "role", "")}
    across, down = range(1, own.patch.across + 1), range(1, own.patch.down + 1)
    wanted = {
        *(("cut mark", f"cut {cut.n}") for cut in own.cuts),
        *(("cut number", f"cut {cut.n}") for cut in own.cuts),
        *(("knot number", f"knot {knot.n}") for knot in own.sewing.twines[0].knots[:-1]),
        *(("point number", f"point {n}") for n in across),
        *(("sider number", f"sider {n}") for n in down),
        *(("corner", f"corner {n}") for n in (1, 2, 3, 4)),
        *((("top mark", "patch"),) if own.patch.down > 1 else ()),
    }
    wanted |= {("cut mark", f"patch bar {row} {column}") for row, column in freed(own)}
    return sorted(map(str, wanted - seen))


def freed(own: Plan) -> set[tuple[int, int]]:
    """The bars round the patch's own web that touch one of its knots, as rows and columns."""
    assert own.patch is not None
    rows = range(own.patch.top + 1, own.patch.bottom - 1)
    columns = range(own.patch.left + 1, own.patch.right - 1)
    web = {(row, column) for row in rows for column in columns}
    knots = {knot for bar in web for knot in ends(*bar)}
    round_it = {
        (row + down, column + across)
        for row, column in web
        for down in (-1, 0, 1)
        for across in (-1, 0, 1)
    }
    return {bar for bar in round_it - web if knots & set(ends(*bar))}


def ends(row: int, column: int) -> tuple[tuple[int, int], tuple[int, int]]:
    """The knots of a bar: a bar whose row and column add up to an even number leads down right."""
    lean = (row + column) % 2
    return (column + lean, row), (column + 1 - lean, row + 1)


def faults_of(own: Plan, paper: str, language: str = "en") -> list[str]:
    pages = compose(own, "deck", paper_name=paper, word_list=words(language))
    return [*unshown(own, pages), *craft.crowded(pages)]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("size", SIZES)
def test_the_deck_card_shows_the_patch_and_its_seam(size: str, paper: str) -> None:
    """In both languages and for both hands, by turns over papers and sizes."""
    turn = list(PAPERS).index(paper) + list(SIZES).index(size)
    own = patched(*SIZES[size], hand=("right", "left")[turn % 2])
    assert faults_of(own, paper, ("en", "es")[turn // 2 % 2]) == []


@pytest.mark.parametrize("seed", range(6))
def test_random_patches_are_shown_on_small_papers(seed: int) -> None:
    chance = random.Random(seed)
    sides = chance.randrange(2, 14), chance.randrange(2, 14)
    own = patched(*sides, hand=chance.choice(("right", "left")))
    assert faults_of(own, ("A6", "A6-across", "A5")[seed % 3], ("en", "es")[seed % 2]) == []


@pytest.mark.parametrize(
    "role", ["cut mark", "knot number", "point number", "sider number", "corner", "top mark"]
)
def test_what_a_card_of_a_patch_leaves_out_is_seen(role: str) -> None:
    own = patched(5, 4)
    pages = compose(own, "deck", paper_name="A5")
    assert unshown(own, pages) == []
    bare = [
        replace(page, shapes=tuple(s for s in page.shapes if getattr(s, "role", "") != role))
        for page in pages
    ]
    assert unshown(own, bare)


# The drawing of a start and of an end against the knot that it is tied on


def bars_left(own: Plan, n: int) -> set[tuple[str, str]]:
    """Which bars a plan's first or last knot has before it is tied, the new ones among them."""
    path = [tuple(at) for at in as_data(own)["twines"][0]["path"]]
    sewn = [frozenset(pair) for pair in pairwise(path)]
    at = path[n]
    missing = missing_at(at, set(sewn) if n == 0 else {sewn[-1]})
    return {(v, h) for v in ("upper", "lower") for h in ("left", "right")} - {
        tuple(name.split()) for name in missing
    }


def bars_drawn(own: Plan, n: int, stage: int = 1) -> set[tuple[str, str]]:
    """Which bars its drawing shows, read off the ends of the strands that are no twine."""
    twine = own.sewing.twines[0]
    knot = twine.knots[n]
    going = knot.going if own.hand == "right" else {"left": "right", "right": "left"}[knot.going]
    strands = stages(twine.tying(knot), going)[stage - 1].tangle.strands[:-1]
    tips = [strands[0].points[0], strands[0].points[-1], *(bar.points[-1] for bar in strands[1:])]
    turn = 1 if own.hand == "right" else -1
    return {("upper" if y < 0 else "lower", "left" if turn * x < 0 else "right") for x, y in tips}


@pytest.mark.parametrize("method", ["patch", "mend"])
@pytest.mark.parametrize("start", ["left", "right"])
@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("seed", range(6))
def test_start_and_end_are_drawn_on_the_bars_that_are_there(
    seed: int, hand: str, start: str, method: str
) -> None:
    bars = [
        [[column + (row + column) % 2, row], [column + 1 - (row + column) % 2, row + 1]]
        for row, column in sorted(random_hole(seed, 9, 9))
    ]
    (spec,) = load_text(f"hole: {{bars: {bars}}}")
    own = plan(spec, method=method, hand=hand, start=start, twines="one")
    assert bars_drawn(own, 0) == bars_left(own, 0)
    assert bars_drawn(own, -1) == bars_left(own, -1)
    assert len(bars_left(own, 0)) == (2 if method == "patch" else 3)


def test_a_bar_too_many_is_seen() -> None:
    """The start of a mend has a third bar, that of a seam has none."""
    own = patched(5, 4)
    twine = own.sewing.twines[0]
    with_bar = stages("start", twine.knots[0].going)[0].tangle.strands
    without = stages(twine.tying(twine.knots[0]), twine.knots[0].going)[0].tangle.strands
    assert [strand.name for strand in with_bar] == ["web", "bar", "twine"]
    assert [strand.name for strand in without] == ["web", "twine"]
