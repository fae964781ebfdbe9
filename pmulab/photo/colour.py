"""Colours of a photo: linear light, white balance from the grey patch, CIELAB and its differences.

Colours are those of the standard observer under D65, as sRGB defines them. They are comparable
within one client under one light; they are no measurement of absolute colour.
"""

from dataclasses import dataclass
from math import atan2, degrees
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.floating]
SkinClass = Literal["very light", "light", "intermediate", "tan", "brown", "dark"]

LUMINANCE = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)
"""Share of red, green and blue light in luminance (IEC 61966-2-1)."""
_BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
_CLASSES: tuple[tuple[float, SkinClass], ...] = (
    (55, "very light"),
    (41, "light"),
    (28, "intermediate"),
    (10, "tan"),
    (-30, "brown"),
)


@dataclass(frozen=True, slots=True, eq=False)
class Balance:
    """How the light of a photo becomes daylight.

    Parameters
    ----------
    matrix : ndarray of shape (3, 3)
        From linear sRGB as the camera saw it to linear sRGB under D65.
    """

    matrix: NDArray[np.float64]

    def apply(self, linear: Floats) -> Floats:
        """Give balanced linear light.

        Parameters
        ----------
        linear : ndarray of shape (..., 3)

        Returns
        -------
        ndarray of shape (..., 3)
        """
        return linear @ self.matrix.T.astype(linear.dtype)


def to_linear(pixels: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Undo the sRGB encoding.

    Parameters
    ----------
    pixels : ndarray of shape (..., 3), uint8

    Returns
    -------
    ndarray of shape (..., 3), float32
        Linear light from 0 to 1.

    References
    ----------
    .. [1] IEC 61966-2-1:1999, Colour management - Default RGB colour space - sRGB.
    """
    coded = np.arange(256) / 255
    light = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    return light.astype(np.float32)[pixels]


def balance_from_grey(grey: ArrayLike, lightness: float) -> Balance:
    """Give the balance that makes a grey patch neutral and as light as it is known to be.

    The colour of the lamp is taken out in the sharpened cones of Bradford, not channel by channel
    of sRGB, which under an uncorrected lamp of 2,700 K leaves skin five times as far from its
    colour in daylight (tests/bench/photos.md).

    Parameters
    ----------
    grey : array-like of shape (3,)
        Mean linear light of the patch, above 0.
    lightness : float in (0, 100)
        Known L* of the patch.

    Returns
    -------
    Balance

    Raises
    ------
    ValueError
        If a channel of the patch is not above 0.

    References
    ----------
    .. [1] ICC.1:2022, annex E: the linear Bradford transform.
    """
    seen = np.asarray(grey, dtype=float)
    if seen.shape != (3,) or not (seen > 0).all():
        raise ValueError(f"the grey patch must have light in three channels, got {seen}")
    cones = _BRADFORD @ _xyz_from_rgb()
    gains = luminance_of(lightness) * cones.sum(axis=1) / (cones @ seen)
    return Balance(np.linalg.inv(cones) @ (gains[:, None] * cones))


def luminance_of(lightness: float) -> float:
    """Give the luminance Y (0 to 1) of a lightness L*.

    References
    ----------
    .. [1] CIE 15:2018, Colorimetry, 8.2.1 (inverse).
    """
    whole = (lightness + 16) / 116
    return whole**3 if whole > 6 / 29 else 3 * (6 / 29) ** 2 * (whole - 4 / 29)


def to_lab(linear: Floats) -> NDArray[np.float64]:
    """Turn linear sRGB light into CIELAB (D65, 2 degrees).

    Parameters
    ----------
    linear : ndarray of shape (..., 3)
        Values a little outside 0 to 1 are allowed.

    Returns
    -------
    ndarray of shape (..., 3)
        L*, a*, b*.
    """
    from skimage.color import xyz2lab

    lab: NDArray[np.float64] = xyz2lab(
        np.maximum(linear, 0) @ _xyz_from_rgb().T, illuminant="D65", observer="2"
    )
    return lab


def _xyz_from_rgb() -> NDArray[np.float64]:
    from skimage.color.colorconv import xyz_from_rgb

    return np.asarray(xyz_from_rgb, dtype=float)


def difference(one: Floats, other: Floats) -> NDArray[np.float64]:
    """Give the CIEDE2000 colour difference.

    Parameters
    ----------
    one, other : ndarray of shape (..., 3)
        CIELAB; shapes that broadcast.

    Returns
    -------
    ndarray of shape (...)
        0 for the same colour; about 1 can just be told apart side by side.

    References
    ----------
    .. [1] G. Sharma, W. Wu and E. N. Dalal (2005), Color Research & Application 30:21-30.
    """
    from skimage.color import deltaE_ciede2000

    found: NDArray[np.float64] = deltaE_ciede2000(one, other, channel_axis=-1)
    return found


def typology_angle(lab: ArrayLike) -> float:
    """Give the individual typology angle of skin.

    Parameters
    ----------
    lab : array-like of shape (3,)
        L*, a*, b*.

    Returns
    -------
    float
        Degrees, from -90 (dark) to 90 (light).

    References
    ----------
    .. [1] A. Chardon, I. Cretois and C. Hourseau (1991), Int J Cosmet Sci 13:191-208.
    """
    lightness, _, yellow = np.asarray(lab, dtype=float)
    return degrees(atan2(lightness - 50, max(yellow, 1e-9)))


def skin_class(angle: float) -> SkinClass:
    """Name the class of a typology angle: above 55, 41, 28, 10, -30 degrees, and below.

    Parameters
    ----------
    angle : float
        Degrees.

    Returns
    -------
    {'very light', 'light', 'intermediate', 'tan', 'brown', 'dark'}

    References
    ----------
    .. [1] A. Chardon, I. Cretois and C. Hourseau (1991), Int J Cosmet Sci 13:191-208.
    .. [2] S. Del Bino and F. Bernerd (2013), Br J Dermatol 169 Suppl 3:33-40.
    """
    return next((name for limit, name in _CLASSES if angle > limit), "dark")
