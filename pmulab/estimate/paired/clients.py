"""How the clients fared: counted, how far they differ, how alike the arms are."""

from dataclasses import dataclass
from math import atanh, sqrt, tanh

import numpy as np
from scipy.special import chdtri, ndtri

from pmulab.estimate.inputs import Values, check_level, pairs
from pmulab.estimate.results import Estimate, Interval
from pmulab.estimate.shift import no_interval, spread


@dataclass(frozen=True, slots=True)
class Counts:
    """How many clients were higher, equal or lower under arm A.

    Parameters
    ----------
    higher, equal, lower : int
        Numbers of clients.
    """

    higher: int
    equal: int
    lower: int

    @property
    def n(self) -> int:
        """All clients together."""
        return self.higher + self.equal + self.lower


def counts(a: Values, b: Values) -> Counts:
    """Count the clients who were higher, equal or lower under arm A.

    Parameters
    ----------
    a, b : array-like of shape (n_clients,)
        The same clients in the same order.

    Returns
    -------
    Counts

    Raises
    ------
    ValueError
        If the lengths differ or a value is not finite.
    """
    arm_a, arm_b = pairs(a, b)
    higher, lower = int((arm_a > arm_b).sum()), int((arm_a < arm_b).sum())
    return Counts(higher, arm_a.size - higher - lower, lower)


def sd_of_differences(a: Values, b: Values, level: float = 0.95) -> Estimate:
    """Measure how far the differences vary: their standard deviation, chi-squared interval.

    Parameters
    ----------
    a, b : array-like of shape (n_clients,)
        The same clients in the same order, in the outcome's unit.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        In the outcome's unit. The interval trusts the normal shape; it serves planning only.

    Raises
    ------
    ValueError
        If the lengths differ, a value is not finite, or level is out of range.
    """
    check_level(level)
    arm_a, arm_b = pairs(a, b)
    d, method = arm_a - arm_b, "standard deviation of the differences (n - 1)"
    if d.size < 2:
        return no_interval(None, d.size, method, "A spread needs at least two pairs.")
    value, df = spread(d), d.size - 1
    if value == 0:
        return no_interval(0.0, d.size, method, f"All {d.size} differences are equal.")
    low = value * sqrt(df / float(chdtri(df, (1 - level) / 2)))
    high = value * sqrt(df / float(chdtri(df, (1 + level) / 2)))
    return Estimate(value, d.size, method, Interval(low, high, level, "chi-squared"))


def correlation(a: Values, b: Values, level: float = 0.95) -> Estimate:
    """Pearson's correlation of the two arms, with Fisher's z interval.

    Parameters
    ----------
    a, b : array-like of shape (n_clients,)
        The same clients in the same order.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        Between -1 and 1; no interval below four pairs or at a perfect correlation.

    Raises
    ------
    ValueError
        If the lengths differ, a value is not finite, or level is out of range.
    """
    check_level(level)
    arm_a, arm_b = pairs(a, b)
    n, method = arm_a.size, "Pearson correlation"
    if n < 2 or min(spread(arm_a), spread(arm_b)) == 0:
        note = "A correlation needs two pairs or more and values that differ within each arm."
        return Estimate(None, n, method, unit="correlation", note=note)
    value = max(-1.0, min(1.0, float(np.corrcoef(arm_a, arm_b)[0, 1])))
    if n < 4 or abs(value) > 1 - 1e-12:
        note = "Fewer than four pairs, or a perfect line, leave no interval for a correlation."
        return Estimate(value, n, method, unit="correlation", note=note)
    half = float(ndtri((1 + level) / 2)) / sqrt(n - 3)
    low, high = tanh(atanh(value) - half), tanh(atanh(value) + half)
    return Estimate(value, n, method, Interval(low, high, level, "Fisher z"), "correlation")
