"""The loft edition shows the stitches that its job uses, and no others, each stage over its words.

What a job uses is read from the plan as data, what a page shows from its shapes. That each drawing
is the knot that its words tell is for `test_stitches`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from cards import Plan, as_data, load, plan
from cards.picture import Area, Line, Picture, Text
from cards.picture.shapes import mirrored
from cards.picture.stitches import stage_shapes
from cards.sheet import compose
from cards.sheet.say import stitch_sentences, stitch_title
from cards.words import words
from tests.print_craft import MM, PAPERS

SPECS = Path(__file__).parent.parent / "specs"
PLAIN = ("start", "pickup above", "pickup below", "sider", "end")
FEW = ("lost-knot", "one-bar", "ragged-round", "awkward-flap", "left-handed")


def planned(name: str, **asked: object) -> Plan:
    (spec,) = load(SPECS / f"{name}.yaml")
    return plan(spec, **asked)


def used(own: Plan) -> dict[tuple[str, str], int]:
    """Each stitch and way that a plan sews, with the number of its first knot, in that order."""
    first: dict[tuple[str, str], int] = {}
    for twine in as_data(own)["twines"]:
        heights = [y for _, y in twine["path"]]
        for knot in twine["knots"]:
            stitch = knot["stitch"]
            if stitch == "start" and heights[1] < heights[0]:
                stitch = "start below"  # the first bar goes up
            if stitch == "end" and heights[-2] > heights[-1]:
                stitch = "end above"  # the last bar comes from below
            if stitch == "start" and twine["path"][0] == twine["path"][-1]:
                stitch = "start on a pickup"  # a seam has no three-bar to start on
            path = [tuple(at) for at in twine["path"]]
            if stitch == "sider" and heights[path.index(tuple(knot["at"])) + 1] < knot["at"][1]:
                stitch = "sider up"  # a seam leads up again
            first.setdefault((stitch, knot["going"]), knot["n"])
    return first


def told(pages: Sequence[Picture]) -> list[tuple[int, str, float]]:
    """Each name of a stitch: the page from 0, its text, where it stands."""
    titles = {
        stitch_title(stitch, going, words())
        for stitch in (*PLAIN, "sider up", "start on a pickup", "start below", "end above")
        for going in ("right", "left")
    }
    return [
        (number, shape.text, shape.y)
        for number, page in enumerate(pages)
        for shape in sorted(
            (s for s in page.shapes if isinstance(s, Text)), key=lambda s: (round(s.y), s.x)
        )
        if shape.text in titles
    ]


def faults(own: Plan, pages: Sequence[Picture]) -> list[str]:
    """What is wrong with the stitches of a loft card."""
    wanted = used(own)
    names = [stitch_title(*pair, words()) for pair in wanted]  # type: ignore[arg-type]
    said = told(pages)
    once = list(dict.fromkeys(text for _, text, _ in said))  # a name is repeated where it is parted
    found = [] if once == names else [f"tells {once}, not {names}"]
    found += _wrong_signs(wanted, names, pages, said)
    for (stitch, going), name in zip(wanted, names):
        sentences = stitch_sentences(stitch, going, own.hand, words())  # type: ignore[arg-type]
        whole = " ".join(
            text for page in pages for text in _steps(page, name, said, pages.index(page))
        )
        for stage, sentence in enumerate(sentences, 1):
            if f"{stage} {sentence}" not in whole:
                found.append(f"{name}: stage {stage} does not say {sentence}")
    for number, page in enumerate(pages):
        found += _without_drawing(number, page)
    return found


def _wrong_signs(
    wanted: dict[tuple[str, str], int],
    names: list[str],
    pages: Sequence[Picture],
    said: list[tuple[int, str, float]],
) -> list[str]:
    """Names without the sign of their first knot at their left."""
    found = []
    for number, name, y in said:
        if name not in names:
            continue
        (stitch, going), n = list(wanted.items())[names.index(name)]
        kind = stitch.split(" ")[0] if stitch.startswith(("start", "end")) else stitch
        kind = kind if not stitch.startswith("sider") else f"sider on the {going}"
        signs = [
            shape
            for shape in pages[number].shapes
            if isinstance(shape, Area)
            and shape.role == f"sign {kind}"
            and min(py for _, py in shape.points) < y < max(py for _, py in shape.points)
        ]
        numbers = [
            shape.text
            for shape in pages[number].shapes
            if isinstance(shape, Text) and shape.role == "knot number" and abs(shape.y - y) < 1.5
        ]
        if not signs or str(n) not in numbers:
            found.append(f"{name}: no sign {kind} with {n}, but {numbers}")
    return found


def _steps(page: Picture, name: str, said: list[tuple[int, str, float]], number: int) -> list[str]:
    """The steps below a name on a page, each as one text with its number."""
    here = [(y, text) for at, text, y in said if at == number]
    parts: dict[tuple[str, str], list[Text]] = {}
    for shape in page.shapes:
        if not (isinstance(shape, Text) and shape.role == "step"):
            continue
        above = max(((y, text) for y, text in here if y < shape.y), default=(0.0, ""))
        beside = [text for y, text in here if abs(y - above[0]) < 0.5]
        owner = above[1] if len(beside) < 2 else _nearer(page, beside, shape)
        parts.setdefault((owner, shape.of), []).append(shape)
    return [
        " ".join(text.text for text in sorted(own, key=lambda t: (round(t.y, 1), t.x)))
        for (owner, _), own in parts.items()
        if owner == name
    ]


def _nearer(page: Picture, names: list[str], step: Text) -> str:
    """Of names side by side the one whose column a step stands in."""
    places = {s.text: s.x for s in page.shapes if isinstance(s, Text) and s.text in names}
    return max((x, text) for text, x in places.items() if x <= step.x + 15)[1]


def _without_drawing(number: int, page: Picture) -> list[str]:
    """Steps with no strand right above them on their page."""
    webs = [
        (min(x for x, _ in s.points), max(x for x, _ in s.points), max(y for _, y in s.points))
        for s in page.shapes
        if isinstance(s, Line) and s.of.startswith("outline")
    ]
    return [
        f"page {number + 1}: step {step.text} has no drawing above it"
        for step in page.shapes
        if isinstance(step, Text)
        and step.role == "step"
        and step.text.isdigit()
        and not any(
            step.x - 2 < right and left < step.x + 45 and 0 < step.y - low < 12
            for left, right, low in webs
        )
    ]


@pytest.mark.parametrize("name", FEW)
@pytest.mark.parametrize("paper", ["A6", "A5", "A4-across", "A3"])
def test_a_loft_card_tells_the_stitches_of_its_job(name: str, paper: str) -> None:
    own = planned(name)
    assert faults(own, compose(own, "loft", paper_name=paper)) == []


@pytest.mark.parametrize("paper", PAPERS)
def test_they_flow_on_every_paper(paper: str) -> None:
    own = planned("ragged-round")
    pages = compose(own, "loft", paper_name=paper)
    assert faults(own, pages) == []
    for page in pages:
        for shape in page.shapes:
            if isinstance(shape, Text) and shape.role == "step":
                assert shape.size * MM >= 9.0
            if isinstance(shape, Line) and (shape.of.startswith("outline") or shape.role == "lay"):
                assert shape.weight >= 0.2 - 1e-9


def test_a_stitch_that_fits_on_a_page_is_not_parted() -> None:
    own = planned("ragged-round")
    for paper in ("A5", "A5-across", "half-letter", "A4", "letter"):
        said = told(compose(own, "loft", paper_name=paper))
        assert len(said) == len(used(own)), paper


def test_no_other_edition_has_them() -> None:
    own = planned("ragged-round")
    for edition in ("deck", "class", "class-key"):
        assert told(compose(own, edition)) == []


def test_a_large_hole_tells_each_stitch_once() -> None:
    (spec,) = load(SPECS / "large.yaml")
    own = plan(spec)
    said = told(compose(own, "loft", paper_name="A3"))
    assert [text for _, text, _ in said] == [
        stitch_title(*pair, words())  # type: ignore[arg-type]
        for pair in used(own)
    ]


def test_the_left_hand_sees_the_mirror_image() -> None:
    own = planned("ragged-round", hand="left")
    strokes = sum(
        isinstance(shape, Line) and shape.of.startswith("outline")
        for page in compose(own, "loft")
        for shape in page.shapes
    )
    mirror = [
        shape
        for stitch, going in used(own)
        for stage in range(1, 5)
        for shape in mirrored(
            stage_shapes(stitch, "left" if going == "right" else "right", "right", stage), 19.0
        )
    ]
    assert strokes == sum(
        isinstance(shape, Line) and shape.of.startswith("outline") for shape in mirror
    )
    assert faults(own, compose(own, "loft")) == []


@pytest.mark.parametrize("fault", ["a step", "a drawing", "a sign", "a name", "a page", "a hand"])
def test_what_is_missing_or_wrong_is_seen(fault: str) -> None:
    own = planned("ragged-round")
    pages = compose(own, "loft")
    at = next(n for n, page in enumerate(pages) if any(s.role == "step" for s in page.shapes))
    page = pages[at]
    if fault == "a hand":
        pages = compose(planned("ragged-round", hand="left"), "loft")
    elif fault == "a page":
        pages = pages[: at + 1] + pages[at + 2 :]
    else:
        wrong = {
            "a step": lambda s: s.role == "step" and s.of == "stage 3",
            "a drawing": lambda s: getattr(s, "of", "").startswith("outline"),
            "a sign": lambda s: s.role.startswith("sign"),
            "a name": lambda s: isinstance(s, Text) and s.text.startswith("Start knot"),
        }[fault]
        kept = tuple(shape for shape in page.shapes if not wrong(shape))
        assert len(kept) < len(page.shapes)
        pages = [*pages[:at], replace(page, shapes=kept), *pages[at + 1 :]]
    assert faults(own, pages)
