"""What the grey patch and the millimetre scale say about light, sharpness and size."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pmulab.photo.colour import to_linear
from pmulab.photo.marks import Scale
from pmulab.photo.reading import Pixels
from pmulab.photo.strip import luminance

_PLACES = np.linspace(-0.5, 0.5, 5)


@dataclass(frozen=True, slots=True)
class Grey:
    """The grey patch as the camera saw it.

    Parameters
    ----------
    light : (red, green, blue)
        Mean linear light, 0 to 1.
    clipped : float
        Share of its pixels with a channel at 0 or 255.
    unrest : float
        Spread of its pixels about the slope of the light, as a share of their mean: small on an
        even patch.
    falloff : float
        Change of luminance from one end to the other, as a share.
    mixed : float
        Largest change of one channel against the others from end to end, as a share.
    """

    light: tuple[float, float, float]
    clipped: float
    unrest: float
    falloff: float
    mixed: float


@dataclass(frozen=True, slots=True)
class Ruler:
    """The millimetre scale as the camera saw it.

    Parameters
    ----------
    pixels_per_mm : float
        From the two marked places and the distance that was written.
    seen_mm : float or None
        Distance as the marks between the two places count it; None when no even marks are there.
    stretch : float
        Change of their spacing from one end to the other, as a share: a tilted or bent scale.
    blur_mm : float or None
        Width over which an edge rises from 10 to 90 per cent.
    """

    pixels_per_mm: float
    seen_mm: float | None
    stretch: float
    blur_mm: float | None


def read_grey(pixels: Pixels, corners: tuple[tuple[float, float], ...]) -> Grey | None:
    """Look at the grey patch.

    Parameters
    ----------
    pixels : ndarray of shape (height, width, 3), uint8
    corners : sequence of (x, y)
        In pixels.

    Returns
    -------
    Grey or None
        None when the patch holds too few pixels.
    """
    from skimage.draw import polygon2mask

    places = np.asarray(corners)
    left, top = np.floor(places.min(axis=0)).astype(int)
    right, bottom = np.ceil(places.max(axis=0)).astype(int) + 1
    part = pixels[top:bottom, left:right]
    inside = polygon2mask(part.shape[:2], (places - (left, top))[:, ::-1] - 0.5)
    seen = part[inside]
    if len(seen) < 400:
        return None
    rows, columns = np.nonzero(inside)
    light = to_linear(seen).astype(float)
    ends = _along(columns.astype(float), rows.astype(float), light)
    middle = light.mean(axis=0)
    if not (middle > 0).all():
        return Grey((0.0, 0.0, 0.0), 1.0, 0.0, 0.0, 0.0)
    bright = luminance(ends.astype(np.float32)) / ends.mean()
    shares = ends / ends.mean(axis=0)
    shares /= shares.mean(axis=1, keepdims=True)
    red, green, blue = (float(value) for value in middle)
    return Grey(
        light=(red, green, blue),
        clipped=float(((seen == 0) | (seen == 255)).any(axis=1).mean()),
        unrest=_unrest(columns, rows, luminance(light.astype(np.float32))),
        falloff=float(bright.max() / bright.min() - 1),
        mixed=float((shares.max(axis=0) / shares.min(axis=0) - 1).max()),
    )


def _along(
    columns: NDArray[np.float64], rows: NDArray[np.float64], light: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Give the light at five places of the patch along its longer side, from end to end.

    A curve of second degree through all pixels: single parts would follow the steps of the JPEG.
    """
    middle = np.column_stack([columns - columns.mean(), rows - rows.mean()])
    _, axes = np.linalg.eigh(middle.T @ middle)
    along = middle @ axes[:, -1]
    along /= along.max() - along.min()
    powers = np.vander(along, 3)
    curve = np.linalg.lstsq(powers.T @ powers, powers.T @ light, rcond=None)[0]
    return np.asarray(np.vander(_PLACES, 3) @ curve)


def _unrest(
    columns: NDArray[np.int_], rows: NDArray[np.int_], bright: NDArray[np.float32]
) -> float:
    """Give the spread about a plane, without single odd pixels."""
    plane = np.column_stack([np.ones(len(bright)), columns, rows])
    left = bright - plane @ np.linalg.lstsq(plane, bright, rcond=None)[0]
    low, high = np.percentile(left, [2, 98])
    return float((high - low) / max(bright.mean(), 1e-9))


def read_ruler(pixels: Pixels, scale: Scale) -> Ruler:
    """Look at the marks of the scale between the two marked places.

    Parameters
    ----------
    pixels : ndarray of shape (height, width, 3), uint8
    scale : Scale

    Returns
    -------
    Ruler
    """
    ppm = scale.pixels_per_mm
    profile, step = _profile(pixels, scale)
    centres = _dark_marks(profile, 1 / step)
    if centres is None or len(centres) < 4:
        return Ruler(ppm, None, 0.0, None)
    count = np.arange(len(centres))
    slope = np.polyfit(count, centres, 1)[0] * step
    bend = np.polyfit(count, centres, 2)[0]
    stretch = abs(2 * bend * (len(centres) - 1) / (slope / step))
    return Ruler(ppm, float(scale.mm / slope), float(stretch), _rise(profile, centres, step))


def _profile(pixels: Pixels, scale: Scale) -> tuple[NDArray[np.float64], float]:
    """Give luminance from half a millimetre before the first mark to half beyond the last.

    Averaged over 0.4 mm along the marks; with the step in millimetres.
    """
    from scipy.ndimage import map_coordinates

    ppm = scale.pixels_per_mm
    start, end = np.array(scale.start) - 0.5, np.array(scale.end) - 0.5
    along = (end - start) / scale.mm
    side = np.array([-along[1], along[0]])
    count = int(np.ceil((scale.mm + 1) * ppm * 2)) + 1
    mm = np.linspace(-0.5, scale.mm + 0.5, count)
    at = start + mm[:, None, None] * along + np.linspace(-0.2, 0.2, 9)[:, None] * side
    high, wide = pixels.shape[:2]
    left, top = np.clip(np.floor(at.min(axis=(0, 1))).astype(int) - 1, 0, (wide - 1, high - 1))
    right, bottom = np.ceil(at.max(axis=(0, 1))).astype(int) + 2
    bright = luminance(to_linear(pixels[top:bottom, left:right]))
    seen = map_coordinates(bright, [at[..., 1] - top, at[..., 0] - left], order=1, mode="nearest")
    return seen.mean(axis=1).astype(float), float(mm[1] - mm[0])


def _dark_marks(profile: NDArray[np.float64], per_mm: float) -> NDArray[np.float64] | None:
    """Give the middles of evenly spaced dark marks, in steps of the profile."""
    from scipy.signal import find_peaks

    paper, ink = np.percentile(profile, [90, 2])
    if paper < 1.5 * ink:
        return None
    depth = paper - profile
    peaks, _ = find_peaks(depth, height=0.4 * (paper - ink), distance=max(int(0.3 * per_mm), 1))
    if len(peaks) < 4:
        return None
    reach = max(int(0.2 * per_mm), 1)
    around = peaks[:, None] + np.arange(-reach, reach + 1)
    weight = np.maximum(depth[np.clip(around, 0, len(depth) - 1)] - 0.3 * (paper - ink), 0)
    centres: NDArray[np.float64] = (weight * around).sum(axis=1) / weight.sum(axis=1)
    gaps = np.diff(centres) / np.median(np.diff(centres))
    return centres if gaps.min() > 0.67 and gaps.max() < 1.5 else None


def _rise(profile: NDArray[np.float64], centres: NDArray[np.float64], step: float) -> float | None:
    """Give the median width over which the edges of the marks rise from 10 to 90 per cent."""
    half = np.median(np.diff(centres)) / 2
    found = []
    for centre in centres:
        for sign in (-1, 1):
            at = centre + sign * np.linspace(0, half, 60)
            if at.min() < 0 or at.max() > len(profile) - 1:
                continue
            edge = np.interp(at, np.arange(len(profile)), profile)
            low, high = edge.min(), edge.max()
            dark = np.argmin(edge)
            share = np.maximum.accumulate((edge[dark:] - low) / max(high - low, 1e-9))
            width = np.interp(0.9, share, at[dark:]) - np.interp(0.1, share, at[dark:])
            found.append(abs(width) * step)
    return float(np.median(found)) if found else None
