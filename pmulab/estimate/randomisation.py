"""The randomisation tests: only the arrangements that the schedule could really have drawn.

A schedule in balanced blocks allows far fewer arrangements than all sign flips or relabellings.
Each block is drawn by itself, so the exact distribution is built block by block.

References
----------
.. [1] O. Kempthorne (1955), JASA 50:946-967. (From memory.)
.. [2] W. F. Rosenberger and J. M. Lachin (2015), Randomization in Clinical Trials, 2nd ed.,
   chapter 6. (From memory.)
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import reduce
from math import comb

import numpy as np
import numpy.typing as npt

from pmulab.estimate.inputs import Floats, Values, finite, flags
from pmulab.estimate.results import Test
from pmulab.estimate.subset_sums import FINEST_GRID, TIE

LONGEST_LIST = 2**19
"""Totals kept apart before they are gathered into the cells of a fine grid."""


@dataclass(frozen=True, slots=True)
class _Draws:
    """Totals that a part of the schedule can give; `slack` bounds their rounding."""

    totals: Floats
    chances: Floats
    slack: float = 0.0


def schedule_test(
    differences: Values,
    arm_a_left: npt.ArrayLike,
    stratum: Sequence[Hashable],
    stratum_size: Sequence[int],
) -> Test:
    """Randomisation test of a within-person study, given its working order.

    If the arms make no difference, what a client's left side shows over her right side is fixed;
    only the side that the schedule gave to arm A was drawn. Within a stratum (one block and one
    first side) half of the slots have arm A on the left, whichever half.

    Parameters
    ----------
    differences : array-like of shape (n_clients,)
        Arm A minus arm B, in the outcome's unit.
    arm_a_left : array-like of bool, shape (n_clients,)
        Whether the schedule put arm A on the left side.
    stratum : sequence of hashable, shape (n_clients,)
        The block together with the side worked first.
    stratum_size : sequence of int, shape (n_clients,)
        Slots that the stratum had in the schedule, used or not; even. A block of four holds two
        strata of two slots, a block of eight two of four.

    Returns
    -------
    Test
        Two-sided; `statistic` is the mean difference, `smallest_p` the smallest p that this
        schedule could have given with these clients. p is None when the sides recorded cannot
        have come from such a schedule.

    Raises
    ------
    ValueError
        If lengths differ, a value is not finite or a stratum has two sizes or an odd one.

    Notes
    -----
    Of a stratum of K slots with m seen, an arrangement with j of the m on the left has
    probability C(K - m, K / 2 - j) / C(K, K / 2).
    """
    d = finite(differences, "differences")
    left = flags(arm_a_left, "arm_a_left", d.size)
    method = "exact randomisation test of the mean difference over the schedule"
    weights = np.where(left, d, -d)
    mean = float(d.mean()) if d.size else None
    return _test(weights, left, _strata(stratum, stratum_size, d.size), method, mean)


def group_schedule_test(
    values: Values,
    in_a: npt.ArrayLike,
    block: Sequence[Hashable],
    block_size: Sequence[int],
) -> Test:
    """Randomisation test of two groups allocated in permuted blocks.

    Parameters
    ----------
    values : array-like of shape (n_clients,)
        One value per client, in the outcome's unit.
    in_a : array-like of bool, shape (n_clients,)
        Whether the schedule put the client in group A.
    block : sequence of hashable, shape (n_clients,)
        The block of each client.
    block_size : sequence of int, shape (n_clients,)
        Slots that the block had, used or not; half of them for group A.

    Returns
    -------
    Test
        Two-sided; `statistic` is the difference of the group means. The arrangements are ordered
        by the total of group A about the common mean, which is the same order when as many
        clients of each group were seen. Otherwise as in `schedule_test`.

    Raises
    ------
    ValueError
        If lengths differ, a value is not finite or a block has two sizes or an odd one.
    """
    x = finite(values, "values")
    chosen = flags(in_a, "in_a", x.size)
    method = "exact randomisation test of the difference of means over the schedule"
    if chosen.all() or not chosen.any():
        return Test(p=None, method=method, n=x.size, note="One of the two groups has no clients.")
    difference = float(x[chosen].mean() - x[~chosen].mean())
    strata = _strata(block, block_size, x.size)
    return _test(x - x.mean(), chosen, strata, method, difference)


def _strata(
    stratum: Sequence[Hashable], size: Sequence[int], n: int
) -> list[tuple[list[int], int]]:
    """List the places of the clients of each stratum, with its number of slots."""
    if len(stratum) != n or len(size) != n:
        raise ValueError(f"one stratum and one size per client are needed, for {n} clients")
    members: dict[Hashable, list[int]] = {}
    for place, name in enumerate(stratum):
        members.setdefault(name, []).append(place)
    found = []
    for name, places in members.items():
        slots = {int(size[place]) for place in places}
        if len(slots) > 1 or min(slots) < 2 or min(slots) % 2:
            raise ValueError(f"stratum {name!r}: one even number of slots is needed, got {slots}")
        found.append((places, slots.pop()))
    return found


def _test(
    weights: Floats,
    plus: npt.NDArray[np.bool_],
    strata: list[tuple[list[int], int]],
    method: str,
    statistic: float | None,
) -> Test:
    n = weights.size
    if n == 0:
        return Test(p=None, method=method, n=0, note="There are no clients to compare.")
    for places, slots in strata:
        given = int(plus[places].sum())
        if max(given, len(places) - given) > slots // 2:
            note = "The arms recorded are not a draw that a schedule of such blocks can give."
            return Test(p=None, method=method, n=n, statistic=statistic, note=note)
    spread = float(np.abs(weights).sum())
    parts = [_stratum_draws(weights[places], slots) for places, slots in strata]
    first, second = _two_halves(parts, spread)
    observed = abs(float(weights[plus].sum() - weights[~plus].sum()))
    most = max(
        float(first.totals.max() + second.totals.max()),
        -float(first.totals.min() + second.totals.min()),
    )
    exact = first.slack + second.slack == 0
    return Test(
        p=_share_reaching(first, second, observed, spread),
        method=method if exact else method.replace("exact", "conservative (rounded)"),
        n=n,
        smallest_p=_share_reaching(first, second, most, spread),
        statistic=statistic,
    )


def _stratum_draws(weights: Floats, slots: int) -> _Draws:
    """List the signed totals of one stratum with their chances."""
    totals, plus = np.zeros(1), np.zeros(1, dtype=np.int64)
    for weight in weights:
        totals = np.concatenate((totals - weight, totals + weight))
        plus = np.concatenate((plus, plus + 1))
    unseen, half = slots - weights.size, slots // 2
    by_plus = [
        comb(unseen, half - j) / comb(slots, half) if 0 <= half - j <= unseen else 0.0
        for j in range(weights.size + 1)
    ]
    chances = np.asarray(by_plus)[plus]
    possible = chances > 0
    return _Draws(totals[possible], chances[possible])


def _two_halves(parts: list[_Draws], spread: float) -> tuple[_Draws, _Draws]:
    """Combine the strata into two lists of about equal length."""
    halves: tuple[list[_Draws], list[_Draws]] = ([], [])
    lengths = [1.0, 1.0]
    for part in sorted(parts, key=lambda draws: -draws.totals.size):
        shorter = lengths.index(min(lengths))
        halves[shorter].append(part)
        lengths[shorter] *= part.totals.size
    certain = _Draws(np.zeros(1), np.ones(1))
    first, second = (
        reduce(lambda one, other: _combine(one, other, spread), half, certain) for half in halves
    )
    return first, second


def _combine(one: _Draws, other: _Draws, spread: float) -> _Draws:
    totals = np.add.outer(one.totals, other.totals).ravel()
    chances = np.multiply.outer(one.chances, other.chances).ravel()
    slack = one.slack + other.slack
    totals, chances = _gather(totals, chances, TIE * spread / 64)
    if totals.size > LONGEST_LIST:
        cell = spread / FINEST_GRID
        totals, chances = _gather(totals, chances, cell)
        slack += cell
    return _Draws(totals, chances, slack)


def _gather(totals: Floats, chances: Floats, cell: float) -> tuple[Floats, Floats]:
    """Add up the chances of totals that lie within one cell of each other."""
    order = totals.argsort()
    totals, chances = totals[order], chances[order]
    if cell == 0:
        return totals[:1], chances.sum(keepdims=True)
    cells = np.floor((totals - totals[0]) / cell + 0.5)
    starts = np.flatnonzero(np.concatenate(([True], cells[1:] != cells[:-1])))
    return totals[starts], np.add.reduceat(chances, starts)


def _share_reaching(first: _Draws, second: _Draws, total: float, spread: float) -> float:
    """Chance that the total lies at least as far from zero as `total`."""
    reach = total - TIE * spread - first.slack - second.slack
    if reach <= 0:
        return 1.0
    order = second.totals.argsort()
    sums, chances = second.totals[order], second.chances[order]
    up_to = np.concatenate(([0.0], np.cumsum(chances)))
    down_to = np.concatenate((np.cumsum(chances[::-1])[::-1], [0.0]))
    above = down_to[sums.searchsorted(reach - first.totals, side="left")]
    below = up_to[sums.searchsorted(-reach - first.totals, side="right")]
    return min(1.0, float(first.chances @ (above + below)))
