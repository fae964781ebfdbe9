"""Invented populations of outcomes, with the truths that an interval should hold.

Every population is a client part shared by both arms (paired) or not (groups) and a part of its
own in each arm; arm A has an effect. Truths are taken once from four million clients.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

Sampler = Callable[[np.random.Generator, int, int, bool], tuple[np.ndarray, np.ndarray]]


@dataclass(frozen=True)
class Shape:
    """A population: `draw(rng, replicates, n, paired)` gives two arrays (replicates, n)."""

    name: str
    draw: Sampler
    step: float


def _parts(rng, rows, n, paired):
    """Client parts of both arms and the noise of both arms, all standard normal."""
    client_a = rng.standard_normal((rows, n))
    client_b = client_a if paired else rng.standard_normal((rows, n))
    return client_a, client_b, rng.standard_normal((rows, n)), rng.standard_normal((rows, n))


def normal(rng, rows, n, paired):
    u, v, e, f = _parts(rng, rows, n, paired)
    return 0.5 + u + e, v + f


def minutes(rng, rows, n, paired):
    u, v, e, f = _parts(rng, rows, n, paired)
    a, b = 14 * np.exp(0.3 * u + 0.3 * e), 17 * np.exp(0.3 * v + 0.3 * f)
    return np.rint(2 * a) / 2, np.rint(2 * b) / 2


def ratings(rng, rows, n, paired):
    u, v, e, f = _parts(rng, rows, n, paired)
    return (
        np.clip(np.rint(3 + 1.5 * u + 1.5 * e), 0, 10),
        np.clip(np.rint(4 + 1.5 * v + 1.5 * f), 0, 10),
    )


def scores(rng, rows, n, paired):
    u, v, e, f = _parts(rng, rows, n, paired)
    return (
        np.clip(np.rint(1 + 0.6 * u + 0.5 * e), 0, 4),
        np.clip(np.rint(1.4 + 0.6 * v + 0.5 * f), 0, 4),
    )


def percent(rng, rows, n, paired):
    u, v, e, f = _parts(rng, rows, n, paired)
    return (
        np.clip(np.rint(95 + 6 * u + 6 * e), 0, 100),
        np.clip(np.rint(90 + 7 * v + 8 * f), 0, 100),
    )


def counts(rng, rows, n, paired):
    of_a = rng.gamma(2.0, 0.5, (rows, n))
    of_b = of_a if paired else rng.gamma(2.0, 0.5, (rows, n))
    own_a, own_b = rng.gamma(4.0, 0.25, (rows, n)), rng.gamma(4.0, 0.25, (rows, n))
    return (
        rng.poisson(3.0 * of_a * own_a).astype(float),
        rng.poisson(4.0 * of_b * own_b).astype(float),
    )


def noisy(rng, rows, n, paired):
    u, v, e, f = _parts(rng, rows, n, paired)
    e = e * np.where(rng.random((rows, n)) < 0.1, 5, 1)
    f = f * np.where(rng.random((rows, n)) < 0.1, 5, 1)
    return 0.5 + u + e, v + f


def jumps(rng, rows, n, paired):
    a, b = normal(rng, rows, n, paired)
    return a + np.where(rng.random((rows, n)) < 0.1, 5 * np.sqrt(2), 0), b


SHAPES = (
    Shape("normal", normal, 0.0),
    Shape("skewed minutes", minutes, 0.5),
    Shape("ratings 0-10", ratings, 1.0),
    Shape("scores 0-4", scores, 1.0),
    Shape("percent, ceiling", percent, 1.0),
    Shape("counts", counts, 1.0),
    Shape("one noisy in ten", noisy, 0.0),
)
RARE_JUMPS = Shape("rare one-sided jumps", jumps, 0.0)


@cache
def truths(shape: Shape, paired: bool) -> dict[str, float]:
    """What each measure would be in the whole population."""
    a, b = shape.draw(np.random.default_rng(20240501), 1, 4_000_000, paired)
    a, b = a[0], b[0]
    d = a - b
    half = d.size // 2
    spread = np.sqrt((a.var() + b.var()) / 2)
    found = {
        "mean difference": float(d.mean()),
        "standardised": float(d.mean() / spread),
        "by sd of differences": float(d.mean() / d.std()),
        "probability higher": float((d > 0).mean() + (d == 0).mean() / 2),
        "typical": float(np.median((d[:half] + d[half:]) / 2 if paired else d)),
    }
    if shape.name == "skewed minutes":
        found["ratio"] = float(np.exp(np.log(a).mean() - np.log(b).mean()))
    return found
