"""How large a difference has to be for a number of clients to show it."""

from collections.abc import Callable

from pmulab.estimate.power import power_t
from pmulab.estimate.power_mcnemar import power_mcnemar
from pmulab.estimate.power_proportions import power_two_proportions
from pmulab.estimate.study_size import Design
from pmulab.plan import Plan
from pmulab.sizing.chances import WANTED, fewest

LARGE = 0.8
"""From this many spreads on a difference is called large.

J. Cohen (1988), Statistical Power Analysis for the Behavioral Sciences, ch. 2 (from memory).
"""
_WIDEST = 20.0
_HALVINGS = 30


def smallest_seen(plan: Plan, clients: int) -> float | None:
    """Give the true difference that is seen four times in five.

    Parameters
    ----------
    plan : Plan
    clients : int
        In all; 2 or more.

    Returns
    -------
    float or None
        For measures in numbers how many times the spread (of the differences within a client, or
        between the clients of an arm); for yes/no the share in (0, 1] at the very best, when
        nobody goes against the trend. None when so few clients get no answer.
    """
    n = clients if plan.within_person else clients // 2
    if n < fewest(plan):
        return None
    if not plan.primary.yes_no:
        design: Design = "paired" if plan.within_person else "parallel"
        return _first(lambda effect: power_t(n, effect, design).power, _WIDEST)
    if plan.within_person:
        return _first(lambda share: power_mcnemar(n, share, 0.0).power, 1.0)
    return _first(lambda share: power_two_proportions(n, 0.0, share).power, 1.0)


def _first(power: Callable[[float], float], most: float) -> float | None:
    """Find the smallest difference with the power wanted, which grows with the difference."""
    low, high = 0.0, most
    if power(high) < WANTED:
        return None
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (low, middle) if power(middle) >= WANTED else (middle, high)
    return high
