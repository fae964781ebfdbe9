"""Intervals for one column of differences and for two columns of values: the shared cores.

`paired` and `independent` give them their names, units and notes.
"""

from math import exp, sqrt

import numpy as np
from scipy.special import gammaln, stdtrit

from pmulab.estimate.inputs import Floats
from pmulab.estimate.inversion import flip_limits
from pmulab.estimate.jumps import jump_note, one_sided_jumps
from pmulab.estimate.results import Estimate, Interval

FEWEST_PAIRS = 5
"""Below five pairs two-sided sign flips reach no level above 87.5 % (1 - 2 / 2**4)."""


def t_interval(centre: float, error: float, df: float, level: float, method: str) -> Interval:
    """Interval of Student's form around an estimate.

    Parameters
    ----------
    centre : float
        The estimate.
    error : float
        Standard error of the estimate, in its unit.
    df : float
        Degrees of freedom, above 0.
    level : float in (0, 1)
        Confidence level of the interval.
    method : str
        The construction, in a statistician's words.

    Returns
    -------
    Interval
    """
    half = float(stdtrit(df, (1 + level) / 2)) * error
    return Interval(centre - half, centre + half, level, method)


def joined(
    limits: tuple[float, float],
    how: str,
    student: Interval,
    arrangements: int,
    level: float,
    *,
    always: bool = False,
) -> Interval:
    """Limits of an exact test, joined with an interval of Student's form where that is wider.

    Nothing that the test does not reject is ever left out. Where the test can spare but one
    arrangement an end, its limits are the ends of all that is possible, and under ties too short:
    they are joined whichever is wider.

    Parameters
    ----------
    limits : tuple of float
        Lowest and highest value that the test does not reject.
    how : str
        The test, in a statistician's words.
    student : Interval
        The interval of Student's form around the same estimate.
    arrangements : int
        How many arrangements the test counts.
    level : float in (0, 1)
        The level asked for.
    always : bool, default=False
        Join whichever is wider.

    Returns
    -------
    Interval
        At that level, or the surest that so many arrangements allow.
    """
    (low, high), other = limits, f"{student.method} with an allowance for rounded values"
    always = always or 4 / arrangements > 1 - level
    if always or student.high - student.low > (high - low) * (1 - 1e-9):
        low, high = min(low, student.low), max(high, student.high)
    rule = f"{how}, widened to {other}{'' if always else ' where that is wider'}"
    return Interval(low, high, min(level, 1 - 2 / arrangements), rule)


def opened(low: float, high: float, step: float) -> tuple[float, float]:
    """Open limits that coincide by half a step of the scale on both sides.

    Parameters
    ----------
    low, high : float
        The two limits.
    step : float
        0 when unknown: then nothing is opened.

    Returns
    -------
    tuple of float
    """
    return (low, high) if low < high else (low - step / 2, high + step / 2)


def no_interval(value: float | None, n: int, method: str, note: str) -> Estimate:
    """Give the answer of a study too small or too uniform for an interval.

    Parameters
    ----------
    value : float or None
        The estimate, if there is one.
    n : int
        Number of clients.
    method : str
        The construction, in a statistician's words.
    note : str
        Why there is none, in plain words.

    Returns
    -------
    Estimate
    """
    return Estimate(value=value, n=n, method=method, note=note)


def too_few(n: int) -> str:
    """Say why so few pairs have no interval.

    Parameters
    ----------
    n : int
        Number of clients.

    Returns
    -------
    str
    """
    have = f"There {'is' if n == 1 else 'are'} {n} pair{'' if n == 1 else 's'}"
    return f"{have}: fewer than {FEWEST_PAIRS} give no honest interval."


def surest_level(n: int, attained: float, what: str = "pairs") -> str:
    """Say which level so few clients can reach.

    Parameters
    ----------
    n : int
        Number of clients.
    attained : float
        The level that can be reached.
    what : str, default="pairs"
        What is counted.

    Returns
    -------
    str
    """
    return f"With {n} {what} the surest level that can be had is {100 * attained:.4g} %."


def all_equal(n: int) -> str:
    """Say why equal differences have no interval.

    Parameters
    ----------
    n : int
        Number of clients.

    Returns
    -------
    str
    """
    return f"All {n} clients differ by the same amount: nothing shows how far others may vary."


def t_mean(d: Floats, level: float) -> Estimate:
    """Mean of one column with Student's t interval.

    Parameters
    ----------
    d : ndarray of shape (n_clients,)
        The differences.
    level : float in (0, 1)
        Confidence level of the interval.

    Returns
    -------
    Estimate
        Without an interval below two values or when all values are equal.
    """
    method = "mean"
    if d.size < 2:
        value = float(d[0]) if d.size else None
        return no_interval(value, d.size, method, "An interval needs two or more.")
    value, error = float(d.mean()), standard_error(d, 0.0)
    if error == 0:
        return no_interval(value, d.size, method, all_equal(d.size))
    return Estimate(value, d.size, method, t_interval(value, error, d.size - 1, level, "Student t"))


def standard_error(d: Floats, rounding: float) -> float:
    """Give the standard error of a mean, never below what rounding alone explains.

    Parameters
    ----------
    d : ndarray of shape (n_clients,)
        At least two values.
    rounding : float
        Variance of the rounding error of one value; 0 when unknown.

    Returns
    -------
    float
    """
    return sqrt(max(spread(d) ** 2, rounding) / d.size)


def spread(d: Floats) -> float:
    """Sample standard deviation, exactly 0 when all values are equal but for rounding error.

    Parameters
    ----------
    d : ndarray of shape (n_clients,)
        At least two values.

    Returns
    -------
    float
    """
    if float(np.ptp(d)) <= 1e-12 * float(np.abs(d).max()):
        return 0.0
    return float(d.std(ddof=1))


def small_sample_factor(df: float) -> float:
    """Hedges' factor that makes a standardised difference unbiased for normal values.

    Parameters
    ----------
    df : float
        Degrees of freedom of the standard deviation; at least 1.

    Returns
    -------
    float
        Below 1; 0 at one degree of freedom, where no unbiased value exists.

    References
    ----------
    .. [1] L. V. Hedges (1981), J. Educ. Stat. 6:107-128.
    """
    if df <= 1:
        return 0.0
    return exp(float(gammaln(df / 2) - gammaln((df - 1) / 2))) / sqrt(df / 2)


def robust_mean(d: Floats, step: float, level: float) -> Estimate:
    """Mean of one column of differences: sign-flip limits, joined with t where t is wider.

    Parameters
    ----------
    d : ndarray of shape (n_clients,)
        Paired differences.
    step : float
        Step of the scale on which each arm was recorded; 0 when unknown.
    level : float in (0, 1)
        Confidence level of the interval.

    Returns
    -------
    Estimate
    """
    method, n = "mean", d.size
    if n < FEWEST_PAIRS:
        return no_interval(float(d.mean()) if n else None, n, method, too_few(n))
    value, error = float(d.mean()), standard_error(d, step * step / 6)
    if error == 0:
        return no_interval(value, n, method, all_equal(n))
    student = t_interval(value, error, n - 1, level, "Student t")
    interval = joined(flip_limits(d, level), "sign-flip inversion", student, 2**n, level)
    reach = "" if interval.level == level else surest_level(n, interval.level)
    note = " ".join(filter(None, (jump_note(one_sided_jumps(d, step), "differences"), reach)))
    return Estimate(value, n, method, interval, note=note)


def exponential(logs: Estimate) -> Estimate:
    """Turn a mean difference of logarithms into a ratio.

    Parameters
    ----------
    logs : Estimate
        On the log scale.

    Returns
    -------
    Estimate
    """
    old = logs.interval
    interval = old and Interval(exp(old.low), exp(old.high), old.level, f"{old.method}, log scale")
    value = None if logs.value is None else exp(logs.value)
    return Estimate(value, logs.n, "ratio of geometric means", interval, "ratio", logs.note)
