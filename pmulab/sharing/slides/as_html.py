"""The deck as one page that shows itself: arrow keys, print, dark rooms, no network."""

from base64 import b64encode
from hashlib import sha256
from importlib.resources import files

from markupsafe import Markup

from pmulab.sharing.rendering import rendered
from pmulab.sharing.slides import layout
from pmulab.sharing.slides.deck import Deck
from pmulab.sharing.slides.layout import Box, place


def deck_html(deck: Deck) -> str:
    """Write the deck as one HTML file that needs nothing from outside.

    Parameters
    ----------
    deck : Deck

    Returns
    -------
    str
        A page whose own small script turns the slides; any other script is refused by the page
        itself. Without it (and on paper) the slides stand one below the other. One slide a sheet
        when printed; the words to say follow on sheets of their own while they are shown.
    """
    script = (files("pmulab.sharing") / "pages" / "slides.js").read_text(encoding="utf-8")
    digest = b64encode(sha256(script.encode()).digest()).decode()
    return rendered(
        "slides.html.jinja",
        deck=deck,
        placed=[place(slide) for slide in deck.slides],
        pictures=[Markup(s.picture.svg) if s.picture else "" for s in deck.slides],
        layout=layout,
        box=_style,
        script=Markup(script),
        digest=digest,
    )


def _style(box: Box) -> str:
    """Place a box; one rem is an inch of the slide."""
    return (
        f"left:{box.left:.3f}rem;top:{box.top:.3f}rem;"
        f"width:{box.width:.3f}rem;height:{box.height:.3f}rem"
    )
