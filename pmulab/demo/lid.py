"""A drawn eyelid with a healed line: no photo of anyone, every length and colour known.

A closed upper lid is drawn as flat skin with a lash line on a circle, lashes below it, and a
reference strip above it. Light, lens and camera are then laid over it: colour of the light,
exposure, uneven light, blur, noise, JPEG. It is as simple as it looks; a real lid has folds,
gloss and make-up that this drawing has not.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating]
Lab = tuple[float, float, float]
Span = tuple[float, float]

STRIP_MM = 40.0


@dataclass(frozen=True, slots=True)
class DrawnLid:
    """What there is to see, in millimetres, and how it is photographed.

    Parameters
    ----------
    skin, pigment, fan : (L*, a*, b*)
        Colours; `fan` is pigment that has spread.
    length, planned, width : float
        Planned length and width of the line, and its healed width.
    gaps : sequence of (from, to)
        Places along the line without pigment.
    spread : (from, to, beyond) or None
        Where pigment has spread, and how far beyond the planned edge.
    lashes : int
        How many; a few of them stray over the line.
    radius : float
        Of the circle that the lash line lies on.
    pixels_per_mm : float
    kelvin, cast : float
        Colour of the light, and how much of it the camera leaves (0 to 1).
    stops : float
        Exposure, 0 as it should be.
    falloff : float
        Loss of light from left to right, as a share.
    second_light : float
        Share by which blue gains on red from left to right.
    blur, noise : float
        Blur of the lens (standard deviation, mm), noise of the sensor (share of full light).
    quality : int
        Of the JPEG.
    label : str
        Written on the drawing.
    seed : int
    """

    skin: Lab = (66.0, 11.0, 17.0)
    pigment: Lab = (27.0, 4.0, 6.0)
    fan: Lab = (50.0, 2.0, 4.0)
    length: float = 28.0
    planned: float = 1.2
    width: float = 1.2
    gaps: tuple[Span, ...] = ()
    spread: tuple[float, float, float] | None = None
    lashes: int = 70
    radius: float = 30.0
    pixels_per_mm: float = 30.0
    kelvin: float = 5000.0
    cast: float = 0.5
    stops: float = 0.0
    falloff: float = 0.03
    second_light: float = 0.0
    blur: float = 0.03
    noise: float = 0.004
    quality: int = 90
    label: str = ""
    seed: int = 1

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the photo in pixels."""
        wide, high = STRIP_MM + 12.0, 31.0 + self.sag
        return round(wide * self.pixels_per_mm), round(high * self.pixels_per_mm)

    @property
    def sag(self) -> float:
        """Height of the arc of the line."""
        return self.radius * float(1 - np.cos(self.length / 2 / self.radius))

    @property
    def centre(self) -> tuple[float, float]:
        """Centre of the circle of the lash line, in mm from the upper left corner."""
        return (STRIP_MM + 12.0) / 2, 22.0 + self.sag - self.radius


@dataclass(frozen=True, slots=True)
class Truth:
    """What a perfect measurement would find.

    Parameters
    ----------
    kept : float
        Per cent of the planned area that holds pigment.
    width, spread : float
        Millimetres: healed width; spread as the 95th percentile along the line.
    skin, pigment : (L*, a*, b*)
    """

    kept: float
    width: float
    spread: float
    skin: Lab
    pigment: Lab


def places(lid: DrawnLid, along: Floats, across: Floats | float = 0.0) -> Floats:
    """Give pixels of places on the lid.

    Parameters
    ----------
    lid : DrawnLid
    along : ndarray of shape (n,)
        Millimetres from the left end of the line.
    across : float or ndarray of shape (n,), default=0
        Millimetres toward the bare skin.

    Returns
    -------
    ndarray of shape (n, 2)
    """
    angle = (np.asarray(along) - lid.length / 2) / lid.radius
    reach = lid.radius - across
    x, y = lid.centre
    at = np.column_stack([x + reach * np.sin(angle), y + reach * np.cos(angle)])
    return np.asarray(at * lid.pixels_per_mm)


def truth_of(lid: DrawnLid) -> Truth:
    """Work out what a perfect measurement of the drawing would find.

    Parameters
    ----------
    lid : DrawnLid

    Returns
    -------
    Truth
    """
    along = np.linspace(0, lid.length, 4001)
    present = np.ones_like(along)
    for start, end in lid.gaps:
        present[(along >= start) & (along <= end)] = 0
    upper, plan = pigment_reach(lid, along), lid.planned / 2
    beyond = np.maximum(upper - plan, 0) * present
    inside = np.minimum(upper, plan) + min(lid.width / 2, plan)
    kept = float((present * inside).mean() / lid.planned)
    return Truth(100 * kept, lid.width, float(np.percentile(beyond, 95)), lid.skin, lid.pigment)


def reference_marks(lid: DrawnLid) -> tuple[Floats, Floats]:
    """Give the corners of the grey patch and the two outer marks of the scale, in pixels.

    Parameters
    ----------
    lid : DrawnLid

    Returns
    -------
    tuple of (ndarray of shape (4, 2), ndarray of shape (2, 2))
    """
    right = 6 + STRIP_MM
    grey = np.array([[6.6, 3.1], [right - 0.6, 3.1], [right - 0.6, 5.9], [6.6, 5.9]])
    return grey * lid.pixels_per_mm, np.array([[6, 8.2], [right, 8.2]]) * lid.pixels_per_mm


def pigment_reach(lid: DrawnLid, along: Floats) -> Floats:
    """Give how far pigment reaches toward the bare skin, place by place.

    Parameters
    ----------
    lid : DrawnLid
    along : ndarray of shape (n,)
        Millimetres from the left end of the line.

    Returns
    -------
    ndarray of shape (n,)
        Millimetres from the middle of the line.
    """
    edge = np.full_like(along, lid.width / 2)
    if lid.spread is None:
        return edge
    start, end, beyond = lid.spread
    swell = np.clip(np.minimum(along - start, end - along) / 0.8, 0, 1)
    return np.maximum(edge, np.where(swell > 0, lid.planned / 2 + beyond * swell, 0))
