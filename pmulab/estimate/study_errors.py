"""Standard errors of one study's difference, as weights for pooling; never 0."""

from math import inf, sqrt
from statistics import NormalDist

from pmulab.estimate.results import Interval


def paired_error(sd_of_differences: float, n: int, step: float = 0.0) -> float | None:
    """Give the standard error of a mean within-client difference.

    Parameters
    ----------
    sd_of_differences : float
        In the outcome's unit.
    n : int
        Clients.
    step : float, default=0.0
        Step of the scale; equal differences still vary by its rounding.

    Returns
    -------
    float or None
        None below two clients, or when nothing varies and the step is not known.
    """
    return _over_root(max(sd_of_differences**2, step * step / 6), n)


def groups_error(sd_a: float, n_a: int, sd_b: float, n_b: int, step: float = 0.0) -> float | None:
    """Give the standard error of a difference of means between two groups of clients.

    Parameters
    ----------
    sd_a, sd_b : float
        In the outcome's unit.
    n_a, n_b : int
        Clients.
    step : float, default=0.0
        Step of the scale.

    Returns
    -------
    float or None
        None below two clients in a group, or when nothing varies and the step is not known.
    """
    floor = step * step / 12
    a, b = _over_root(max(sd_a**2, floor), n_a), _over_root(max(sd_b**2, floor), n_b)
    if min(n_a, n_b) < 2 or (a is None and b is None):
        return None
    return sqrt((a or 0.0) ** 2 + (b or 0.0) ** 2)


def interval_error(interval: Interval) -> float | None:
    """Give the standard error that an interval stands for, where nothing else is told.

    Parameters
    ----------
    interval : Interval

    Returns
    -------
    float or None
        In the interval's unit; None where it has no width, or its level tells nothing.

    References
    ----------
    .. [1] Cochrane Handbook for Systematic Reviews of Interventions, version 6.5, section 6.3.2.
    """
    width, upper = interval.high - interval.low, (1 + interval.level) / 2
    if not 0.5 < upper < 1:
        return None
    error = width / (2 * NormalDist().inv_cdf(upper))
    return error if 0 < error < inf else None


def paired_share_error(only_a: int, only_b: int, n: int) -> float | None:
    """Give the standard error of a difference of 'yes' shares within clients.

    Parameters
    ----------
    only_a, only_b : int
        Clients with 'yes' under one way only.
    n : int
        Clients.

    Returns
    -------
    float or None
        As a share, 0 to 1, with half a client added to each of the four kinds; None without
        clients.

    References
    ----------
    .. [1] A. Agresti and Y. Min (2005), Stat. Med. 24:729-740. (From memory.)
    """
    if n < 1:
        return None
    size = n + 2
    a, b = (only_a + 0.5) / size, (only_b + 0.5) / size
    return sqrt((a + b - (a - b) ** 2) / size)


def groups_share_error(yes_a: int, n_a: int, yes_b: int, n_b: int) -> float | None:
    """Give the standard error of a difference of 'yes' shares between two groups of clients.

    Parameters
    ----------
    yes_a, n_a, yes_b, n_b : int
        Clients with 'yes', and all clients, of each group.

    Returns
    -------
    float or None
        As a share, 0 to 1, with one 'yes' and one 'no' added to each group; None for an empty
        group.

    References
    ----------
    .. [1] A. Agresti and B. Caffo (2000), Am. Stat. 54:280-288. (From memory.)
    """
    if min(n_a, n_b) < 1:
        return None
    a, b = (yes_a + 1) / (n_a + 2), (yes_b + 1) / (n_b + 2)
    return sqrt(a * (1 - a) / (n_a + 2) + b * (1 - b) / (n_b + 2))


def _over_root(variance: float, n: int) -> float | None:
    return sqrt(variance / n) if n >= 2 and variance > 0 else None
