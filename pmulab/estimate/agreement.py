"""Do two looks, or two assessors, give the same answer? Percent agreement, kappa, ICC.

Every estimate counts judged items (eyelids or photos), not clients; where two of one client
are among them, its interval is somewhat too narrow.
"""

import warnings
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import isfinite, sqrt
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from pmulab.estimate.inputs import Values, check_level, pairs
from pmulab.estimate.proportions import exact_proportion
from pmulab.estimate.results import Estimate, Interval

Weights = Literal["none", "linear", "quadratic"]

_ICC_ROWS = ("ICC(1,1)", "ICC(A,1)", "ICC(C,1)", "ICC(1,k)", "ICC(A,k)", "ICC(C,k)")


@dataclass(frozen=True, slots=True)
class Intraclass:
    """The six intraclass correlations, named as by McGraw and Wong.

    Parameters
    ----------
    one_way, absolute, consistent : Estimate
        Of a single rating: raters drawn anew for each item (Shrout and Fleiss 1,1); the same
        raters, their own level counted as error (2,1); their own level set aside (3,1).
    one_way_mean, absolute_mean, consistent_mean : Estimate
        The same for the mean of all raters (1,k), (2,k), (3,k).
    """

    one_way: Estimate
    absolute: Estimate
    consistent: Estimate
    one_way_mean: Estimate
    absolute_mean: Estimate
    consistent_mean: Estimate


def percent_agreement(
    first: Values, second: Values, *, within: float = 0.0, level: float = 0.95
) -> Estimate:
    """Share of items to which both looks gave the same grade, or one close to it.

    Parameters
    ----------
    first, second : array-like of shape (n_items,)
        Grades of the same items in the same order.
    within : float, default=0
        Largest difference still counted as agreement: 1 for 'within one grade'.
    level : float in (0, 1), default=0.95

    Returns
    -------
    Estimate
        A share, with the exact Clopper-Pearson interval; None without items.

    Raises
    ------
    ValueError
        If the lengths differ, a value is not finite or `within` is negative.

    References
    ----------
    .. [1] C. J. Clopper, E. S. Pearson (1934), Biometrika 26:404-413.
    """
    check_level(level)
    one, other = pairs(first, second)
    if not within >= 0:
        raise ValueError(f"within must be 0 or more, got {within}")
    name = "exact agreement" if within == 0 else f"agreement within {within:g}"
    if not one.size:
        return Estimate(None, 0, name, unit="share", note="No item was judged twice.")
    agree = int(np.count_nonzero(np.abs(one - other) <= within + 1e-9))
    return replace(exact_proportion(agree, one.size, level), method=name)


def kappa(
    first: Sequence[Hashable],
    second: Sequence[Hashable],
    grades: Sequence[Hashable],
    *,
    weights: Weights = "quadratic",
    level: float = 0.95,
) -> Estimate:
    """Cohen's kappa of two sets of grades, weighted by how far apart they lie.

    Parameters
    ----------
    first, second : sequence of shape (n_items,)
        Grades of the same items in the same order.
    grades : sequence
        All grades of the scale, used or not, in their order.
    weights : {'quadratic', 'linear', 'none'}, default='quadratic'
    level : float in (0, 1), default=0.95

    Returns
    -------
    Estimate
        As `kappa_of_table` gives it.

    Raises
    ------
    ValueError
        If the lengths differ or a grade is not on the scale.
    """
    place = {grade: position for position, grade in enumerate(grades)}
    strangers = [grade for grade in [*first, *second] if grade not in place]
    if len(first) != len(second) or strangers:
        raise ValueError(
            f"first and second must grade the same items on the scale {list(grades)}: got "
            f"{len(first)} and {len(second)} grades, not on the scale: {strangers}"
        )
    table = np.zeros((len(grades), len(grades)))
    for one, other in zip(first, second, strict=True):
        table[place[one], place[other]] += 1
    return kappa_of_table(table, weights=weights, level=level)


def kappa_of_table(
    table: npt.ArrayLike, *, weights: Weights = "quadratic", level: float = 0.95
) -> Estimate:
    """Cohen's kappa from the table of first against second grades.

    Parameters
    ----------
    table : array-like of shape (n_grades, n_grades)
        Number of items with each pair of grades.
    weights : {'quadratic', 'linear', 'none'}, default='quadratic'
    level : float in (0, 1), default=0.95

    Returns
    -------
    Estimate
        None where all items lie in one cell: kappa then has no meaning, however good the
        agreement. `interval` is the large-sample one, cut at 1, and None where its formula
        gives no width.

    Raises
    ------
    ValueError
        If the table is not square, holds a negative count or the weights are not known.

    References
    ----------
    .. [1] J. L. Fleiss, J. Cohen, B. S. Everitt (1969), Psychological Bulletin 72:323-327.
    """
    from scipy import stats
    from statsmodels.stats import inter_rater

    check_level(level)
    counts = np.asarray(table, dtype=np.float64)
    _check_table(counts, weights)
    n = round(float(counts.sum()))
    method = "Cohen's kappa" if weights == "none" else f"Cohen's kappa, {weights} weights"
    one_grade_each = min(np.count_nonzero(counts.sum(axis=axis)) for axis in (0, 1)) <= 1
    if np.count_nonzero(counts) <= 1:
        note = (
            "All items have the same pair of grades, so chance alone would agree as well and "
            "kappa does not exist: read the percent agreement."
        )
        return Estimate(None, n, method, note=note)
    if one_grade_each:
        note = (
            "One of the two gave every item the same grade, so kappa is 0 whatever the other "
            "did: read the percent agreement."
        )
        return Estimate(0.0, n, method, note=note)
    with np.errstate(invalid="ignore", divide="ignore"):
        result: Any = inter_rater.cohens_kappa(counts, wt=None if weights == "none" else weights)
    value, variance = float(result.kappa), float(result.var_kappa)
    if not variance > 1e-12:
        which = "Both agreed on every item" if value > 1 - 1e-9 else "Too few different pairs"
        note = f"{which}: kappa's interval has no width, so none is given. "
        return Estimate(value, n, method, note=note + "Read the percent agreement.")
    half = float(stats.norm.ppf((1 + level) / 2)) * sqrt(variance)
    interval = Interval(
        max(-1.0, value - half), min(1.0, value + half), level, "large-sample (Fleiss et al. 1969)"
    )
    return Estimate(value, n, method, interval)


def intraclass_correlations(ratings: npt.ArrayLike) -> Intraclass:
    """Compute the six Shrout-Fleiss intraclass correlations with 95 % intervals.

    Parameters
    ----------
    ratings : array-like of shape (n_items, n_raters)
        Every rater's value for every item, complete.

    Returns
    -------
    Intraclass
        Each estimate counts items. All are None when the items do not differ or the raters
        differ by nothing but a constant.

    Raises
    ------
    ValueError
        If the array is not two-dimensional and finite, or holds fewer than three items or
        two raters.

    References
    ----------
    .. [1] P. E. Shrout, J. L. Fleiss (1979), Psychological Bulletin 86:420-428.
    .. [2] K. O. McGraw, S. P. Wong (1996), Psychological Methods 1:30-46.
    """
    values = np.asarray(ratings, dtype=np.float64)
    if values.ndim != 2 or not np.isfinite(values).all() or min(values.shape) < 2:
        raise ValueError("ratings must be finite, one item a row, at least two raters")
    if len(values) < 3:
        raise ValueError(f"ratings must hold at least three items, got {len(values)}")
    note = _without_spread(values)
    if note:
        missing = [Estimate(None, len(values), name, note=note) for name in _ICC_ROWS]
        return Intraclass(*missing)
    return Intraclass(*_pingouin_icc(tuple(map(tuple, values.tolist()))))


@lru_cache(maxsize=64)
def _pingouin_icc(ratings: tuple[tuple[float, ...], ...]) -> tuple[Estimate, ...]:
    """Ask pingouin; scores that did not change are not worked out anew each time they are shown."""
    import pandas as pd
    import pingouin

    values = np.asarray(ratings)
    items, raters = np.indices(values.shape)
    long = pd.DataFrame({"item": items.ravel(), "rater": raters.ravel(), "value": values.ravel()})
    rounding = pingouin.options["round.column.CI95"]
    pingouin.options["round.column.CI95"] = None  # two decimals would hide a limit's sign
    try:
        with warnings.catch_warnings(), np.errstate(divide="ignore", invalid="ignore"):
            # pingouin 0.7 calls pandas in ways that pandas 3.1 deprecates.
            warnings.simplefilter("ignore", DeprecationWarning)
            warnings.simplefilter("ignore", FutureWarning)
            table = pingouin.intraclass_corr(long, "item", "rater", "value")
    finally:
        pingouin.options["round.column.CI95"] = rounding
    rows = table.set_index("Type")
    return tuple(
        _icc(name, len(values), float(rows.loc[name, "ICC"]), rows.loc[name, "CI95"])
        for name in _ICC_ROWS
    )


def _icc(name: str, n: int, value: float, limits: Sequence[float]) -> Estimate:
    low, high = (float(limit) for limit in limits)
    if not isfinite(value):
        return Estimate(None, n, name, note="The items' means are too alike for this one.")
    if not (isfinite(low) and isfinite(high) and low <= value <= high <= 1 and low < high):
        note = "The raters disagree more than the items differ: its interval does not exist."
        return Estimate(value, n, name, note=note)
    return Estimate(value, n, name, Interval(low, high, 0.95, "F distribution"))


def _without_spread(values: npt.NDArray[np.float64]) -> str:
    scale = np.abs(values).max() or 1.0
    item_means = values.mean(axis=1, keepdims=True)
    residuals = values - item_means - values.mean(axis=0) + values.mean()
    if np.ptp(item_means) <= 1e-9 * scale:
        return "All items came out the same on average, so raters have nothing to agree about."
    if np.abs(residuals).max() <= 1e-9 * scale:
        return (
            "The raters gave the same values, or differ by the same amount for every item: "
            "no correlation is needed, read the percent agreement or the limits of agreement."
        )
    return ""


def _check_table(counts: npt.NDArray[np.float64], weights: str) -> None:
    square = counts.ndim == 2 and counts.shape[0] == counts.shape[1] >= 2
    if not square or not np.isfinite(counts).all() or (counts < 0).any():
        raise ValueError("table must be square, at least 2 x 2, with counts of 0 or more")
    if weights not in ("none", "linear", "quadratic"):
        raise ValueError(f"weights must be 'none', 'linear' or 'quadratic', got {weights!r}")
