"""The standardised difference between two groups of clients, in standard deviations."""

from math import sqrt

from scipy.special import ndtri

from pmulab.estimate.inputs import Values, check_level, check_step, finite
from pmulab.estimate.results import Estimate, Interval
from pmulab.estimate.shift import no_interval, small_sample_factor, spread


def standardised_difference(
    a: Values, b: Values, *, step: float = 0.0, level: float = 0.95
) -> Estimate:
    """Difference of means a - b over the average standard deviation, corrected (Hedges' g).

    Parameters
    ----------
    a : array-like of shape (n_a,)
    b : array-like of shape (n_b,)
        Different clients.
    step : float, default=0.0
        Step of the scale, a floor for the spread; 0 when unknown.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        In standard deviations; the value over the pooled standard deviation times Hedges'
        factor. The interval is Bonett's, which lets the groups' spreads differ, around the
        uncorrected value over the average of the two variances.

    Raises
    ------
    ValueError
        If a value is not finite, or level or step is out of range.

    References
    ----------
    .. [1] D. G. Bonett (2008), Psychol. Methods 13:99-109. (Formula from memory.)
    .. [2] L. V. Hedges (1981), J. Educ. Stat. 6:107-128.
    """
    check_level(level)
    check_step(step)
    group_a, group_b = finite(a, "a"), finite(b, "b")
    n_a, n_b = group_a.size, group_b.size
    method = "standardised mean difference, Hedges' g"
    if min(n_a, n_b) < 2:
        note = f"Two clients in each group are needed; there are {n_a} and {n_b}."
        return no_interval(None, n_a + n_b, method, note)
    floor = step * step / 12
    var_a, var_b = max(spread(group_a) ** 2, floor), max(spread(group_b) ** 2, floor)
    if var_a + var_b == 0:
        note = "Neither group varies: there is no standard deviation to divide by."
        return no_interval(None, n_a + n_b, method, note)
    gap, df_a, df_b = float(group_a.mean() - group_b.mean()), n_a - 1, n_b - 1
    pooled = (df_a * var_a + df_b * var_b) / (df_a + df_b)
    average = (var_a + var_b) / 2
    value = gap / sqrt(average)
    error = standardised_error(value, (var_a, var_b), (n_a, n_b))
    half = float(ndtri((1 + level) / 2)) * error
    interval = Interval(value - half, value + half, level, "Bonett")
    corrected = gap / sqrt(pooled) * small_sample_factor(df_a + df_b)
    return Estimate(corrected, n_a + n_b, method, interval, "standard deviations")


def standardised_error(
    value: float, variances: tuple[float, float], sizes: tuple[int, int]
) -> float:
    """Bonett's standard error of a standardised difference between two groups of clients.

    Parameters
    ----------
    value : float
        The uncorrected difference, in average standard deviations.
    variances : tuple of (float, float)
        Of the groups; not both 0.
    sizes : tuple of (int, int)
        Clients, at least 2 in each group.

    Returns
    -------
    float
        In standard deviations.

    References
    ----------
    .. [1] D. G. Bonett (2008), Psychol. Methods 13:99-109. (Formula from memory.)
    """
    (var_a, var_b), (df_a, df_b) = variances, (sizes[0] - 1, sizes[1] - 1)
    average = (var_a + var_b) / 2
    return sqrt(
        value**2 * (var_a**2 / df_a + var_b**2 / df_b) / (8 * average**2)
        + (var_a / df_a + var_b / df_b) / average
    )
