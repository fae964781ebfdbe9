"""The ratio a / b between two arms on the same clients."""

from math import exp

import numpy as np

from pmulab.estimate.inputs import Values, check_level, check_step, pairs
from pmulab.estimate.results import Estimate
from pmulab.estimate.shift import exponential, robust_mean


def ratio(a: Values, b: Values, *, step: float = 0.0, level: float = 0.95) -> Estimate:
    """Typical ratio a / b of positive values such as minutes: the ratio of geometric means.

    Parameters
    ----------
    a, b : array-like of shape (n_clients,)
        The same clients in the same order, above zero.
    step : float, default=0.0
        Step of the scale; 0 when unknown.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        A plain ratio: 0.80 reads '20 % less under A'. The interval is that of
        `mean_difference` on the log scale.

    Raises
    ------
    ValueError
        If the lengths differ, a value is not finite, or level or step is out of range.
    """
    check_level(level)
    check_step(step)
    arm_a, arm_b = pairs(a, b)
    if arm_a.size == 0 or min(arm_a.min(), arm_b.min()) <= 0:
        note = "A ratio needs values above zero in both arms."
        return Estimate(None, arm_a.size, "ratio of geometric means", unit="ratio", note=note)
    logs = np.log(np.concatenate((arm_a, arm_b)))
    log_step = step / exp(float(logs.mean()))
    return exponential(robust_mean(logs[: arm_a.size] - logs[arm_a.size :], log_step, level))
