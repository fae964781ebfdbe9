"""Student's and Welch's comparison of two group means."""

from math import sqrt

from scipy.special import stdtr

from pmulab.estimate.inputs import Floats, Values, check_level, finite
from pmulab.estimate.results import Estimate, Test
from pmulab.estimate.shift import no_interval, spread, t_interval


def welch_mean_difference(a: Values, b: Values, level: float = 0.95) -> Estimate:
    """Difference of two group means a - b with Welch's t interval.

    Parameters
    ----------
    a : array-like of shape (n_a,)
    b : array-like of shape (n_b,)
        Different clients, in the outcome's unit.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        In the outcome's unit; no interval below two clients in a group or without any spread.

    Raises
    ------
    ValueError
        If a value is not finite or level is out of range.

    References
    ----------
    .. [1] B. L. Welch (1947), Biometrika 34:28-35.
    """
    check_level(level)
    return welch(finite(a, "a"), finite(b, "b"), 0.0, level)


def welch_test(a: Values, b: Values) -> Test:
    """Welch's t test of equal group means, spreads free to differ.

    Parameters
    ----------
    a : array-like of shape (n_a,)
    b : array-like of shape (n_b,)
        Different clients.

    Returns
    -------
    Test
        Two-sided; p is None below two clients in a group or without any spread.

    Raises
    ------
    ValueError
        If a value is not finite.
    """
    group_a, group_b = finite(a, "a"), finite(b, "b")
    method = "Welch's t test"
    reason = _no_spread(group_a, group_b, 0.0)
    if reason:
        return Test(p=None, method=method, n=group_a.size + group_b.size, note=reason)
    error, df = _welch_error(group_a, group_b, 0.0)
    return _t_result(group_a, group_b, error, df, method)


def t_test(a: Values, b: Values) -> Test:
    """Student's t test of equal group means, with one pooled spread.

    Parameters
    ----------
    a : array-like of shape (n_a,)
    b : array-like of shape (n_b,)
        Different clients.

    Returns
    -------
    Test
        Two-sided; p is None below two clients in a group or without any spread.

    Raises
    ------
    ValueError
        If a value is not finite.
    """
    group_a, group_b = finite(a, "a"), finite(b, "b")
    method = "Student's two-sample t test"
    reason = _no_spread(group_a, group_b, 0.0)
    if reason:
        return Test(p=None, method=method, n=group_a.size + group_b.size, note=reason)
    n_a, n_b = group_a.size, group_b.size
    squares = (n_a - 1) * spread(group_a) ** 2 + (n_b - 1) * spread(group_b) ** 2
    df = n_a + n_b - 2
    return _t_result(group_a, group_b, sqrt(squares / df * (1 / n_a + 1 / n_b)), df, method)


def welch(a: Floats, b: Floats, rounding: float, level: float) -> Estimate:
    """Difference of means with Welch's interval and a floor for rounding.

    Parameters
    ----------
    a : ndarray of shape (n_a,)
    b : ndarray of shape (n_b,)
    rounding : float
        Variance of the rounding error of one value; 0 when unknown.
    level : float in (0, 1)
        Confidence level of the interval.

    Returns
    -------
    Estimate
    """
    n, method = a.size + b.size, "difference of means"
    value = float(a.mean() - b.mean()) if min(a.size, b.size) else None
    reason = _no_spread(a, b, rounding)
    if value is None or reason:
        return no_interval(value, n, method, reason)
    error, df = _welch_error(a, b, rounding)
    return Estimate(value, n, method, t_interval(value, error, df, level, "Welch t"))


def _welch_error(a: Floats, b: Floats, rounding: float) -> tuple[float, float]:
    """Give the standard error and degrees of freedom of Welch and Satterthwaite."""
    of_a, of_b = max(spread(a) ** 2, rounding) / a.size, max(spread(b) ** 2, rounding) / b.size
    total = of_a + of_b
    df = 1 / ((of_a / total) ** 2 / (a.size - 1) + (of_b / total) ** 2 / (b.size - 1))
    return sqrt(total), df


def _no_spread(a: Floats, b: Floats, rounding: float) -> str:
    if min(a.size, b.size) < 2:
        return f"Two clients in each group are needed; there are {a.size} and {b.size}."
    if max(spread(a), spread(b), rounding) == 0:
        return "Neither group varies and the step of the scale is not given: no interval."
    return ""


def _t_result(a: Floats, b: Floats, error: float, df: float, method: str) -> Test:
    t = float(a.mean() - b.mean()) / error
    p = max(2 * float(stdtr(df, -abs(t))), 1e-300)
    return Test(p=p, method=method, n=a.size + b.size, statistic=t, df=df)
