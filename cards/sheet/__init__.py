"""Sheets: the pages of the editions, and the PDF that carries them."""

from cards.sheet.compose import EDITIONS, card_pdf, compose

__all__ = ["EDITIONS", "card_pdf", "compose"]
