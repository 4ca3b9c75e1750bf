"""Sheets: the pages of the editions, and the PDF that carries them."""

from cards.sheet.bind import Card, bound_pdf
from cards.sheet.compose import EDITIONS, card_pdf, compose, spec_attached

__all__ = ["EDITIONS", "Card", "bound_pdf", "card_pdf", "compose", "spec_attached"]
