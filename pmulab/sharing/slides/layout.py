"""Where everything of a slide stands, and how large: the same for both ways of writing it.

Nobody measures letters here; lines are counted with letters wider than those of any common
typeface, so that text fits where it is shown. Lengths are inches, letter sizes points.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import floor

from pmulab.figures import Picture
from pmulab.figures.lettering import broken
from pmulab.sharing.slides.slide import Part, Slide

WIDTH, HEIGHT = 13.333, 7.5
LEADING = 1.2
FOOT_SIZE = 12.0
HEADING_GROWTH = 1.1
SAID_GROWTH = 1.25
PARAGRAPH = 0.35  # space after a paragraph, in letter sizes

_MARGIN, _GAP = 0.5, 0.25
_TITLE_HEIGHT, _TOP, _BOTTOM = 0.95, 1.5, 6.8
PADDING = 0.12
INDENT = 0.25
_LETTER, _BOLD = 0.53, 0.57  # width of a letter over its size; Arial's average is below 0.5
_SIZES = (20.0, 18.0, 16.0, 14.0, 13.0, 12.0, 11.0)
_TITLE_SIZES = (32.0, 28.0, 24.0, 20.0)
_SMALLEST_PICTURE = 2.3
_MANY = 999


@dataclass(frozen=True, slots=True)
class Box:
    """A place on a slide, in inches from its left and upper edge."""

    left: float
    top: float
    width: float
    height: float


TITLE = Box(_MARGIN, 0.4, WIDTH - 2 * _MARGIN, _TITLE_HEIGHT)
FOOT = Box(_MARGIN, 6.95, 9.6, 0.4)
NUMBER = Box(WIDTH - _MARGIN - 1.2, 6.95, 1.2, 0.4)


@dataclass(frozen=True, slots=True)
class Placed:
    """A slide with its places.

    Parameters
    ----------
    title_size, size : float
        Of the letters of the title and of the text, in points.
    parts : tuple of (Part, Box)
    picture : Box or None
    """

    title_size: float
    size: float
    parts: tuple[tuple[Part, Box], ...]
    picture: Box | None


def place(slide: Slide) -> Placed:
    """Give every part of a slide its place, in the largest letters that fit.

    Parameters
    ----------
    slide : Slide

    Returns
    -------
    Placed
        In the smallest letters, and perhaps too long, where nothing fits; see `fits`.
    """
    size = next((size for size in _SIZES if _room_left(slide, size) >= 0), _SIZES[-1])
    picture, top = None, _TOP
    if slide.picture is not None:
        room = max(_BOTTOM - _TOP - _rows_height(slide, size), _SMALLEST_PICTURE)
        picture = _picture_box(slide.picture, room)
        top = picture.top + picture.height + _GAP
    return Placed(_title_size(slide.title), size, tuple(_boxes(slide, size, top)), picture)


def fits(slide: Slide) -> bool:
    """Whether everything of a slide has room, the smallest letters allowed for.

    Parameters
    ----------
    slide : Slide

    Returns
    -------
    bool
    """
    return _room_left(slide, _SIZES[-1]) >= 0 and _lines_of_title(slide.title) <= 2


def part_height(part: Part, width: float, size: float) -> float:
    """Say how much height a part needs.

    Parameters
    ----------
    part : Part
    width : float
        Of its place, in inches.
    size : float
        Of the letters, in points.

    Returns
    -------
    float
        In inches.
    """
    inner = width - 2 * PADDING
    sizes = [(part.heading, size * HEADING_GROWTH, _BOLD, inner)] if part.heading else []
    grown, letter = (size * SAID_GROWTH, _BOLD) if part.kind == "said" else (size, _LETTER)
    indent = INDENT if part.dashed else 0
    sizes += [(line, grown, letter, inner - indent) for line in part.lines]
    return 2 * PADDING + sum(_height(*one) for one in sizes)


def _height(text: str, size: float, letter: float, width: float) -> float:
    lines = len(broken(text, max(floor(72 * width / (letter * size)), 1), _MANY))
    return size * (lines * LEADING + PARAGRAPH) / 72


def _rows_height(slide: Slide, size: float) -> float:
    return sum(_row_height(row, size) + _GAP for row in slide.rows)


def _row_height(row: tuple[Part, ...], size: float) -> float:
    return max(part_height(part, _column(row), size) for part in row)


def _column(row: tuple[Part, ...]) -> float:
    return (TITLE.width - _GAP * (len(row) - 1)) / len(row)


def _room_left(slide: Slide, size: float) -> float:
    picture = _SMALLEST_PICTURE if slide.picture is not None else 0.0
    return _BOTTOM - _TOP - picture - _rows_height(slide, size) + (0 if picture else _GAP)


def _picture_box(picture: Picture, height: float) -> Box:
    """Make the picture as large as its shape and the room allow, in the middle."""
    scale = min(TITLE.width / picture.width, height / picture.height)
    width = picture.width * scale
    return Box((WIDTH - width) / 2, _TOP, width, picture.height * scale)


def _boxes(slide: Slide, size: float, top: float) -> Iterable[tuple[Part, Box]]:
    for row in slide.rows:
        width, height = _column(row), _row_height(row, size)
        for place, part in enumerate(row):
            left = _MARGIN + place * (width + _GAP)
            yield part, Box(left, top, width, height)
        top += height + _GAP


def _lines_of_title(title: str, size: float = _TITLE_SIZES[-1]) -> int:
    return len(broken(title, floor(72 * TITLE.width / (_BOLD * size)), _MANY))


def _title_size(title: str) -> float:
    def height(size: float) -> float:
        return _lines_of_title(title, size) * size * LEADING / 72

    return next((size for size in _TITLE_SIZES if height(size) <= TITLE.height), _TITLE_SIZES[-1])
