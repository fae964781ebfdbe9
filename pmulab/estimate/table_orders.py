"""How far out the tables of a yes/no comparison are: by score, refined by estimated p-values.

References
----------
.. [1] C. J. Lloyd (2008), Aust. N. Z. J. Stat. 50:329-345: estimation and maximisation. (From
   memory.)
"""

from functools import cache, lru_cache

import numpy as np
import numpy.typing as npt
from scipy.special import gammaln

from pmulab.estimate.inputs import Floats
from pmulab.estimate.score import (
    groups_score_at,
    likeliest_only_b,
    likeliest_yes_b,
    tango_score,
)

NEAR, FAR = 1.23, 3.27
"""Scores between which tables are ordered by their estimated p-values, for speed."""

REFINED_TABLES = 500
"""Tables (30 pairs, 21 clients a group) up to which they are; beyond, the score alone orders."""

TIE = 1e-8


def as_far_out(outness: Floats, seen: float) -> npt.NDArray[np.bool_]:
    """Tell which tables lie at least as far out as one of them, ties included.

    Parameters
    ----------
    outness : ndarray
        As from `groups_order`.
    seen : float
        That of the one table.

    Returns
    -------
    ndarray of bool
    """
    return outness >= seen - TIE * (1 + abs(seen))


@lru_cache(maxsize=512)
def paired_order(n: int, difference: float) -> Floats:
    """Give how far out each table of n pairs is.

    Parameters
    ----------
    n : int
        Clients.
    difference : float in [-1, 1]
        The difference tested.

    Returns
    -------
    ndarray of shape (n_tables,)
        In the order of `paired_tables`; larger is further out.
    """
    b, c, log_ways = paired_tables(n)
    scores = np.abs(tango_score(b, c, n, difference))
    between = _between(scores)
    share_b = np.clip(likeliest_only_b(b[between], c[between], n, difference), 0, 1)
    rates = np.stack((share_b + difference, share_b, 1 - 2 * share_b - difference), axis=1)
    chances = np.exp(log_of(rates) @ np.stack((b, c, n - b - c)) + log_ways)
    outward = np.argsort(-scores)
    reached = (1 - TIE) * scores[between]
    as_far = np.searchsorted(-scores[outward], -reached, side="right")
    summed = np.cumsum(chances[:, outward], axis=1)
    return _order(scores, between, summed[np.arange(reached.size), as_far - 1])


@lru_cache(maxsize=512)
def groups_order(n_a: int, n_b: int, difference: float) -> Floats:
    """Give how far out each table of two groups is.

    Parameters
    ----------
    n_a, n_b : int
        Clients of each group.
    difference : float in [-1, 1]
        The difference tested.

    Returns
    -------
    ndarray of shape (n_a + 1, n_b + 1)
        Yeses of A down and of B across; larger is further out.
    """
    x_a, x_b = np.arange(n_a + 1.0)[:, None], np.arange(n_b + 1.0)[None, :]
    share_b = likeliest_yes_b(x_a, n_a, x_b, n_b, difference)
    signed = groups_score_at(share_b, x_a, n_a, x_b, n_b, difference)
    scores = np.abs(signed)
    between = _between(scores)
    share_b = share_b[between]
    of_a, of_b = binomial(n_a, share_b + difference), binomial(n_b, share_b)
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


def log_of(rates: Floats) -> Floats:
    """Logarithm of rates, finite where they are 0.

    Parameters
    ----------
    rates : ndarray
        In [0, 1].

    Returns
    -------
    ndarray
    """
    logs: Floats = np.log(np.maximum(rates, 1e-300))
    return logs


@cache
def paired_tables(n: int) -> tuple[Floats, Floats, Floats]:
    """List all tables of n pairs.

    Parameters
    ----------
    n : int

    Returns
    -------
    tuple of ndarray of shape (n_tables,)
        Clients with a yes under A alone, under B alone, and the log number of ways.
    """
    b, c = np.meshgrid(np.arange(n + 1.0), np.arange(n + 1.0), indexing="ij")
    possible = b + c <= n
    b, c = b[possible], c[possible]
    log_ways = gammaln(n + 1) - gammaln(b + 1) - gammaln(c + 1) - gammaln(n - b - c + 1)
    return b, c, log_ways


def binomial(n: int, rates: Floats) -> Floats:
    """Chances of 0 to n yeses at each rate.

    Parameters
    ----------
    n : int
    rates : ndarray of shape (n_rates,)

    Returns
    -------
    ndarray of shape (n_rates, n + 1)
    """
    counts = np.arange(n + 1.0)
    log_ways = gammaln(n + 1) - gammaln(counts + 1) - gammaln(n - counts + 1)
    yes = log_of(rates)[:, None]
    no = log_of(1 - rates)[:, None]
    chances: Floats = np.exp(yes * counts + no * (n - counts) + log_ways)
    return chances
