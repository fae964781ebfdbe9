"""Chance of seeing a difference that is there: power of the tests the kit offers."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import comb, isfinite, isnan, prod, sqrt

from pmulab.estimate.study_size import Design, require_design, require_share, smallest_n


@dataclass(frozen=True, slots=True)
class Power:
    """The chance that a test reports a difference, with what it was worked out for.

    Parameters
    ----------
    power : float
        In [0, 1].
    n : int
        Clients treated on both sides (paired) or clients in each arm (parallel).
    alpha : float
        The error rate allowed to the test, two-sided unless `method` says otherwise.
    method : str
        The test and how its power was found.
    smallest_p : float or None
        The smallest p that the test can give with n clients; None for tests that have none.
    note : str, default=""
        A plain sentence for the reader, empty when there is nothing to say.
    """

    power: float
    n: int
    alpha: float
    method: str
    smallest_p: float | None = None
    note: str = ""

    def __post_init__(self) -> None:
        if not 0 <= self.power <= 1:
            raise ValueError(f"Power: power must lie in [0, 1], got {self.power}")


def power_t(
    n: int,
    effect: float,
    design: Design = "paired",
    *,
    alpha: float = 0.05,
    floor: float | None = None,
) -> Power:
    """Exact power of the two-sided t test for normal data.

    Parameters
    ----------
    n : int
        Clients treated on both sides (paired) or clients in each arm (parallel); 2 or more.
    effect : float
        True difference divided by the standard deviation of the differences (paired) or of
        the clients within an arm (parallel). Its sign does not matter.
    design : {'paired', 'parallel'}, default='paired'
    alpha : float in (0, 1), default=0.05
    floor : float in (0, 1], optional
        Smallest p that the study's own schedule can give (`smallest_schedule_p`); where it
        lies above alpha no result can reach alpha and the power is 0.

    Returns
    -------
    Power

    Raises
    ------
    ValueError
        If n is below 2, the effect is not finite or alpha lies outside (0, 1).

    References
    ----------
    .. [1] J. Cohen (1988), Statistical Power Analysis for the Behavioral Sciences, ch. 2.
    """
    from scipy import stats

    require_design(design)
    require_share("alpha", alpha)
    if n < 2 or not isfinite(effect):
        raise ValueError(f"n must be 2 or more and effect finite, got n={n}, effect={effect}")
    method = f"{design} t test, power from the non-central t distribution"
    if floor is not None and floor > alpha:
        return Power(0.0, n, alpha, method, floor, out_of_reach(floor, alpha))
    df, root = (n - 1, sqrt(n)) if design == "paired" else (2 * n - 2, sqrt(n / 2))
    shift = abs(effect) * root
    limit = float(stats.t.ppf(1 - alpha / 2, df))
    far = float(stats.nct.cdf(-limit, df, shift))
    if isnan(far):  # scipy's answer where this tail lies below 1e-12
        far = 0.0
    near = float(stats.nct.sf(limit, df, shift))
    return Power(min(1.0, near + far), n, alpha, method, floor)


def clients_for_power(
    effect: float,
    power: float = 0.8,
    design: Design = "paired",
    *,
    alpha: float = 0.05,
) -> Power:
    """Smallest number of clients with which the t test has the power wanted.

    Parameters
    ----------
    effect : float
        As in `power_t`; not 0.
    power : float in (0, 1), default=0.8
    design : {'paired', 'parallel'}, default='paired'
    alpha : float in (0, 1), default=0.05

    Returns
    -------
    Power
        `n` is the number of clients (paired) or of clients in each arm (parallel) and
        `power` what it attains.

    Raises
    ------
    ValueError
        If the effect is 0, power lies outside (0, 1) or more than 100,000 clients would be
        needed.
    """
    require_share("power", power)
    if effect == 0:
        raise ValueError("effect must not be 0: no number of clients can show no difference")
    n = smallest_n(lambda size: power_t(size, effect, design, alpha=alpha).power >= power)
    return power_t(n, effect, design, alpha=alpha)


def smallest_schedule_p(block_sizes: Sequence[int]) -> float:
    """Smallest two-sided p that a test over the schedule's own arrangements can give.

    Side and working order are drawn together in blocks that hold each of the four sequences
    equally often. Given the order, a block of b clients could have put the arms in
    ``comb(b/2, b/4) ** 2`` ways: four in a block of four, 36 in a block of eight. Two blocks
    of four cannot go below .125, three reach .031.

    Parameters
    ----------
    block_sizes : sequence of int
        The complete blocks of the schedule; each a positive multiple of 4.

    Returns
    -------
    float
        2 divided by the number of arrangements.

    Raises
    ------
    ValueError
        If there is no block or a size is not a positive multiple of 4.
    """
    if not block_sizes or any(size < 4 or size % 4 for size in block_sizes):
        raise ValueError(f"block sizes must be positive multiples of 4, got {list(block_sizes)}")
    return 2 / prod(comb(size // 2, size // 4) ** 2 for size in block_sizes)


def out_of_reach(floor: float, alpha: float) -> str:
    """Say that no result of this plan can reach the error rate asked for.

    Parameters
    ----------
    floor : float
        The smallest p that the plan can give.
    alpha : float
        The error rate asked for.

    Returns
    -------
    str
        One sentence.
    """
    return (
        f"Whatever happens, p cannot fall below {floor:.3g} with this plan, so the test can "
        f"never reach {alpha:.3g}: enrol more clients, or describe the interval only."
    )
