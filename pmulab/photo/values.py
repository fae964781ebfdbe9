"""The numbers of one straightened lid."""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from pmulab.photo.colour import difference, to_lab, typology_angle
from pmulab.photo.edges import spreads, widths
from pmulab.photo.pigment import SEGMENTS, TRIMMED, Lid, kept, pigmented

_CORE = 0.25
"""Half of the planned width, as a share, over which the colour of the line is taken."""


@dataclass(frozen=True, slots=True)
class Numbers:
    """What a straightened lid shows.

    Parameters
    ----------
    kept : float
        Per cent of the planned area.
    segments : sequence of float
        The same as shares for ten equal parts of the line.
    width, width_error : float or None
        Median width in mm and the standard error of that; None when no line is there.
    spread : float
        95th percentile along the line, in mm.
    contrast, contrast_error : float or None
        CIEDE2000 and its standard error along the line; None when no line is there.
    contrasts : sequence of float
        CIEDE2000 of the planned area for ten equal parts of the line, kept or not.
    angle : float
        Typology angle of the bare skin, in degrees.
    """

    kept: float
    segments: tuple[float, ...]
    width: float | None
    width_error: float
    spread: float
    contrast: float | None
    contrast_error: float
    contrasts: tuple[float, ...]
    angle: float


def numbers(lid: Lid) -> Numbers:
    """Work out the numbers of a straightened lid.

    Parameters
    ----------
    lid : Lid

    Returns
    -------
    Numbers
    """
    found = pigmented(lid)
    along = kept(lid, found)
    wide = widths(lid, found)
    contrast, error = _contrast(lid, found) if len(wide) else (None, 0.0)
    return Numbers(
        kept=100 * float(along.mean()),
        segments=tuple(float(part.mean()) for part in np.array_split(along, SEGMENTS)),
        width=float(np.median(wide)) if len(wide) else None,
        width_error=_error(wide),
        spread=float(np.percentile(spreads(lid), 95)),
        contrast=contrast,
        contrast_error=error,
        contrasts=_contrasts(lid),
        angle=typology_angle(_colour(lid.skin)),
    )


def _error(values: NDArray[np.float64]) -> float:
    return float(values.std() / sqrt(len(values))) if len(values) else 0.0


def _core(lid: Lid) -> NDArray[np.bool_]:
    return np.asarray(np.abs(lid.across) <= _CORE * lid.width)


def _contrast(lid: Lid, found: NDArray[np.bool_]) -> tuple[float | None, float]:
    """Give the difference between pigment and skin, away from edges, and its standard error."""
    from scipy.ndimage import binary_erosion

    inner = binary_erosion(found, np.ones((5, 3), bool)) & _core(lid)
    if not inner.any():
        return None, 0.0
    pieces = np.array_split(np.arange(len(lid.light)), SEGMENTS)
    parts = [
        difference(_colour(lid.light[piece][inner[piece]]), _colour(lid.skin[piece]))
        for piece in pieces
        if inner[piece].any()
    ]
    return float(difference(_colour(lid.light[inner]), _colour(lid.skin))), _error(np.array(parts))


def _contrasts(lid: Lid) -> tuple[float, ...]:
    pieces = np.array_split(np.arange(len(lid.light)), SEGMENTS)
    core = _core(lid)
    lines = [_colour(lid.light[piece][:, core].reshape(-1, 3)) for piece in pieces]
    skins = [_colour(lid.skin[piece]) for piece in pieces]
    return tuple(float(part) for part in difference(np.array(lines), np.array(skins)))


def _colour(light: NDArray[np.float32]) -> NDArray[np.float64]:
    """Give the CIELAB of mean light: the colour steps of a JPEG even out, single hairs drop out."""
    from scipy.stats import trim_mean

    return to_lab(trim_mean(light, TRIMMED, axis=0))
