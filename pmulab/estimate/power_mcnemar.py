"""Power of the exact McNemar test, for yes/no outcomes on both sides of a client."""

import numpy as np
import numpy.typing as npt

from pmulab.estimate.power import Power, out_of_reach
from pmulab.estimate.study_size import first_to_stay, require_share

Counts = npt.NDArray[np.int64]

MOST_PAIRS = 600
"""Where the search for a number of pairs ends."""
_NEVER = 1e-12


def power_mcnemar(
    n: int,
    only_a: float,
    only_b: float,
    *,
    alpha: float = 0.05,
    two_sided: bool = True,
) -> Power:
    """Exact power of the exact McNemar test, by enumerating every possible table.

    Parameters
    ----------
    n : int
        Clients treated on both sides; 1 or more.
    only_a, only_b : float in [0, 1]
        True share of clients who have the event on the A side only, on the B side only.
        With both equal the answer is the test's true error rate.
    alpha : float in (0, 1), default=0.05
    two_sided : bool, default=True
        False tests in the direction of the larger share only.

    Returns
    -------
    Power

    Raises
    ------
    ValueError
        If n is below 1, a share lies outside [0, 1], their sum exceeds 1 or alpha lies
        outside (0, 1).

    References
    ----------
    .. [1] R. G. O'Brien (2002), exact unconditional power of McNemar's test.
    """
    from scipy import stats

    require_share("alpha", alpha)
    if n < 1 or min(only_a, only_b) < 0 or only_a + only_b > 1:
        raise ValueError(
            f"n must be 1 or more and the two shares at least 0 with a sum of at most 1, "
            f"got n={n}, only_a={only_a}, only_b={only_b}"
        )
    sides = 2 if two_sided else 1
    method = "exact McNemar test, two-sided" if two_sided else "exact McNemar test, one-sided"
    floor = sides / 2**n
    if floor > alpha:
        return Power(0.0, n, alpha, method, floor, out_of_reach(floor, alpha))
    larger, discordant_share = max(only_a, only_b), only_a + only_b
    if discordant_share < _NEVER:
        return Power(0.0, n, alpha, method, floor, "No client would differ between the sides.")
    discordant = np.arange(n + 1)
    # Smallest count that rejects in the upper tail, for every number of discordant pairs.
    critical = discordant - _last_rejecting(discordant, alpha / sides)
    share = larger / discordant_share
    rejects = stats.binom.sf(critical - 1, discordant, share)
    if two_sided:
        rejects = rejects + stats.binom.cdf(discordant - critical, discordant, share)
    weights = stats.binom.pmf(discordant, n, min(1.0, discordant_share))
    return Power(min(1.0, float(weights @ rejects)), n, alpha, method, floor)


def pairs_for_mcnemar_power(
    only_a: float, only_b: float, power: float = 0.8, *, alpha: float = 0.05
) -> Power:
    """Smallest number of pairs from which on the exact McNemar test keeps the power wanted.

    The power of an exact test saws up and down with n, so the first n that reaches the
    target is not taken unless the next thirty reach it too.

    Parameters
    ----------
    only_a, only_b : float in [0, 1]
        As in `power_mcnemar`; not equal.
    power : float in (0, 1), default=0.8
    alpha : float in (0, 1), default=0.05

    Returns
    -------
    Power
        Of the two-sided test; `n` is the number of pairs.

    Raises
    ------
    ValueError
        If the shares are equal, power lies outside (0, 1) or more than 600 pairs would be
        needed.
    """
    require_share("power", power)
    if only_a == only_b:
        raise ValueError("only_a and only_b must differ: equal shares mean no difference")

    def at(n: int) -> float:
        return power_mcnemar(n, only_a, only_b, alpha=alpha).power

    n = first_to_stay(lambda size: at(size) >= power, 1, MOST_PAIRS)
    if n is None:
        raise ValueError(f"more than {MOST_PAIRS} pairs would be needed: the shares lie too close")
    return power_mcnemar(n, only_a, only_b, alpha=alpha)


def _last_rejecting(discordant: Counts, alpha: float) -> Counts:
    """Largest lower-tail count x with P(X <= x) <= alpha at fair odds; -1 where there is none."""
    from scipy import stats

    guess = np.asarray(stats.binom.ppf(alpha, discordant, 0.5), dtype=np.int64)
    reached = stats.binom.cdf(guess, discordant, 0.5) <= alpha
    return np.where(reached, guess, guess - 1)
