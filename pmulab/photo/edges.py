"""Where the edges of the line lie: its width, and how far pigment has spread."""

import numpy as np
from numpy.typing import NDArray

from pmulab.photo.pigment import LASH_MM, LEAST_DENSITY, Lid, differing

_BREAK_MM = 0.16
_SPREAD_MM = 0.1


def widths(lid: Lid, found: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Give the width of the line wherever it is kept and has not spread.

    Parameters
    ----------
    lid : Lid
    found : ndarray of shape (n_along, n_across), bool

    Returns
    -------
    ndarray of shape (n,)
        Millimetres between the two edges of the profile, each where `level` of its depth is left;
        one for each lash width along the line. Where pigment reaches clearly further than along
        the tightest quarter of the line it has spread, and its edge is not that of the line.
    """
    profiles, there = _windows(lid, found)
    core = np.abs(lid.across) <= lid.width / 2
    depth = np.where(core, profiles, -1)
    peak = depth.max(axis=1)
    there &= peak > LEAST_DENSITY
    if not there.any():
        return np.empty(0)
    reach = spreads(lid)
    there &= reach <= np.percentile(reach[there], 25) + _SPREAD_MM
    plateau = np.where(depth >= 0.75 * peak[:, None], depth, np.nan)[there]
    chosen = profiles[there]
    level = lid.level * np.nanmedian(plateau, axis=1)
    middle = np.nanargmax(plateau, axis=1)
    upper = _crossing(chosen, level, middle, 1)
    lower = _crossing(chosen, level, middle, -1)
    wide: NDArray[np.float64] = (upper - lower) * lid.pitch
    return wide[np.isfinite(wide)]


def spreads(lid: Lid) -> NDArray[np.float64]:
    """Give how far connected pigment reaches beyond the planned edge, toward the bare skin.

    Parameters
    ----------
    lid : Lid

    Returns
    -------
    ndarray of shape (n,)
        Millimetres, 0 where nothing reaches beyond; one for each lash width along the line.
    """
    from scipy.ndimage import binary_closing

    found = differing(lid)
    bridged = binary_closing(found, np.ones((1, max(round(_BREAK_MM / lid.pitch), 1)), bool))
    profiles, connected = _windows(lid, bridged | found, whole=True)
    edge = int(np.searchsorted(lid.across, lid.width / 2))
    beyond = connected[:, edge - 1 :]
    reach = np.where(beyond.all(axis=1), beyond.shape[1], np.argmin(beyond, axis=1)) + edge - 2
    out = np.zeros(len(profiles))
    far = reach >= edge - 1
    if far.any():
        out[far] = _half_edge(lid, profiles[far], reach[far])
    return np.maximum(out - lid.width / 2, 0)


def _half_edge(
    lid: Lid, profiles: NDArray[np.floating], reach: NDArray[np.intp]
) -> NDArray[np.float64]:
    """Move the outermost edge from where pigment is just told to half of the depth inside it."""
    inner, outer = round(0.20 / lid.pitch), round(0.08 / lid.pitch)
    rows = np.arange(len(profiles))
    inside = reach[:, None] - np.arange(outer, inner + 1)
    depth = np.median(profiles[rows[:, None], np.maximum(inside, 0)], axis=1)
    start = np.maximum(reach - inner, 0)
    at = _crossing(profiles, lid.level * depth, start, 1)
    at = np.where(np.isfinite(at), at, reach)
    return np.interp(at, np.arange(len(lid.across)), lid.across)


def _windows(
    lid: Lid, found: NDArray[np.bool_], whole: bool = False
) -> tuple[NDArray[np.floating], NDArray[np.bool_]]:
    """Average the density over windows of a lash width along the line.

    Beside it stands where most of a window is pigmented: for each column, or, for the middle half
    of the plan taken together, for the window as one.
    """
    size = max(round(LASH_MM / lid.step), 1)
    count = max(len(lid.density) // size, 1)
    pieces = np.array_split(np.arange(len(lid.density)), count)
    profiles = np.array([lid.density[piece].mean(axis=0) for piece in pieces])
    shares = np.array([found[piece].mean(axis=0) for piece in pieces])
    if whole:
        return profiles, shares > 0.5
    core = np.abs(lid.across) <= lid.width / 4
    return profiles, shares[:, core].mean(axis=1) > 0.9


def _crossing(
    profiles: NDArray[np.floating], level: NDArray[np.floating], start: NDArray[np.intp], sign: int
) -> NDArray[np.float64]:
    """Give where each profile first falls below its level, going outward; NaN if it never does."""
    columns = np.arange(profiles.shape[1])
    below = (profiles < level[:, None]) & (sign * (columns - start[:, None]) > 0)
    first = below.argmax(axis=1) if sign > 0 else (len(columns) - 1 - below[:, ::-1].argmax(axis=1))
    rows = np.arange(len(profiles))
    here = profiles[rows, first]
    before = profiles[rows, np.clip(first - sign, 0, len(columns) - 1)]
    part = (level - here) / np.maximum(before - here, 1e-9)
    return np.where(below.any(axis=1), first - sign * np.clip(part, 0, 1), np.nan)
