"""CUSUM of yes/no answers, client by client: a lasting shift of a rate adds up until it shows."""

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import log

import numpy as np
import numpy.typing as npt

from pmulab.estimate.cusum import Cusum

ODDS = 2.0
"""Shift of the odds that the sum is tuned to: doubled on one side, halved on the other."""
RUN_LENGTH = 465
"""Clients until a sign by luck, on average and at least, the rate known: as `cusum` of values."""
_LOWEST_RATE = 0.02
_FINEST = 80
_MOST_EVENTS = 40
METHOD = "Bernoulli CUSUM, odds doubled or halved"


@dataclass(frozen=True, slots=True)
class Design:
    """One side of the chart in whole steps, so that no rounding decides.

    Parameters
    ----------
    up, down : int
        Steps that the sum rises with an event and falls without one, never below 0.
    limit : int
        Steps that count as a sign.
    """

    up: int
    down: int
    limit: int


def baseline_rate(yes: int, clients: int) -> float:
    """Estimate the rate that a practice is held against.

    Parameters
    ----------
    yes, clients : int
        Of the clients before the watched ones; clients above 0.

    Returns
    -------
    float
        (yes + 1/2) / (clients + 1), which is never 0 or 1; held within 0.02 and 0.98.
    """
    rate = (yes + 0.5) / (clients + 1)
    return min(max(rate, _LOWEST_RATE), 1 - _LOWEST_RATE)


def raised_rate(rate: float, odds: float = ODDS) -> float:
    """Give the rate whose odds are so many times those of another.

    Parameters
    ----------
    rate : float in (0, 1)
    odds : float, default=2

    Returns
    -------
    float
    """
    return odds * rate / (1 - rate + odds * rate)


@lru_cache(maxsize=1024)
def design(rate: float, odds: float = ODDS, run_length: float = 2 * RUN_LENGTH) -> Design:
    """Tune a one-sided chart for a rise of a rate.

    Parameters
    ----------
    rate : float in [0.02, 0.98]
        The rate of a steady practice, p0.
    odds : float above 1, default=2
        Odds of the rate worth finding over those of `rate`.
    run_length : float, default=930
        Clients until a sign by luck, on average and at least.

    Returns
    -------
    Design
        With the smallest limit that keeps the run length.

    Raises
    ------
    ValueError
        If the rate or the odds lie outside their range.

    Notes
    -----
    With p1 the rate worth finding, r1 = ln((1 - p0) / (1 - p1)) and
    r2 = ln(p1 (1 - p0) / (p0 (1 - p1))), the sum is B = max(0, B + X - r1 / r2) [1]_: the
    likelihood ratio of one client divided by r2. r1 / r2 is taken as a fraction, down / (up +
    down), so that the sum is a Markov chain on whole steps and its run length is exact.

    References
    ----------
    .. [1] M. R. Reynolds, Z. G. Stoumbos (1999), J. Qual. Technol. 31:87-108 (formulas from
       memory; derived anew from the likelihood ratio in the tests).
    .. [2] S. H. Steiner et al. (2000), Biostatistics 1:441-452: tuned to doubled and halved odds.
    """
    if not (_LOWEST_RATE <= rate <= 1 - _LOWEST_RATE and odds > 1):
        raise ValueError(f"rate must lie in [0.02, 0.98] and odds above 1, got {rate}, {odds}")
    worse = raised_rate(rate, odds)
    reference = log((1 - rate) / (1 - worse)) / log(odds)
    fraction = Fraction(reference).limit_denominator(_FINEST)
    down, whole = fraction.numerator, fraction.denominator
    low, high = 1, whole * _MOST_EVENTS
    while low < high:
        limit = (low + high) // 2
        if bernoulli_run_length(rate, Design(whole - down, down, limit)) >= run_length:
            high = limit
        else:
            low = limit + 1
    return Design(whole - down, down, low)


def bernoulli_run_length(rate: float, chart: Design) -> float:
    """Average number of clients until a one-sided Bernoulli CUSUM gives a sign.

    Parameters
    ----------
    rate : float in (0, 1)
        True rate of the event.
    chart : Design

    Returns
    -------
    float
        Exact: the expected time of a Markov chain on the steps 0 to limit - 1, begun at 0.

    Raises
    ------
    ValueError
        If the rate lies outside (0, 1).

    References
    ----------
    .. [1] D. Brook, D. A. Evans (1972), Biometrika 59:539-549 (the Markov chain).
    """
    from scipy.linalg import solve_banded

    if not 0 < rate < 1:
        raise ValueError(f"rate must lie in (0, 1), got {rate}")
    states = np.arange(chart.limit)
    banded = np.zeros((chart.up + chart.down + 1, chart.limit))  # row: up + state - next state
    banded[chart.up] += 1
    for chance, following in (
        (rate, states + chart.up),
        (1 - rate, np.maximum(states - chart.down, 0)),
    ):
        goes_on = following < chart.limit
        at = (chart.up + states[goes_on] - following[goes_on], following[goes_on])
        np.subtract.at(banded, at, chance)
    bands = (chart.down, chart.up)
    return float(solve_banded(bands, banded, np.ones(chart.limit))[0])


def clients_until_found(rate: float) -> float:
    """Average number of clients until a doubling of the odds shows.

    Parameters
    ----------
    rate : float in [0.02, 0.98]
        The rate before.

    Returns
    -------
    float
    """
    return bernoulli_run_length(raised_rate(rate), design(rate))


def bernoulli_cusum(events: npt.ArrayLike, rate: float) -> Cusum:
    """Watch yes/no answers for a lasting rise or fall of their rate.

    Parameters
    ----------
    events : array-like of bool, shape (n_clients,)
        One answer a client, in order of time.
    rate : float in [0.02, 0.98]
        The rate that is watched, as `baseline_rate` gives it.

    Returns
    -------
    Cusum
        `high` gathers yes, `low` gathers no; both as a share of what counts as a sign, so that
        `decision` is 1.

    Raises
    ------
    ValueError
        If the rate lies outside its range.
    """
    answers = np.asarray(events, dtype=bool)
    high = _shares(answers, design(rate))
    low = _shares(~answers, design(1 - rate))
    signs = [n for n, pair in enumerate(zip(high, low, strict=True)) if max(pair) >= 1]
    if not signs:
        return Cusum(high, low, None, "", None, METHOD, 1.0)
    at = signs[0]
    side, sums = ("high", high) if high[at] >= 1 else ("low", low)
    since = max((n for n in range(at) if sums[n] == 0), default=-1) + 1
    return Cusum(high, low, at + 1, side, since + 1, METHOD, 1.0)


def _shares(events: npt.NDArray[np.bool_], chart: Design) -> tuple[float, ...]:
    sums, running = [], 0
    for event in events.tolist():
        running = max(0, running + (chart.up if event else -chart.down))
        sums.append(running / chart.limit)
    return tuple(sums)
