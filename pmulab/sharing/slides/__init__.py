"""The findings as slides: one deck, written as a page to show and as a file to edit."""

from typing import TYPE_CHECKING

from pmulab.lazily import lazily
from pmulab.sharing.slides.deck import Deck, deck
from pmulab.sharing.slides.slide import Part, Slide

if TYPE_CHECKING:
    from pmulab.sharing.slides.as_html import deck_html
    from pmulab.sharing.slides.as_pptx import deck_pptx

__all__ = ["Deck", "Part", "Slide", "deck", "deck_html", "deck_pptx"]

_LATER = {"deck_html": "as_html", "deck_pptx": "as_pptx"}

__getattr__ = lazily(__name__, _LATER)
