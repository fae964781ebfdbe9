"""Power for yes/no outcomes of two groups of clients, by listing every possible table."""

from functools import lru_cache
from math import ceil, sqrt

import numpy as np
import numpy.typing as npt

from pmulab.estimate.power import Power, out_of_reach
from pmulab.estimate.score import miettinen_nurminen_score
from pmulab.estimate.study_size import first_to_stay, require_share
from pmulab.estimate.table_orders import as_far_out, groups_order
from pmulab.estimate.unconditional import LARGEST_TABLE, MARGIN, groups_p

MOST_LISTED = 150
"""Clients in each arm up to which the search lists all tables; beyond, the formula is as good."""

_SAFELY_BELOW = 0.7


def power_two_proportions(n: int, share_a: float, share_b: float, *, alpha: float = 0.05) -> Power:
    """Chance that the interval of `risk_difference` leaves out zero, every table listed.

    Up to 60 clients in all this is the exact unconditional test in score order (as Barnard's,
    with the pooled statistic), beyond it the score test: the ones that the analysis uses.

    Parameters
    ----------
    n : int
        Clients in each arm; 1 or more.
    share_a, share_b : float in [0, 1]
        True share of 'yes' in each arm. With both equal the answer is the true error rate.
    alpha : float in (0, 1), default=0.05

    Returns
    -------
    Power

    Raises
    ------
    ValueError
        If n is below 1, a share lies outside [0, 1] or alpha outside (0, 1).

    References
    ----------
    .. [1] S. Suissa and J. J. Shuster (1985), J R Statist Soc A 148:317-327: exact
       unconditional sample sizes (from memory).
    """
    from scipy import stats

    require_share("alpha", alpha)
    if n < 1 or not (0 <= share_a <= 1 and 0 <= share_b <= 1):
        raise ValueError(
            f"n must be 1 or more and both shares in [0, 1], got n={n}, {share_a}, {share_b}"
        )
    exact = 2 * n <= LARGEST_TABLE
    method = "exact unconditional test (score order)" if exact else "score test"
    floor = groups_p(n, n, 0, n, 0.0) if exact else None
    if floor is not None and floor + MARGIN > alpha:
        return Power(0.0, n, alpha, method, floor, out_of_reach(floor, alpha))
    counts = np.arange(n + 1)
    # scipy's binomial overflows for shares such as 1e-300.
    shares = (round(share_a, 12), round(share_b, 12))
    chance_a, chance_b = (stats.binom.pmf(counts, n, share) for share in shares)
    power = float(chance_a @ _rejecting(n, alpha) @ chance_b)
    return Power(min(1.0, power), n, alpha, f"{method}, all tables listed", floor)


def clients_for_two_proportions(
    share_a: float, share_b: float, power: float = 0.8, *, alpha: float = 0.05
) -> Power:
    """Smallest number of clients in each arm from which on the power wanted is kept.

    Parameters
    ----------
    share_a, share_b : float in [0, 1]
        As in `power_two_proportions`; not equal.
    power : float in (0, 1), default=0.8
    alpha : float in (0, 1), default=0.05

    Returns
    -------
    Power
        `n` is the number in each arm. Beyond 150 it comes from the normal approximation, as
        `method` then says.

    Raises
    ------
    ValueError
        If the shares are equal or outside [0, 1], or power or alpha lies outside (0, 1).

    References
    ----------
    .. [1] J. L. Fleiss (1981), Statistical Methods for Rates and Proportions, ch. 3 (from
       memory): the normal approximation.
    """
    require_share("power", power)
    require_share("alpha", alpha)
    if share_a == share_b or not (0 <= share_a <= 1 and 0 <= share_b <= 1):
        raise ValueError(f"the shares must differ and lie in [0, 1], got {share_a}, {share_b}")
    near = _by_formula(share_a, share_b, power, alpha)
    n = None
    if near <= MOST_LISTED:
        n = first_to_stay(
            lambda size: power_two_proportions(size, share_a, share_b, alpha=alpha).power >= power,
            max(1, int(_SAFELY_BELOW * near)),
            2 * MOST_LISTED,
        )
    if n is None:
        return Power(power, near, alpha, "score test, normal approximation")
    return power_two_proportions(n, share_a, share_b, alpha=alpha)


@lru_cache(maxsize=1024)
def _rejecting(n: int, alpha: float) -> npt.NDArray[np.bool_]:
    """Tables whose interval leaves out zero, by the counts of yes in the two arms."""
    from scipy.special import ndtri

    yes = np.arange(n + 1.0)
    if 2 * n > LARGEST_TABLE:
        scores = np.abs(miettinen_nurminen_score(yes[:, None], n, yes[None, :], n, 0.0))
        asymptotic: npt.NDArray[np.bool_] = scores > float(ndtri(1 - alpha / 2))
        return asymptotic
    outness = groups_order(n, n, 0.0)
    order = np.argsort(outness, axis=None)
    tables = np.stack(np.unravel_index(order, outness.shape), axis=1).tolist()
    # The tables at least as far out as one are nested, so p falls along this order.
    low, high = -1, len(tables) - 1
    while high - low > 1:
        middle = (low + high) // 2
        yes_a, yes_b = tables[middle]
        if groups_p(yes_a, n, yes_b, n, 0.0) + MARGIN > alpha:
            low = middle
        else:
            high = middle
    return as_far_out(outness, float(outness[tuple(tables[high])]))


def _by_formula(share_a: float, share_b: float, power: float, alpha: float) -> int:
    from scipy.special import ndtri

    middle = (share_a + share_b) / 2
    of_test = float(ndtri(1 - alpha / 2)) * sqrt(2 * middle * (1 - middle))
    of_power = float(ndtri(power)) * sqrt(share_a * (1 - share_a) + share_b * (1 - share_b))
    return ceil(((of_test + of_power) / (share_a - share_b)) ** 2)
