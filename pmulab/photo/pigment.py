"""Where the straightened lid holds pigment: how much of the plan is kept, how wide, how far.

Pigment is told by its colour difference from the bare skin beside it; its edges lie half-way from
the light of the skin to that of the pigment, which a blur leaves in place. Channels count there by
their share of luminance, since a JPEG keeps only half the colour resolution. What is thinner along
the line than `LASH_MM` is a lash, not pigment.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pmulab.photo.colour import LUMINANCE, Balance, difference, to_lab
from pmulab.photo.strip import Strip

LEAST_DIFFERENCE = 5.0
LASH_MM = 0.24
SEGMENTS = 10
TRIMMED = 0.2
"""Share of the lightest and of the darkest pixels that a mean colour leaves out."""
LEAST_DENSITY = 0.1
_AROUND_MM = 0.32
Grid = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Lid:
    """The straightened lid, balanced, beside its own bare skin.

    Parameters
    ----------
    light : ndarray of shape (n_along, n_across, 3)
        Balanced linear light.
    skin : ndarray of shape (n_along, 3)
        The same of the bare skin beside each place of the line.
    apart : ndarray of shape (n_along, n_across)
        CIEDE2000 from that skin, lashes taken out.
    density : ndarray of shape (n_along, n_across)
        0 for the light of the skin, 1 for that of the line, lashes taken out.
    across : ndarray of shape (n_across,)
        Millimetres from the middle of the planned line.
    step : float
        From row to row, in millimetres.
    width : float
        Planned width in millimetres.
    threshold : float
        Colour difference above which there is pigment.
    level : float
        Share of the full depth at which an edge lies.
    """

    light: NDArray[np.float32]
    skin: NDArray[np.float32]
    apart: NDArray[np.floating]
    density: NDArray[np.floating]
    across: NDArray[np.float64]
    step: float
    width: float
    threshold: float
    level: float = 0.5

    def moved(self, across: float = 0.0, threshold: float = 1.0, level: float = 0.5) -> "Lid":
        """Give the same lid with the planned line moved, or pigment told by another threshold.

        Parameters
        ----------
        across : float, default=0
            In millimetres.
        threshold : float, default=1
            Factor.
        level : float, default=0.5

        Returns
        -------
        Lid
        """
        return replace(
            self,
            across=self.across - across,
            threshold=self.threshold * threshold,
            level=level,
        )

    def scaled(self, factor: float) -> "Lid":
        """Give the same lid as a scale that is off by a factor would show it."""
        return replace(self, across=self.across * factor, step=self.step * factor)

    @property
    def pitch(self) -> float:
        """Millimetres from column to column."""
        return float(self.across[1] - self.across[0])

    @property
    def share(self) -> NDArray[np.float64]:
        """How much of each column lies inside the plan, from 0 to 1."""
        return np.asarray(np.clip((self.width / 2 - np.abs(self.across)) / self.pitch + 0.5, 0, 1))


def beside_skin(strip: Strip, balance: Balance, width_mm: float) -> Lid:
    """Set every place of a straightened lid against the bare skin beside it.

    Parameters
    ----------
    strip : Strip
    balance : Balance
    width_mm : float
        Planned width.

    Returns
    -------
    Lid
        The threshold is the larger of `LEAST_DIFFERENCE` and three times the spread of the skin
        about its own median (1.4826 times the median difference).
    """
    from scipy.ndimage import gaussian_filter1d, median_filter
    from scipy.stats import trim_mean

    light = balance.apply(strip.light)
    for axis in (0, 1):
        light = gaussian_filter1d(light, 1.0, axis=axis)
    band = strip.skin_band(width_mm)
    skin = trim_mean(light[:, band], TRIMMED, axis=1)
    rows = max(int(6 / strip.step_mm), 1)
    around = median_filter(skin, size=(min(rows, 2 * len(skin) - 1), 1), mode="nearest")
    apart = difference(to_lab(light), to_lab(around)[:, None])
    unrest = 1.4826 * float(np.median(apart[:, band]))
    threshold = max(LEAST_DIFFERENCE, 3 * unrest)
    away = around[:, None] - light
    core = np.abs(strip.across) <= width_mm / 4
    density = _toward(away, away[:, core][apart[:, core] > threshold])
    return Lid(
        light, skin,
        apart=_without_lashes(apart, strip.step_mm),
        density=_without_lashes(density, strip.step_mm),
        across=strip.across, step=strip.step_mm, width=width_mm, threshold=threshold,
    )  # fmt: skip


def _without_lashes(grid: NDArray[np.floating], step: float) -> NDArray[np.floating]:
    """Lower what stands out over less than the width of a lash along the line."""
    from scipy.ndimage import grey_opening

    length = max(round(LASH_MM / step), 1)
    return np.asarray(grey_opening(grid, size=(length, 1), mode="nearest"))


def _toward(away: NDArray[np.float32], line: NDArray[np.float32]) -> Grid:
    """Give how far each place lies on the way from the skin to the line."""
    if not len(line):
        return np.zeros(away.shape[:2], dtype=np.float32)
    way = np.median(line, axis=0)
    weight = LUMINANCE * way
    return np.asarray(away @ (weight / (weight @ way)), dtype=np.float32)


def pigmented(lid: Lid) -> NDArray[np.bool_]:
    """Tell where there is pigment, with edges at half of the depth around.

    Parameters
    ----------
    lid : Lid

    Returns
    -------
    ndarray of shape (n_along, n_across), bool
    """
    from scipy.ndimage import maximum_filter

    around = (_odd(_AROUND_MM / lid.step), _odd(_AROUND_MM / lid.pitch))
    deepest = maximum_filter(np.where(differing(lid), lid.density, 0), size=around, mode="nearest")
    deep_enough = lid.density > np.maximum(lid.level * deepest, LEAST_DENSITY)
    return np.asarray(deep_enough & (deepest > 0))


def kept(lid: Lid, found: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Give the share of the planned area that holds pigment, place by place along the line.

    Parameters
    ----------
    lid : Lid
    found : ndarray of shape (n_along, n_across), bool
        From `pigmented`.

    Returns
    -------
    ndarray of shape (n_along,)
        From 0 to 1.
    """
    share = lid.share
    return np.asarray(found @ share / share.sum())


def differing(lid: Lid) -> NDArray[np.bool_]:
    """Tell what differs from the skin in the direction of the line, edges not yet refined.

    Parameters
    ----------
    lid : Lid

    Returns
    -------
    ndarray of shape (n_along, n_across), bool
    """
    return np.asarray((lid.apart > lid.threshold) & (lid.density > LEAST_DENSITY))


def _odd(steps: float) -> int:
    return 2 * int(steps / 2) + 1
