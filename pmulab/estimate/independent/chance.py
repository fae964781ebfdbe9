"""The chance that a client of one group comes out higher than a client of the other."""

from collections.abc import Callable
from math import sqrt

import numpy as np
import numpy.typing as npt
from scipy.special import stdtrit

from pmulab.estimate.inputs import Floats, Values, check_level, finite
from pmulab.estimate.proportions import risk_difference
from pmulab.estimate.results import Estimate, Interval
from pmulab.estimate.shift import no_interval

Flags = npt.NDArray[np.bool_]


def probability_a_higher(a: Values, b: Values, level: float = 0.95) -> Estimate:
    """Chance that a random client of A is higher than one of B, ties split evenly.

    Parameters
    ----------
    a : array-like of shape (n_a,)
    b : array-like of shape (n_b,)
        Different clients.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        In [0, 1], with limits inside it that do not shut at complete separation; no interval
        below two clients in a group.

    Raises
    ------
    ValueError
        If a value is not finite or level is out of range.

    Notes
    -----
    Newcombe's method 5: a score interval whose variance follows the chance tested. Ours uses a t
    quantile and lets the variance seen, when larger, take over: with the normal quantile it fell
    to 93.5 % at eight clients a group with unlike spreads. Data of only two values are yes or no
    in disguise and get the exact interval of their risk difference (tests/bench/measured.md).

    References
    ----------
    .. [1] R. G. Newcombe (2006), Stat. Med. 25:559-573. (Formula from memory.)
    .. [2] E. Brunner and U. Munzel (2000), Biom. J. 42:17-25: the variance seen. (From memory.)
    """
    check_level(level)
    group_a, group_b = finite(a, "a"), finite(b, "b")
    n_a, n_b = group_a.size, group_b.size
    n, method = n_a + n_b, "probability of superiority between groups"
    if min(n_a, n_b) == 0:
        return no_interval(None, n, method, "One of the two groups has no clients.")
    wins = (np.sign(np.subtract.outer(group_a, group_b)) + 1) / 2
    value = float(wins.mean())
    if min(n_a, n_b) < 2:
        note = f"Two clients in each group are needed; there are {n_a} and {n_b}."
        return no_interval(value, n, method, note)
    different = np.unique(np.concatenate((group_a, group_b)))
    if different.size <= 2:
        return _two_values(group_a > different[0], group_b > different[0], value, level)
    seen = _seen_factor(wins, value)
    quantile = float(stdtrit(n - 2, (1 + level) / 2))

    def error(chance: float) -> float:
        factor = max(_exponential_factor(chance, n_a, n_b), seen)
        return quantile * sqrt(chance * (1 - chance) * factor)

    low, high = _edge(value, 0.0, error), _edge(value, 1.0, error)
    how = "Newcombe method 5 with a t quantile and the variance seen"
    return Estimate(value, n, method, Interval(low, high, level, how), "probability")


def _two_values(a: Flags, b: Flags, value: float, level: float) -> Estimate:
    """Yes or no in disguise: the chance is half of one plus the risk difference."""
    risk = risk_difference(int(a.sum()), a.size, int(b.sum()), b.size, level)
    method = "probability of superiority between groups"
    found = risk.interval
    if found is None:
        return no_interval(value, risk.n, method, risk.note)
    interval = Interval((1 + found.low) / 2, (1 + found.high) / 2, level, found.method)
    return Estimate(value, risk.n, method, interval, "probability")


def _exponential_factor(chance: float, n_a: int, n_b: int) -> float:
    """Variance of the share of wins between exponential values, over chance * (1 - chance)."""
    more = (n_a + n_b) / 2 - 1
    return (1 + more * ((1 - chance) / (2 - chance) + chance / (1 + chance))) / (n_a * n_b)


def _seen_factor(wins: Floats, value: float) -> float:
    """Variance of the share of wins as seen, over chance * (1 - chance), within its bound."""
    if not 0 < value < 1:
        return 0.0
    n_a, n_b = wins.shape
    variance = float(wins.mean(axis=1).var(ddof=1) / n_a + wins.mean(axis=0).var(ddof=1) / n_b)
    largest: float = 1 / min(n_a, n_b)
    return min(variance / (value * (1 - value)), largest)


def _edge(value: float, outer: float, error: Callable[[float], float]) -> float:
    """Farthest chance towards `outer` that lies within its own error of the value."""
    inner = value
    for _ in range(46):
        middle = (inner + outer) / 2
        if abs(value - middle) <= error(middle):
            inner = middle
        else:
            outer = middle
    return outer
