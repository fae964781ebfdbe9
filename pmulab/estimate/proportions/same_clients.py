"""Yes/no outcomes of two arms on the same clients."""

from scipy.special import bdtr

from pmulab.estimate.inputs import check_level
from pmulab.estimate.results import Estimate, Interval, Test
from pmulab.estimate.score import score_limits, tango_score
from pmulab.estimate.shift import no_interval
from pmulab.estimate.unconditional import LARGEST_TABLE, check_size, paired_lower_limit, paired_p

NO_CLIENTS = "There are no clients to count."


def mcnemar_test(only_a: int, only_b: int, n: int) -> Test:
    """Exact McNemar test of whether the clients who differed split evenly.

    Parameters
    ----------
    only_a, only_b : int
        Clients with a yes under that arm alone.
    n : int
        All clients, those with the same answer under both arms included.

    Returns
    -------
    Test
        Two-sided; `statistic` is the number of clients who differed. Six must differ before p
        can fall below 0.05.

    Raises
    ------
    ValueError
        If a count is negative or they do not add up.

    References
    ----------
    .. [1] M. W. Fagerland, S. Lydersen and P. Laake (2013), BMC Med. Res. Methodol. 13:91.
    """
    _check_pairs(only_a, only_b, n)
    differed = only_a + only_b
    if n == 0:
        return Test(p=None, method="exact McNemar test", n=0, note=NO_CLIENTS)
    p = min(1.0, 2 * float(bdtr(min(only_a, only_b), differed, 0.5))) if differed else 1.0
    return Test(
        p=max(p, 1e-300),
        method="exact McNemar test",
        n=n,
        smallest_p=min(1.0, max(2.0 ** (1 - differed), 1e-300)),
        statistic=float(differed),
        note="" if differed else "Every client gave the same answer under both arms.",
    )


def paired_risk_difference(only_a: int, only_b: int, n: int, level: float = 0.95) -> Estimate:
    """Risk difference a - b on the same clients, exact.

    Parameters
    ----------
    only_a, only_b : int
        Clients with a yes under that arm alone.
    n : int
        All clients.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        As a share of clients, in [-1, 1]. Exact unconditional limits by Tango's score up to 60
        clients, Tango's own limits beyond.

    Raises
    ------
    ValueError
        If a count is negative, they do not add up or level is out of range.

    Notes
    -----
    Over the parameter space Tango's limits alone cover as little as 84.5 % (eight clients, few
    yeses), the t interval of 0 and 1 next to nothing; the exact limits never less than stated, at
    1.00 to 1.05 times Tango's width (tests/bench/measured.md).
    """
    check_level(level)
    _check_pairs(only_a, only_b, n)
    if n > LARGEST_TABLE:
        return tango_risk_difference(only_a, only_b, n, level)
    if n == 0:
        return no_interval(None, 0, "paired risk difference", NO_CLIENTS)
    low = paired_lower_limit(only_a, only_b, n, level)
    high = -paired_lower_limit(only_b, only_a, n, level)
    interval = Interval(low, high, level, "exact unconditional, Tango score")
    return Estimate((only_a - only_b) / n, n, "paired risk difference", interval, "share")


def tango_risk_difference(only_a: int, only_b: int, n: int, level: float = 0.95) -> Estimate:
    """Risk difference a - b on the same clients with Tango's score interval.

    Parameters
    ----------
    only_a, only_b, n : int
        As in `paired_risk_difference`.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        As a share of clients.

    Raises
    ------
    ValueError
        If a count is negative, they do not add up or level is out of range.

    References
    ----------
    .. [1] T. Tango (1998), Stat. Med. 17:891-908.
    """
    check_level(level)
    _check_pairs(only_a, only_b, n)
    if n == 0:
        return no_interval(None, 0, "paired risk difference", NO_CLIENTS)
    value = (only_a - only_b) / n
    low, high = score_limits(lambda x: tango_score(only_a, only_b, n, x), value, level)
    interval = Interval(low, high, level, "Tango score")
    return Estimate(value, n, "paired risk difference", interval, "share")


def paired_risk_difference_test(only_a: int, only_b: int, n: int) -> Test:
    """Exact unconditional test that agrees with the interval of `paired_risk_difference`.

    Parameters
    ----------
    only_a, only_b, n : int
        As in `paired_risk_difference`, at most 60 clients.

    Returns
    -------
    Test
        Two-sided; `statistic` is Tango's score (McNemar's z).

    Raises
    ------
    ValueError
        If a count is negative, they do not add up or there are more than 60 clients.
    """
    _check_pairs(only_a, only_b, n)
    check_size(n)
    method = "exact unconditional test of the paired risk difference (Tango score)"
    if n == 0:
        return Test(p=None, method=method, n=0, note=NO_CLIENTS)
    return Test(
        p=paired_p(only_a, only_b, n, 0.0),
        method=method,
        n=n,
        smallest_p=paired_p(n, 0, n, 0.0),
        statistic=float(tango_score(only_a, only_b, n, 0.0)),
    )


def _check_pairs(only_a: int, only_b: int, n: int) -> None:
    if min(only_a, only_b) < 0 or only_a + only_b > n:
        raise ValueError(f"counts do not add up: {only_a} and {only_b} of {n} clients")
