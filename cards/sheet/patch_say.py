"""The figures of a patch, and of mend and patch side by side, as the words of a card."""

from __future__ import annotations

from cards.grid import Bar
from cards.job import Plan
from cards.reckon import LAYING_IN
from cards.reckon.compare import Column
from cards.sew import Tied, Twine
from cards.sheet.say import in_turn, minutes_told, stitch_term, stitch_title
from cards.trim.patch import Patch
from cards.units import half_up, metres, spans
from cards.words import Words


def patch_of(plan: Plan) -> Patch:
    """The patch of a plan that has one."""
    assert plan.patch is not None, "asked only of a plan that sews a patch in"
    return plan.patch


def steps(plan: Plan, words: Words) -> list[str]:
    """How to cut the patch and lay it in, a step each."""
    patch = patch_of(plan)
    figures = {"across": patch.across, "down": patch.down}
    return [words.say(f"patch.{key}", **figures) for key in ("mark", "ends", "sides", "lay")]


def cuts_by_side(plan: Plan, words: Words) -> tuple[tuple[str, str], ...]:
    """The cuts of the hole, a side each: first and last number, and what they leave."""
    patch = patch_of(plan)
    numbers: dict[str, list[int]] = {}
    for cut in plan.cuts:
        numbers.setdefault(_side(patch, cut.bar), []).append(cut.n)
    left = {"across": patch.hole_across, "down": patch.hole_down}
    return tuple(
        (spans(own), words.say(f"patch.cuts_{side}", **left))
        for side, own in sorted(numbers.items(), key=lambda item: item[1])
    )


def corner_knots(plan: Plan) -> str:
    """The numbers of the knots on the corner points of the patch."""
    corners = set(patch_of(plan).corners)
    numbers = {knot.n for twine in plan.sewing.twines for knot in twine.knots if knot.at in corners}
    return ", ".join(map(str, sorted(numbers)))


def _side(patch: Patch, bar: Bar) -> str:
    if bar.row == patch.top:
        return "top"
    if bar.row == patch.bottom - 1:
        return "bottom"
    return "left" if 2 * bar.column < patch.left + patch.right else "right"


def side_table(plan: Plan, words: Words, brief: bool = False) -> tuple[tuple[str, ...], ...]:
    """The sides of the seam in order: side, knots, stitches, twine so far, refill.

    A brief one, for a small paper, leaves the side of each sider to the drawing.
    """
    (twine,) = plan.sewing.twines
    used = plan.reckoning.after_row
    after = {row.last: used[0][n] for n, row in enumerate(twine.rows)} if used else {}
    rows = []
    for side in plan.seam_sides:
        refills = [str(n) for n in plan.reckoning.refills if side.first <= n <= side.last]
        knots = [knot for knot in twine.knots if side.first <= knot.n <= side.last]
        stitches = [
            stitch_term(knot.stitch, words) if brief else _seam_stitch(twine, knot, words)
            for knot in knots
        ]
        own = words.say(f"seam.{side.side}")
        rows.append(
            (
                words.say("seam.up", side=own) if side == plan.seam_sides[-1] else own,
                f"{side.first}–{side.last}",
                in_turn(stitches),
                words.figure(metres(after[side.last], plan.spec.net.inches))
                if side.last in after
                else "–",
                words.say("sewing.refill_after", n=", ".join(refills)) if refills else "",
            )
        )
    return tuple(rows)


def _seam_stitch(twine: Twine, knot: Tied, words: Words) -> str:
    """What a stitch of a seam is called: a sider with its side, which is not that of a row."""
    if knot.stitch != "sider":
        return stitch_term(knot.stitch, words)
    title = stitch_title(twine.tying(knot), knot.going, words)
    return title[:1].lower() + title[1:]


def comparison(plan: Plan, words: Words) -> tuple[tuple[str, str, str], ...]:
    """Knots, cuts, twine and time of the mend and of the patch, a line each."""
    both = plan.comparison
    if not both:
        return ()

    def twine(column: Column) -> str:
        if column.length is None:
            return "–"
        return words.figure(metres(column.length, plan.spec.net.inches))

    def time(column: Column) -> str:
        return minutes_told(column.minutes, words)

    mend, patch = both.mend, both.patch
    return (
        (words.say("materials.knots"), str(mend.knots), str(patch.knots)),
        (
            words.say("materials.cuts"),
            str(mend.cuts),
            words.say("compare.cuts", cuts=patch.cuts, new=both.freed),
        ),
        (words.say("materials.twine"), twine(mend), twine(patch)),
        (words.say("materials.time"), time(mend), time(patch)),
    )


def verdict(plan: Plan, words: Words) -> str:
    """Which of mend and patch wins, at what pace, and where the balance tips."""
    both = plan.comparison
    if not both:
        return ""
    tips = "" if both.tips_at is None else words.figure(f"{half_up(both.tips_at, 1):g}")
    return words.say(
        "compare.verdict",
        pace=words.figure(f"{both.pace:g}"),
        assumed=both.assumed,
        wins=both.wins,
        tips=tips,
        made="patch" if plan.patch else "mend",
        laying=f"{LAYING_IN:g}",
    )
