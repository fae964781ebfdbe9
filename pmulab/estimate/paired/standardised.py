"""Standardised differences between two arms on the same clients, in standard deviations."""

from math import sqrt

from pmulab.estimate.inputs import Values, check_level, check_step, pairs
from pmulab.estimate.results import Estimate
from pmulab.estimate.shift import (
    FEWEST_PAIRS,
    all_equal,
    no_interval,
    small_sample_factor,
    spread,
    t_interval,
    too_few,
)

UNIT = "standard deviations"


def standardised_difference(
    a: Values, b: Values, *, step: float = 0.0, level: float = 0.95
) -> Estimate:
    """Mean difference a - b over the average standard deviation of the arms (g_av).

    Parameters
    ----------
    a, b : array-like of shape (n_clients,)
        The same clients in the same order.
    step : float, default=0.0
        Step of the scale, a floor for the spread; 0 when unknown.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        In standard deviations, corrected for small samples; Bonett's variance with a t quantile
        around the uncorrected value. None when neither arm varies and the step is not given.

    Raises
    ------
    ValueError
        If the lengths differ, a value is not finite, or level or step is out of range.

    Notes
    -----
    The two standard deviations together carry 2 (n - 1) / (1 + r**2) degrees of freedom, used for
    the correction and for the quantile. The noncentral t interval trusts the normal shape and
    falls to 92.7 % on scores at five clients; this one stayed above 95 in every cell measured
    (tests/bench/measured.md). Differences of two standard deviations and more in skewed counts
    are beyond both: there about 80 % were covered.

    References
    ----------
    .. [1] D. G. Bonett (2008), Psychol. Methods 13:99-109. (Formula from memory.)
    """
    check_level(level)
    check_step(step)
    arm_a, arm_b = pairs(a, b)
    n, method = arm_a.size, "standardised mean difference g_av"
    if n < 2:
        return no_interval(None, n, method, too_few(n))
    rounding = step * step / 12
    var_a, var_b = max(spread(arm_a) ** 2, rounding), max(spread(arm_b) ** 2, rounding)
    var_d, average = max(spread(arm_a - arm_b) ** 2, 2 * rounding), (var_a + var_b) / 2
    if average == 0:
        note = "Neither arm varies: there is no standard deviation to divide by."
        return no_interval(None, n, method, note)
    value, df = float(arm_a.mean() - arm_b.mean()) / sqrt(average), n - 1
    shared = (var_a + var_b - var_d) / 2
    error = standardised_error(value, (var_a, var_b), var_d, n)
    correlation_squared = min(1.0, shared**2 / (var_a * var_b)) if min(var_a, var_b) else 0.0
    freedom = 2 * df / (1 + correlation_squared)
    corrected = value * small_sample_factor(freedom)
    if n < FEWEST_PAIRS:
        return no_interval(corrected, n, method, too_few(n))
    if error == 0:
        return no_interval(corrected, n, method, all_equal(n))
    interval = t_interval(value, error, freedom, level, "Bonett variance, t quantile")
    return Estimate(corrected, n, method, interval, UNIT)


def standardised_error(
    value: float, variances: tuple[float, float], variance_of_differences: float, n: int
) -> float:
    """Bonett's standard error of a standardised difference on the same clients.

    Parameters
    ----------
    value : float
        The uncorrected difference, in average standard deviations.
    variances : tuple of (float, float)
        Of the arms; not both 0.
    variance_of_differences : float
    n : int
        Clients, at least 2.

    Returns
    -------
    float
        In standard deviations; 0 when all differences are equal and the value is 0.

    References
    ----------
    .. [1] D. G. Bonett (2008), Psychol. Methods 13:99-109. (Formula from memory.)
    """
    (var_a, var_b), df = variances, n - 1
    average = (var_a + var_b) / 2
    shared = (var_a + var_b - variance_of_differences) / 2
    unequal = (var_a**2 + var_b**2 + 2 * shared**2) / (8 * df * average**2)
    return sqrt(value**2 * unequal + variance_of_differences / (df * average))


def standardised_by_sd_of_differences(
    a: Values, b: Values, *, step: float = 0.0, level: float = 0.95
) -> Estimate:
    """Mean difference a - b over the standard deviation of the differences (d_z).

    Parameters
    ----------
    a, b : array-like of shape (n_clients,)
        The same clients in the same order.
    step : float, default=0.0
        Step of the scale, a floor for the spread; 0 when unknown.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        In standard deviations of the differences, not corrected; it grows with the correlation
        of the arms, so it serves planning rather than comparison between studies.

    Raises
    ------
    ValueError
        If the lengths differ, a value is not finite, or level or step is out of range.

    References
    ----------
    .. [1] J. Cohen (1988), Statistical Power Analysis, 2nd ed., section 2.3.5.
    """
    check_level(level)
    check_step(step)
    arm_a, arm_b = pairs(a, b)
    d, method = arm_a - arm_b, "standardised mean difference d_z"
    n = d.size
    if n < 2:
        return no_interval(None, n, method, too_few(n))
    deviation = max(spread(d), step / sqrt(6))
    if deviation == 0:
        return no_interval(None, n, method, all_equal(n))
    value = float(d.mean()) / deviation
    if n < FEWEST_PAIRS:
        return no_interval(value, n, method, too_few(n))
    error = sqrt(1 / n + value * value / (2 * n))
    interval = t_interval(value, error, n - 1, level, "large-sample variance, t quantile")
    return Estimate(value, n, method, interval, UNIT)
