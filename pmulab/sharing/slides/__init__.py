"""The findings as slides: one deck, written as a page to show and as a file to edit."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from pmulab.sharing.slides.deck import Deck, deck
from pmulab.sharing.slides.slide import Part, Slide

if TYPE_CHECKING:
    from pmulab.sharing.slides.as_html import deck_html
    from pmulab.sharing.slides.as_pptx import deck_pptx

__all__ = ["Deck", "Part", "Slide", "deck", "deck_html", "deck_pptx"]

_LATER = {"deck_html": "as_html", "deck_pptx": "as_pptx"}


def __getattr__(name: str) -> Any:
    if name in _LATER:
        return getattr(import_module(f"pmulab.sharing.slides.{_LATER[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
