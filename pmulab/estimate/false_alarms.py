"""How often luck alone makes a chart speak, with limits estimated from as few clients as here.

Of run charts see `run_chart.run_false_alarms`; with level and spread known, the average run lengths
of `control_charts` and `cusum`.
"""

import numpy as np
import numpy.typing as npt

from pmulab.estimate.bernoulli_cusum import Design, baseline_rate, design
from pmulab.estimate.control_charts import RANGE_OF_TWO, Chart, checked_baseline
from pmulab.estimate.cusum import baseline_cusum
from pmulab.estimate.inputs import finite

_SLACK = 1e-9  # a share on its limit lies inside
_SERIES, _CUSUM_SERIES, _SEED = 10_000, 4_000, 20_260_302


def individuals_false_alarms(n: int, baseline: int | None = None) -> float:
    """Share of steady series in which an individuals chart points to somebody.

    Parameters
    ----------
    n : int
        Values on the chart.
    baseline : int or None, default=None
        As in `individuals_chart`.

    Returns
    -------
    float
        In [0, 1], over 10,000 series of independent normal values, the same ones each time. The
        limits are estimated anew in each, which a single average run length leaves out.

    Raises
    ------
    ValueError
        If the baseline is below 2 or longer than the series.

    References
    ----------
    .. [1] C. P. Quesenberry (1993), J. Qual. Technol. 25:237-247, on limits from few values
       (citation from memory).
    """
    first = checked_baseline(baseline, n)
    if first < 2:
        raise ValueError(f"baseline must be 2 or more, got {first}")
    rows = np.random.default_rng(_SEED).normal(size=(_SERIES, n))
    known = rows[:, :first]
    sigma = np.abs(np.diff(known, axis=1)).mean(axis=1) / RANGE_OF_TWO
    away = np.abs(rows - known.mean(axis=1, keepdims=True)).max(axis=1)
    return float((away > 3 * sigma).mean())


def p_chart_false_alarms(chart: Chart, sizes: npt.ArrayLike) -> float | None:
    """Chance that a steady practice has a period outside the limits of a p chart.

    Parameters
    ----------
    chart : Chart
        As `p_chart` gave it; its centre is taken as the true share.
    sizes : array-like of int, shape (n_periods,)
        Clients seen in each period.

    Returns
    -------
    float or None
        In [0, 1], exact by the binomial distribution; None without limits.
    """
    from scipy import stats

    if chart.centre is None:
        return None
    seen = finite(np.asarray(sizes), "sizes")
    inside = [
        stats.binom.cdf(np.floor(n * upper + _SLACK), n, chart.centre)
        - stats.binom.cdf(np.ceil(n * lower - _SLACK) - 1, n, chart.centre)
        for n, lower, upper in zip(seen, chart.lower, chart.upper, strict=True)
    ]
    return float(1 - np.prod(inside))


def bernoulli_false_alarms(n: int, baseline: int, rate: float) -> float:
    """Share of steady series in which `bernoulli_cusum` signals.

    Parameters
    ----------
    n : int
        Answers in all.
    baseline : int
        How many of the first give the rate that is watched; 1 or more, below n.
    rate : float in (0, 1)
        Taken as the true rate of every series.

    Returns
    -------
    float
        In [0, 1], over 4,000 series, the same ones each time. The rate is estimated anew in each;
        were it known, the run length of `bernoulli_cusum` would tell.

    Raises
    ------
    ValueError
        If the baseline leaves nothing to watch, or the rate lies outside (0, 1).
    """
    if not (1 <= baseline < n and 0 < rate < 1):
        raise ValueError(f"baseline must lie between 1 and {n - 1}, rate in (0, 1)")
    rows = np.random.default_rng(_SEED).random((_CUSUM_SERIES, n)) < rate
    counts, which = np.unique(rows[:, :baseline].sum(axis=1), return_inverse=True)
    rates = [baseline_rate(int(count), baseline) for count in counts]
    watched = rows[:, baseline:]
    up = _signals(watched, [design(one) for one in rates], which)
    down = _signals(~watched, [design(1 - one) for one in rates], which)
    return float((up | down).mean())


def _signals(
    events: npt.NDArray[np.bool_], designs: list[Design], which: npt.NDArray[np.intp]
) -> npt.NDArray[np.bool_]:
    """Say of each series whether its one-sided sum reaches the limit of its own design."""
    up, down, limit = (
        np.array([getattr(one, name) for one in designs])[which] for name in ("up", "down", "limit")
    )
    running = np.zeros(len(events), dtype=int)
    reached = np.zeros(len(events), dtype=bool)
    for client in events.T:
        running = np.maximum(0, running + np.where(client, up, -down))
        reached |= running >= limit
    return reached


def cusum_false_alarms(n: int, baseline: int) -> float:
    """Share of steady series in which `baseline_cusum` signals.

    Parameters
    ----------
    n : int
        Values in all.
    baseline : int
        How many of the first give level and spread; 2 or more, below n.

    Returns
    -------
    float
        In [0, 1], over 4,000 series of independent normal values, the same ones each time. Level
        and spread are estimated anew in each: with a short baseline false alarms are far more
        common than the average run length of a known level says.

    Raises
    ------
    ValueError
        If the baseline leaves nothing to watch.
    """
    rows = np.random.default_rng(_SEED).normal(size=(_CUSUM_SERIES, n))
    signals = 0
    for row in rows:
        found = baseline_cusum(row, baseline)
        signals += found is not None and found.signal_at is not None
    return signals / _CUSUM_SERIES
