"""Papers, and the one place for margins and sizes of type on a page."""

from __future__ import annotations

from dataclasses import dataclass, replace

from cards.errors import PageError, printable
from cards.picture import pen
from cards.picture.type import POINT

# Width and height upright, in mm. A sizes: ISO 216. Letter and half letter: ANSI/ASME Y14.1.
SIZES: dict[str, tuple[float, float]] = {
    "A6": (105, 148),
    "A5": (148, 210),
    "A4": (210, 297),
    "A3": (297, 420),
    "half-letter": (5.5 * 25.4, 8.5 * 25.4),
    "letter": (8.5 * 25.4, 11 * 25.4),
}
ACROSS = "-across"  # behind the name of a paper that lies on its long side

MARGIN = 10.0  # printers leave an edge, and a laminating film needs 5 mm beyond the cut
EYELET = 3.0  # radius of the ring
EYELET_CLEAR = 5.0  # radius that stays free of everything else
POCKET = 180.0  # papers with a side shorter than this go into a pocket
BRIEF = 120.0  # on papers with a side shorter than this only the first page has it all


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper: its name, width and height in mm."""

    name: str
    width: float
    height: float

    @property
    def lies(self) -> bool:
        """Whether it is wider than high."""
        return self.width > self.height

    @property
    def brief(self) -> bool:
        """Whether only the first page has room for all that stands on every page elsewhere."""
        return min(self.width, self.height) < BRIEF


@dataclass(frozen=True, slots=True)
class Sizes:
    """Sizes of type of an edition, in mm, and the height of its numbers.

    `label` is for the small print of the title block, `small` for legends and what is looked up,
    `plain` for all that is worked from, `title` for the title of the card.
    """

    label: float
    small: float
    plain: float
    heading: float
    title: float
    digits: float

    @property
    def leading(self) -> float:
        """From line to line of plain text."""
        return self.plain * 1.25


def paper(name: str) -> Paper:
    """Return a paper by its name: ``A5``, ``letter``, or on its long side ``A5-across``.

    Raises
    ------
    PageError
        When there is no such paper.

    Examples
    --------
    >>> paper("a5").width, paper("A4-across").width
    (148, 297)
    """
    across = name.lower().endswith(ACROSS)
    upright = name[: -len(ACROSS)] if across else name
    for known, (width, height) in SIZES.items():
        if known.lower() == upright.lower():
            found = Paper(known, width, height)
            return (
                replace(found, name=known + ACROSS, width=height, height=width) if across else found
            )
    names = [*SIZES, *(size + ACROSS for size in SIZES)]
    raise PageError(f'found no paper "{printable(name)}"; expected one of {", ".join(names)}')


def larger_papers(own: Paper) -> list[Paper]:
    """The papers larger than one, lying as it does, the smallest first: of its own kind, and A3.

    Examples
    --------
    >>> [other.name for other in larger_papers(paper("half-letter-across"))]
    ['letter-across', 'A3-across']
    """
    kind = ("letter", "A3") if "letter" in own.name else ("A5", "A4", "A3")
    others = [paper(f"{name}{ACROSS if own.lies else ''}") for name in kind]
    return [other for other in others if other.width * other.height > own.width * own.height]


BENCH_SIZES = Sizes(8.2 * POINT, 8.2 * POINT, 9.3 * POINT, 11.5 * POINT, 14 * POINT, pen.BENCH)
DECK_SIZES = Sizes(12.1 * POINT, 12.1 * POINT, 12.6 * POINT, 14 * POINT, 20 * POINT, pen.DECK)
# On a paper that fits a pocket titles are smaller. On the smallest so is the small print of title
# block and measures: card number, date, what the net is of, how long the lines are. All else keeps
# its 12 pt.
DECK_POCKET_SIZES = replace(DECK_SIZES, plain=12.1 * POINT, heading=12.6 * POINT, title=14 * POINT)
DECK_SMALLEST_SIZES = replace(DECK_POCKET_SIZES, label=8.4 * POINT)


def sizes_on(own: Paper, sizes: Sizes) -> Sizes:
    """The sizes of type of an edition on a paper."""
    if sizes is not DECK_SIZES or min(own.width, own.height) >= POCKET:
        return sizes
    return DECK_SMALLEST_SIZES if own.brief else DECK_POCKET_SIZES
