"""The chance that a client comes out higher under one arm than under the other."""

from pmulab.estimate.inputs import Values, check_level
from pmulab.estimate.paired.clients import counts
from pmulab.estimate.proportions import paired_risk_difference
from pmulab.estimate.results import Estimate, Interval
from pmulab.estimate.shift import no_interval


def probability_a_higher(a: Values, b: Values, level: float = 0.95) -> Estimate:
    """Chance that a client is higher under arm A than under arm B, ties split evenly.

    Parameters
    ----------
    a, b : array-like of shape (n_clients,)
        The same clients in the same order.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        In [0, 1]. Half of one plus the paired risk difference 'higher' less 'lower', with the
        exact interval of that.

    Raises
    ------
    ValueError
        If the lengths differ, a value is not finite or level is out of range.
    """
    check_level(level)
    clients = counts(a, b)
    method = "probability of superiority within clients"
    if clients.n == 0:
        return no_interval(None, 0, method, "There are no clients to count.")
    risk = paired_risk_difference(clients.higher, clients.lower, clients.n, level)
    value = (1 + (clients.higher - clients.lower) / clients.n) / 2
    found = risk.interval
    if found is None:
        return no_interval(value, clients.n, method, risk.note)
    low, high = (1 + found.low) / 2, (1 + found.high) / 2
    interval = Interval(low, high, level, found.method)
    return Estimate(value, clients.n, method, interval, "probability")
