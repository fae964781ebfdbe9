"""What missing pairs could do to a finding: bounded, never dropped in silence."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pmulab.estimate.inputs import Floats, Values, finite
from pmulab.estimate.results import Estimate
from pmulab.estimate.shift import robust_mean


@dataclass(frozen=True, slots=True)
class MissingBounds:
    """The same estimate with the missing pairs left out, all put low, all put high.

    Parameters
    ----------
    seen : Estimate
        From the pairs seen.
    all_low, all_high : Estimate
        With every missing difference at the lower and at the upper limit.
    n_missing : int
        Pairs not seen.
    low, high : float
        The limits, in the outcome's unit.
    """

    seen: Estimate
    all_low: Estimate
    all_high: Estimate
    n_missing: int
    low: float
    high: float


def _mean(differences: Floats) -> Estimate:
    return robust_mean(differences, 0.0, 0.95)


def best_and_worst_case(
    differences: Values,
    n_missing: int,
    low: float,
    high: float,
    estimate: Callable[[Floats], Estimate] = _mean,
) -> MissingBounds:
    """Bound a paired estimate over what the missing differences could have been.

    Parameters
    ----------
    differences : array-like of shape (n_seen,)
        Arm A minus arm B for the pairs seen, in the outcome's unit.
    n_missing : int
        Pairs allocated but not seen.
    low, high : float
        Lowest and highest plausible difference, in the outcome's unit.
    estimate : callable, optional
        From one column of differences to its estimate; the headline mean at 95 % by default.

    Returns
    -------
    MissingBounds
        All three the same when nothing is missing.

    Raises
    ------
    ValueError
        If a value is not finite, low exceeds high or `n_missing` is negative.
    """
    d = finite(differences, "differences")
    finite([low, high], "limits")
    if low > high or n_missing < 0:
        raise ValueError(f"limits {low} to {high} for {n_missing} missing pairs make no sense")
    seen, filled_low, filled_high = (
        estimate(np.concatenate((d, np.full(count, value))))
        for value, count in ((low, 0), (low, n_missing), (high, n_missing))
    )
    return MissingBounds(seen, filled_low, filled_high, n_missing, low, high)
