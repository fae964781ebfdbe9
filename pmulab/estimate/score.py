"""Score statistics of a difference between two proportions, and the limits they give.

References
----------
.. [1] T. Tango (1998), Stat. Med. 17:891-908: paired.
.. [2] O. Miettinen and M. Nurminen (1985), Stat. Med. 4:213-226: two groups.
.. [3] R. G. Newcombe (1998), Stat. Med. 17:873-890, method 10: two groups.
"""

from collections.abc import Callable
from math import sqrt

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

from pmulab.estimate.inputs import Floats

Counts = Floats | float


def tango_score(only_a: Counts, only_b: Counts, n: int, difference: float) -> Floats:
    """Score statistic of a paired risk difference.

    Parameters
    ----------
    only_a, only_b : float or ndarray
        Clients with a yes under that arm alone.
    n : int
        All clients.
    difference : float
        The difference tested, in [-1, 1].

    Returns
    -------
    ndarray
        Approximately standard normal when `difference` is true.
    """
    b, c = np.asarray(only_a, dtype=np.float64), np.asarray(only_b, dtype=np.float64)
    share_b = likeliest_only_b(b, c, n, difference)
    variance = n * (2 * share_b + difference * (1 - difference))
    return _standardised(b - c - n * difference, variance)


def likeliest_only_b(only_a: Counts, only_b: Counts, n: int, difference: float) -> Floats:
    """Likeliest share of clients with a yes under B alone, when the difference is known.

    Parameters
    ----------
    only_a, only_b, n, difference
        As in `tango_score`.

    Returns
    -------
    ndarray
    """
    b, c = np.asarray(only_a, dtype=np.float64), np.asarray(only_b, dtype=np.float64)
    linear = (2 * n - b + c) * difference - b - c
    constant = -c * difference * (1 - difference)
    root = np.sqrt(np.maximum(linear * linear - 8 * n * constant, 0))
    share: Floats = (root - linear) / (4 * n)
    return share


def miettinen_nurminen_score(
    yes_a: Counts, n_a: int, yes_b: Counts, n_b: int, difference: float
) -> Floats:
    """Score statistic of a risk difference between two groups.

    Parameters
    ----------
    yes_a, yes_b : float or ndarray
        Clients with a yes in each group.
    n_a, n_b : int
        Clients in each group.
    difference : float
        The difference tested, in [-1, 1].

    Returns
    -------
    ndarray
        Approximately standard normal when `difference` is true.
    """
    share_b = likeliest_yes_b(yes_a, n_a, yes_b, n_b, difference)
    return groups_score_at(share_b, yes_a, n_a, yes_b, n_b, difference)


def groups_score_at(
    share_b: Floats, yes_a: Counts, n_a: int, yes_b: Counts, n_b: int, difference: float
) -> Floats:
    """`miettinen_nurminen_score` where the likeliest share of yeses in group B is known already.

    Parameters
    ----------
    share_b : ndarray
        As from `likeliest_yes_b`.
    yes_a, n_a, yes_b, n_b, difference
        As in `miettinen_nurminen_score`.

    Returns
    -------
    ndarray
    """
    n, share_a = n_a + n_b, np.clip(share_b + difference, 0, 1)
    variance = share_a * (1 - share_a) / n_a + share_b * (1 - share_b) / n_b
    gap = np.asarray(yes_a) / n_a - np.asarray(yes_b) / n_b - difference
    return _standardised(gap, variance * n / (n - 1))


def likeliest_yes_b(yes_a: Counts, n_a: int, yes_b: Counts, n_b: int, difference: float) -> Floats:
    """Likeliest share of yeses in group B, when the difference is known.

    Parameters
    ----------
    yes_a, n_a, yes_b, n_b, difference
        As in `miettinen_nurminen_score`.

    Returns
    -------
    ndarray
    """
    x_a, x_b = np.asarray(yes_a, dtype=np.float64), np.asarray(yes_b, dtype=np.float64)
    n = n_a + n_b
    square = ((n_a + 2 * n_b) * difference - n - x_a - x_b) / (3 * n)
    linear = ((n_b * difference - n - 2 * x_b) * difference + x_a + x_b) / n
    constant = x_b * difference * (1 - difference) / n
    q = square**3 - linear * square / 2 + constant / 2
    p = np.where(q < 0, -1, 1) * np.sqrt(np.maximum(square * square - linear / 3, 0))
    cube = np.where(p == 0, 1, p**3)
    angle = (np.pi + np.arccos(np.clip(q / cube, -1, 1))) / 3
    share: Floats = np.clip(
        2 * p * np.cos(angle) - square, max(0.0, -difference), min(1.0, 1 - difference)
    )
    return share


def _standardised(gap: Floats, variance: Floats) -> Floats:
    still = np.abs(gap) < 1e-12
    scores: Floats = np.where(still, 0.0, gap / np.sqrt(np.maximum(variance, 1e-18)))
    return scores


def score_limits(
    score: Callable[[float], npt.NDArray[np.float64]], estimate: float, level: float
) -> tuple[float, float]:
    """Find where a score statistic crosses the normal quantiles.

    Parameters
    ----------
    score : callable
        From a difference to its statistic, falling.
    estimate : float
        Where it is 0.
    level : float in (0, 1)
        Confidence level of the interval.

    Returns
    -------
    tuple of float
        Within [-1, 1].
    """
    wanted = float(ndtri((1 + level) / 2))
    low = _crossing(lambda x: float(score(x)) < wanted, -1.0, estimate)
    high = _crossing(lambda x: float(score(x)) > -wanted, 1.0, estimate)
    return low, high


def _crossing(inside: Callable[[float], bool], outer: float, inner: float) -> float:
    if inside(outer):
        return outer
    for _ in range(46):
        middle = (outer + inner) / 2
        outer, inner = (outer, middle) if inside(middle) else (middle, inner)
    return inner


def wilson_limits(yes: float, n: float, level: float) -> tuple[float, float]:
    """Wilson's score limits of one proportion.

    Parameters
    ----------
    yes : float
        Clients with a yes.
    n : float
        Above 0; may be an effective number.
    level : float in (0, 1)
        Confidence level of the interval.

    Returns
    -------
    tuple of float
        Within [0, 1].

    References
    ----------
    .. [1] E. B. Wilson (1927), JASA 22:209-212.
    """
    z = float(ndtri((1 + level) / 2))
    centre = (yes + z * z / 2) / (n + z * z)
    half = z / (n + z * z) * sqrt(max(0.0, yes * (n - yes) / n) + z * z / 4)
    low = 0.0 if yes <= 0 else max(0.0, centre - half)
    high = 1.0 if yes >= n else min(1.0, centre + half)
    return low, high


def newcombe_limits(
    yes_a: int, n_a: int, yes_b: int, n_b: int, level: float
) -> tuple[float, float]:
    """Newcombe's hybrid score limits of a risk difference between two groups.

    Parameters
    ----------
    yes_a, n_a, yes_b, n_b : int
        Yeses and clients of each group.
    level : float in (0, 1)
        Confidence level of the interval.

    Returns
    -------
    tuple of float
    """
    p_a, p_b = yes_a / n_a, yes_b / n_b
    low_a, high_a = wilson_limits(yes_a, n_a, level)
    low_b, high_b = wilson_limits(yes_b, n_b, level)
    low = p_a - p_b - sqrt((p_a - low_a) ** 2 + (high_b - p_b) ** 2)
    return low, p_a - p_b + sqrt((high_a - p_a) ** 2 + (p_b - low_b) ** 2)
