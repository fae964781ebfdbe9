"""Exact unconditional intervals and tests of a risk difference.

For each difference, every table gets its p-value by the score statistic at the base rate that is
likeliest for that table; the tables are ordered by it (estimation), and the p-value given is the
largest chance, over the unknown base rate, of a table at least as far out as the one seen
(maximisation). The interval holds every difference whose p-value exceeds 1 - level, rounded
outward.

Measured by full enumeration (tests/bench/measured.md): no true pair of rates is covered less
than stated, where Tango's interval falls to 84.5 % and Miettinen and Nurminen's to 85.9 %. Ordering
by the score alone is as honest but up to 4 % wider; confidence limits for the base rate (Berger and
Boos) win at most half of that, and nothing on top of this order.

References
----------
.. [1] I. S. F. Chan and Z. Zhang (1999), Biometrics 55:1202-1209. (From memory.)
.. [2] A. Agresti and Y. Min (2001), Biometrics 57:963-971. (From memory.)
.. [3] C. J. Lloyd (2008), Aust. N. Z. J. Stat. 50:329-345: estimation and maximisation. (From
   memory.)
"""

from collections.abc import Callable
from functools import cache, lru_cache

import numpy as np
import numpy.typing as npt
from scipy.special import gammaln, ndtri

from pmulab.estimate.inputs import Floats
from pmulab.estimate.score import (
    groups_score_at,
    likeliest_only_b,
    likeliest_yes_b,
    miettinen_nurminen_score,
    tango_score,
)

LARGEST_TABLE = 60
"""Clients up to which all tables are listed."""

NEAR, FAR = 1.23, 3.27
"""Scores between which tables are ordered by their estimated p-values, for speed."""

REFINED_TABLES = 500
"""Tables (30 pairs, 21 clients a group) up to which they are; beyond, the score alone orders."""

TIE = 1e-8
BASE_RATES = 64
FINER_RATES = 17
STEP = 0.00125
DEEP = 0.8
"""The walk for a limit goes in such steps of the difference, outward until p is below 0.8 alpha."""

FINE = 2e-4
MARGIN = 1e-4
"""Added to a p-value for what the grid of base rates may miss."""


def paired_p(only_a: int, only_b: int, n: int, difference: float) -> float:
    """Exact p-value of a paired risk difference.

    Parameters
    ----------
    only_a, only_b : int
        Clients with a yes under that arm alone.
    n : int
        Number of clients.
    difference : float in [-1, 1]
        The difference tested.

    Returns
    -------
    float
        Two-sided, in (0, 1].
    """
    b, c, log_ways = _paired_tables(n)
    outness = _paired_order(n, difference)
    extreme = _as_far_out(outness, float(outness[(b == only_a) & (c == only_b)][0]))
    powers = np.stack((b[extreme], c[extreme], n - b[extreme] - c[extreme]))

    def chance(share_b: Floats) -> Floats:
        share_a = share_b + difference
        rates = np.stack((share_a, share_b, 1 - share_a - share_b), axis=1)
        logs = _log(rates) @ powers + log_ways[extreme]
        summed: Floats = np.exp(logs).sum(axis=1)
        return summed

    return _largest(chance, max(0.0, -difference), (1 - difference) / 2)


def groups_p(yes_a: int, n_a: int, yes_b: int, n_b: int, difference: float) -> float:
    """Exact p-value of a risk difference between two groups.

    Parameters
    ----------
    yes_a, n_a, yes_b, n_b : int
        Yeses and clients of each group.
    difference : float in [-1, 1]
        The difference tested.

    Returns
    -------
    float
        Two-sided, in (0, 1].
    """
    outness = _groups_order(n_a, n_b, difference)
    extreme = _as_far_out(outness, float(outness[yes_a, yes_b]))

    def chance(share_b: Floats) -> Floats:
        chances = (_binomial(n_a, share_b + difference) @ extreme) * _binomial(n_b, share_b)
        summed: Floats = chances.sum(axis=1)
        return summed

    return _largest(chance, max(0.0, -difference), min(1.0, 1 - difference))


@lru_cache(maxsize=4096)
def paired_lower_limit(only_a: int, only_b: int, n: int, level: float) -> float:
    """Lower exact limit of a paired risk difference; the upper one follows by swapping arms.

    Parameters
    ----------
    only_a, only_b, n : int
        Clients with a yes under that arm alone, and all clients.
    level : float in (0, 1)
        Confidence level of the interval.

    Returns
    -------
    float in [-1, 1]
    """
    return _outermost(
        lambda x: paired_p(only_a, only_b, n, x),
        lambda x: tango_score(only_a, only_b, n, x),
        (only_a - only_b) / n,
        1 - level,
    )


@lru_cache(maxsize=4096)
def groups_lower_limit(yes_a: int, n_a: int, yes_b: int, n_b: int, level: float) -> float:
    """Lower exact limit of a risk difference; the upper one follows by swapping groups.

    Parameters
    ----------
    yes_a, n_a, yes_b, n_b : int
        Yeses and clients of each group.
    level : float in (0, 1)
        Confidence level of the interval.

    Returns
    -------
    float in [-1, 1]
    """
    return _outermost(
        lambda x: groups_p(yes_a, n_a, yes_b, n_b, x),
        lambda x: miettinen_nurminen_score(yes_a, n_a, yes_b, n_b, x),
        yes_a / n_a - yes_b / n_b,
        1 - level,
    )


def _outermost(
    p_value: Callable[[float], float],
    score: Callable[[float], Floats],
    estimate: float,
    alpha: float,
) -> float:
    """Lowest difference that is not rejected, looked for on both sides of the score's limit.

    The p-value need not fall steadily, so the walk outward does not end at the first rejection.
    """
    start, outer, wanted = estimate, -1.0, float(ndtri(1 - alpha / 2))
    while start - outer > STEP:
        middle = (start + outer) / 2
        start, outer = (middle, outer) if float(score(middle)) < wanted else (start, middle)
    kept, difference = estimate, start
    while difference > -1:
        p = p_value(difference) + MARGIN
        if p > alpha:
            kept = difference
        elif p < DEEP * alpha:
            break
        difference -= STEP
    if kept > start:
        inward = np.arange(start + STEP, estimate, STEP).tolist()
        kept = next((x for x in inward if p_value(x) + MARGIN > alpha), estimate)
    rejected = max(kept - STEP, -1.0)
    while kept - rejected > FINE:
        middle = (kept + rejected) / 2
        if p_value(middle) + MARGIN > alpha:
            kept = middle
        else:
            rejected = middle
    return rejected


def _largest(chance: Callable[[Floats], Floats], low: float, high: float) -> float:
    """Largest chance over the base rate: a grid closer near both ends, then a finer one."""
    place = (1 - np.cos(np.linspace(0, np.pi, BASE_RATES))) / 2
    rates = low + (high - low) * place
    chances = chance(rates)
    best = int(chances.argmax())
    around = np.linspace(rates[max(best - 1, 0)], rates[min(best + 1, BASE_RATES - 1)], FINER_RATES)
    return min(1.0, max(float(chances[best]), float(chance(around).max())))


def check_size(n: int) -> None:
    """Refuse more clients than all tables can be listed for.

    Parameters
    ----------
    n : int
        Number of clients.

    Raises
    ------
    ValueError
        If there are more than 60.
    """
    if n > LARGEST_TABLE:
        raise ValueError(f"at most {LARGEST_TABLE} clients can be listed, got {n}")


def _as_far_out(outness: Floats, seen: float) -> npt.NDArray[np.bool_]:
    return outness >= seen - TIE * (1 + abs(seen))


@lru_cache(maxsize=512)
def _paired_order(n: int, difference: float) -> Floats:
    """How far out each table of n pairs is."""
    b, c, log_ways = _paired_tables(n)
    scores = np.abs(tango_score(b, c, n, difference))
    between = _between(scores)
    share_b = np.clip(likeliest_only_b(b[between], c[between], n, difference), 0, 1)
    rates = np.stack((share_b + difference, share_b, 1 - 2 * share_b - difference), axis=1)
    chances = np.exp(_log(rates) @ np.stack((b, c, n - b - c)) + log_ways)
    outward = np.argsort(-scores)
    reached = (1 - TIE) * scores[between]
    as_far = np.searchsorted(-scores[outward], -reached, side="right")
    summed = np.cumsum(chances[:, outward], axis=1)
    return _order(scores, between, summed[np.arange(reached.size), as_far - 1])


@lru_cache(maxsize=512)
def _groups_order(n_a: int, n_b: int, difference: float) -> Floats:
    """How far out each table of two groups is, yeses of A down and of B across."""
    x_a, x_b = np.arange(n_a + 1.0)[:, None], np.arange(n_b + 1.0)[None, :]
    share_b = likeliest_yes_b(x_a, n_a, x_b, n_b, difference)
    signed = groups_score_at(share_b, x_a, n_a, x_b, n_b, difference)
    scores = np.abs(signed)
    between = _between(scores)
    share_b = share_b[between]
    of_a, of_b = _binomial(n_a, share_b + difference), _binomial(n_b, share_b)
    below = np.zeros((share_b.size, n_b + 2))
    np.cumsum(of_b, axis=1, out=below[:, 1:])
    # the score falls along a row: what is as far out lies at its two ends
    reached = ((1 - TIE) * scores[between])[:, None, None]
    first = np.count_nonzero(signed >= reached, axis=2)
    last = n_b + 1 - np.count_nonzero(signed <= -reached, axis=2)
    ends = np.take_along_axis(below, first, 1) + 1 - np.take_along_axis(below, last, 1)
    return _order(scores, between, (of_a * ends).sum(axis=1))


def _between(scores: Floats) -> npt.NDArray[np.bool_]:
    if scores.size > REFINED_TABLES:
        return np.zeros(scores.shape, dtype=np.bool_)
    found: npt.NDArray[np.bool_] = (scores > NEAR) & (scores < FAR)
    return found


def _order(scores: Floats, between: npt.NDArray[np.bool_], estimated: Floats) -> Floats:
    """Order by estimated p-values where there are some, by the score farther in and out."""
    outness = np.where(scores >= FAR, 1000 + scores, scores - FAR)
    outness[between] = -np.log(np.clip(estimated, 1e-300, 1.0))
    return outness


def _log(rates: Floats) -> Floats:
    logs: Floats = np.log(np.maximum(rates, 1e-300))
    return logs


@cache
def _paired_tables(n: int) -> tuple[Floats, Floats, Floats]:
    b, c = np.meshgrid(np.arange(n + 1.0), np.arange(n + 1.0), indexing="ij")
    possible = b + c <= n
    b, c = b[possible], c[possible]
    log_ways = gammaln(n + 1) - gammaln(b + 1) - gammaln(c + 1) - gammaln(n - b - c + 1)
    return b, c, log_ways


def _binomial(n: int, rates: Floats) -> Floats:
    counts = np.arange(n + 1.0)
    log_ways = gammaln(n + 1) - gammaln(counts + 1) - gammaln(n - counts + 1)
    yes = _log(rates)[:, None]
    no = _log(1 - rates)[:, None]
    chances: Floats = np.exp(yes * counts + no * (n - counts) + log_ways)
    return chances
