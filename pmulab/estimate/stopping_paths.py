"""Numerical integration along the paths of a study that is looked at more than once."""

from collections.abc import Sequence
from math import sqrt

import numpy as np

from pmulab.estimate.inputs import Floats

FURTHEST = 12.0

_GRID = 801
_TOO_LITTLE = 1e-13


class Walk:
    """Density of the running sum over the paths that no look has stopped yet."""

    def __init__(self, share: float = 0.0, at: Floats | None = None, mass: Floats | None = None):
        self.share = share
        self.at = np.zeros(1) if at is None else at
        self.mass = np.ones(1) if mass is None else mass

    def crossing(self, share: float, limit: float) -> float:
        """Chance to be stopped at this look and at none before.

        Parameters
        ----------
        share : float
            Share of the planned clients seen at this look.
        limit : float
            Two-sided limit of the standardised mean.

        Returns
        -------
        float
        """
        from scipy import special

        spread, edge = sqrt(share - self.share), limit * sqrt(share)
        tails = special.ndtr((self.at - edge) / spread) + special.ndtr((-self.at - edge) / spread)
        return float(self.mass @ tails)

    def past(self, share: float, limit: float) -> "Walk":
        """Follow the paths that this look lets pass.

        Parameters
        ----------
        share, limit : float
            As in `crossing`.

        Returns
        -------
        Walk
        """
        spread, edge = sqrt(share - self.share), limit * sqrt(share)
        at = np.linspace(-edge, edge, _GRID)
        weights = np.full(_GRID, 2.0)
        weights[1::2], weights[[0, -1]] = 4.0, 1.0  # Simpson's rule
        weights *= (at[1] - at[0]) / 3
        steps = (at[:, None] - self.at) / spread
        density = np.exp(-(steps**2) / 2) @ self.mass / (spread * sqrt(2 * np.pi))
        return Walk(share, at, density * weights)

    def limit_for(self, share: float, error: float) -> float | None:
        """Find the limit at which this look spends the error given.

        Parameters
        ----------
        share : float
            As in `crossing`.
        error : float

        Returns
        -------
        float or None
            None for next to no error.
        """
        from scipy import optimize

        if error < _TOO_LITTLE:
            return None
        return float(
            optimize.brentq(lambda z: self.crossing(share, z) - error, 0.0, FURTHEST, xtol=1e-9)
        )


def crossings(shares: Sequence[float], limits: Sequence[float]) -> list[float]:
    """Chance to be stopped for the first time at each look, without any effect.

    Parameters
    ----------
    shares : sequence of float
        Rising shares of the planned clients.
    limits : sequence of float
        Two-sided limits of the standardised mean.

    Returns
    -------
    list of float
    """
    walk, crossed = Walk(), []
    for share, limit in zip(shares, limits, strict=True):
        crossed.append(walk.crossing(share, limit))
        walk = walk.past(share, limit)
    return crossed
