"""Tabular CUSUM: small lasting shifts add up until they show."""

from dataclasses import dataclass
from math import isfinite

import numpy as np

from pmulab.estimate.control_charts import moving_range_sigma
from pmulab.estimate.inputs import Values, finite

ALLOWANCE, DECISION = 0.5, 5.0
"""In standard deviations; without a shift they signal once in 465 values, known level given."""
_NODES = 80


@dataclass(frozen=True, slots=True)
class Cusum:
    """Both running sums of a series and their first signal.

    Parameters
    ----------
    high, low : tuple of float
        Sum of what lies above the target, and below it, beyond the allowance; in the
        outcome's unit, never below 0.
    signal_at : int or None
        First point, counted from 1, at which a sum exceeds the decision interval.
    side : {'high', 'low', ''}
        Which sum signalled first.
    since : int or None
        First point of the stretch that led to the signal: where the shift probably began.
    method : str
    decision : float
        The sum that counts as a signal.
    """

    high: tuple[float, ...]
    low: tuple[float, ...]
    signal_at: int | None
    side: str
    since: int | None
    method: str
    decision: float


def tabular_cusum(
    values: Values, target: float, *, allowance: float, decision_interval: float
) -> Cusum:
    """Accumulate departures from a target in both directions.

    Parameters
    ----------
    values : array-like of shape (n_clients,)
        One value a client, in order of time, in the outcome's unit.
    target : float
        The level watched, in the outcome's unit.
    allowance : float
        Half the shift worth finding (K, usually half a standard deviation), in the outcome's
        unit; 0 or more.
    decision_interval : float
        Sum that counts as a signal (H, usually 4 or 5 standard deviations); positive.

    Returns
    -------
    Cusum

    Raises
    ------
    ValueError
        If a value is not finite, the allowance is negative or the interval not positive.

    References
    ----------
    .. [1] D. C. Montgomery, Introduction to Statistical Quality Control, 'The tabular or
       algorithmic cusum'.
    """
    points = finite(values, "values")
    if not (isfinite(target) and allowance >= 0 and decision_interval > 0):
        raise ValueError("target must be finite, allowance 0 or more, decision_interval above 0")
    high = _sums(points - target - allowance)
    low = _sums(target - allowance - points)
    # Rounding must not decide at the limit itself.
    limit = decision_interval * (1 + 1e-12)
    crossed = [
        position for position, pair in enumerate(zip(high, low, strict=True)) if max(pair) > limit
    ]
    method = f"tabular CUSUM, K = {allowance:g}, H = {decision_interval:g}"
    if not crossed:
        return Cusum(high, low, None, "", None, method, decision_interval)
    at = crossed[0]
    side, sums = ("high", high) if high[at] > limit else ("low", low)
    since = max((k for k in range(at) if sums[k] == 0), default=-1) + 1
    return Cusum(high, low, at + 1, side, since + 1, method, decision_interval)


def baseline_cusum(values: Values, baseline: int) -> Cusum | None:
    """Watch the values after a baseline for a lasting shift away from its level.

    Parameters
    ----------
    values : array-like of shape (n_clients,)
        One value a client, in order of time, in the outcome's unit.
    baseline : int
        How many of the first values give level and spread; 2 or more.

    Returns
    -------
    Cusum or None
        Of the values after the baseline, its points counted from the first of them; None when
        no two neighbours in the baseline differ. Allowance half a standard deviation, decision
        interval five.

    Raises
    ------
    ValueError
        If a value is not finite, or nothing is left to watch.
    """
    points = finite(values, "values")
    if not 2 <= baseline < points.size:
        raise ValueError(f"baseline must lie between 2 and {points.size - 1}, got {baseline}")
    sigma = moving_range_sigma(points[:baseline])
    if sigma is None:
        return None
    return tabular_cusum(
        points[baseline:],
        float(points[:baseline].mean()),
        allowance=ALLOWANCE * sigma,
        decision_interval=DECISION * sigma,
    )


def cusum_run_length(shift: float, *, k: float = 0.5, h: float = 5.0) -> float:
    """Average number of points until a two-sided CUSUM of normal values signals.

    Parameters
    ----------
    shift : float
        How far the mean has moved, in standard deviations; 0 for false alarms.
    k, h : float, default=0.5, 5
        Allowance and decision interval in standard deviations; h positive.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        If k is negative or h is not positive.

    References
    ----------
    .. [1] E. S. Page (1954), Biometrika 41:100-115 (the integral equation).
    .. [2] D. M. Hawkins, D. H. Olwell (1998), Cumulative Sum Charts (from memory).
    """
    if not (k >= 0 and h > 0 and isfinite(shift)):
        raise ValueError(f"k must be 0 or more and h positive, got k={k}, h={h}")
    upward = _one_sided_run_length(shift, k, h)
    downward = _one_sided_run_length(-shift, k, h)
    return 1 / (1 / upward + 1 / downward)


def _one_sided_run_length(shift: float, k: float, h: float) -> float:
    """Solve Page's equation by Gauss-Legendre nodes; the start at 0 is an extra unknown."""
    from scipy import special

    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    at = np.concatenate([[0.0], h * (nodes + 1) / 2])
    weights = np.concatenate([[0.0], h * weights / 2])
    steps = at[None, :] - at[:, None] + k - shift
    kernel = np.exp(-(steps**2) / 2) / np.sqrt(2 * np.pi) * weights
    kernel[:, 0] += special.ndtr(k - shift - at)
    return float(np.linalg.solve(np.eye(at.size) - kernel, np.ones(at.size))[0])


def _sums(steps: np.ndarray[tuple[int], np.dtype[np.float64]]) -> tuple[float, ...]:
    sums, running = [], 0.0
    for step in steps.tolist():
        running = max(0.0, running + step)
        sums.append(running)
    return tuple(sums)
