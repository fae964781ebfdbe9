"""Two phases of one practice, and trends: level change, Theil-Sen, Mann-Kendall, overlap."""

import sys
from dataclasses import replace
from math import factorial, prod

import numpy as np
import numpy.typing as npt

from pmulab.estimate.independent import mean_difference, probability_a_higher
from pmulab.estimate.inputs import Floats, Values, check_level, finite
from pmulab.estimate.results import Estimate, Interval, Test

_LISTED = 8
_NOT_CAUSE = (
    "Before and after differ in more than the change: season, batches and practice moved with it."
)


def before_after_change(
    before: Values, after: Values, *, step: float = 0.0, level: float = 0.95
) -> Estimate:
    """Mean after a dated change minus the mean before it.

    Parameters
    ----------
    before, after : array-like of shape (n_before,), (n_after,)
        One value a client, different clients, in the outcome's unit.
    step : float, default=0
        Step of the scale; 0 when unknown.
    level : float in (0, 1), default=0.95

    Returns
    -------
    Estimate
        With the interval of `independent.mean_difference`, which takes clients as
        independent. The note always says that the comparison cannot name the cause.

    Raises
    ------
    ValueError
        If a value is not finite, or level or step is out of range.
    """
    found = mean_difference(after, before, step=step, level=level)
    note = f"{found.note} {_NOT_CAUSE}".strip()
    return replace(found, method="change of the mean, after minus before", note=note)


def theil_sen(values: Values, times: Values | None = None, *, level: float = 0.95) -> Estimate:
    """Median slope over all pairs of points, with Sen's interval.

    Parameters
    ----------
    values : array-like of shape (n_clients,)
        In the outcome's unit.
    times : array-like of shape (n_clients,), optional
        When each was measured; default 1, 2, 3, ...
    level : float in (0, 1), default=0.95

    Returns
    -------
    Estimate
        Change in the outcome's unit for each unit of time. None below two different times;
        `interval` is None below six points, where the rank argument behind it has no room,
        and where it has no width.

    Raises
    ------
    ValueError
        If the lengths differ or a value is not finite.

    References
    ----------
    .. [1] P. K. Sen (1968), JASA 63:1379-1389.
    """
    from scipy import stats

    check_level(level)
    y = finite(values, "values")
    x = np.arange(1.0, y.size + 1) if times is None else finite(times, "times")
    if x.size != y.size:
        raise ValueError(f"values and times must have one length, got {y.size} and {x.size}")
    method = "Theil-Sen slope"
    if np.unique(x).size < 2:
        return Estimate(None, y.size, method, note="A slope needs two different times.")
    result = stats.theilslopes(y, x, level)
    slope, low, high = float(result.slope), float(result.low_slope), float(result.high_slope)
    if y.size < 6:
        note = f"With {y.size} points the slope has no interval: six or more are needed."
        return Estimate(slope, y.size, method, note=note)
    if not low < high:
        note = "The points are too alike or too regular for an interval."
        return Estimate(slope, y.size, method, note=note)
    return Estimate(slope, y.size, method, Interval(low, high, level, "Sen, ranks of slopes"))


def mann_kendall(values: Values) -> Test:
    """Test whether values tend to rise or to fall in order of time.

    Parameters
    ----------
    values : array-like of shape (n_clients,)
        In order of time, independent of each other.

    Returns
    -------
    Test
        Two-sided; `statistic` is Kendall's S (rises minus falls). Exact without ties (to 171
        points) and, with ties, up to eight points; normal approximation otherwise.

    Raises
    ------
    ValueError
        If a value is not finite.

    References
    ----------
    .. [1] H. B. Mann (1945), Econometrica 13:245-259.
    """
    from scipy import stats

    y = finite(values, "values")
    method = "Mann-Kendall trend test, statistic S"
    if y.size < 2:
        return Test(None, method, y.size, note="A trend needs at least two values.")
    ties = np.unique(y, return_counts=True)[1]
    if ties.size == 1:
        note = "All values are equal: there is no trend to test."
        return Test(1.0, method, y.size, 1.0, 0.0, note=note)
    s = _kendall_s(y)
    smallest: float | None = min(1.0, 2 * prod(factorial(int(t)) for t in ties) / factorial(y.size))
    if ties.max() == 1 and y.size <= 171:
        p = float(stats.kendalltau(np.arange(y.size), y, method="exact").pvalue)
        method = f"exact {method}"
    elif y.size <= _LISTED:
        p, method = _listed_p(y, s), f"exact {method}"
    else:
        p = float(stats.kendalltau(np.arange(y.size), y, method="asymptotic").pvalue)
        method, smallest = f"{method}, normal approximation", None
    p = max(p, smallest or sys.float_info.min)
    return Test(min(1.0, p), method, y.size, smallest, float(s))


def nonoverlap_of_all_pairs(before: Values, after: Values, *, level: float = 0.95) -> Estimate:
    """Chance that a value after the change lies above one before it, ties counted half.

    Parameters
    ----------
    before, after : array-like of shape (n_before,), (n_after,)
        In the outcome's unit.
    level : float in (0, 1), default=0.95

    Returns
    -------
    Estimate
        In [0, 1]: .5 for complete overlap. With the interval of
        `independent.probability_a_higher`, which takes clients as independent.

    Raises
    ------
    ValueError
        If a value is not finite.

    References
    ----------
    .. [1] R. I. Parker, K. Vannest (2009), Behavior Therapy 40:357-367.
    """
    found = probability_a_higher(after, before, level)
    return replace(
        found, method="nonoverlap of all pairs (NAP)", note=f"{found.note} {_NOT_CAUSE}".strip()
    )


def tau_u(before: Values, after: Values) -> Estimate:
    """Nonoverlap of two phases, corrected for a trend already there before the change.

    Parameters
    ----------
    before, after : array-like of shape (n_before,), (n_after,)
        In order of time.

    Returns
    -------
    Estimate
        ``(S_between - S_before) / (n_before * n_after)``; can exceed 1 when the values were
        falling before. No interval: none is known to hold its level in short phases.

    Raises
    ------
    ValueError
        If a value is not finite.

    References
    ----------
    .. [1] R. I. Parker, K. Vannest, J. L. Davis, S. B. Sauber (2011), Behavior Therapy
       42:284-299.
    """
    first, second = finite(before, "before"), finite(after, "after")
    n, method = first.size + second.size, "Tau-U, corrected for the trend before"
    if not first.size or not second.size:
        return Estimate(None, n, method, note="A phase holds no value.")
    value = (_between_s(first, second) - _kendall_s(first)) / (first.size * second.size)
    note = "No interval is given: none holds its level with phases this short."
    return Estimate(value, n, method, note=note)


def _between_s(first: Floats, second: Floats) -> int:
    return int(np.sign(np.subtract.outer(second, first)).sum())


def _kendall_s(y: Floats) -> int:
    return int(np.triu(np.sign(y[None, :] - y[:, None]), 1).sum())


def _listed_p(y: Floats, s: int) -> float:
    """Share of all orders of the values whose S lies at least as far from 0."""
    from itertools import permutations

    orders: npt.NDArray[np.float64] = np.array(list(permutations(y.tolist())))
    totals = np.zeros(len(orders))
    for later in range(1, y.size):
        totals += np.sign(orders[:, later, None] - orders[:, :later]).sum(axis=1)
    return float((np.abs(totals) >= abs(s)).mean())
