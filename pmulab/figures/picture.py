"""A drawn picture: one SVG that carries its own description and needs nothing from outside."""

import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from hashlib import sha256
from io import BytesIO, StringIO
from typing import Any
from xml.etree import ElementTree as ET

from matplotlib import rc_context
from matplotlib.figure import Figure
from seaborn import axes_style

from pmulab.figures.lettering import SIZE, clean
from pmulab.figures.palette import INK, PAPER, QUIET

_SVG = "http://www.w3.org/2000/svg"
_LINK = "http://www.w3.org/1999/xlink"
_POINTS_TO_PIXELS = 96 / 72
_LETTERS = "Arial, 'Liberation Sans', Helvetica, 'DejaVu Sans', sans-serif"

_STYLE: dict[Any, Any] = {
    **axes_style("ticks"),
    "axes.edgecolor": QUIET,
    "axes.labelcolor": INK,
    "axes.labelsize": SIZE,
    "axes.linewidth": 0.8,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "figure.facecolor": PAPER,
    "font.family": ["DejaVu Sans"],
    "font.size": SIZE,
    "svg.fonttype": "none",
    "svg.hashsalt": "pmulab",
    "text.color": INK,
    "text.parse_math": False,
    "xtick.color": QUIET,
    "xtick.labelcolor": INK,
    "xtick.labelsize": SIZE,
    "ytick.color": QUIET,
    "ytick.labelcolor": INK,
    "ytick.labelsize": SIZE,
}


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture and what it shows, in words.

    Parameters
    ----------
    svg : str
        One `<svg>` element; the same findings give the same bytes.
    alt : str
        What a reader who cannot see the picture needs to know; never empty.
    title : str
    width, height : float
        In CSS pixels (96 to the inch).
    draw : callable or None
        Draws it again on an empty sheet, for other formats.
    """

    svg: str
    alt: str
    title: str
    width: float
    height: float
    draw: Callable[[Figure], None] | None = field(default=None, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not self.alt.strip() or not self.title.strip():
            raise ValueError("Picture: a title and a description in words are needed")

    def png(self, dots: int = 200) -> bytes:
        """Give the picture as pixels, for programs that show no SVG.

        Parameters
        ----------
        dots : int, default=200
            To the inch.

        Returns
        -------
        bytes
            A PNG file. Letters that the drawing font lacks become boxes; `alt` has them all.

        Raises
        ------
        ValueError
            If the picture does not know how it was drawn.
        """
        if self.draw is None:
            raise ValueError("Picture: it was not made by `drawn`")
        content = BytesIO()
        with _sheet(self.draw, (self.width / 96, self.height / 96)) as sheet:
            sheet.savefig(content, format="png", dpi=dots, metadata={"Software": None})
        return content.getvalue()

    def _repr_html_(self) -> str:
        return f'<figure class="picture">{self.svg}</figure>'

    def __str__(self) -> str:
        return f"{self.title}. {self.alt}"


def drawn(
    draw: Callable[[Figure], None], *, title: str, alt: str, width: float, height: float
) -> Picture:
    """Draw on an empty sheet and keep the result with its description.

    Parameters
    ----------
    draw : callable
        Given the sheet.
    title, alt : str
    width, height : float
        Of the sheet, in inches.

    Returns
    -------
    Picture
    """
    title, alt = clean(title), clean(alt)
    text = StringIO()
    with _sheet(draw, (width, height)) as sheet:
        sheet.savefig(text, format="svg", metadata={"Date": None})
    svg = _described(text.getvalue(), title, alt)
    return Picture(svg, alt, title, round(width * 96, 1), round(height * 96, 1), draw)


@contextmanager
def _sheet(draw: Callable[[Figure], None], size: tuple[float, float]) -> Iterator[Figure]:
    """Give a sheet that was drawn on, in the style of all pictures, ready to be saved."""
    with rc_context(_STYLE), warnings.catch_warnings():
        # The reader's browser sets the letters and has more of them than the font measured here.
        warnings.filterwarnings("ignore", r"Glyph \d+ .*missing from font", UserWarning)
        sheet = Figure(figsize=size)
        draw(sheet)
        yield sheet


def _described(text: str, title: str, alt: str) -> str:
    """Give the drawing a title and description, and ids that no other picture of a page has."""
    root = ET.fromstring(text)
    for part in ("metadata", "defs"):
        for found in root.findall(f"{{{_SVG}}}{part}"):
            if found.find(f"{{{_SVG}}}style") is not None or part == "metadata":
                root.remove(found)
    mark = f"p{sha256((title + alt + text).encode()).hexdigest()[:10]}"
    _rename_ids(root, mark)
    _use_reader_letters(root)
    root.attrib.update(_root_attributes(root, mark))
    for place, (name, said) in enumerate((("title", title), ("desc", alt))):
        words = ET.Element(f"{{{_SVG}}}{name}", {"id": f"{mark}-{name}"})
        words.text = said
        words.tail = "\n"
        root.insert(place, words)
    ET.register_namespace("", _SVG)
    ET.register_namespace("xlink", _LINK)
    return ET.tostring(root, encoding="unicode")


def _root_attributes(root: ET.Element, mark: str) -> dict[str, str]:
    width, height = (float(root.attrib[side].removesuffix("pt")) for side in ("width", "height"))
    return {
        "width": f"{width * _POINTS_TO_PIXELS:.1f}",
        "height": f"{height * _POINTS_TO_PIXELS:.1f}",
        "role": "img",
        "aria-labelledby": f"{mark}-title {mark}-desc",
        "style": "max-width:100%;height:auto;stroke-linejoin:round;stroke-linecap:butt",
    }


def _rename_ids(root: ET.Element, mark: str) -> None:
    """Keep only the ids that something points at, with the picture's own mark before them."""
    link = f"{{{_LINK}}}href"
    parts = list(root.iter())
    # a drawn photo is a link too: one that holds the picture itself
    linked = [part for part in parts if part.attrib.get(link, "").startswith("#")]
    pointed = {part.attrib[link][1:] for part in linked}
    pointed |= {part.attrib["clip-path"][5:-1] for part in parts if "clip-path" in part.attrib}
    for part in parts:
        name = part.attrib.pop("id", None)
        if name in pointed:
            part.set("id", f"{mark}-{name}")
        if part in linked:
            part.set(link, f"#{mark}-{part.attrib[link][1:]}")
        if "clip-path" in part.attrib:
            part.set("clip-path", f"url(#{mark}-{part.attrib['clip-path'][5:-1]})")


def _use_reader_letters(root: ET.Element) -> None:
    for text in root.iter(f"{{{_SVG}}}text"):
        text.set("style", text.get("style", "").replace("'DejaVu Sans'", _LETTERS))
