"""Close enough to call it even? Tests and intervals against the smallest worthwhile difference.

The test and the interval are two readings of one thing: both one-sided tests reach alpha
exactly when the 1 - 2 * alpha interval lies inside the margins.
"""

from dataclasses import dataclass
from math import isfinite, sqrt
from typing import Literal

from pmulab.estimate.inputs import Values, finite
from pmulab.estimate.permutation import sign_flip_test
from pmulab.estimate.results import Interval, Test
from pmulab.estimate.study_size import require_share

Better = Literal["higher", "lower"]


@dataclass(frozen=True, slots=True)
class Margin:
    """A difference read against a margin, by test and by interval.

    Parameters
    ----------
    test : Test
        For equivalence the larger of the two one-sided p-values.
    interval : Interval or None
        The 1 - 2 * alpha interval of the mean difference a - b; None when there is none.
    margin : float
        The smallest worthwhile difference, in the outcome's unit.
    within : bool or None
        Whether the difference is shown to lie within the margin (on the side asked about);
        False means not shown, not that it lies outside. None when there is no interval.
    """

    test: Test
    interval: Interval | None
    margin: float
    within: bool | None


def paired_equivalence(differences: Values, margin: float, *, alpha: float = 0.05) -> Margin:
    """Two one-sided t tests of paired differences against plus and minus a margin.

    Parameters
    ----------
    differences : array-like of shape (n_clients,)
        Paired differences a - b, in the outcome's unit.
    margin : float
        The smallest worthwhile difference; positive.
    alpha : float in (0, 0.5), default=0.05
        Error of each one-sided test.

    Returns
    -------
    Margin

    Raises
    ------
    ValueError
        If a value is not finite, the margin is not positive or alpha lies outside (0, 0.5).

    References
    ----------
    .. [1] D. J. Schuirmann (1987), J Pharmacokinet Biopharm 15:657-680.
    """
    return _equivalence(_paired(differences), margin, alpha, "two one-sided paired t tests")


def groups_equivalence(a: Values, b: Values, margin: float, *, alpha: float = 0.05) -> Margin:
    """Two one-sided Welch tests of two groups against plus and minus a margin.

    Parameters
    ----------
    a, b : array-like of shape (n_a,), (n_b,)
        Different clients, in the outcome's unit.
    margin : float
        The smallest worthwhile difference; positive.
    alpha : float in (0, 0.5), default=0.05
        Error of each one-sided test.

    Returns
    -------
    Margin

    Raises
    ------
    ValueError
        If a value is not finite, the margin is not positive or alpha lies outside (0, 0.5).

    References
    ----------
    .. [1] D. J. Schuirmann (1987), J Pharmacokinet Biopharm 15:657-680.
    """
    return _equivalence(_groups(a, b), margin, alpha, "two one-sided Welch t tests")


def paired_noninferiority(
    differences: Values, margin: float, better: Better, *, alpha: float = 0.025
) -> Margin:
    """Test that arm A is worse than B by less than the margin.

    Parameters
    ----------
    differences : array-like of shape (n_clients,)
        Paired differences a - b, in the outcome's unit.
    margin : float
        The smallest worthwhile difference; positive.
    better : {'higher', 'lower'}
        Which values of the outcome are better.
    alpha : float in (0, 0.5), default=0.025
        One-sided error; .025 reads the usual 95 % interval.

    Returns
    -------
    Margin

    Raises
    ------
    ValueError
        If a value is not finite, the margin is not positive, alpha lies outside (0, 0.5) or
        `better` is not known.

    References
    ----------
    .. [1] G. Piaggio et al. (2012), JAMA 308:2594-2604.
    """
    return _noninferiority(_paired(differences), margin, better, alpha, "paired t test")


def groups_noninferiority(
    a: Values, b: Values, margin: float, better: Better, *, alpha: float = 0.025
) -> Margin:
    """Test that group A is worse than B by less than the margin.

    Parameters
    ----------
    a, b : array-like of shape (n_a,), (n_b,)
        Different clients, in the outcome's unit.
    margin : float
        The smallest worthwhile difference; positive.
    better : {'higher', 'lower'}
        Which values of the outcome are better.
    alpha : float in (0, 0.5), default=0.025
        One-sided error; .025 reads the usual 95 % interval.

    Returns
    -------
    Margin

    Raises
    ------
    ValueError
        As `paired_noninferiority`.

    References
    ----------
    .. [1] G. Piaggio et al. (2012), JAMA 308:2594-2604.
    """
    return _noninferiority(_groups(a, b), margin, better, alpha, "Welch t test")


def signflip_equivalence(differences: Values, margin: float) -> Test:
    """Two one-sided sign-flip tests against plus and minus a margin, under symmetry.

    Parameters
    ----------
    differences : array-like of shape (n_clients,)
        Paired differences a - b, in the outcome's unit.
    margin : float
        The smallest worthwhile difference; positive.

    Returns
    -------
    Test
        The larger of the two one-sided p-values; never below ``1 / 2**n``.

    Raises
    ------
    ValueError
        If a value is not finite or the margin is not positive.
    """
    values = finite(differences, "differences")
    _check(margin, 0.05)
    method = "two one-sided sign-flip tests"
    if not values.size:
        return Test(None, method, 0, note="There are no clients to compare.")
    p = max(_one_sided_flip(values + margin), _one_sided_flip(margin - values))
    return Test(p, method, values.size, 1 / 2**values.size)


@dataclass(frozen=True, slots=True)
class _Mean:
    """A mean difference with its standard error, or the reason why it has none."""

    value: float
    error: float
    df: float
    n: int
    reason: str = ""


def _paired(differences: Values) -> _Mean:
    values = finite(differences, "differences")
    if values.size < 2:
        return _Mean(0.0, 0.0, 0.0, values.size, "Fewer than two clients have both values.")
    error = float(values.std(ddof=1)) / sqrt(values.size)
    if error <= 1e-12 * float(abs(values).max()):
        reason = "All differences are equal, so how far the mean could be off cannot be told."
        return _Mean(0.0, 0.0, 0.0, values.size, reason)
    return _Mean(float(values.mean()), error, values.size - 1, values.size)


def _groups(a: Values, b: Values) -> _Mean:
    first, second = finite(a, "a"), finite(b, "b")
    n = first.size + second.size
    if min(first.size, second.size) < 2:
        return _Mean(0.0, 0.0, 0.0, n, "A group has fewer than two clients.")
    parts = [float(group.var(ddof=1)) / group.size for group in (first, second)]
    largest = max(float(abs(first).max()), float(abs(second).max()))
    if sqrt(sum(parts)) <= 1e-12 * largest:
        return _Mean(0.0, 0.0, 0.0, n, "Within each group all values are equal.")
    # Shares of the variance, so that squares of tiny values cannot underflow.
    share = parts[0] / sum(parts)
    df = 1 / (share**2 / (first.size - 1) + (1 - share) ** 2 / (second.size - 1))
    return _Mean(float(first.mean() - second.mean()), sqrt(sum(parts)), df, n)


def _equivalence(mean: _Mean, margin: float, alpha: float, method: str) -> Margin:
    _check(margin, alpha)
    if mean.reason:
        return Margin(Test(None, method, mean.n, note=mean.reason), None, margin, None)
    interval = _interval(mean, alpha)
    above = _tail((mean.value + margin) / mean.error, mean.df)
    below = _tail((margin - mean.value) / mean.error, mean.df)
    test = Test(max(above, below), method, mean.n, df=mean.df)
    return Margin(test, interval, margin, -margin < interval.low and interval.high < margin)


def _noninferiority(
    mean: _Mean, margin: float, better: Better, alpha: float, method: str
) -> Margin:
    _check(margin, alpha)
    if better not in ("higher", "lower"):
        raise ValueError(f"better must be 'higher' or 'lower', got {better!r}")
    method = f"one-sided {method} against the margin"
    if mean.reason:
        return Margin(Test(None, method, mean.n, note=mean.reason), None, margin, None)
    sign = 1 if better == "higher" else -1
    interval = _interval(mean, alpha)
    statistic = (sign * mean.value + margin) / mean.error
    test = Test(_tail(statistic, mean.df), method, mean.n, statistic=statistic, df=mean.df)
    worst = interval.low if better == "higher" else -interval.high
    return Margin(test, interval, margin, worst > -margin)


def _interval(mean: _Mean, alpha: float) -> Interval:
    from scipy import stats

    half = float(stats.t.ppf(1 - alpha, mean.df)) * mean.error
    return Interval(mean.value - half, mean.value + half, 1 - 2 * alpha, "t")


def _tail(statistic: float, df: float) -> float:
    from scipy import stats

    return max(float(stats.t.sf(statistic, df)), 1e-300)


def _one_sided_flip(shifted: Values) -> float:
    """Share of sign flips whose total is at least the observed one."""
    values = finite(shifted, "shifted")
    test = sign_flip_test(values)
    if test.p is None or values.sum() <= 0:
        return 1.0
    return test.p / 2


def _check(margin: float, alpha: float) -> None:
    require_share("alpha", alpha)
    if not (isfinite(margin) and margin > 0) or alpha >= 0.5:
        raise ValueError(
            f"margin must be positive and alpha below 0.5, got margin={margin}, alpha={alpha}"
        )
