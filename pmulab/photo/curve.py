"""The planned line as a smooth curve, measured along and across in millimetres."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import dist

import numpy as np
from numpy.typing import NDArray

from pmulab.photo.marks import Line, Point

_MOST_TURN = 150.0


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """Places along the planned line.

    Parameters
    ----------
    places : ndarray of shape (n, 2)
        x and y in pixels, equally spaced.
    normals : ndarray of shape (n, 2)
        Unit vectors across the line, toward the bare skin of the lid.
    step_mm : float
        Distance from place to place.
    """

    places: NDArray[np.float64]
    normals: NDArray[np.float64]
    step_mm: float

    @property
    def length_mm(self) -> float:
        """Length of the line."""
        return (len(self.places) - 1) * self.step_mm

    @property
    def turn(self) -> float:
        """Degrees between the two directions of the line that differ most."""
        along = np.unwrap(np.arctan2(self.normals[:, 1], self.normals[:, 0]))
        return float(np.degrees(along.max() - along.min()))

    @property
    def turns_back(self) -> bool:
        """True when the points cannot be one line of a lid."""
        return self.turn > _MOST_TURN


def planned_curve(line: Line, pixels_per_mm: float, step_mm: float) -> Curve:
    """Lay a smooth curve through the marked points.

    Parameters
    ----------
    line : Line
    pixels_per_mm : float
    step_mm : float
        Wished distance from place to place; shortened a little so that both ends are places.

    Returns
    -------
    Curve
        An interpolating cubic spline over chord length (a straight line for two points), so that
        points some millimetres apart follow a lid to a few hundredths of a millimetre.
    """
    from scipy.interpolate import make_interp_spline

    points = np.asarray(line.points, dtype=float)
    chords = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(chords)])
    spline = make_interp_spline(along, points, k=min(3, len(points) - 1))
    dense = np.linspace(0, along[-1], max(500, 20 * len(points)))
    travelled = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(spline(dense), axis=0).T))])
    count = max(int(np.ceil(travelled[-1] / (step_mm * pixels_per_mm))), 1) + 1
    at = np.interp(np.linspace(0, travelled[-1], count), travelled, dense)
    tangents = spline.derivative()(at)
    tangents /= np.hypot(*tangents.T)[:, None]
    normals = np.column_stack([tangents[:, 1], -tangents[:, 0]])
    upward = -normals[:, 1].sum()
    if (upward > 0) != (line.skin == "above"):
        normals = -normals
    return Curve(spline(at), normals, float(travelled[-1]) / (count - 1) / pixels_per_mm)


def outline(
    points: Sequence[Point], scale: Sequence[Point], scale_mm: float | None, width_mm: float | None
) -> list[list[list[float]]]:
    """Give the planned line as it will be measured, to be drawn over a photo while it is marked.

    Parameters
    ----------
    points : sequence of (x, y)
        Of the line, in pixels.
    scale : sequence of (x, y)
        Two marks of the scale, or fewer.
    scale_mm, width_mm : float or None

    Returns
    -------
    list of curves, each a list of [x, y]
        The middle; then the two planned edges, if scale and width are known. Empty as long as
        there is no line.
    """
    distinct = all(dist(a, b) >= 2 for a, b in pairwise(points))
    if len(points) < 2 or not distinct:
        return []
    known = len(scale) == 2 and scale_mm and scale_mm > 0 and width_mm and width_mm > 0
    per_mm = dist(*scale) / scale_mm if known and scale_mm else 1.0
    reach = per_mm * width_mm / 2 if known and width_mm else 0.0
    line = Line(tuple((float(x), float(y)) for x, y in points), width_mm or 1.0)
    curve = planned_curve(line, 1.0, 8.0)
    sides = (0.0, reach, -reach) if reach else (0.0,)
    return [(curve.places + side * curve.normals).round(1).tolist() for side in sides]
