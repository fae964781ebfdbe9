"""Type-I error of the tests, coverage of the order-adjusted difference, and rare jumps."""

import numpy as np
from scipy import stats

from pmulab.estimate import independent, paired
from pmulab.estimate.jumps import one_sided_jumps
from pmulab.estimate.order import adjusted_difference, order_adjusted_difference
from pmulab.estimate.permutation import label_test, rank_sum_test, sign_flip_test, signed_rank_test
from pmulab.estimate.randomisation import group_schedule_test, schedule_test

from .shapes import RARE_JUMPS, Shape, truths

COMPARISON_ONLY = ("paired t", "t", "Welch")
"""Tests that no finding rests on: shown beside the exact ones."""


def without_effect(shape: Shape, rng, replicates: int, n: int, is_paired: bool):
    """Draw samples in which the arms are exchangeable."""
    a, b = shape.draw(rng, replicates, n, is_paired)
    if is_paired:
        swap = rng.random(a.shape) < 0.5
        return np.where(swap, b, a), np.where(swap, a, b)
    of_a, _ = shape.draw(rng, replicates, n, False)
    of_b, _ = shape.draw(rng, replicates, n, False)
    return of_a, of_b


def rejected(ps) -> float:
    """Percent of p-values at most 5 %; no p counts as no rejection."""
    return 100 * float(np.mean([p is not None and p <= 0.05 + 1e-12 for p in ps]))


def blocks(n: int, size: int = 4):
    """Block and side first worked of n clients, arm A left or right twice in each block."""
    block = np.arange(n) // size
    first = np.arange(n) % 2
    return list(zip(block.tolist(), first.tolist(), strict=True))


def draw_left(rng, n: int) -> np.ndarray:
    """One draw of the schedule of `blocks`: in each stratum of two, one has arm A left."""
    left = np.empty(n, dtype=bool)
    for block in range(0, n, 4):
        for first in (0, 1):
            slots = [i for i in (block + first, block + first + 2) if i < n]
            pair = rng.permutation([True, False])
            left[slots] = pair[: len(slots)]
    return left


def type_one(shape: Shape, n: int, replicates: int) -> dict[str, float]:
    rng = np.random.default_rng([7, n])
    a, b = without_effect(shape, rng, replicates, n, True)
    x, y = without_effect(shape, rng, replicates, n, False)
    rows = list(zip(a, b, strict=True))
    groups = list(zip(x, y, strict=True))
    strata, sizes = blocks(n), [2] * n
    scheduled, grouped = [], []
    for one, other in rows:
        left = draw_left(rng, n)
        fixed = one - other + shape.step + 1.0  # a side effect that the test must not mind
        scheduled.append(schedule_test(np.where(left, fixed, -fixed), left, strata, sizes).p)
    for one, other in groups:
        values = np.concatenate((one, other))
        in_a = np.concatenate(
            [rng.permutation([True, True, False, False]) for _ in range(n // 2 + 1)]
        )
        in_a = in_a[: 2 * n]
        block = (np.arange(2 * n) // 4).tolist()
        grouped.append(group_schedule_test(values, in_a, block, [4] * (2 * n)).p)
    return {
        "sign-flip": rejected([sign_flip_test(one - other).p for one, other in rows]),
        "signed rank": rejected([signed_rank_test(one - other).p for one, other in rows]),
        "schedule": rejected(scheduled),
        "paired t": rejected([paired.t_test(one, other).p for one, other in rows]),
        "labels": rejected([label_test(one, other).p for one, other in groups]),
        "rank sum": rejected([rank_sum_test(one, other).p for one, other in groups]),
        "group schedule": rejected(grouped),
        "t": rejected([independent.t_test(one, other).p for one, other in groups]),
        "Welch": rejected([independent.welch_test(one, other).p for one, other in groups]),
    }


def order_effect(n: int, share_first: float, shift: float, replicates: int) -> dict[str, float]:
    """Coverage with a period effect, arm A first in a given share of the clients seen."""
    rng = np.random.default_rng([n, round(100 * share_first), round(100 * shift)])
    first = np.arange(n) < round(share_first * n)
    left = np.arange(n) % 2 == 0
    d = 0.4 + rng.standard_normal((replicates, n)) + shift * np.where(first, 1, -1)
    held = {"adjusted": 0, "Hills-Armitage": 0, "unadjusted t": 0}
    half = stats.t.ppf(0.975, n - 1) * d.std(axis=1, ddof=1) / np.sqrt(n)
    held["unadjusted t"] = int((np.abs(d.mean(axis=1) - 0.4) <= half).sum())
    for row in d:
        full = adjusted_difference(row, first, left).effect.interval
        order = order_adjusted_difference(row, first).interval
        held["adjusted"] += full.low <= 0.4 <= full.high
        held["Hills-Armitage"] += order.low <= 0.4 <= order.high
    return {name: 100 * count / replicates for name, count in held.items()}


def jumps(n: int, is_paired: bool, replicates: int) -> dict[str, float]:
    """How often one-sided jumps are noticed, and what the leading estimate then covers."""
    rng = np.random.default_rng([3, n, is_paired])
    truth = truths(RARE_JUMPS, is_paired)
    a, b = RARE_JUMPS.draw(rng, replicates, n, is_paired)
    lead = paired.leading_difference if is_paired else independent.leading_difference
    noticed = held = 0
    for one, other in zip(a, b, strict=True):
        estimate = lead(one, other)
        led = "Hodges" in estimate.method
        target = truth["typical" if led else "mean difference"]
        noticed += led
        held += estimate.interval.low <= target <= estimate.interval.high
    normal = rng.standard_normal((replicates, n))
    return {
        "led by the typical, %": 100 * noticed / replicates,
        "coverage of what leads, %": 100 * held / replicates,
        "flagged in normal samples, %": 100
        * float(np.mean([one_sided_jumps(row, 0.0) != 0 for row in normal])),
    }
