"""The drawn photos of the demonstration, with the marks of whoever marked them."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from pmulab.demo.lid import STRIP_MM, DrawnLid, Floats, Span, places, reference_marks
from pmulab.demo.lid_photo import draw_jpeg

_LABEL = "INVENTED: a drawing, no photo of anyone"
_PIXELS_PER_MM = 24.0
_LEFT: tuple[Span, ...] = ((4.0, 6.6), (15.2, 17.2), (20.4, 20.9))
_RIGHT: tuple[Span, ...] = ((11.2, 13.6), (22.0, 22.6))


@dataclass(frozen=True, slots=True)
class DrawnPhoto:
    """One drawn photo.

    Parameters
    ----------
    code : str
    lid : DrawnLid
        What was drawn.
    jpeg : bytes
    marks : mapping or None
        As `mark_photo` takes them; None for the one that is left to be marked.
    """

    code: str
    lid: DrawnLid
    jpeg: bytes
    marks: Mapping[str, Any] | None


@cache
def drawn_photos() -> tuple[DrawnPhoto, ...]:
    """Draw the photos of the demonstration.

    Returns
    -------
    tuple of DrawnPhoto
        Two eyelids photographed twice; one under mixed light, which is refused; one not marked.
    """
    left = _lid(gaps=_LEFT, width=1.1, seed=11)
    unmarked = _lid(gaps=_RIGHT[:1], seed=14)
    right = _lid(gaps=_RIGHT, spread=(3.0, 9.0, 0.45), kelvin=4600.0, seed=12)
    return (
        _marked("healed-C417-L", left),
        _marked("healed-C417-L-again", _lid(gaps=_LEFT, width=1.1, stops=-0.1, seed=21)),
        _marked("healed-C417-R", right),
        _marked(
            "healed-C417-R-again",
            _lid(gaps=_RIGHT, spread=(3.0, 9.0, 0.45), kelvin=4500.0, stops=0.1, seed=22),
        ),
        _marked("healed-C263-L", _lid(second_light=0.3, seed=13)),
        DrawnPhoto("healed-C263-R", unmarked, draw_jpeg(unmarked), None),
    )


def _lid(**given: Any) -> DrawnLid:
    usual: dict[str, Any] = {
        "pixels_per_mm": _PIXELS_PER_MM,
        "length": 26.0,
        "kelvin": 4400.0,
        "label": _LABEL,
    }
    return DrawnLid(**(usual | given))


def _marked(code: str, lid: DrawnLid) -> DrawnPhoto:
    """Draw a photo and mark it as a steady hand would."""
    hand = np.random.default_rng(lid.seed)

    def points(exact: Floats) -> list[list[float]]:
        return [[round(float(part), 1) for part in at + hand.normal(0, 0.5, 2)] for at in exact]

    grey, scale = (points(part) for part in reference_marks(lid))
    marks = {
        "style": "thin_line",
        "grey": grey,
        "scale": {"start": scale[0], "end": scale[1], "mm": STRIP_MM},
        "line": {
            "points": points(places(lid, np.linspace(0, lid.length, 9))),
            "width_mm": lid.planned,
            "skin": "above",
        },
    }
    return DrawnPhoto(code, lid, draw_jpeg(lid), marks)
