"""Yes/no outcomes of two groups of clients."""

from pmulab.estimate.inputs import check_level
from pmulab.estimate.results import Estimate, Interval, Test
from pmulab.estimate.score import miettinen_nurminen_score, newcombe_limits, score_limits
from pmulab.estimate.shift import no_interval
from pmulab.estimate.unconditional import LARGEST_TABLE, check_size, groups_lower_limit, groups_p

EMPTY_GROUP = "One of the two groups has no clients."


def risk_difference(yes_a: int, n_a: int, yes_b: int, n_b: int, level: float = 0.95) -> Estimate:
    """Risk difference a - b between two groups, exact.

    Parameters
    ----------
    yes_a, n_a : int
        Clients with a yes in group A, and all clients in it.
    yes_b, n_b : int
        The same for group B.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        As a share of clients, in [-1, 1]. Exact unconditional limits by the score up to 60
        clients, Miettinen and Nurminen's limits beyond.

    Raises
    ------
    ValueError
        If a count is negative, exceeds its group or level is out of range.

    Notes
    -----
    Over the parameter space Miettinen and Nurminen's limits alone cover as little as 85.9 % (five
    clients a group), Newcombe's 83.3 %, Wald's next to nothing; the exact limits never less than
    stated, at 0.99 to 1.03 times the width of the first (tests/bench/measured.md).
    """
    check_level(level)
    _check_groups(yes_a, n_a, yes_b, n_b)
    if n_a + n_b > LARGEST_TABLE or min(n_a, n_b) == 0:
        return miettinen_nurminen_risk_difference(yes_a, n_a, yes_b, n_b, level)
    low = groups_lower_limit(yes_a, n_a, yes_b, n_b, level)
    high = -groups_lower_limit(yes_b, n_b, yes_a, n_a, level)
    interval = Interval(low, high, level, "exact unconditional, score")
    return Estimate(yes_a / n_a - yes_b / n_b, n_a + n_b, "risk difference", interval, "share")


def miettinen_nurminen_risk_difference(
    yes_a: int, n_a: int, yes_b: int, n_b: int, level: float = 0.95
) -> Estimate:
    """Risk difference a - b between two groups with the score interval.

    Parameters
    ----------
    yes_a, n_a, yes_b, n_b : int
        As in `risk_difference`.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        As a share of clients.

    Raises
    ------
    ValueError
        If a count is negative, exceeds its group or level is out of range.

    References
    ----------
    .. [1] O. Miettinen and M. Nurminen (1985), Stat. Med. 4:213-226.
    """
    check_level(level)
    _check_groups(yes_a, n_a, yes_b, n_b)
    if min(n_a, n_b) == 0:
        return no_interval(None, n_a + n_b, "risk difference", EMPTY_GROUP)
    value = yes_a / n_a - yes_b / n_b
    low, high = score_limits(
        lambda x: miettinen_nurminen_score(yes_a, n_a, yes_b, n_b, x), value, level
    )
    interval = Interval(low, high, level, "Miettinen-Nurminen score")
    return Estimate(value, n_a + n_b, "risk difference", interval, "share")


def newcombe_risk_difference(
    yes_a: int, n_a: int, yes_b: int, n_b: int, level: float = 0.95
) -> Estimate:
    """Risk difference a - b between two groups with Newcombe's hybrid score interval.

    Parameters
    ----------
    yes_a, n_a, yes_b, n_b : int
        As in `risk_difference`.
    level : float in (0, 1), default=0.95
        Confidence level of the interval.

    Returns
    -------
    Estimate
        As a share of clients.

    Raises
    ------
    ValueError
        If a count is negative, exceeds its group or level is out of range.

    References
    ----------
    .. [1] R. G. Newcombe (1998), Stat. Med. 17:873-890, method 10.
    """
    check_level(level)
    _check_groups(yes_a, n_a, yes_b, n_b)
    if min(n_a, n_b) == 0:
        return no_interval(None, n_a + n_b, "risk difference", EMPTY_GROUP)
    low, high = newcombe_limits(yes_a, n_a, yes_b, n_b, level)
    interval = Interval(low, high, level, "Newcombe hybrid score")
    return Estimate(yes_a / n_a - yes_b / n_b, n_a + n_b, "risk difference", interval, "share")


def risk_difference_test(yes_a: int, n_a: int, yes_b: int, n_b: int) -> Test:
    """Exact unconditional test that agrees with the interval of `risk_difference`.

    Parameters
    ----------
    yes_a, n_a, yes_b, n_b : int
        As in `risk_difference`, at most 60 clients together.

    Returns
    -------
    Test
        Two-sided; `statistic` is the score statistic. Like Boschloo's test it does not condition
        on the total of yeses, so it is less timid than Fisher's.

    Raises
    ------
    ValueError
        If a count is negative, exceeds its group or there are more than 60 clients.
    """
    _check_groups(yes_a, n_a, yes_b, n_b)
    check_size(n_a + n_b)
    method = "exact unconditional test of the risk difference (score)"
    if min(n_a, n_b) == 0:
        return Test(p=None, method=method, n=n_a + n_b, note=EMPTY_GROUP)
    return Test(
        p=groups_p(yes_a, n_a, yes_b, n_b, 0.0),
        method=method,
        n=n_a + n_b,
        smallest_p=groups_p(n_a, n_a, 0, n_b, 0.0),
        statistic=float(miettinen_nurminen_score(yes_a, n_a, yes_b, n_b, 0.0)),
    )


def _check_groups(yes_a: int, n_a: int, yes_b: int, n_b: int) -> None:
    if min(yes_a, yes_b) < 0 or yes_a > n_a or yes_b > n_b:
        raise ValueError(f"counts do not add up: {yes_a} of {n_a}, {yes_b} of {n_b} clients")
