"""Figures of a plan as the words of a card."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from cards.grid import Knot
from cards.grid.knots import LOST, ONE_BAR, OPPOSITE, THREE_BAR, kind_of
from cards.job import Plan, Stage
from cards.picture.stitches import STAGES
from cards.picture.type import drawable
from cards.reckon.twine import TAIL
from cards.sew import Hand, RowSewn, Stitch, Tied, Twine, Tying, needle_side
from cards.trim import Cut, Side
from cards.trim.cuts import in_stages
from cards.units import MILLIMETRES, grams, metres, millimetres, no_less, spans, whole_minutes
from cards.words import Words, knot_term

PLACED = 4  # so many refills are named with their rows; more would fill the card
MOST_REFILLS = 60  # so many are named by their rows where there is room
MOST_PARTS = 4  # so many parts of a row are told in their order
MOST_TURNS = 4  # so many twines are named after the first
MOST_PLACES = 3  # so many mended places are counted at the end, the largest; the others alike
OTHER_WAY: dict[Side, Side] = {"right": "left", "left": "right"}


def twine_needed(plan: Plan, words: Words) -> str:
    """How much twine, or why that is not known."""
    reckoning = plan.reckoning
    if reckoning.length is None:
        names = {
            "net.mesh": words.say("materials.mesh_size"),
            "net.twine.diameter": words.say("materials.diameter"),
        }
        lacking = [said for name, said in names.items() if name in reckoning.lacking]
        return words.say("materials.no_length", lacking=", ".join(lacking))
    length = words.figure(metres(reckoning.length, plan.spec.net.inches))
    if plan.spec.net.twine.double:
        length = words.say("materials.both_parts", length=length)
    if reckoning.mass is None:
        return length
    mass = words.figure(grams(reckoning.mass, plan.spec.net.inches))
    return words.say("materials.mass", length=length, mass=mass)


def needles_needed(plan: Plan, words: Words) -> str:
    """How many needles of how much twine each."""
    needle = plan.spec.mender.needle
    if plan.reckoning.needles is None or needle is None:
        return words.say("materials.no_needles")
    count = plan.reckoning.needles
    most = replace(needle, mm=needle.mm * count)
    figures = {"n": count, "length": words.figure(str(needle)), "most": words.figure(str(most))}
    return words.say("materials.needles_of", **figures)


def time_needed(plan: Plan, words: Words) -> str:
    """How long at which pace."""
    minutes, pace = plan.reckoning.minutes, plan.spec.mender.pace
    if minutes is None or pace is None:
        return words.say("materials.no_minutes")
    told = words.figure(f"{pace:g}")
    return words.say("materials.at_pace", time=minutes_told(minutes, words), pace=told)


def minutes_told(minutes: float, words: Words) -> str:
    """A time in whole minutes, in hours and minutes from 60 on."""
    hours, left = divmod(whole_minutes(minutes), 60)
    if hours:
        return words.say("materials.hours", hours=hours, minutes=left)
    return words.say("materials.minutes", minutes=left)


def time_counts(plan: Plan, words: Words) -> str:
    """What the time is made of beside the knots, and what is assumed of it."""
    each = {
        effort.what: words.figure(f"{effort.each:g}")
        for effort in plan.reckoning.efforts
        if effort.count
    }
    return words.say(
        "materials.counted",
        cut=each.get("cuts"),
        start=each.get("starts"),
        refill=each.get("refills"),
        laying=f"{plan.reckoning.laying_in:g}" if plan.patch else None,
    )


def materials(
    plan: Plan, words: Words, *, brief: bool = False, listed: bool = False
) -> tuple[tuple[str, str], ...]:
    """What is needed, as rows of name and figure.

    A brief one, for a card without numbered knots, leaves out what the time is of. Of many refills
    it tells their number and by what rule they come; `listed`, where there is room, after which
    rows.
    """
    refills = plan.reckoning.refills
    time = time_needed(plan, words)
    if brief and plan.reckoning.minutes is not None:
        time = words.say("materials.all_counted", time=time)
    rows = [
        (words.say("materials.cuts"), cuts_needed(plan, words)),
        (words.say("materials.knots"), str(plan.sewing.knots)),
        (words.say("materials.twine"), twine_needed(plan, words)),
        (words.say("materials.needles"), needles_needed(plan, words)),
        (words.say("materials.time"), time),
    ]
    if plan.reckoning.minutes is not None and not brief:
        rows.append((words.say("materials.time_counts"), time_counts(plan, words)))
    if refills:
        if brief and len(refills) > PLACED:
            after = (listed and _refill_rows(plan, words)) or _many_refills(plan, words)
        elif brief:
            after = "; ".join(_refill_place(plan, words, n) for n in refills)
        else:
            named = ", ".join(map(str, refills))
            after = words.say("materials.refill_knots", n=named, several=len(refills) > 1)
        rows.append((words.say("sewing.refill"), after))
    return tuple(rows)


def left_by(cut: Cut, words: Words, cuts: Sequence[Cut]) -> str:
    """What the knot at the other end of a cut bar is now, or two three-bars are, where that helps.

    That is where the cut is made at one of the two alone, for what that was. Of a bar that falls
    with another one if it is not cut, the one of `cuts` is told that takes both.
    """
    here, there = kind_of(cut.becomes), kind_of(cut.towards_becomes)
    pair = cut.does == "clears a pair"
    if there == OPPOSITE or (pair and here == OPPOSITE):
        return ""
    above = cut.towards.y < cut.at.y
    if pair:
        upper, lower = (there, here) if above else (here, there)
        figures = {"upper": knot_term(upper, words), "lower": knot_term(lower, words)}
        return words.say("leaves.pair", **figures)
    end = words.say("leaves.upper" if above else "leaves.lower")
    near = words.say("leaves.lower" if above else "leaves.upper")
    if cut.does in ("cuts in the start", "cuts in the end"):
        falls = cut.was == ONE_BAR and there == THREE_BAR
        return words.say("leaves.falls", end=near) if falls else ""
    if cut.does not in ("turns into a pickup", "turns into a sider", "takes off a one-bar"):
        return ""
    if there == ONE_BAR and cut.was == ONE_BAR:
        with_it = next(own.n for own in cuts if own.n > cut.n and cut.towards in own.bar.ends)
        return words.say("leaves.left_out", n=with_it)
    if there != LOST:
        return words.say("leaves.one", end=end, kind=knot_term(there, words))
    # Two one-bars that hang on each other fall as one.
    return "" if cut.was == ONE_BAR else words.say("leaves.falls", end=end)


def cuts_needed(plan: Plan, words: Words) -> str:
    """How many cuts are made in the hole, and in the new web that a patch is cut from."""
    cuts = len(plan.cuts)
    counted = sum(effort.count for effort in plan.reckoning.efforts if effort.what == "cuts")
    if counted <= cuts:
        return str(cuts)
    return words.say("compare.cuts_too", cuts=cuts, new=counted - cuts)


def _many_refills(plan: Plan, words: Words) -> str:
    """How often and where a needle is refilled, if that is too often to name each place."""
    refills, row = plan.reckoning.refills, plan.reckoning.longest_row
    assert row is not None, "a needle is refilled where the twine is reckoned"
    if plan.patch:
        return words.say("materials.refill_marked", n=len(refills))
    last = {row.last for twine in plan.sewing.twines for row in twine.rows}
    longest = words.figure(no_less(row, plan.spec.net.inches))
    within = not last.issuperset(refills)
    return words.say("materials.refill_many", n=len(refills), within=within, longest=longest)


def _refill_rows(plan: Plan, words: Words) -> str:
    """After which rows a needle is refilled, if at ends of rows alone and not too often.

    Of a seam, whose knots have their numbers on the card, after which knots.
    """
    refills = set(plan.reckoning.refills)
    if len(refills) > MOST_REFILLS:
        return ""
    if plan.patch:
        return words.say("materials.refill_knots", n=spans(refills), several=True)
    told: list[str] = []
    for twine in plan.sewing.twines:
        rows = [number for number, row in enumerate(twine.rows, 1) if row.last in refills]
        refills.difference_update(row.last for row in twine.rows)
        if rows:
            letter = twine.name if len(plan.sewing.twines) > 1 else ""
            told.append(letter + spans(rows))
    return "" if refills else words.say("materials.refill_rows", rows="; ".join(told))


def _refill_place(plan: Plan, words: Words, n: int) -> str:
    """Where a needle is refilled, for a card that numbers no knots but those of a seam."""
    for side in plan.seam_sides:
        if side.first <= n <= side.last:
            return words.say("materials.refill_side", n=n, side=words.say(f"seam.{side.side}"))
    for twine in plan.sewing.twines:
        for number, row in enumerate(twine.rows, 1):
            if row.first <= n <= row.last:
                done, name = n - row.first + 1, twine_row(plan, twine, number)
                return words.say("materials.refill_row", row=name, n=done, last=n == row.last)
    return str(n)


def twine_row(plan: Plan, twine: Twine, number: int) -> str:
    """The name of a row of twine: with the letter of its twine, where there are several."""
    return f"{twine.name}{number}" if len(plan.sewing.twines) > 1 else str(number)


def staged(plan: Plan) -> bool:
    """Whether a hole is cut a stage at a time, as the sewing comes down to it."""
    return in_stages(plan.trim) and sum(bool(stage.cuts) for stage in plan.stages) > 1


def rows_of_stage(plan: Plan, stage: Stage, words: Words, key: str) -> str:
    """The rows that are sewn in a stage, in the sentence of a key."""
    twine = plan.sewing.twines[stage.order]
    first, last = (twine_row(plan, twine, number) for number in (stage.first, stage.last))
    return words.say(key, first=first, last=last)


def cuts_before(plan: Plan) -> list[tuple[Tied, tuple[int, ...]]]:
    """Which cuts are made before which knot: those of each stage before its first row."""
    if not staged(plan):
        return []
    found: list[tuple[Tied, tuple[int, ...]]] = []
    for stage in plan.stages:
        if stage.cuts:
            twine = plan.sewing.twines[stage.order]
            knot = twine.knots[twine.rows[stage.first - 1].first - twine.first]
            found.append((knot, stage.cuts))
    return found


def cuts_told(plan: Plan, words: Words, numbers: Sequence[int]) -> str:
    """Some cuts by their numbers, with the row that is sewn before those of a later stage."""
    if not staged(plan):
        return spans(numbers)
    told: list[str] = []
    row = ""
    for stage in plan.stages:
        cuts = spans([n for n in stage.cuts if n in numbers])
        if cuts:
            told.append(words.say("big.after_row", row=row, cuts=cuts) if row else cuts)
        row = twine_row(plan, plan.sewing.twines[stage.order], stage.last)
    return "; ".join(told)


def knot_span(row: RowSewn) -> str:
    """First and last number of a row."""
    return str(row.first) if row.first == row.last else f"{row.first}–{row.last}"


def stitches_of(twine: Twine, row: RowSewn, words: Words) -> str:
    """The stitches of a row in their order, alike ones counted together."""
    return stitches_told([knot.stitch for knot in twine.knots_of(row)], words)


def stitches_told(stitches: Sequence[Stitch], words: Words) -> str:
    """Some stitches in their order, alike ones and pairs in turn counted together.

    Where that is many parts, each stitch is counted, and the order is left to the drawing.
    """
    names = [stitch_term(stitch, words) for stitch in stitches]
    if len(list(_parts(names))) <= MOST_PARTS:
        return in_turn(names)
    counts = Counter(stitches)

    def counted(stitch: Stitch, count: int) -> str:
        return _counted((stitch_term(stitch, words),), count)

    mixed = [counted(stitch, counts.pop(stitch)) for stitch in tuple(counts) if "pickup" in stitch]
    said = [words.say("sewing.mixed", first=mixed[0], second=mixed[1])]
    if "start" in counts:
        said.insert(0, counted("start", counts.pop("start")))
    return ", ".join([*said, *(counted(stitch, n) for stitch, n in counts.items())])


def stitch_term(stitch: Stitch, words: Words) -> str:
    """What a stitch is called."""
    return words.say(f"terms.{stitch.replace(' ', '_')}")


def in_turn(names: Sequence[str]) -> str:
    """Stitches by their names in their order, alike ones and pairs in turn counted together."""
    return ", ".join(_counted(own, count) for own, count in _parts(names))


def _counted(own: Sequence[str], count: int) -> str:
    told = ", ".join(own)
    if len(own) > 1:
        told = f"({told})"
    return told if count == 1 else f"{told} × {count}"


def _parts(stitches: Sequence[str]) -> Iterator[tuple[tuple[str, ...], int]]:
    """Stitches as parts, each with how often it comes: one that comes again, or two in turn."""
    at = 0
    while at < len(stitches):
        best: tuple[tuple[str, ...], int] = (stitches[at],), 1
        for size in (1, 2):
            own, count = tuple(stitches[at : at + size]), 1
            while tuple(stitches[at + count * size : at + (count + 1) * size]) == own:
                count += 1
            if count > 1 and size * count > len(best[0]) * best[1]:
                best = own, count
        yield best
        at += len(best[0]) * best[1]


def row_table(
    plan: Plan,
    words: Words,
    web_rows: range | None = None,
    page_of: Callable[[int], int] | None = None,
) -> tuple[tuple[str, ...], ...]:
    """The rows of twine: number, row of the web, way, knots, stitches, twine so far, refill.

    Only those in some rows of the web, where these are given. Where the sewing then goes on in
    another such table, `page_of` tells on which page a row of the web is.
    """
    rows: list[tuple[str, ...]] = []
    used = plan.reckoning.after_row
    before = cuts_before(plan)
    for order, twine in enumerate(plan.sewing.twines):
        for number, row in enumerate(twine.rows, 1):
            if web_rows is not None and row.row not in web_rows:
                continue
            refills = [str(n) for n in plan.reckoning.refills if row.first <= n <= row.last]
            cuts = next((cuts for k, cuts in before if row.first <= k.n <= row.last), ())
            cut_first = (
                words.say("sewing.cut_first", cuts=spans(cuts), several=len(cuts) > 1) + " "
                if cuts
                else ""
            )
            rows.append(
                (
                    twine_row(plan, twine, number),
                    str(row.row - plan.trim.trimmed.top + 1),
                    words.say(f"sewing.{row.going}"),
                    knot_span(row),
                    cut_first + stitches_of(twine, row, words),
                    words.figure(metres(used[order][number - 1], plan.spec.net.inches))
                    if used
                    else "–",
                    words.say("sewing.refill_after", n=", ".join(refills)) if refills else "",
                )
            )
        if web_rows is None or page_of is None:
            continue
        # With several twines the row that is sewn next may be on an earlier page, or a later one.
        shown = [n for n, row in enumerate(twine.rows, 1) if row.row in web_rows]
        following = _row_after(plan, order, shown[-1]) if shown else None
        if following:
            name, web_row = following
            if web_row not in web_rows:
                on = words.say("sewing.goes_on", page=page_of(web_row))
                rows.append((name, "", "", "", on, "", ""))
    return tuple(rows)


def _row_after(plan: Plan, order: int, number: int) -> tuple[str, int] | None:
    """The row that is sewn after one of a twine, by its name, and which row of the web it is."""
    twines = plan.sewing.twines
    if number == len(twines[order].rows):
        order, number = order + 1, 0
        if order == len(twines):
            return None
    twine = twines[order]
    return twine_row(plan, twine, number + 1), twine.rows[number].row


def twines_in_turn(plan: Plan, words: Words) -> list[str]:
    """In which order the twines are sewn, where there are several."""
    first, *others = (twine.name for twine in plan.sewing.twines)
    if not others:
        return []
    then = [words.say("sewing.then", name=name) for name in others]
    if len(then) > MOST_TURNS:
        then = [words.say("sewing.then_all")]
    return [words.say("sewing.twines", first=first, others="".join(then))]


def strands(plan: Plan, words: Words) -> list[str]:
    """That the twine is double, where it is."""
    return [words.say("sewing.double")] if plan.spec.net.twine.double else []


def how_to_sew(plan: Plan, words: Words) -> list[str]:
    """What holds for all knots of a plan."""
    pointed = any(s not in ("start", "end") for twine in plan.sewing.twines for s in twine.stitches)
    points = [words.say("sewing.points")] if pointed else []
    said = [words.say("sewing.intro"), *points, *strands(plan, words)]
    said += [*twines_in_turn(plan, words), *_loops(plan, words)]
    return [*said, tails(plan, words)]


def hangs_loops(plan: Plan) -> bool:
    """Whether a twine comes to a knot before it ties it."""
    return any(len(twine.path) > len(twine.tied_at) for twine in plan.sewing.twines)


def _loops(plan: Plan, words: Words) -> list[str]:
    """What to do at a knot that the twine comes to before it is tied, the first one named."""
    numbers: dict[tuple[int, int], int] = {}
    for twine in plan.sewing.twines:
        numbers |= {knot.at: knot.n for knot in twine.knots}
    for twine in plan.sewing.twines:
        # Where the twine first comes to a knot that it does not tie there.
        place = next((n for n, at in enumerate(twine.tied_at) if n != at), None)
        if place is not None:
            early, tied = numbers[twine.path[place]], twine.first + place - 1
            return [words.say("sewing.loops", early=early, tied=tied)]
    return []


def tails(plan: Plan, words: Words, *, brief: bool = False) -> str:
    """How much twine to leave at the start and the end, and at a refill."""
    refills = set(plan.reckoning.refills)
    ends = refills & {twine.last for twine in plan.sewing.twines}
    joins, only = bool(refills - ends), bool(ends)
    figures = {"tail": tail(plan, words), "joins": joins, "twines": len(plan.sewing.twines)}
    if brief:
        return words.say("deck.tails", **figures)
    return words.say("sewing.tails", ends=only, **figures)


def tail(plan: Plan, words: Words) -> str:
    """The length of a tail: in whole inches where inches are used, as nobody cuts it closer."""
    if plan.spec.net.inches:
        return words.figure(
            millimetres(round(TAIL / MILLIMETRES["in"]) * MILLIMETRES["in"], inches=True)
        )
    return words.figure(millimetres(TAIL))


def mesh_size(plan: Plan, words: Words) -> str:
    """The mesh size as written, or nothing."""
    mesh = plan.spec.net.mesh
    return words.figure(str(mesh)) if mesh else ""


def bar_length(plan: Plan, words: Words) -> str:
    """The length of a bar, or nothing."""
    bar = plan.reckoning.bar
    return words.figure(millimetres(bar, plan.spec.net.inches)) if bar else ""


def notes(plan: Plan, words: Words) -> list[str]:
    """What a reader has to know beside the plan: the spec's own note first."""
    said = [drawable(plan.spec.note)] if plan.spec.note else []
    if plan.trim.islands:
        said.append(words.say("notes.islands", n=plan.trim.islands))
    if plan.tongue_bars:
        said.append(words.say("notes.tongues", n=plan.tongue_bars))
    if plan.spec.mender.needle and plan.reckoning.length and plan.reckoning.needles is None:
        said.append(words.say("notes.needle_small"))
    net, width, reckoning = plan.spec.net, plan.spec.mender.needle_width, plan.reckoning
    if reckoning.passes == "tightly":
        said.append(words.say("notes.needle_tight", width=words.figure(str(width))))
    elif reckoning.passes == "not at all":
        figures = {"width": words.figure(str(width)), "mesh": words.figure(str(net.mesh))}
        said.append(words.say("notes.needle_wide", **figures))
    if reckoning.about and reckoning.diameter:
        diameter = words.figure(millimetres(reckoning.diameter, plan.spec.net.inches))
        said.append(words.say("notes.about", diameter=diameter))
    if plan.patch and plan.patch.away:
        said.append(words.say("notes.patch_away", n=plan.patch.away))
    return said


def end_check(plan: Plan, words: Words) -> dict[str, object]:
    """The figures that the check at the end names."""
    accepted = plan.reckoning.mesh_range
    numbers: dict[Knot, int] = {}
    for twine in plan.sewing.twines:
        for knot in twine.knots:
            numbers.setdefault(knot.at, knot.n)  # a seam's last is tied on top of its first
    # The largest places, in the order in which they are sewn.
    checks = sorted(
        plan.end_checks[:MOST_PLACES], key=lambda own: min(numbers[knot] for knot in own.top)
    )
    counts = [
        words.say(
            "label.counted",
            across=meshes_told(check.across, words),
            left=numbers[check.left],
            right=numbers[check.right],
            down=meshes_told(check.down, words),
            top=min(numbers[knot] for knot in check.top),
            bottom=max(numbers[knot] for knot in check.bottom),
        )
        for check in checks
    ]
    return {
        "knots": plan.sewing.knots,
        "before": plan.sewing.knots - 1,
        "meshes": plan.meshes,
        "patch": plan.patch is not None,
        "mesh": mesh_size(plan, words),
        "least": words.figure(millimetres(accepted[0], plan.spec.net.inches)) if accepted else "",
        "most": words.figure(millimetres(accepted[1], plan.spec.net.inches)) if accepted else "",
        "counts": "; ".join(counts),
        "more": len(plan.end_checks) > MOST_PLACES,
    }


def meshes_told(count: float, words: Words) -> str:
    """A count of meshes; half a mesh is one bar, which nobody counts as a mesh."""
    return words.say("label.one_bar") if count < 1 else words.figure(f"{count:g}")


def stitch_title(stitch: Tying, going: Side, word_list: Words) -> str:
    """The name of a stitch with the way of its row."""
    key = f"stitches.{stitch.replace(' ', '_')}"
    return word_list.say(key, **_ways(going, word_list))


def stitch_sentences(stitch: Tying, going: Side, hand: Hand, word_list: Words) -> list[str]:
    """What to do at each stage of a stitch, as its drawing shows it.

    Parameters
    ----------
    stitch, going, hand
        Which knot, the way of the row, and the hand that sews.
    word_list
        The words.

    Returns
    -------
    list of str
        A text for each stage.
    """
    side = "behind" if needle_side(going, hand) == "from behind" else "front"
    group = f"stitch_{stitch.replace(' ', '_')}"
    ways = _ways(going, word_list)
    return [word_list.say(f"{group}.{side}_{n}", **ways) for n in range(1, STAGES + 1)]


def needle_entry(going: Side, hand: Hand, word_list: Words) -> str:
    """From which side the needle enters."""
    return word_list.say(f"stitches.{needle_side(going, hand).replace(' ', '_')}")


def _ways(going: Side, word_list: Words) -> dict[str, str]:
    return {
        "ahead": word_list.say(f"stitches.{going}"),
        "astern": word_list.say(f"stitches.{OTHER_WAY[going]}"),
    }
