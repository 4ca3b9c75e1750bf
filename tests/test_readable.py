"""A reader finds what a sign means, where a list ends and which bar a number is of.

Source: what lofts expect of a card (common practice, no source).
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest

from cards import load, plan
from cards.job import Plan
from cards.picture import Line, Picture, Text
from cards.picture.room import text_room
from cards.sheet import compose, say
from cards.words import words
from tests import print_craft as craft

SPECS = Path(__file__).parent.parent / "specs"


@lru_cache(maxsize=32)
def planned(name: str) -> Plan:
    return plan(load(SPECS / f"{name}.yaml")[0])


@lru_cache(maxsize=32)
def pages(name: str, edition: str = "loft") -> list[Picture]:
    return compose(planned(name), edition)


def texts(page: Picture, role: str = "") -> list[str]:
    return [
        shape.text
        for shape in page.shapes
        if isinstance(shape, Text) and (not role or shape.role == role)
    ]


@pytest.mark.parametrize("edition", ["loft", "deck"])
def test_each_number_is_plainly_by_its_cut_in_a_large_hole(edition: str) -> None:
    assert craft.stray_cut_numbers(pages("large", edition)) == []


def test_each_refill_leads_to_its_knot_in_a_large_hole() -> None:
    refills = planned("large").reckoning.refills
    assert len(refills) > 20
    assert craft.stray_refills(pages("large"), refills) == []


@pytest.mark.parametrize("name", ["ragged-round", "uneven-wide", "patch-torn-out"])
def test_the_number_of_a_cut_stands_to_the_right_of_its_mark(name: str) -> None:
    for page in pages(name):
        marks = {
            shape.of: shape.points
            for shape in page.shapes
            if isinstance(shape, Line) and shape.role == "cut mark"
        }
        for shape in page.shapes:
            if isinstance(shape, Text) and shape.role == "cut number":
                (left, _), (right, _) = marks[shape.of]
                assert text_room(shape)[0] > (left + right) / 2, shape.text


@pytest.mark.parametrize("name", ["awkward-notch", "awkward-two-legs"])
def test_the_signs_of_the_sewing_are_told_on_its_own_page(name: str) -> None:
    (drawn,) = (
        page
        for page in pages(name)
        if "knot number" in {s.role for s in page.shapes if isinstance(s, Text)}
        and texts(page, "row number")
    )
    assert "sider" in texts(drawn, "legend")


def test_a_legend_has_only_signs_that_occur() -> None:
    told = [text for page in pages("one-bar") for text in texts(page, "legend")]
    assert "start" in told
    assert not {"pickup above", "pickup below", "sider"} & set(told)


@pytest.mark.parametrize("name", ["awkward-comb", "awkward-island", "ragged-round"])
def test_the_check_and_the_cautions_stay_in_one_piece(name: str) -> None:
    for first, last in (("Check at the end", "Trim the loose"), ("Safety", "This card is a work")):
        begins = [n for n, page in enumerate(pages(name)) if first in texts(page, "heading")]
        ends = [
            n
            for n, page in enumerate(pages(name))
            if any(text.startswith(last) for text in texts(page))
        ]
        assert begins == ends
        assert len(begins) == 1


def test_the_check_names_a_row_as_it_stands_beside_the_drawing() -> None:
    own = planned("awkward-flap")
    row = say.end_check(own, words())["row"]
    assert row in {text for page in pages("awkward-flap") for text in texts(page, "row number")}


@pytest.mark.parametrize("name", ["awkward-flap", "ragged-round"])
def test_each_knot_is_said_to_make_a_mesh_only_where_it_does(name: str) -> None:
    own = planned(name)
    said = words().say("check.two", **say.end_check(own, words()))
    assert ("makes one mesh" in said) == (own.sewing.knots == own.meshes)


def test_the_deck_names_the_row_of_a_refill() -> None:
    rows = dict(say.materials(planned("awkward-notch"), words(), brief=True))
    assert rows["Refill"] == "after knot 54 in row B8"


@pytest.mark.parametrize(("name", "count"), [("awkward-comb", 2), ("awkward-flap", 1)])
def test_the_table_of_a_worksheet_takes_no_page_of_its_own(name: str, count: int) -> None:
    assert len(pages(name, "class")) == count


def unexplained(page: Picture) -> set[str]:
    """The signs in a drawing of the web that no legend on its page tells."""
    roles = {shape.role for shape in page.shapes}
    if "step" in roles or not roles & {"web", "row arrow", "stub"}:
        return set()  # a stitch has its sign beside its name
    signs = {role.removeprefix("sign ") for role in roles if role.startswith("sign ")}
    signs = {"sider" if sign.startswith("sider") else sign for sign in signs}
    signs |= {"cut here"} if "cut mark" in roles else set()
    signs |= {"broken"} if "stub" in roles else set()
    return signs - set(texts(page, "legend"))


@pytest.mark.parametrize("edition", ["loft", "deck", "class", "class-key"])
@pytest.mark.parametrize("name", ["large", "uneven-wide", "awkward-comb", "one-bar"])
def test_every_page_tells_its_signs(name: str, edition: str) -> None:
    for number, page in enumerate(pages(name, edition), 1):
        assert unexplained(page) == set(), f"page {number}"


def test_a_sign_that_is_not_told_is_seen() -> None:
    page = next(page for page in pages("large") if "row arrow" in {s.role for s in page.shapes})
    silent = replace(page, shapes=tuple(s for s in page.shapes if s.role != "legend"))
    assert "pickup above" in unexplained(silent)


def test_a_large_worksheet_begins_with_the_hole_and_has_no_empty_page_to_trim() -> None:
    sheet = pages("large", "class")
    begins = [n for n, page in enumerate(sheet) if "tile" in {s.role for s in page.shapes}]
    assert len(begins) == 2 and begins[0] == 0  # one for the cuts, one for the sewing
    for page in sheet[1 : begins[1]]:
        assert "web" in {shape.role for shape in page.shapes}
    key = pages("large", "class-key")
    cuts = {text for page in key[1 : begins[1]] for text in texts(page, "cut number")}
    assert cuts == {str(cut.n) for cut in planned("large").cuts}
    edges = [
        {shape.points for shape in page.shapes if shape.role == "hole edge"}
        for page in (sheet[0], pages("large")[0])
    ]
    assert edges[0] != edges[1]  # as found, not as trimmed: that is the answer


@pytest.mark.parametrize("name", ["left-handed", "ragged-round", "large", "patch-torn-out"])
def test_what_is_needed_is_told_before_the_sewing(name: str) -> None:
    headings = [text for page in pages(name) for text in texts(page, "heading")]
    sewing = next(
        n for n, text in enumerate(headings) if text.startswith(("The sewing", "The seam"))
    )
    assert headings.index("What you need") < sewing


def test_a_deck_card_without_knots_lists_none() -> None:
    refills = planned("large").reckoning.refills
    told = [text for page in pages("large", "deck") for text in texts(page, "cell")]
    assert len(refills) > say.PLACED
    assert not any(str(n) in text.split(", ") for n in refills for text in told)


def told_and_drawn(page: Picture) -> tuple[set[int], set[int]]:
    """The cuts that the heading of a tile names, and those it draws."""
    (heading,) = (text for text in texts(page) if text.startswith("Rows ") and " cut" in text)
    told: set[int] = set()
    for span in heading.partition(" cut")[2].removeprefix("s").split(","):
        first, _, last = span.strip().partition("–")
        told |= set(range(int(first), int(last or first) + 1))
    return told, {int(text) for text in texts(page, "cut number")}


def test_a_tile_names_the_cuts_that_it_draws_and_no_others() -> None:
    tiles = [page for page in pages("large") if "cut mark" in {s.role for s in page.shapes}]
    tiles = [page for page in tiles if "tile places" in {s.role for s in page.shapes}]
    assert len(tiles) > 20
    exact = 0
    for page in tiles:
        told, drawn = told_and_drawn(page)
        assert drawn <= told
        assert {min(told), max(told)} <= drawn
        exact += told == drawn
    assert exact > len(tiles) * 0.6  # the others hold more spans than a heading has room for
