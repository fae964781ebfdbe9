"""Yes/no outcomes of one group of clients."""

import numpy as np
from scipy.special import betaincinv

from pmulab.estimate.inputs import check_level
from pmulab.estimate.results import Estimate, Interval
from pmulab.estimate.score import wilson_limits
from pmulab.estimate.shift import no_interval

NO_CLIENTS = "There are no clients to count."


def single_proportion(yes: int, n: int, level: float = 0.95) -> Estimate:
    """Share of clients with a yes, with Wilson's interval.

    Parameters
    ----------
    yes, n : int
        Clients with a yes, and all clients.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        In [0, 1]; covers the stated level on average over true shares.

    Raises
    ------
    ValueError
        If a count is negative, yes exceeds n or level is out of range.

    References
    ----------
    .. [1] R. G. Newcombe (1998), Stat. Med. 17:857-872, method 3.
    """
    check_level(level)
    _check(yes, n)
    if n == 0:
        return no_interval(None, 0, "proportion", NO_CLIENTS)
    interval = Interval(*wilson_limits(yes, n, level), level, "Wilson score")
    return Estimate(yes / n, n, "proportion", interval, "share")


def exact_proportion(yes: int, n: int, level: float = 0.95) -> Estimate:
    """Share of clients with a yes, with the Clopper-Pearson interval.

    Parameters
    ----------
    yes, n : int
        Clients with a yes, and all clients.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        In [0, 1]; covers at least the stated level at every true share.

    Raises
    ------
    ValueError
        If a count is negative, yes exceeds n or level is out of range.

    References
    ----------
    .. [1] C. J. Clopper and E. S. Pearson (1934), Biometrika 26:404-413.
    """
    check_level(level)
    _check(yes, n)
    if n == 0:
        return no_interval(None, 0, "proportion", NO_CLIENTS)
    tail = (1 - level) / 2
    low = float(betaincinv(yes, n - yes + 1, tail)) if yes else 0.0
    high = float(betaincinv(yes + 1, n - yes, 1 - tail)) if yes < n else 1.0
    return Estimate(
        yes / n, n, "proportion", Interval(low, high, level, "Clopper-Pearson"), "share"
    )


def zero_events_upper_limit(n: int, level: float = 0.95) -> Estimate:
    """Say how common an event may still be after none was seen in n clients.

    Parameters
    ----------
    n : int
        Clients watched.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        0 with a one-sided interval up to 1 - (1 - level) ** (1 / n), near 3 / n.

    Raises
    ------
    ValueError
        If n is negative or level is out of range.

    References
    ----------
    .. [1] J. A. Hanley and A. Lippman-Hand (1983), JAMA 249:1743-1745.
    """
    check_level(level)
    _check(0, n)
    if n == 0:
        return no_interval(None, 0, "proportion", NO_CLIENTS)
    high = float(-np.expm1(np.log1p(-level) / n))
    interval = Interval(0.0, high, level, "exact one-sided upper limit")
    return Estimate(0.0, n, "proportion", interval, "share")


def _check(yes: int, n: int) -> None:
    if not 0 <= yes <= n:
        raise ValueError(f"counts do not add up: {yes} of {n} clients")
