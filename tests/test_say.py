"""Figures and sentences as they stand on a card."""

from __future__ import annotations

import random

import pytest
from holes import blob

from cards import load_text, plan
from cards.grid import Bar
from cards.picture import Picture, Text
from cards.sheet import compose
from cards.sheet.blocks import Paragraph
from cards.sheet.say import time_needed
from cards.words import words


def said(pages: list[Picture]) -> str:
    return " ".join(
        shape.text for page in pages for shape in page.shapes if isinstance(shape, Text)
    )


@pytest.mark.parametrize("edition", ["loft", "deck", "class"])
def test_a_note_is_printed_on_the_card(edition: str) -> None:
    (spec,) = load_text("{note: Chafed by a shackle, hole: {shape: {kind: slit down, down: 3}}}")
    assert "Chafed by a shackle" in said(compose(plan(spec), edition))


@pytest.mark.parametrize("edition", ["loft", "deck", "class", "class-key"])
def test_every_page_defers_to_local_rules(edition: str) -> None:
    (spec,) = load_text("hole: {shape: {kind: slit down, down: 3}}")
    for page in compose(plan(spec), edition):
        assert "Local rules first." in said([page])


@pytest.mark.parametrize("edition", ["loft", "deck"])
@pytest.mark.parametrize("method", ["mend", "patch"])
@pytest.mark.parametrize("double", ["true", "false"])
def test_every_way_of_sewing_tells_that_the_twine_is_double(
    edition: str, method: str, double: str
) -> None:
    (spec,) = load_text(
        f"{{method: {method}, net: {{twine: {{double: {double}}}}}, "
        "hole: {shape: {kind: rectangle, across: 4, down: 3}}}"
    )
    told = "Sew with two strands of twine." in said(compose(plan(spec), edition))
    assert told == (double == "true")


def test_a_long_time_is_told_in_hours() -> None:
    def told(across: int, pace: str) -> str:
        (spec,) = load_text(
            f"mender: {{pace: {pace}}}\nhole: {{shape: {{kind: slit across, across: {across}}}}}"
        )
        return time_needed(plan(spec), words())

    assert told(2, "1") == "about 9 min at 1 knot a minute"
    assert told(30, "1") == "about 1 h 5 min at 1 knot a minute"
    assert told(30, "0.5") == "about 2 h 10 min at 0.5 knots a minute"


def test_a_caution_is_not_parted_by_the_end_of_a_page() -> None:
    text = "Never mend gear that is under load or within reach of a running winch. " * 2
    plain, whole = Paragraph(text, 4.0), Paragraph(text, 4.0, whole=True)
    lines = len(plain.place(60, 1000).shapes)
    assert lines > 4
    room = (lines - 2) * 4.0 * 1.25
    assert plain.place(60, room).shapes
    assert not whole.place(60, room).shapes
    assert len(whole.place(60, 1000).shapes) == lines


def holed(seed: int) -> list[Bar]:
    return sorted(Bar(*bar) for bar in blob(random.Random(seed), 70, 14))


@pytest.mark.parametrize("seed", range(12))
def test_a_stage_is_sewn_only_where_it_and_the_row_below_are_trimmed(seed: int) -> None:
    """Its loops have to hang free (common practice, no source)."""
    bars = "\n".join(f"  - {[list(knot) for knot in bar.ends]}" for bar in holed(seed))
    (spec,) = load_text(f"hole:\n  bars:\n{bars}")
    planned = plan(spec)
    staged = 0
    for order, (twine, run) in enumerate(zip(planned.sewing.twines, planned.trim.runs)):
        stages = [stage for stage in planned.stages if stage.order == order]
        sewn = [row for stage in stages for row in range(stage.first, stage.last + 1)]
        assert sewn == list(range(1, len(twine.rows) + 1))
        for _, stage, _, first, last in stages:
            cut = {c.bar for c in planned.cuts if (c.before, c.stage) <= (order, stage)}
            for at in range(first - 1, min(last + 1, len(run.stretches))):
                left, right = run.stretches[at]
                bars = {Bar(run.top + at, column) for column in range(left, right)}
                gone = {bar for bar in bars if planned.trim.found.misses(*bar)}
                assert bars <= gone | cut
        staged += len(stages) > 1
    assert staged


@pytest.mark.parametrize("seed", range(30))
def test_no_later_cut_is_at_a_knot_that_the_twine_has_come_to(seed: int) -> None:
    """Where one twine hangs loops that another ties, the web below is cut before the first."""
    bars = "\n".join(f"  - {[list(knot) for knot in bar.ends]}" for bar in holed(seed))
    (spec,) = load_text(f"twine_cost: 2\nhole:\n  bars:\n{bars}")
    planned = plan(spec)
    made: set[int] = set()
    reached: set[tuple[int, int]] = set()
    for stage in planned.stages:
        made |= set(stage.cuts)
        twine, run = planned.sewing.twines[stage.order], planned.trim.runs[stage.order]
        rows = {row.row for row in twine.rows[stage.first - 1 : stage.last]}
        for row in rows:
            left, right = run.stretches[row - run.top]
            reached |= {end for c in range(left, right) for end in Bar(row, c).ends}
        late = [cut.n for cut in planned.cuts if cut.n not in made and reached & set(cut.bar.ends)]
        assert late == []
    assert made == {cut.n for cut in planned.cuts}
