"""The typeface: its files, and how much room a text takes.

Atkinson Hyperlegible Next, drawn so that 1 l I, 0 O and 6 8 9 are told apart when read badly.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from pathlib import Path

from reportlab.pdfbase.ttfonts import TTFontFace

from cards.shelf import shelf

FAMILY = "Atkinson Hyperlegible Next"
FILES = {False: "AtkinsonHyperlegibleNext-Regular.ttf", True: "AtkinsonHyperlegibleNext-Bold.ttf"}

POINT = 25.4 / 72  # mm
CAP_HEIGHT = 0.668  # height of capitals and digits, of the size
DESCENT = 0.21  # depth of g and p below the baseline, of the size


def font_file(bold: bool) -> Path:
    """The font file of a weight."""
    return shelf("templates") / "type" / FILES[bold]


@lru_cache(maxsize=2)
def _face(bold: bool) -> TTFontFace:
    return TTFontFace(str(font_file(bold)))


@lru_cache(maxsize=4096)
def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width in mm of a text set at `size` mm."""
    face = _face(bold)
    widths, missing = face.charWidths, face.defaultWidth
    return float(sum([widths.get(code, missing) for code in map(ord, text)])) * size / 1000


def size_for_height(height: float) -> float:
    """Size of the type whose digits are `height` mm tall."""
    return height / CAP_HEIGHT


@lru_cache(maxsize=4096)
def drawable(text: str) -> str:
    """Replace what the typeface lacks by the plain letter under it, or by a question mark.

    Examples
    --------
    >>> drawable("Łódź ②"), drawable("網")
    ('Łódź 2', '?')
    """
    known = _face(False).charToGlyph
    if all(ord(c) in known for c in text):
        return text
    drawn = []
    for character in text:
        if ord(character) in known:
            drawn.append(character)
            continue
        plain = "".join(c for c in unicodedata.normalize("NFKD", character) if ord(c) in known)
        drawn.append(plain or "?")
    return "".join(drawn)


UNITS = frozenset(("m", "mm", "cm", "km", "g", "kg", "ft", "in", "min", "h", "%", "tex"))


def words_of(text: str) -> list[str]:
    """The words of a text between which a line may break: a figure keeps its unit.

    Examples
    --------
    >>> words_of("pickup above × 60, 8.5 m so far")
    ['pickup', 'above', '× 60,', '8.5 m', 'so', 'far']
    """
    words: list[str] = []
    for word in text.split():
        if words and (
            words[-1] == "×" or (words[-1][-1].isdigit() and word.rstrip(".,;") in UNITS)
        ):
            words[-1] += f" {word}"
        else:
            words.append(word)
    return words


@lru_cache(maxsize=4096)
def wrapped(text: str, size: float, width: float, bold: bool = False) -> tuple[str, ...]:
    """Break a text into lines no wider than `width` mm; a word too wide is broken."""
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for word in words_of(paragraph):
            longer = f"{line} {word}" if line else word
            if text_width(longer, size, bold) <= width:
                line = longer
                continue
            if line:
                lines.append(line)
            *full, line = _broken(word, size, width, bold)
            lines += full
        lines.append(line)
    return tuple(lines)


def _broken(word: str, size: float, width: float, bold: bool) -> list[str]:
    """Break a word into parts no wider than `width` mm, each at least one letter."""
    parts = [""]
    for letter in word:
        if parts[-1] and text_width(parts[-1] + letter, size, bold) > width:
            parts.append("")
        parts[-1] += letter
    return parts


def clipped(text: str, size: float, width: float, most: int, bold: bool = False) -> tuple[str, ...]:
    """Break a text into at most `most` lines; what is cut off is marked by an ellipsis.

    Examples
    --------
    >>> clipped("A long title that goes on", 5.0, 31.0, 1)
    ('A long title…',)
    """
    lines = wrapped(text, size, width, bold)
    if len(lines) <= most:
        return lines
    *kept, last = lines[:most]
    while last and text_width(f"{last}…", size, bold) > width:
        last = last[:-1]
    return *kept, f"{last.rstrip(' ,.·')}…"
