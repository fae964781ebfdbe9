"""Words inside pictures: cleaned, shortened, broken into lines and set one line at a time."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from textwrap import wrap
from typing import TYPE_CHECKING, Literal
from unicodedata import east_asian_width

from matplotlib.transforms import offset_copy

from pmulab.figures.palette import INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.transforms import Transform

SIZE = 8.0
LEADING = 1.3

Across = Literal["left", "center", "right"]

_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

_COUNT = re.compile(r": \d{1,6}$")


def clean(text: str) -> str:
    """Replace the characters that no XML file may hold, and put the rest on one line.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
    """
    return " ".join(_NOT_IN_XML.sub("\ufffd", text).split())


def shortened(text: str, limit: int) -> str:
    """Cut a text to a number of characters, at a word where there is one.

    A count at its end (': 12') is kept.

    Parameters
    ----------
    text : str
    limit : int
        Largest number of characters, the ellipsis included.

    Returns
    -------
    str
    """
    text = clean(text)
    if len(text) <= limit:
        return text
    count = _COUNT.search(text)
    tail = count[0] if count else ""
    head = text[: max(limit - len(tail) - 1, 1)]
    at_word = head.rpartition(" ")[0]
    return (at_word if len(at_word) >= limit // 2 else head).rstrip(" ,;:") + "…" + tail


def few(texts: Sequence[str], most: int, limit: int | None = None) -> tuple[str, ...]:
    """Keep the first texts, each shortened where there is a limit, and count the rest.

    Parameters
    ----------
    texts : sequence of str
    most : int
    limit : int, optional
        Characters of each.

    Returns
    -------
    tuple of str
    """
    kept = tuple(shortened(text, limit) if limit else clean(text) for text in texts[:most])
    return (*kept, f"and {len(texts) - most} more") if len(texts) > most else kept


def broken(text: str, width: int, lines: int = 3) -> list[str]:
    """Break a text into at most so many lines; what does not fit ends in an ellipsis.

    Parameters
    ----------
    text : str
    width : int
        Characters a line; letters of double width count twice.
    lines : int, default=3

    Returns
    -------
    list of str
    """
    text = clean(text)
    if any(east_asian_width(letter) in "WF" for letter in text):
        width = max(1, width // 2)
    found = wrap(text, width)
    if len(found) <= lines:
        return found
    kept = found[:lines]
    kept[-1] = shortened(f"{kept[-1]} {found[lines]}", width)
    return kept


def number(value: float) -> str:
    """Write a number as axes show it: no offset, a true minus sign."""
    return f"{value:,.6g}".replace("-", "−")


def axis_label(words: str, unit: str, limit: int) -> str:
    """Name an axis in at most so many characters, its unit always kept.

    Parameters
    ----------
    words, unit : str
    limit : int

    Returns
    -------
    str
    """
    unit = shortened(unit, limit // 2)
    return f"{shortened(words, limit - len(unit) - 3)} ({unit})"


@dataclass(frozen=True, slots=True)
class Letters:
    """How a block of lines is set.

    Parameters
    ----------
    across : {'left', 'center', 'right'}
    down : {'top', 'center', 'bottom'}
        Which part of the block lies at its place.
    size : float
        In points.
    colour : str
    weight : {'normal', 'bold'}
    backing : str or None
        Colour behind the letters, where lines would run through them.
    """

    across: Across = "left"
    down: Literal["top", "center", "bottom"] = "top"
    size: float = SIZE
    colour: str = INK
    weight: Literal["normal", "bold"] = "normal"
    backing: str | None = None


PLAIN = Letters()


def write(
    axes: "Axes",
    place: tuple[float, float],
    lines: Sequence[str],
    letters: Letters = PLAIN,
    transform: "Transform | None" = None,
) -> None:
    """Set lines of text at a place, each line as a text of its own.

    The reader's letters may be narrower than the ones that were measured here; lines that carry
    their own anchor stay aligned all the same.

    Parameters
    ----------
    axes : Axes
    place : (x, y)
    lines : sequence of str
    letters : Letters
    transform : Transform or None
        Of the place; data coordinates when None.
    """
    figure = axes.get_figure(root=True)
    lift = {"top": -0.5, "center": (len(lines) - 1) / 2, "bottom": len(lines) - 0.5}[letters.down]
    backing = {"facecolor": letters.backing, "edgecolor": "none", "pad": 0.5}
    for row, line in enumerate(lines):
        down = (lift - row) * letters.size * LEADING
        axes.text(
            *place,
            line,
            ha=letters.across,
            va="center_baseline",
            size=letters.size,
            color=letters.colour,
            weight=letters.weight,
            transform=offset_copy(transform or axes.transData, figure, y=down, units="points"),
            clip_on=False,
            bbox=backing if letters.backing else None,
        )


def block(
    axes: "Axes",
    place: tuple[float, float],
    heads: Sequence[str],
    lines: Sequence[str],
    letters: Letters = PLAIN,
    transform: "Transform | None" = None,
) -> None:
    """Set lines in bold with plain lines below them, as one block.

    Parameters
    ----------
    axes : Axes
    place : (x, y)
    heads, lines : sequence of str
    letters : Letters
    transform : Transform or None
        Of the place; data coordinates when None.
    """
    bold = replace(letters, weight="bold")
    write(axes, place, [*heads, *("" for _ in lines)], bold, transform)
    write(axes, place, [*("" for _ in heads), *lines], letters, transform)


def headline(axes: "Axes", title: str, below: Sequence[str]) -> None:
    """Set a title over the axes, with smaller lines between the two.

    Parameters
    ----------
    axes : Axes
    title : str
    below : sequence of str
    """
    figure = axes.get_figure(root=True)
    height = 72 * axes.get_position().height * (figure.get_figheight() if figure else 1.0)
    above = axes.transAxes
    write(
        axes, (0.5, 1 + 5 / height), below, Letters(across="center", down="bottom"), transform=above
    )
    top = 1 + (8 + len(below) * SIZE * LEADING) / height
    write(
        axes,
        (0.5, top),
        [title],
        Letters(across="center", down="bottom", size=SIZE + 1.5, weight="bold"),
        transform=above,
    )
