"""Every message for a wrong spec, as a user reads it: what is wrong, where, and what to do."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from rules import check

from cards import SpecError, as_data, load_text, plan

SIDE_BY_SIDE = Path(__file__).with_name("messages.yaml")
MESSAGES = yaml.safe_load(SIDE_BY_SIDE.read_text(encoding="utf-8"))


@pytest.mark.parametrize("pair", MESSAGES, ids=[pair["said"].split(";")[0] for pair in MESSAGES])
def test_a_wrong_spec_is_answered(pair: dict[str, str]) -> None:
    with pytest.raises(SpecError) as error:
        load_text(pair["wrong"])
    assert str(error.value) == pair["said"].rstrip("\n")


def test_every_message_says_what_was_found_and_what_is_expected() -> None:
    for pair in MESSAGES:
        first, *_ = pair["said"].splitlines()
        assert "found " in first and "; expected " in first
        assert first.startswith("spec:")


def test_control_characters_are_named_not_shown() -> None:
    with pytest.raises(SpecError, match=r"U\+0009"):
        load_text('title: "a\\tb"\nhole: {shape: {kind: slit across, across: 2}}')
    with pytest.raises(SpecError, match=r"U\+0000"):
        load_text("title: \x00\nhole: {shape: {kind: slit across, across: 2}}")


def test_long_values_are_cut_short() -> None:
    with pytest.raises(SpecError) as error:
        load_text(f"title: {'x' * 201}\nhole: {{shape: {{kind: slit across, across: 2}}}}")
    assert "at most 200 characters. It has 201." in str(error.value)
    assert len(str(error.value)) < 200


@pytest.mark.parametrize("pair", MESSAGES, ids=[pair["said"].split(";")[0] for pair in MESSAGES])
def test_a_machine_without_libyaml_says_the_same(
    pair: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cards.spec.lined.PARSER", yaml.SafeLoader)
    with pytest.raises(SpecError) as error:
        load_text(pair["wrong"])
    assert str(error.value) == pair["said"].rstrip("\n")


@pytest.mark.parametrize("character", ["\x00", "\x07", "\x7f", "\ud83d", "\ufffe"])
def test_a_character_that_is_no_text_is_named_with_its_line(character: str) -> None:
    with pytest.raises(SpecError) as error:
        load_text(f"# one\n# two {character}\nhole: {{shape: {{kind: slit down, down: 1}}}}")
    assert str(error.value).startswith(
        f"spec:2: found a character that no text has (U+{ord(character):04X})"
    )


WELL = """title: Wing
net: {mesh: 120 mm, twine: {material: PE, diameter: 3.5 mm, rtex: 5200}}
mender:
  hand: left
  needle: 8 m
hole:
  first: '/'
  rows: ["3-6", "2-7", "-", '2-4,6-7']
cuts: []
"""
SCRAPS = st.sampled_from(
    [*"{}[]:,|>&*!%@`\"'\\/.#?-0", "\n", "\t", "- ", "---\n", "null", "1e400", "nan", "\u2028", "é"]
) | st.text(max_size=3)


@given(st.lists(st.tuples(st.integers(0, len(WELL)), st.integers(0, 8), SCRAPS), max_size=4))
@settings(max_examples=300, deadline=None)
def test_whatever_is_written_is_a_spec_or_is_answered(
    slips: list[tuple[int, int, str]],
) -> None:
    """Scraps put into a spec, or over a part of it: never a fault without its line."""
    text = WELL
    for at, over, scrap in slips:
        text = text[:at] + scrap + text[at + over :]
    try:
        for spec in load_text(text):
            check(as_data(plan(spec)))
    except SpecError as error:
        for line in str(error).splitlines():
            assert re.match(r"spec:\d+: .*found .+; expected .+", line), line
            assert line.isprintable()
