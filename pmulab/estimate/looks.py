"""What looking early costs, and the limits that pay for it: group-sequential designs.

Normal theory with known spread, by recursive numerical integration. For the small studies of
the kit these limits are the plan; `looks_signflip` applies it to the data exactly.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import e, log, sqrt
from typing import Literal

import numpy.typing as npt

from pmulab.estimate.power_curves import t_decisions
from pmulab.estimate.stopping_paths import FURTHEST, Walk, crossings
from pmulab.estimate.study_size import require_share

Spending = Literal["pocock", "obrien-fleming"]


@dataclass(frozen=True, slots=True)
class LookLimits:
    """The limits of a study with planned looks.

    Parameters
    ----------
    shares : tuple of float
        Share of the planned clients seen at each look; the last is 1.
    z : tuple of float or None
        Two-sided limit of the standardised mean at each look; None where so little error is
        left for the look that nothing can reach it.
    nominal_p : tuple of float or None
        The same limits as two-sided p-values.
    spent : tuple of float
        Error spent up to each look; the last is alpha.
    method : str
    """

    shares: tuple[float, ...]
    z: tuple[float | None, ...]
    nominal_p: tuple[float | None, ...]
    spent: tuple[float, ...]
    method: str


def pocock_constant(n_looks: int, *, alpha: float = 0.05) -> float:
    """Limit of the standardised mean, the same at every one of n equally spaced looks.

    Parameters
    ----------
    n_looks : int
        The final analysis included; 1 to 50.
    alpha : float in (0, 1), default=0.05
        Two-sided error over all looks together.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        If n_looks lies outside 1 to 50 or alpha outside (0, 1).

    References
    ----------
    .. [1] S. J. Pocock (1977), Biometrika 64:191-199.
    """
    return _constant(n_looks, alpha, lambda constant, _: constant)


def obrien_fleming_constant(n_looks: int, *, alpha: float = 0.05) -> float:
    """Limit at the final look; look k of n has this times ``sqrt(n / k)``.

    Parameters
    ----------
    n_looks : int
        The final analysis included; 1 to 50.
    alpha : float in (0, 1), default=0.05
        Two-sided error over all looks together.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        If n_looks lies outside 1 to 50 or alpha outside (0, 1).

    References
    ----------
    .. [1] P. C. O'Brien, T. R. Fleming (1979), Biometrics 35:549-556.
    """
    return _constant(n_looks, alpha, lambda constant, share: constant / sqrt(share))


def repeated_looks_error(n_looks: int, *, alpha: float = 0.05) -> float:
    """Chance of at least one false finding when every look is taken at alpha.

    Parameters
    ----------
    n_looks : int
        Equally spaced looks at normal data; 1 to 50.
    alpha : float in (0, 1), default=0.05
        Two-sided, at each look.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        If n_looks lies outside 1 to 50 or alpha outside (0, 1).

    References
    ----------
    .. [1] P. Armitage, C. K. McPherson, B. C. Rowe (1969), J R Statist Soc A 132:235-244.
    """
    from scipy import special

    require_share("alpha", alpha)
    limit = float(special.ndtri(1 - alpha / 2))
    shares = _equal_shares(n_looks)
    return sum(crossings(shares, [limit] * n_looks))


def repeated_t_error(
    differences: npt.ArrayLike, sizes: Sequence[int], *, alpha: float = 0.05
) -> float:
    """Share of simulated trials in which a t test reaches alpha at any of the looks.

    Parameters
    ----------
    differences : array-like of shape (n_trials, n_most)
        Simulated without any effect: one trial a row, clients in the order of enrolment.
    sizes : sequence of int
        Numbers of clients at which somebody looks.
    alpha : float in (0, 1), default=0.05

    Returns
    -------
    float

    Raises
    ------
    ValueError
        If the array is not two-dimensional and finite, or a size does not fit it.
    """
    return float(t_decisions(differences, sizes, alpha=alpha).any(axis=1).mean())


def error_spent(share: float, kind: Spending, *, alpha: float = 0.05) -> float:
    """Error that may have been spent once a share of the planned clients has been seen.

    Parameters
    ----------
    share : float in (0, 1]
    kind : {'pocock', 'obrien-fleming'}
        The Lan-DeMets function that resembles the limits of this name; 'obrien-fleming'
        keeps almost everything for the end.
    alpha : float in (0, 1), default=0.05
        Two-sided, over the whole study.

    Returns
    -------
    float
        In (0, alpha].

    Raises
    ------
    ValueError
        If the share lies outside (0, 1], alpha outside (0, 1), or the kind is not known.

    References
    ----------
    .. [1] K. K. G. Lan, D. L. DeMets (1983), Biometrika 70:659-663.
    """
    from scipy import special

    require_share("alpha", alpha)
    if not 0 < share <= 1:
        raise ValueError(f"share must lie in (0, 1], got {share}")
    if kind == "pocock":
        return alpha * log(1 + (e - 1) * share)
    if kind == "obrien-fleming":
        limit = float(special.ndtri(1 - alpha / 4))
        return 4 * float(special.ndtr(-limit / sqrt(share)))
    raise ValueError(f"kind must be 'pocock' or 'obrien-fleming', got {kind!r}")


def spending_limits(shares: Sequence[float], kind: Spending, *, alpha: float = 0.05) -> LookLimits:
    """Limits for looks at any shares of the planned clients, by Lan-DeMets spending.

    Parameters
    ----------
    shares : sequence of float
        Rising, the last 1.
    kind : {'pocock', 'obrien-fleming'}
    alpha : float in (0, 1), default=0.05
        Two-sided, over all looks together.

    Returns
    -------
    LookLimits

    Raises
    ------
    ValueError
        If the shares do not rise to 1 or the kind is not known.

    References
    ----------
    .. [1] K. K. G. Lan, D. L. DeMets (1983), Biometrika 70:659-663.
    """
    require_rising(shares)
    spent = [error_spent(share, kind, alpha=alpha) for share in shares]
    return limits_that_spend(shares, spent, f"Lan-DeMets, {kind} type")


def limits_that_spend(shares: Sequence[float], spent: Sequence[float], method: str) -> LookLimits:
    """Limits that spend just so much error up to each look.

    Parameters
    ----------
    shares : sequence of float
        Share of all clients seen at each look: rising, the last 1.
    spent : sequence of float
        Error spent up to each look, not falling, in [0, 1).
    method : str
        What the spending is called.

    Returns
    -------
    LookLimits

    Raises
    ------
    ValueError
        If the shares do not rise to 1 or the errors do not fit them.
    """
    from scipy import special

    require_rising(shares)
    if len(spent) != len(shares) or not 0 <= min(spent) <= max(spent) < 1:
        raise ValueError(f"spent must hold {len(shares)} errors in [0, 1), got {list(spent)}")
    limits: list[float | None] = []
    walk = Walk()
    before = 0.0
    for share, until in zip(shares, spent, strict=True):
        limit = walk.limit_for(share, until - before)
        walk = walk.past(share, FURTHEST if limit is None else limit)
        before = before if limit is None else until
        limits.append(limit)
    nominal = tuple(None if z is None else 2 * float(special.ndtr(-z)) for z in limits)
    return LookLimits(tuple(shares), tuple(limits), nominal, tuple(spent), method)


def require_rising(shares: Sequence[float]) -> None:
    """Refuse shares of the planned clients that do not rise to 1.

    Parameters
    ----------
    shares : sequence of float

    Raises
    ------
    ValueError
    """
    steps = [later - earlier for earlier, later in pairwise([0.0, *shares])]
    if not shares or min(steps) <= 0 or abs(shares[-1] - 1) > 1e-12:
        raise ValueError(f"shares must rise from above 0 to 1, got {list(shares)}")


def _constant(n_looks: int, alpha: float, limit: Callable[[float, float], float]) -> float:
    from scipy import optimize

    require_share("alpha", alpha)
    shares = _equal_shares(n_looks)

    def excess(constant: float) -> float:
        return sum(crossings(shares, [limit(constant, share) for share in shares])) - alpha

    return float(optimize.brentq(excess, 0.05, FURTHEST, xtol=1e-7))


def _equal_shares(n_looks: int) -> list[float]:
    if not 1 <= n_looks <= 50:
        raise ValueError(f"n_looks must lie between 1 and 50, got {n_looks}")
    return [look / n_looks for look in range(1, n_looks + 1)]
