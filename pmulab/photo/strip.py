"""The lid along the planned line, laid straight: one row a place along it, columns across it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pmulab.photo.colour import LUMINANCE, to_linear
from pmulab.photo.curve import Curve
from pmulab.photo.reading import Pixels

STEP_MM = 0.04
BESIDE_MM = 3.0
SKIN_MM = (2.0, 5.0)
"""Where bare skin is looked at, in mm beyond the planned edge."""


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """A straightened piece of a photo.

    Parameters
    ----------
    light : ndarray of shape (n_along, n_across, 3), float32
        Linear light as the camera saw it, not balanced.
    clipped : ndarray of shape (n_along, n_across), bool
        True where a channel of the photo stands at 255 or at 0.
    white : ndarray of shape (n_along, n_across), bool
        True where a channel stands at 255.
    across : ndarray of shape (n_across,)
        Millimetres from the middle of the planned line, positive toward the bare skin.
    step_mm : float
        From row to row.
    outside : float
        Share of places that lie outside the photo.
    """

    light: NDArray[np.float32]
    clipped: NDArray[np.bool_]
    white: NDArray[np.bool_]
    across: NDArray[np.float64]
    step_mm: float
    outside: float

    def band(self, start: float, end: float) -> NDArray[np.bool_]:
        """Tell which columns lie between two distances from the middle, in mm."""
        return (self.across >= start) & (self.across <= end)

    def skin_band(self, width_mm: float) -> NDArray[np.bool_]:
        """Tell which columns show bare skin beside a line of that planned width."""
        near, far = SKIN_MM
        return self.band(width_mm / 2 + near, width_mm / 2 + far)


def straighten(pixels: Pixels, curve: Curve, pixels_per_mm: float, width_mm: float) -> Strip:
    """Look along perpendiculars of the planned line, between the pixels.

    Parameters
    ----------
    pixels : ndarray of shape (height, width, 3), uint8
    curve : Curve
    pixels_per_mm : float
    width_mm : float
        Planned width.

    Returns
    -------
    Strip
        Interpolated linearly in linear light, in steps of `STEP_MM` across.
    """
    from scipy.ndimage import map_coordinates

    reach = (-width_mm / 2 - BESIDE_MM, width_mm / 2 + SKIN_MM[1])
    across = np.arange(reach[0], reach[1] + STEP_MM, STEP_MM)
    at = curve.places[:, None] + (across * pixels_per_mm)[:, None] * curve.normals[:, None]
    columns, rows = at[..., 0] - 0.5, at[..., 1] - 0.5
    high, wide = pixels.shape[:2]
    outside = (columns < 0) | (rows < 0) | (columns > wide - 1) | (rows > high - 1)
    left, right = _limits(columns, wide)
    top, bottom = _limits(rows, high)
    part = pixels[top:bottom, left:right]
    where = np.stack([rows - top, columns - left])
    linear = to_linear(part)
    light = np.empty((*columns.shape, 3), dtype=np.float32)
    for channel in range(3):
        map_coordinates(linear[..., channel], where, light[..., channel], order=1, mode="nearest")
    near = np.rint(where).astype(int)
    rows_near = near[0].clip(0, part.shape[0] - 1)
    columns_near = near[1].clip(0, part.shape[1] - 1)
    white = (part == 255).any(axis=-1)[rows_near, columns_near]
    clipped = white | (part == 0).any(axis=-1)[rows_near, columns_near]
    return Strip(light, clipped, white, across, curve.step_mm, float(outside.mean()))


def luminance(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Give luminance Y of linear sRGB light of shape (..., 3)."""
    return light @ LUMINANCE


def _limits(places: NDArray[np.float64], size: int) -> tuple[int, int]:
    first = int(np.clip(np.floor(places.min()) - 1, 0, size - 1))
    last = int(np.clip(np.ceil(places.max()) + 2, first + 1, size))
    return first, last
