"""Every message for a wrong spec, as a user reads it: what is wrong, where, and what to do."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from cards import SpecError, load_text

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
