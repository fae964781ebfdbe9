"""Time of our exact counts and intervals beside the peers', on the same data in the same run."""

import time
from collections.abc import Callable
from statistics import median

import numpy as np
from scipy import stats

from pmulab.estimate import independent, paired, proportions
from pmulab.estimate.bootstrap import bootstrap_mean_difference
from pmulab.estimate.order import adjusted_difference
from pmulab.estimate.permutation import label_test, sign_flip_test, signed_rank_test
from pmulab.estimate.unconditional import groups_lower_limit, paired_lower_limit

RNG = np.random.default_rng(12)


def seconds(call: Callable[[], object], rounds: int) -> float:
    """Median time of a call after one unmeasured call."""
    if rounds > 1:
        call()
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return median(times)


def mean(x, axis):
    return x.mean(axis=axis)


def gap(x, y, axis):
    return x.mean(axis=axis) - y.mean(axis=axis)


def scipy_flips(d, resamples):
    return lambda: stats.permutation_test(
        (d,), mean, permutation_type="samples", vectorized=True, n_resamples=resamples,
        rng=np.random.default_rng(9),
    )  # fmt: skip


def scipy_labels(a, b, resamples):
    return lambda: stats.permutation_test((a, b), gap, vectorized=True, n_resamples=resamples)


def scipy_signed_ranks(d):
    return lambda: stats.wilcoxon(d, method=stats.PermutationMethod(n_resamples=10**6))


def report_of_intervals(n: int) -> None:
    """Compute every interval of one outcome of a report, with nothing remembered."""
    paired_lower_limit.cache_clear()
    groups_lower_limit.cache_clear()
    a, b = RNG.integers(4, 30, n) / 2, RNG.integers(6, 34, n) / 2
    for function in (
        paired.mean_difference,
        paired.typical_difference,
        paired.standardised_difference,
        paired.standardised_by_sd_of_differences,
        paired.ratio,
        independent.mean_difference,
        independent.typical_shift,
        independent.standardised_difference,
        independent.ratio,
    ):
        function(a, b, step=0.5)
    for function in (
        paired.t_mean_difference,
        paired.probability_a_higher,
        paired.sd_of_differences,
        paired.correlation,
        independent.probability_a_higher,
    ):
        function(a, b)
    adjusted_difference(a - b, np.arange(n) % 2 == 0, np.arange(n) % 4 < 2)
    proportions.paired_risk_difference(3, 1, n)
    proportions.risk_difference(4, n, 2, n)
    proportions.zero_events_upper_limit(n)


def rows() -> list[dict[str, object]]:
    """Task, peer, seconds of both; a peer of None cannot do it."""
    flips = RNG.normal(0.3, 1, 20)
    whole, long_real = RNG.integers(-4, 7, 200).astype(float), RNG.normal(0.3, 1, 44)
    ties = np.array([1, 1, -1, 2, 2, 3, -3, 3, 4, 4, -2, 5.0])
    a12, b12 = RNG.normal(0.8, 1, 12), RNG.normal(0, 1, 12)
    a20, b20 = RNG.normal(0.8, 1, 20), RNG.normal(0, 1, 20)
    a8, b8 = a12[:8], b12[:8]
    pair_a, pair_b = RNG.normal(0.5, 1, 12), RNG.normal(0, 1, 12)
    tasks = [
        (
            "sign-flip, exact, 12 real",
            "scipy exact",
            lambda: sign_flip_test(flips[:12]),
            scipy_flips(flips[:12], np.inf),
            3,
        ),
        (
            "sign-flip, exact, 20 real",
            "scipy exact",
            lambda: sign_flip_test(flips),
            scipy_flips(flips, np.inf),
            1,
        ),
        ("sign-flip, exact, 44 real", None, lambda: sign_flip_test(long_real), None, 0),
        (
            "sign-flip, exact, 200 whole numbers",
            "scipy 9,999 draws",
            lambda: sign_flip_test(whole),
            scipy_flips(whole, 9999),
            5,
        ),
        (
            "signed ranks, exact, ties, 12",
            "scipy exact",
            lambda: signed_rank_test(ties),
            scipy_signed_ranks(ties),
            1,
        ),
        (
            "labels, exact, 8 and 8 real",
            "scipy exact",
            lambda: label_test(a8, b8),
            scipy_labels(a8, b8, np.inf),
            3,
        ),
        (
            "labels, exact, 12 and 12 real",
            "scipy exact",
            lambda: label_test(a12, b12),
            scipy_labels(a12, b12, np.inf),
            1,
        ),
        ("labels, exact, 20 and 20 real", None, lambda: label_test(a20, b20), None, 0),
        (
            "BCa, 10,000 resamples, 12 pairs",
            "scipy",
            lambda: bootstrap_mean_difference(pair_a, pair_b, seed=1),
            lambda: stats.bootstrap(
                (pair_a - pair_b,),
                mean,
                n_resamples=10_000,
                vectorized=True,
                rng=np.random.default_rng(1),
            ),
            9,
        ),
        ("every interval of a report, 12 clients", None, lambda: report_of_intervals(12), None, 0),
        ("every interval of a report, 20 clients", None, lambda: report_of_intervals(20), None, 0),
    ]
    found = []
    for task, peer, ours, theirs, rounds in tasks:
        own = seconds(ours, 9)
        other = seconds(theirs, rounds) if theirs else None
        found.append({"task": task, "peer": peer, "ours": own, "theirs": other})
        print(task, own, other, other and other / own, flush=True)
    return found


if __name__ == "__main__":
    rows()
