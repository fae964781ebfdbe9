"""Shewhart charts: the limits within which a steady practice moves."""

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
import numpy.typing as npt

from pmulab.estimate.inputs import Values, finite

RANGE_OF_TWO = 2 / sqrt(pi)  # d2: mean range of two normal values with SD 1
_RANGE_LIMIT = 1 + 3 * sqrt(1 - 2 / pi) / sqrt(2 / pi)  # D4 for ranges of two
SETTLED = 20
"""Points from which limits are taken as firm (Montgomery asks for 20 to 25)."""


@dataclass(frozen=True, slots=True)
class Chart:
    """Centre and limits of a control chart.

    Parameters
    ----------
    n : int
        Points on the chart.
    centre : float or None
        None when the data give no chart, `note` says why.
    lower, upper : tuple of float
        The limits at every point; empty without a chart.
    outside : tuple of int
        Points beyond their limits, counted from 1.
    method : str
    note : str, default=""
        A plain sentence, empty when there is nothing to say.
    """

    n: int
    centre: float | None
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    outside: tuple[int, ...]
    method: str
    note: str = ""


def individuals_chart(values: Values, baseline: int | None = None) -> Chart:
    """Chart single values with limits from their moving ranges.

    Parameters
    ----------
    values : array-like of shape (n_clients,)
        One value a client, in order of time, in the outcome's unit.
    baseline : int or None, default=None
        How many of the first values the limits are taken from, and held for the rest; all of
        them when None.

    Returns
    -------
    Chart
        Limits three standard deviations from the mean, the deviation being the mean moving
        range over 1.128. No chart below two points or when no two neighbours differ.

    Raises
    ------
    ValueError
        If a value is not finite, or the baseline is longer than the series.

    References
    ----------
    .. [1] D. C. Montgomery, Introduction to Statistical Quality Control, 'Shewhart control
       chart for individual measurements'.
    """
    points = finite(values, "values")
    first = points[: checked_baseline(baseline, points.size)]
    method = "individuals chart, 3 sigma from moving ranges"
    sigma = moving_range_sigma(first)
    if sigma is None:
        problem = _no_individuals_chart(np.abs(np.diff(first)))
        return Chart(points.size, None, (), (), (), method, problem)
    return _chart(points, float(first.mean()), np.full(points.size, 3 * sigma), method, first.size)


def moving_range_sigma(values: Values) -> float | None:
    """Give the short-term standard deviation of single values: their mean step over 1.128.

    Parameters
    ----------
    values : array-like of shape (n_clients,)
        In order of time.

    Returns
    -------
    float or None
        In the values' unit; None below two values or when no two neighbours differ.

    Raises
    ------
    ValueError
        If a value is not finite.
    """
    ranges = np.abs(np.diff(finite(values, "values")))
    return float(ranges.mean()) / RANGE_OF_TWO if ranges.any() else None


def moving_range_chart(values: Values) -> Chart:
    """Chart the steps from each value to the next, beside an individuals chart.

    Parameters
    ----------
    values : array-like of shape (n_clients,)
        As in `individuals_chart`.

    Returns
    -------
    Chart
        Of the n - 1 moving ranges: centre their mean, upper limit 3.267 times it, lower 0.

    Raises
    ------
    ValueError
        If a value is not finite.

    References
    ----------
    .. [1] As `individuals_chart`.
    """
    ranges = np.abs(np.diff(finite(values, "values")))
    method = "moving range chart"
    problem = _no_individuals_chart(ranges)
    if problem:
        return Chart(ranges.size, None, (), (), (), method, problem)
    centre = float(ranges.mean())
    reach = np.full(ranges.size, centre * (_RANGE_LIMIT - 1))
    chart = _chart(ranges, centre, reach, method, ranges.size)
    return Chart(chart.n, centre, (0.0,) * chart.n, chart.upper, chart.outside, method, chart.note)


def p_chart(events: npt.ArrayLike, sizes: npt.ArrayLike, baseline: int | None = None) -> Chart:
    """Chart the share of clients with an event, month by month.

    Parameters
    ----------
    events : array-like of int, shape (n_periods,)
        Clients with the event in each period, in order of time.
    sizes : array-like of int, shape (n_periods,)
        Clients seen in each period; 1 or more.
    baseline : int or None, default=None
        How many of the first periods the limits are taken from; all of them when None.

    Returns
    -------
    Chart
        Shares; limits follow each period's size and are cut at 0 and 1. No chart when no
        client, or every client, had the event.

    Raises
    ------
    ValueError
        If the lengths differ, an event count exceeds its size, or the baseline is longer than
        the series.

    References
    ----------
    .. [1] D. C. Montgomery, Introduction to Statistical Quality Control, 'The control chart
       for fraction nonconforming'.
    """
    counts, seen = finite(np.asarray(events), "events"), finite(np.asarray(sizes), "sizes")
    bad = counts.size != seen.size or (seen < 1).any() or (counts < 0).any()
    if bad or (counts > seen).any():
        raise ValueError("events must lie between 0 and sizes, sizes at 1 or more, one a period")
    method = "p chart, 3 sigma"
    if not counts.size:
        return Chart(0, None, (), (), (), method, "There is no period to chart.")
    first = checked_baseline(baseline, counts.size)
    centre = float(counts[:first].sum() / seen[:first].sum())
    if centre in (0.0, 1.0):
        which = "No client" if centre == 0 else "Every client"
        note = f"{which} had the event, so the chart has no limits: read the exact upper limit."
        return Chart(counts.size, None, (), (), (), method, note)
    reach = 3 * np.sqrt(centre * (1 - centre) / seen)
    chart = _chart(counts / seen, centre, reach, method, first)
    lower = tuple(max(0.0, limit) for limit in chart.lower)
    upper = tuple(min(1.0, limit) for limit in chart.upper)
    return Chart(chart.n, centre, lower, upper, chart.outside, method, chart.note)


def shewhart_run_length(shift: float, *, sigmas: float = 3.0) -> float:
    """Average number of points until a Shewhart chart signals.

    Parameters
    ----------
    shift : float
        How far the mean has moved, in standard deviations; 0 for false alarms.
    sigmas : float, default=3
        Distance of the limits.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        If sigmas is not positive.

    References
    ----------
    .. [1] D. C. Montgomery, Introduction to Statistical Quality Control, 'Average run length'.
    """
    from scipy import special

    if not sigmas > 0:
        raise ValueError(f"sigmas must be positive, got {sigmas}")
    return 1 / float(special.ndtr(shift - sigmas) + special.ndtr(-shift - sigmas))


def _chart(
    points: npt.NDArray[np.float64],
    centre: float,
    reach: npt.NDArray[np.float64],
    method: str,
    limits_from: int,
) -> Chart:
    outside = np.flatnonzero(np.abs(points - centre) > reach * (1 + 1e-12)) + 1
    note = ""
    if limits_from < SETTLED:
        note = f"Limits from {limits_from} points are provisional: they settle at about twenty."
    return Chart(
        points.size,
        centre,
        tuple((centre - reach).tolist()),
        tuple((centre + reach).tolist()),
        tuple(outside.tolist()),
        method,
        note,
    )


def _no_individuals_chart(ranges: npt.NDArray[np.float64]) -> str:
    if not ranges.size:
        return "A chart needs at least two values."
    if not ranges.any():
        return "All values are equal, so the chart has no limits."
    return ""


def checked_baseline(baseline: int | None, n: int) -> int:
    """Give the number of values that limits are taken from, all of them for None.

    Raises
    ------
    ValueError
        If the baseline is longer than the series.
    """
    if baseline is not None and not 0 < baseline <= n:
        raise ValueError(f"baseline must lie between 1 and {n}, got {baseline}")
    return n if baseline is None else baseline
