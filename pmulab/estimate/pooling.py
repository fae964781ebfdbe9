"""Several studies of one question taken together: random effects, for few and unequal studies."""

from collections.abc import Callable
from math import sqrt

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtri, stdtrit

from pmulab.estimate.inputs import Floats, Values, check_level, finite
from pmulab.estimate.results import Interval, Pooled, Spread

FEWEST_FOR_PREDICTION = 3
_GRID = 60


def pooled(
    effects: Values, errors: Values, *, spread: Spread = "REML", level: float = 0.95
) -> Pooled:
    """Pool the differences of several studies by random effects.

    Parameters
    ----------
    effects : array-like of shape (k,)
        Difference A - B of each study, all in one unit; two studies or more.
    errors : array-like of shape (k,)
        Their standard errors, above 0.
    spread : {'REML', 'Paule-Mandel', 'DerSimonian-Laird'}, default='REML'
        Estimator of the variance between studies.
    level : float in (0, 1), default=0.95
        Confidence level of the intervals.

    Returns
    -------
    Pooled

    Raises
    ------
    ValueError
        If there are fewer than two studies, the lengths differ, a value is not finite, an error
        is not above 0, or the level is out of range.

    Notes
    -----
    Interval: t(k - 1) with the Hartung-Knapp variance, never below the classical one (the factor
    is max(1, q)) [1]_ [2]_. Prediction interval: value ± t(k - 2) sqrt(tau2 + error**2) [3]_, the
    older and wider of the two conventions in use (the other one has k - 1); what is shown to
    readers is `prediction.next_study`, which holds better.

    Measured over 2,000 invented groups a cell (tests/bench/measured_pooling.md): with 3 to 12
    studies of 6 to 20 clients the modified interval held the average in 95 to 100 %, the classical
    one in 88 to 95; the prediction interval held the next studio in 89 to 100 %, least where
    studios differ somewhat.

    `statsmodels.stats.meta_analysis.combine_effects` is the check of the tests, not used here: it
    has no REML; its iterated Paule-Mandel stops at 0 after an overshoot (measured: tau2 = 0 with
    Q = 3.44 on two degrees of freedom at a tight tolerance), and its DerSimonian-Laird variance
    may be negative.

    References
    ----------
    .. [1] G. Knapp and J. Hartung (2003), Stat. Med. 22:2693-2710. (From memory.)
    .. [2] C. Röver, G. Knapp and T. Friede (2015), BMC Med. Res. Methodol. 15:99.
    .. [3] J. P. T. Higgins, S. G. Thompson and D. J. Spiegelhalter (2009), J. R. Stat. Soc. A
       172:137-159.
    """
    check_level(level)
    y, v = studies_of(effects, errors)
    tau2 = between_variance(effects, errors, spread=spread)
    k, df = y.size, y.size - 1
    weights = 1 / (v + tau2)
    value = _mean(y, weights)
    error = float(weights.sum()) ** -0.5
    factor = max(1.0, sqrt(_squares(y, weights) / df))
    q = _squares(y, 1 / v)
    z, t = float(ndtri((1 + level) / 2)), float(stdtrit(df, (1 + level) / 2))
    return Pooled(
        k=k,
        value=value,
        error=error,
        tau2=tau2,
        q=q,
        i2=_share(v, tau2),
        classical=_around(value, z * error, level, "normal quantile"),
        interval=_around(value, t * factor * error, level, "modified Hartung-Knapp, t(k - 1)"),
        prediction=_prediction(value, error, tau2, k, level),
        spread=spread,
    )


def common_effect(effects: Values, errors: Values, level: float = 0.95) -> tuple[float, Interval]:
    """Pool as if all studies measured one and the same difference.

    Parameters
    ----------
    effects, errors : array-like of shape (k,)
        As in `pooled`.
    level : float in (0, 1), default=0.95

    Returns
    -------
    tuple of (float, Interval)
        Inverse-variance average, and its interval with a normal quantile: right only if the
        studies differ by chance alone.

    Raises
    ------
    ValueError
        As in `pooled`.
    """
    check_level(level)
    y, v = studies_of(effects, errors)
    value = _mean(y, 1 / v)
    half = float(ndtri((1 + level) / 2)) * float((1 / v).sum()) ** -0.5
    return value, _around(value, half, level, "common effect, normal quantile")


def between_variance(effects: Values, errors: Values, *, spread: Spread = "REML") -> float:
    """Estimate the variance of the true differences between studies.

    Parameters
    ----------
    effects, errors : array-like of shape (k,)
        As in `pooled`.
    spread : {'REML', 'Paule-Mandel', 'DerSimonian-Laird'}, default='REML'

    Returns
    -------
    float
        At least 0, in the squared unit.

    Raises
    ------
    ValueError
        As in `pooled`.

    References
    ----------
    .. [1] R. C. Paule and J. Mandel (1982), J. Res. Natl. Bur. Stand. 87:377-385.
    .. [2] R. DerSimonian and N. Laird (1986), Control. Clin. Trials 7:177-188.
    .. [3] W. Viechtbauer (2005), J. Educ. Behav. Stat. 30:261-293 (REML). (From memory.)
    """
    y, v = studies_of(effects, errors)
    if spread == "DerSimonian-Laird":
        w = 1 / v
        scale = float(w.sum() - (w**2).sum() / w.sum())
        return max(0.0, (_squares(y, w) - (y.size - 1)) / scale)
    if spread == "Paule-Mandel":
        return _root(lambda tau2: _squares(y, 1 / (v + tau2)) - (y.size - 1), 0.0, _most(y))
    return _restricted(y, v)


def without_each(effects: Values, errors: Values, tau2: float) -> Floats:
    """Give the average of the other studies for each study left out, at one fixed variance.

    Parameters
    ----------
    effects, errors : array-like of shape (k,)
        As in `pooled`.
    tau2 : float
        Variance between studies.

    Returns
    -------
    ndarray of shape (k,)

    Raises
    ------
    ValueError
        As in `pooled`.
    """
    y, v = studies_of(effects, errors)
    w = 1 / (v + tau2)
    rest: Floats = (float((w * y).sum()) - w * y) / (float(w.sum()) - w)
    return rest


def studies_of(effects: Values, errors: Values) -> tuple[Floats, Floats]:
    """Check the numbers of several studies.

    Parameters
    ----------
    effects, errors : array-like of shape (k,)
        As in `pooled`.

    Returns
    -------
    tuple of (ndarray, ndarray)
        The differences, and their squared errors.

    Raises
    ------
    ValueError
        As in `pooled`.
    """
    y, s = finite(effects, "effects"), finite(errors, "errors")
    if y.size != s.size or y.size < 2:
        raise ValueError(f"two studies or more, each with its error: got {y.size} and {s.size}")
    if not (s > 0).all():
        raise ValueError("errors: every standard error must be above 0")
    return y, s**2


def _mean(y: Floats, w: Floats) -> float:
    return float((w * y).sum() / w.sum())


def _squares(y: Floats, w: Floats) -> float:
    return float((w * (y - _mean(y, w)) ** 2).sum())


def _share(v: Floats, tau2: float) -> float:
    """Give I squared from the typical variance within studies (Higgins and Thompson 2002)."""
    w = 1 / v
    typical = (v.size - 1) * w.sum() / (w.sum() ** 2 - (w**2).sum())
    return float(tau2 / (tau2 + typical))


def _around(value: float, half: float, level: float, method: str) -> Interval:
    return Interval(value - half, value + half, level, method)


def _prediction(value: float, error: float, tau2: float, k: int, level: float) -> Interval | None:
    if k < FEWEST_FOR_PREDICTION:
        return None
    half = float(stdtrit(k - 2, (1 + level) / 2)) * sqrt(tau2 + error**2)
    return _around(value, half, level, "prediction interval, t(k - 2)")


def _most(y: Floats) -> float:
    """Give a variance between studies that no estimate exceeds."""
    return float(y.size * (y.max() - y.min()) ** 2)


def _root(falling: Callable[[float], float], low: float, high: float) -> float:
    if falling(low) <= 0:
        return low
    return float(brentq(falling, low, high, xtol=1e-14 * high, rtol=1e-14))


def _restricted(y: Floats, v: Floats) -> float:
    """Give the variance between studies at which the restricted likelihood is highest.

    The likelihood may have several peaks, so a grid finds the highest one first.
    """
    most = _most(y)
    if most == 0:
        return 0.0
    grid = np.concatenate(([0.0], np.geomspace(most * 1e-9, most, _GRID)))
    heights = [_log_likelihood(y, v, float(tau2)) for tau2 in grid]
    at = int(np.argmax(heights))
    low, high = float(grid[max(at - 1, 0)]), float(grid[min(at + 1, grid.size - 1)])
    if _slope(y, v, low) <= 0:
        return low
    return _root(lambda tau2: _slope(y, v, tau2), low, high)


def _log_likelihood(y: Floats, v: Floats, tau2: float) -> float:
    w = 1 / (v + tau2)
    return float(0.5 * (np.log(w).sum() - np.log(w.sum()) - _squares(y, w)))


def _slope(y: Floats, v: Floats, tau2: float) -> float:
    w = 1 / (v + tau2)
    second = float((w**2).sum())
    spread = float((w**2 * (y - _mean(y, w)) ** 2).sum())
    return 0.5 * (spread - float(w.sum()) + second / float(w.sum()))
