"""A spec with its hole in another form: the same hole, all else as it was."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards import CardError, load_text
from cards.command import main
from cards.grid import Hole
from cards.grid.drawn import drawn
from cards.spec.convert import FORMS, Form, convert
from tests.walk_holes import random_hole

FULL = r"""# Grey Petrel, invented
title: 'Belly: "starboard" side'   # kept
hole:  # the hole
  drawing: |
    \/\/\/\/
    /\/..\/\
    \/....\/
    /\/..\/\
    \/\/\/\/

# between
net:
  mesh: 120 mm
  twine: {material: PE, diameter: 3.5 mm}
start: left  # kept too
"""

forms = st.sampled_from(FORMS)
random_holes = st.builds(
    lambda seed, largest: random_hole(Random(seed), largest),
    st.integers(0, 2**32),
    st.sampled_from([2, 10, 60]),
)


def drawing_spec(hole: Hole, tail: str = "") -> str:
    hole = hole.moved(1 - hole.left + (hole.left + hole.top & 1), 1 - hole.top)
    rows = "".join(f"    {row}\n" for row in drawn(hole, (0, 0)))
    return f"title: t\nhole:\n  drawing: |\n{rows}{tail}"


def hole_in(text: str) -> Hole:
    return load_text(text)[0].hole


@given(random_holes, st.lists(forms, min_size=1, max_size=5))
def test_through_any_forms_and_back_it_is_the_same_hole(hole: Hole, ways: list[Form]) -> None:
    first = text = drawing_spec(hole)
    across = down = 0
    for form in ways:
        converted = convert(text, form)
        text = converted.text
        across += converted.shifts[0][0]
        down += converted.shifts[0][1]
    assert hole_in(text) == hole_in(first).moved(across, down)
    # The smallest drawing is what every form leads back to.
    assert hole_in(convert(text, "drawing").text) == hole_in(first)


@given(random_holes, forms)
def test_converting_to_the_same_form_changes_nothing(hole: Hole, form: Form) -> None:
    once = convert(drawing_spec(hole), form).text
    assert convert(once, form).text == once


@pytest.mark.parametrize("form", FORMS)
def test_all_other_fields_stay_as_written(form: Form) -> None:
    text = convert(FULL, form).text
    head, _, tail = FULL.partition("  drawing")
    assert text.startswith(head)
    assert text.endswith(tail[tail.index("\n\n") :])
    (before,), (after,) = load_text(FULL), load_text(text)
    assert (before.title, before.net, before.start) == (after.title, after.net, after.start)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize(
    "written",
    [
        "{title: a, hole: {shape: {kind: diamond, across: 4, down: 3}}, start: left}",
        "hole: {shape: {kind: diamond, across: 4, down: 3}} # behind\nstart: left\n",
        "? hole\n: {shape: {kind: diamond, across: 4, down: 3}}\n",
        "'hole':\n  shape:\n    kind: diamond\n    across: 4\n    down: 3\n# end\n",
        "---\nhole:\n  shape: {kind: diamond, across: 4,\n    down: 3}\n...\n",
        "hole:\r\n  shape:\r\n    kind: diamond\r\n    across: 4\r\n    down: 3\r\nstart: left\r\n",
        "  hole:\n    shape: {kind: diamond, across: 4, down: 3}\n  start: left",
        '{"hole": {"bars": [[[2, 0], [1, 1]]]}}',
    ],
)
def test_however_the_yaml_is_written(written: str, form: Form) -> None:
    converted = convert(written, form)
    assert hole_in(converted.text) == hole_in(written).moved(*converted.shifts[0])
    assert ("\r\n" in converted.text) == ("\r\n" in written)
    assert "# behind" in converted.text or "# behind" not in written.replace("} # behind", "}")
    assert ("start: left" in converted.text) == ("start: left" in written)


def test_several_specs_of_a_file_are_all_converted() -> None:
    one = "hole: {shape: {kind: slit across, across: 2}}\n"
    text = convert(f"{one}---\n{one}---\n{FULL}", "rows").text
    assert [list(spec.hole.bars()) for spec in load_text(text)] == [
        list(spec.hole.bars()) for spec in load_text(f"{one}---\n{one}---\n{FULL}")
    ]


def test_cuts_named_by_knots_move_with_the_hole() -> None:
    text = "hole: {shape: {kind: slit across, across: 2}}\ncuts: [[[0, 0], [1, 1]]]  # one\n"
    converted = convert(text, "drawing")
    assert converted.shifts == ((1, 1),)
    assert load_text(converted.text)[0].cuts == [[["1", "1"], ["2", "2"]]]
    assert convert(text, "bars").text.endswith("cuts: [[[0, 0], [1, 1]]]  # one\n")


def test_cuts_drawn_become_knots_where_the_hole_moves() -> None:
    text = (
        "hole: {shape: {kind: slit across, across: 2}}\ncuts: |\n  ....\n  /\\x\\\n\nstart: left\n"
    )
    converted = convert(text, "walk")
    ((cut,),) = [load_text(converted.text)[0].cuts]
    across, down = converted.shifts[0]
    # The x stands in row 1, column 2, of a drawing that begins with a bar that leans \\ ... so
    # its knots are (3, 1) and (2, 2) before the hole moves.
    assert cut == [[str(3 + across), str(1 + down)], [str(2 + across), str(2 + down)]]


def test_a_hole_that_no_walk_can_give_is_refused_with_why() -> None:
    with pytest.raises(CardError, match=r"2 separate openings.*Other forms: drawing, rows, bars"):
        convert("hole: {bars: [[[0, 0], [1, 1]], [[8, 0], [9, 1]]]}", "walk", "a.yaml")


def test_far_away_bars_are_drawn_close_to_the_corner() -> None:
    converted = convert("hole: {bars: [[[100000, 0], [100001, 1]]]}", "drawing")
    assert len(converted.text) < 80
    assert hole_in(converted.text).size == 1


def test_the_command_prints_the_spec_and_says_how_its_knots_moved(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "slit.yaml"
    file.write_text("hole: {shape: {kind: slit across, across: 1}}\n")
    assert main(["convert", str(file), "--to", "walk"]) == 0
    out, err = capsys.readouterr()
    assert load_text(out)[0].hole.size == 2
    assert "x +1, y +1" in err


def test_the_command_refuses_a_wrong_spec(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "none.yaml"
    assert main(["convert", str(file), "--to", "walk"]) == 2
    file.write_text("hole: {walk: 4 3 4 4 3, first: down-right}\n")
    assert main(["convert", str(file), "--to", "drawing"]) == 2
    out, err = capsys.readouterr()
    assert not out
    assert "Likely slips" in err
