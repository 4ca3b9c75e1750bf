"""Make the pages of an edition, and the PDF of a card with its spec inside."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from cards.errors import PageError, nearest, printable
from cards.job import Plan
from cards.limits import CARD_BARS, check_bars
from cards.picture.pdf import Attachment, pdf_bytes
from cards.picture.shapes import Picture
from cards.picture.type import drawable
from cards.sheet.bind import on_sheets, outline
from cards.sheet.loft import loft_pages
from cards.sheet.pages import Look
from cards.sheet.paper import BENCH_SIZES, DECK_SIZES, Sizes, paper, sizes_on
from cards.words import Words, words


@dataclass(frozen=True, slots=True)
class Edition:
    """An edition: its pages, its usual paper, its sizes of type."""

    pages: Callable[[Plan, Look], list[Picture]]
    paper: str
    sizes: Sizes
    beside: tuple[str, ...] = ()  # editions made with it, in files of their own


def _deck(plan: Plan, look: Look) -> list[Picture]:
    from cards.sheet.deck import deck_pages

    return deck_pages(plan, look)


def _worksheet(plan: Plan, look: Look) -> list[Picture]:
    from cards.sheet.school import worksheet_pages

    return worksheet_pages(plan, look)


def _key(plan: Plan, look: Look) -> list[Picture]:
    from cards.sheet.school import key_pages

    return key_pages(plan, look)


EDITIONS: dict[str, Edition] = {
    "loft": Edition(loft_pages, "A5", BENCH_SIZES),
    "deck": Edition(_deck, "A4", DECK_SIZES),
    "class": Edition(_worksheet, "A4", BENCH_SIZES, beside=("class-key",)),
    "class-key": Edition(_key, "A4", BENCH_SIZES),
}


def compose(
    plan: Plan,
    edition: str = "loft",
    *,
    paper_name: str | None = None,
    word_list: Words | None = None,
) -> list[Picture]:
    """Make the pages of an edition of a plan.

    Parameters
    ----------
    plan
        The plan of a mend.
    edition
        A name of `EDITIONS`.
    paper_name
        A paper such as ``A5`` or ``A5-across``; the edition's own where None.
    word_list
        The words; English where None.

    Returns
    -------
    list of Picture
        A page each, as large as the paper.

    Raises
    ------
    PageError
        When edition or paper is not known, or the paper is too small.

    Examples
    --------
    >>> from cards import load_text, plan
    >>> spec, = load_text("hole: {shape: {kind: slit across, across: 2}}")
    >>> pages = compose(plan(spec), "deck")
    >>> len(pages), pages[0].width
    (1, 210)
    """
    if edition not in EDITIONS:
        raise PageError(
            f'found no edition "{edition}"; expected one of {", ".join(EDITIONS)}. '
            + nearest(edition, EDITIONS)
        )
    check_bars(plan.sewing.bars, CARD_BARS, plan.spec.source)
    chosen = EDITIONS[edition]
    own = paper(paper_name or chosen.paper)
    look = Look(own, sizes_on(own, chosen.sizes), word_list or words())
    try:
        return chosen.pages(plan, look)
    except PageError as error:
        source = printable(plan.spec.source)
        if str(error).startswith(source):
            raise
        raise PageError(f"{source}: {error}") from None


def card_pdf(
    plan: Plan,
    edition: str = "loft",
    *,
    paper_name: str | None = None,
    word_list: Words | None = None,
    per_sheet: int = 1,
) -> bytes:
    """Make the PDF of a card: its pages, its title, and its spec as an attachment.

    `per_sheet` pages stand on one sheet, with crop marks.
    """
    said = word_list or words()
    pages = compose(plan, edition, paper_name=paper_name, word_list=said)
    bookmarks = outline(pages, per_sheet)
    if per_sheet > 1:
        pages = on_sheets(pages, per_sheet)
    panel = plan.spec.net.panel or said.say("label.not_given")
    return pdf_bytes(
        pages,
        title=drawable(plan.spec.title),
        subject=said.say("file.subject", number=plan.number, panel=drawable(panel)),
        keywords=said.say("file.keywords", number=plan.number),
        author=drawable(plan.spec.author or ""),
        attachments=[spec_attached(plan, word_list=said)],
        bookmarks=bookmarks,
        language=said.language,
    )


def spec_attached(plan: Plan, name: str = "", word_list: Words | None = None) -> Attachment:
    """The spec of a plan as it was written, to put into the PDF of its card."""
    about = (word_list or words()).say("file.attached")
    return Attachment(f"{name or plan.spec.name}.yaml", plan.spec.text.encode(), about=about)
