"""How far two readings of the same eyelid lie apart, in the outcome's own unit."""

from dataclasses import dataclass, replace
from math import sqrt

import numpy as np
import numpy.typing as npt

from pmulab.estimate.inputs import Floats, Values, check_level, pairs
from pmulab.estimate.paired import t_mean_difference
from pmulab.estimate.results import Estimate, Interval


@dataclass(frozen=True, slots=True)
class LimitsOfAgreement:
    """Where most differences between two readings lie.

    Parameters
    ----------
    bias : Estimate
        Mean of first minus second, with its t interval.
    sd : Estimate
        Standard deviation of the differences, with its chi-square interval.
    lower, upper : Estimate
        The limits, each with its exact interval for normal differences.
    coverage : float
        Share of differences that the limits are meant to hold.
    """

    bias: Estimate
    sd: Estimate
    lower: Estimate
    upper: Estimate
    coverage: float


def limits_of_agreement(
    first: Values, second: Values, *, coverage: float = 0.95, level: float = 0.95
) -> LimitsOfAgreement:
    """Compute the limits of agreement of two readings, by Bland and Altman.

    Parameters
    ----------
    first, second : array-like of shape (n_items,)
        Readings of the same items in the same order, in the outcome's unit.
    coverage : float in (0, 1), default=0.95
        Share of normal differences between the limits (0.95: 1.96 SD on either side).
    level : float in (0, 1), default=0.95
        Of the intervals.

    Returns
    -------
    LimitsOfAgreement
        Every part is None for fewer than three items; intervals are None where all
        differences are equal.

    Raises
    ------
    ValueError
        If the lengths differ, a value is not finite, or coverage or level lies outside (0, 1).

    References
    ----------
    .. [1] J. M. Bland, D. G. Altman (1986), Lancet i:307-310.
    .. [2] A. Carkeet (2015), Optometry and Vision Science 92:e71-e80 (exact intervals; from
       memory).
    """
    from scipy import stats

    check_level(level)
    if not 0 < coverage < 1:
        raise ValueError(f"coverage must lie between 0 and 1, got {coverage}")
    one, other = pairs(first, second)
    n, differences = one.size, one - other
    names = ("mean difference", "standard deviation of differences", "lower limit", "upper limit")
    if n < 3:
        note = f"{n} items read twice are too few for limits of agreement: ten or more."
        parts = [Estimate(None, n, name, note=note) for name in names]
        return LimitsOfAgreement(parts[0], parts[1], parts[2], parts[3], coverage)
    bias, sd = float(differences.mean()), float(differences.std(ddof=1))
    multiple = float(stats.norm.ppf((1 + coverage) / 2))
    values = (sd, bias - multiple * sd, bias + multiple * sd)
    if _no_spread(differences, max(np.abs(one).max(), np.abs(other).max())):
        note = "All differences are equal, so how far they could scatter cannot be told."
        parts = [
            Estimate(value, n, name, note=note)
            for value, name in zip((bias, 0.0, bias, bias), names, strict=True)
        ]
        return LimitsOfAgreement(parts[0], parts[1], parts[2], parts[3], coverage)
    tails = [(1 - level) / 2, (1 + level) / 2]
    ratio = np.sqrt((n - 1) / np.asarray(stats.chi2.ppf(tails[::-1], n - 1)))
    reach = np.asarray(stats.nct.ppf(tails, n - 1, multiple * sqrt(n))) / sqrt(n)
    limits = (
        (sd * ratio, "chi-square"),
        (bias - sd * reach[::-1], "exact, non-central t"),
        (bias + sd * reach, "exact, non-central t"),
    )
    mean = replace(t_mean_difference(one, other, level), method=names[0])
    parts = [
        Estimate(value, n, name, Interval(float(low), float(high), level, how))
        for value, name, ((low, high), how) in zip(values, names[1:], limits, strict=True)
    ]
    return LimitsOfAgreement(mean, parts[0], parts[1], parts[2], coverage)


def standard_error_of_measurement(readings: npt.ArrayLike, *, level: float = 0.95) -> Estimate:
    """Estimate the standard deviation of repeated readings of the same item.

    Parameters
    ----------
    readings : array-like of shape (n_items, n_readings)
        Two or more readings of every item, re-positioned each time, in the outcome's unit.
    level : float in (0, 1), default=0.95

    Returns
    -------
    Estimate
        In the outcome's unit; `interval` by chi-square, None where all readings of every
        item are equal.

    Raises
    ------
    ValueError
        If the array is not two-dimensional and finite, or an item has one reading only.

    References
    ----------
    .. [1] J. M. Bland, D. G. Altman (1996), BMJ 312:1654 and 313:744.
    """
    from scipy import stats

    check_level(level)
    values = np.asarray(readings, dtype=np.float64)
    if values.ndim != 2 or not np.isfinite(values).all() or values.shape[1] < 2 or not len(values):
        raise ValueError("readings must be finite, one item a row, two or more readings each")
    n, k = values.shape
    method = "within-item standard deviation"
    within = values - values.mean(axis=1, keepdims=True)
    if _no_spread(within.ravel(), np.abs(values).max()):
        note = (
            "Every item gave the same reading each time: the scale is too coarse to show its "
            "own error, which may be as large as half a step."
        )
        return Estimate(0.0, n, method, note=note)
    df = n * (k - 1)
    sd = sqrt(float((within**2).sum()) / df)
    low, high = sd * np.sqrt(df / stats.chi2.ppf([(1 + level) / 2, (1 - level) / 2], df))
    return Estimate(sd, n, method, Interval(float(low), float(high), level, "chi-square"))


def smallest_detectable_change(
    readings: npt.ArrayLike, *, clients: int = 1, level: float = 0.95
) -> Estimate:
    """Smallest difference that two readings can tell apart from their own error.

    Parameters
    ----------
    readings : array-like of shape (n_items, n_readings)
        As in `standard_error_of_measurement`.
    clients : int, default=1
        1 for a single client; n for the mean difference of n clients.
    level : float in (0, 1), default=0.95
        Of the change and of its interval.

    Returns
    -------
    Estimate
        ``z * sqrt(2) * SEM / sqrt(clients)`` in the outcome's unit.

    Raises
    ------
    ValueError
        As `standard_error_of_measurement`, or if clients is below 1.

    References
    ----------
    .. [1] H. C. W. de Vet et al. (2006), Health Qual Life Outcomes 4:54 (from memory).
    """
    from scipy import stats

    if clients < 1:
        raise ValueError(f"clients must be 1 or more, got {clients}")
    error = standard_error_of_measurement(readings, level=level)
    factor = float(stats.norm.ppf((1 + level) / 2)) * sqrt(2 / clients)
    method = f"smallest detectable change, {clients} client{'s' if clients > 1 else ''}"
    if error.value is None or error.interval is None:
        return Estimate(None, error.n, method, note=error.note)
    interval = Interval(
        factor * error.interval.low, factor * error.interval.high, level, "chi-square"
    )
    return Estimate(factor * error.value, error.n, method, interval)


def _no_spread(values: Floats, scale: float) -> bool:
    return bool(np.ptp(values) <= 1e-12 * max(scale, 1e-300))
