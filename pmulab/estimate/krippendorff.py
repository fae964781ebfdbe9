"""Krippendorff's alpha: agreement of any number of assessors, on any scale, with gaps."""

from typing import Literal

import numpy as np
import numpy.typing as npt

from pmulab.estimate.inputs import Floats
from pmulab.estimate.results import Estimate

Scale = Literal["nominal", "ordinal", "interval", "ratio"]


def krippendorff_alpha(ratings: npt.ArrayLike, scale: Scale) -> Estimate:
    """One minus the disagreement observed over the disagreement expected by chance.

    Parameters
    ----------
    ratings : array-like of shape (n_items, n_raters)
        NaN where a rater did not judge an item.
    scale : {'nominal', 'ordinal', 'interval', 'ratio'}
        How far apart two values count: not at all or fully, by ranks, by their difference,
        by their difference over their sum (values of 0 or more).

    Returns
    -------
    Estimate
        `n` counts the items judged at least twice. None when there are fewer than two of
        them or all their ratings are equal. No interval is given: none is known to hold its
        level with the few items of a studio.

    Raises
    ------
    ValueError
        If the array is not two-dimensional, holds an infinite value, the scale is not known,
        or a ratio scale holds a negative value.

    References
    ----------
    .. [1] K. Krippendorff (2011), Computing Krippendorff's alpha-reliability.
    """
    values = np.asarray(ratings, dtype=np.float64)
    _check(values, scale)
    values = values[np.count_nonzero(~np.isnan(values), axis=1) >= 2]
    method = f"Krippendorff's alpha, {scale}"
    if len(values) < 2:
        note = "Fewer than two items were judged more than once."
        return Estimate(None, len(values), method, note=note)
    grades = np.unique(values[~np.isnan(values)])
    if grades.size == 1:
        note = "All ratings are equal, so chance alone would agree as well: alpha does not exist."
        return Estimate(None, len(values), method, note=note)
    coincidences = _coincidences(values, grades)
    totals = coincidences.sum(axis=1)
    distance = _distances(grades, totals, scale)
    observed = float((coincidences * distance).sum())
    expected = float(totals @ distance @ totals) / (float(totals.sum()) - 1)
    note = "No interval is given: none holds its level with so few items."
    return Estimate(1 - observed / expected, len(values), method, note=note)


def _coincidences(values: Floats, grades: Floats) -> Floats:
    """Pairs of values within items; each item weighs as many as it has ratings."""
    counts = (values[:, :, None] == grades).sum(axis=1).astype(np.float64)
    weighted = counts / (counts.sum(axis=1, keepdims=True) - 1)
    together: Floats = weighted.T @ counts - np.diag(weighted.sum(axis=0))
    return together


def _distances(grades: Floats, totals: Floats, scale: Scale) -> Floats:
    difference = np.subtract.outer(grades, grades)
    if scale == "nominal":
        unequal: Floats = (difference != 0).astype(np.float64)
        return unequal
    if scale == "ordinal":
        ranks = np.cumsum(totals) - totals / 2
        squared: Floats = np.subtract.outer(ranks, ranks) ** 2
        return squared
    if scale == "interval":
        return np.asarray(difference**2)
    sums = np.add.outer(grades, grades)
    return np.asarray((difference / np.where(sums == 0, 1.0, sums)) ** 2)


def _check(values: Floats, scale: str) -> None:
    if values.ndim != 2 or np.isinf(values).any():
        raise ValueError("ratings must be finite numbers or NaN, one item a row")
    if scale not in ("nominal", "ordinal", "interval", "ratio"):
        raise ValueError(f"scale must be nominal, ordinal, interval or ratio, got {scale!r}")
    if scale == "ratio" and (values < 0).any():
        raise ValueError("a ratio scale must hold values of 0 or more")
