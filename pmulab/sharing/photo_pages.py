"""Printable pages about photos: the reference strip, and what was measured."""

from collections.abc import Iterable
from importlib.resources import files
from typing import Any

from markupsafe import Markup

from pmulab.figures.healed_line import healed_line
from pmulab.photo.measuring import Reading
from pmulab.sharing.rendering import rendered
from pmulab.wording.cautions import INVENTED
from pmulab.wording.photographs import PHOTO_CAUTIONS, PROTOCOL

_COPIES = 5
_LONG_MM, _HIGH_MM, _EDGE_MM = 40, 15, 4
_GREY = "#777777"  # sRGB 119: L* 50


def reference_strip() -> str:
    """Write the page with the reference strip, in true millimetres, and how to use it.

    Returns
    -------
    str
        HTML for A4 or Letter paper, without script or outside address.
    """
    return _page(
        "reference-strip.html.jinja",
        strip=Markup(_strip()),
        copies=range(_COPIES),
        protocol=PROTOCOL,
        cautions=PHOTO_CAUTIONS,
    )


def measured_page(shots: Iterable[tuple[str, str, Reading]], *, invented: bool) -> str:
    """Write the page with the pictures of measured photos; it stays in the studio.

    Parameters
    ----------
    shots : iterable of (words, code, Reading)
    invented : bool
        True for the demonstration.

    Returns
    -------
    str
        HTML.
    """
    shown = [
        {
            "words": words,
            "refusals": reading.refusals,
            "picture": Markup(healed_line(code, reading)._repr_html_()) if reading.measured else "",
        }
        for words, code, reading in shots
    ]
    return _page(
        "measured.html.jinja",
        shots=shown,
        cautions=PHOTO_CAUTIONS,
        invented=INVENTED if invented else "",
    )


def _page(name: str, **parts: Any) -> str:
    style = files("pmulab.sharing").joinpath("pages/photo.css").read_text(encoding="utf-8")
    return rendered(name, style=Markup(style), **parts)


def _strip() -> str:
    """Draw one strip as SVG; one unit is one millimetre."""
    wide = _LONG_MM + 4 * _EDGE_MM
    marks = "".join(_mark(mm) for mm in range(_LONG_MM + 1))
    return (
        f'<svg class="strip" role="img" aria-label="Strip with a grey bar and a scale of '
        f'{_LONG_MM} millimetres" xmlns="http://www.w3.org/2000/svg" width="{wide}mm" '
        f'height="{_HIGH_MM}mm" viewBox="0 0 {wide} {_HIGH_MM}">'
        f'<rect x="0.1" y="0.1" width="{wide - 0.2}" height="{_HIGH_MM - 0.2}" fill="#ffffff" '
        f'stroke="#999999" stroke-width="0.2" stroke-dasharray="1 1"/>'
        f'<rect x="{_EDGE_MM}" y="1.5" width="{_LONG_MM}" height="5" fill="{_GREY}"/>'
        f"{marks}"
        f'<text x="{_LONG_MM + 1.9 * _EDGE_MM}" y="9.5" font-size="7" font-weight="bold" '
        f'font-family="Arial, Liberation Sans, sans-serif">R</text></svg>'
    )


def _mark(mm: int) -> str:
    high = 4.0 if mm % 10 == 0 else 3.2 if mm % 5 == 0 else 2.4
    at = _EDGE_MM + mm
    line = (
        f'<line x1="{at}" x2="{at}" y1="7.5" y2="{7.5 + high}" stroke="#000000" '
        f'stroke-width="0.25"/>'
    )
    if mm % 10:
        return line
    return line + (
        f'<text x="{at}" y="14" font-size="2.4" text-anchor="middle" '
        f'font-family="Arial, Liberation Sans, sans-serif">{mm}</text>'
    )
