"""What is too large is refused at once, by a limit that is named; what is within is made."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from cards import load_text, plan
from cards.command import MADE, WRONG_CALL, main
from cards.limits import BOX_LIMIT, CARD_BARS, PLAN_BARS, VALUE_LIMIT
from cards.sheet import compose

PATIENCE = 20.0  # seconds of processor time: a guard against a hang, on a slow machine too


def shape(kind: str, **size: int) -> str:
    sizes = ", ".join(f"{name}: {value}" for name, value in size.items())
    return f"hole: {{shape: {{kind: {kind}, {sizes}}}}}\n"


def comb(rows: int, columns: int) -> str:
    teeth = ",".join(str(column) for column in range(1, columns, 2))
    return f"hole: {{first: '/', rows: [{', '.join([repr(teeth)] * rows)}]}}\n"


FAR_APART = "hole: {bars: [[[0, 0], [1, 1]], [[1990, 1990], [1991, 1991]]]}\n"

TOO_LARGE = [
    ("a card", ["cards"], shape("rectangle", across=100, down=60), f"at most {CARD_BARS}."),
    ("a comb", ["cards"], comb(500, 2000), f"at most {CARD_BARS}."),
    ("a round", ["cards"], shape("diamond", across=72, down=72), "at most 170 of A5"),
    ("a slit", ["cards"], shape("slit along bar", down=200), "of A5"),
    ("large paper", ["cards", "--paper", "A3"], shape("slit along bar", down=400), "of A3"),
    ("a class", ["cards", "--edition", "class"], shape("slit along bar", down=300), "in parts"),
    ("a deck", ["cards", "--edition", "deck"], shape("slit along bar", down=600), "in parts"),
    ("a plan", ["plan"], shape("rectangle", across=400, down=400), f"at most {PLAN_BARS}."),
    ("shown", ["show", "--knots"], shape("rectangle", across=400, down=400), "in one drawing"),
    ("a picture", ["picture"], shape("slit along bar", down=300), "in one drawing"),
    (
        "bar by bar",
        ["convert", "--to", "bars"],
        shape("rectangle", across=10, down=600),
        "the most to",
    ),
    ("a million columns", ["cards"], "hole: {first: '/', rows: ['1-999999']}", f"{BOX_LIMIT:,}"),
    ("far apart", ["cards"], FAR_APART, "tears with 1989 rows between them"),
    ("many values", ["cards"], f"a: [{'1,' * 1_500_000}1]", f"more than {VALUE_LIMIT} values"),
    ("many fields", ["cards"], "".join(f"k{n}: 1\n" for n in range(150_000)), "149970 more"),
    ("many digits", ["cards"], shape("slit down", down=10**4000), "a whole number of meshes"),
    ("a long walk", ["cards"], f"hole: {{walk: '{'3 ' * 500_000}'}}", "hole.walk"),
]


@pytest.mark.parametrize(
    ("word", "text", "said"), [case[1:] for case in TOO_LARGE], ids=[c[0] for c in TOO_LARGE]
)
def test_what_is_too_large_is_refused_at_once(
    word: list[str], text: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, out = tmp_path / "torn.yaml", tmp_path / "out"
    file.write_text(text)
    place = ["--out", str(out)] if word[0] == "cards" else []
    begun = time.process_time()
    assert main([*word, str(file), *place]) == WRONG_CALL
    assert time.process_time() - begun < PATIENCE
    told = capsys.readouterr()
    assert said in told.err
    assert told.out == ""
    assert not out.exists() or not any(out.iterdir())


@pytest.mark.parametrize("edition", ["loft", "deck", "class"])
def test_a_hole_of_sixty_by_forty_meshes_is_printed(edition: str, tmp_path: Path) -> None:
    file = tmp_path / "large.yaml"
    file.write_text(shape("rectangle", across=60, down=40))
    call = ["cards", str(file), "--edition", edition, "--out", str(tmp_path / "out")]
    assert main(call) == MADE


def test_the_knots_of_a_part_of_a_row_are_those_on_its_columns() -> None:
    spec, *_ = load_text(comb(6, 30))
    for hand in ("left", "right"):
        (twine,) = plan(spec, hand=hand).sewing.twines
        for row in twine.rows:
            knots = twine.knots_of(row)
            for left, right in ((-9, 99), (3, 3), (4, 11), (11, 4), (29, 40), (50, 60)):
                found = [knot for knot in knots if left <= knot.at.x <= right]
                assert twine.knots_between(row, left, right) == found


@pytest.mark.parametrize("of", ["knots", "path"])
@pytest.mark.parametrize("hand", ["left", "right"])
def test_a_part_of_the_knots_is_that_of_all(of: str, hand: str) -> None:
    spec, *_ = load_text(shape("diamond", across=4, down=3))
    (twine,) = plan(spec, hand=hand).sewing.twines
    part = getattr(twine, of)
    whole = list(part)
    count = len(part)
    assert len(whole) == count
    assert [part[at] for at in range(count)] == whole
    assert [part[at - count] for at in range(count)] == whole
    for begin in range(-2, count + 2):
        for end in range(-2, count + 2):
            assert part[begin:end] == whole[begin:end]
    assert part[::3] == whole[::3]
    with pytest.raises(IndexError):
        part[count]


def test_the_library_plans_a_million_bars() -> None:
    spec, *_ = load_text(shape("rectangle", across=500, down=500))
    planned = plan(spec)
    assert planned.sewing.bars >= 1_000_000
    assert planned.sewing.knots == planned.meshes
    with pytest.raises(Exception, match=f"at most {CARD_BARS}"):
        compose(planned)
