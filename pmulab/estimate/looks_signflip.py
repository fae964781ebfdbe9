"""Planned looks on the exact sign-flip test, with its discreteness respected.

Given the sizes of the differences, every pattern of signs is equally likely when neither arm
does better. Each look may stop only as many of the patterns as the plan allows by then;
what one look could not spend, because the next pattern would have been too much, is left to
the looks that follow.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from pmulab.counting import counted
from pmulab.estimate.inputs import Floats, Values, finite

Patterns = npt.NDArray[np.bool_]

MOST_CLIENTS = 22

_TIE = 1e-9


@dataclass(frozen=True, slots=True)
class Look:
    """What one planned look at the data found.

    Parameters
    ----------
    n : int
        Clients seen.
    allowed : float
        Error that the plan lets all looks up to this one spend together.
    p : float
        Two-sided p over all looks so far: the share of sign patterns that an earlier look
        would have stopped, plus those that lie at least as far here. Never 0.
    reached : bool
        Whether p is at or below `allowed`, so that the plan lets the study stop here.
    note : str
        A plain sentence, empty when there is nothing to say.
    """

    n: int
    allowed: float
    p: float
    reached: bool
    note: str = ""


def signflip_looks(
    differences: Values, sizes: Sequence[int], allowed: Sequence[float]
) -> tuple[Look, ...]:
    """Apply planned looks to the sign-flip test of the mean paired difference.

    Parameters
    ----------
    differences : array-like of shape (n_clients,)
        Paired differences in the order of enrolment, in the outcome's unit.
    sizes : sequence of int
        Clients seen at each look taken so far, rising; at most 22.
    allowed : sequence of float
        Error that may have been spent by each look, not falling, in [0, 1): for example
        ``(0.001, 0.05)``, or the `spent` of `looks.spending_limits`.

    Returns
    -------
    tuple of Look
        One for each look, up to and including the first that reached its limit.

    Raises
    ------
    ValueError
        If sizes do not rise, fall outside the data or exceed 22, or `allowed` does not fit.

    References
    ----------
    .. [1] K. K. G. Lan, D. L. DeMets (1983), Biometrika 70:659-663 (spending; applied here
       to the conditional distribution of the signs).
    """
    values = finite(differences, "differences")
    _check_plan(values.size, sizes, allowed)
    answers: list[Look] = []
    totals, stopped, done = np.zeros(1), np.zeros(1, dtype=np.bool_), 0
    for n, error in zip(sizes, allowed, strict=True):
        totals, stopped = _grow(totals, stopped, values[done:n], first=done == 0)
        distance = np.abs(totals)
        # Pattern 0 keeps every sign but may turn them all: the trial as it was observed.
        p = float((stopped | (distance >= distance[0] * (1 - _TIE))).mean())
        answers.append(_look(n, error, p, stopped, distance))
        if answers[-1].reached:
            break
        stopped, done = stopped | _newly_stopped(distance, stopped, error), n
    return tuple(answers)


def smallest_look_p(sizes: Sequence[int]) -> tuple[float, ...]:
    """Smallest p that the sign-flip test can give at each planned look.

    Parameters
    ----------
    sizes : sequence of int
        Clients seen at each look.

    Returns
    -------
    tuple of float
        ``2 / 2**n``: a look that may spend less than this can never stop the study.
    """
    return tuple(2 / 2**n for n in sizes)


def _grow(
    totals: Floats, stopped: Patterns, new: Floats, *, first: bool
) -> tuple[Floats, Patterns]:
    """Extend every sign pattern by the new clients; the very first sign is held fixed."""
    for position, value in enumerate(new):
        if first and position == 0:
            totals = totals + value
            continue
        totals = np.concatenate([totals + value, totals - value])
        stopped = np.concatenate([stopped, stopped])
    return totals, stopped


def _newly_stopped(distance: Floats, stopped: Patterns, allowed: float) -> Patterns:
    """Find the furthest patterns, ties together, that this look may still stop."""
    room = int(np.floor(allowed * distance.size * (1 + _TIE))) - int(stopped.sum())
    open_distance = np.sort(distance[~stopped])[::-1]
    if room <= 0 or not open_distance.size:
        return np.zeros_like(stopped)
    if room >= open_distance.size:
        return ~stopped
    # The first distance that would be one pattern too many is the limit to stay above.
    limit = open_distance[room] * (1 + _TIE)
    newly: Patterns = ~stopped & (distance > limit)
    return newly


def _look(n: int, allowed: float, p: float, stopped: Patterns, distance: Floats) -> Look:
    note = ""
    furthest = distance >= distance.max() * (1 - _TIE)
    if distance.max() == 0:
        note = "Every client so far gave the same result on both sides."
    elif float((stopped | furthest).mean()) > allowed:
        note = f"With {counted(n, 'client')} no result could have reached the limit of this look."
    return Look(n, allowed, p, p <= allowed, note)


def _check_plan(clients: int, sizes: Sequence[int], allowed: Sequence[float]) -> None:
    rising = all(a < b for a, b in pairwise([0, *sizes]))
    if not sizes or not rising or sizes[-1] > min(clients, MOST_CLIENTS):
        raise ValueError(
            f"sizes must rise from 1 to at most {min(clients, MOST_CLIENTS)}, got {list(sizes)}"
        )
    falling = any(a > b for a, b in pairwise(allowed))
    if len(allowed) != len(sizes) or falling or min(allowed) < 0 or max(allowed) >= 1:
        raise ValueError(
            f"allowed must hold {len(sizes)} errors in [0, 1) that do not fall, got {list(allowed)}"
        )
