"""Ours and the peers' on the same data, for pytest-benchmark to time; no time is asserted."""

import numpy as np
import pytest
from scipy import stats

from pmulab.estimate.bootstrap import bootstrap_mean_difference
from pmulab.estimate.permutation import label_test, sign_flip_test, signed_rank_test

from . import speed

pytestmark = pytest.mark.bench

RNG = np.random.default_rng(9)
FLIPS, A, B = RNG.normal(0.3, 1, 12), RNG.normal(0.6, 1, 8), RNG.normal(0, 1, 8)
WHOLE = RNG.integers(-4, 7, 60).astype(float)
TIES = np.array([1, 1, -1, 2, 2, 3, -3, 3])


@pytest.mark.benchmark(group="sign-flip, exact, 12 real values")
@pytest.mark.parametrize("who", ["ours", "scipy"])
def test_sign_flips(benchmark, who):
    call = {"ours": lambda: sign_flip_test(FLIPS), "scipy": speed.scipy_flips(FLIPS, np.inf)}
    answer = benchmark.pedantic(call[who], rounds=3, warmup_rounds=1)

    p = answer.p if who == "ours" else answer.pvalue
    assert p == pytest.approx(speed.scipy_flips(FLIPS, np.inf)().pvalue)


@pytest.mark.benchmark(group="labels, exact, 8 and 8 real values")
@pytest.mark.parametrize("who", ["ours", "scipy"])
def test_labels(benchmark, who):
    call = {"ours": lambda: label_test(A, B), "scipy": speed.scipy_labels(A, B, np.inf)}
    answer = benchmark.pedantic(call[who], rounds=2, warmup_rounds=1)

    p = answer.p if who == "ours" else answer.pvalue
    assert p == pytest.approx(label_test(A, B).p)


@pytest.mark.benchmark(group="signed ranks, exact, ties, 8")
@pytest.mark.parametrize("who", ["ours", "scipy"])
def test_signed_ranks(benchmark, who):
    call = {"ours": lambda: signed_rank_test(TIES), "scipy": speed.scipy_signed_ranks(TIES)}
    answer = benchmark.pedantic(call[who], rounds=2, warmup_rounds=1)

    p = answer.p if who == "ours" else answer.pvalue
    assert p == pytest.approx(signed_rank_test(TIES).p)


@pytest.mark.benchmark(group="sign-flip, 60 whole numbers")
@pytest.mark.parametrize("who", ["ours, exact", "scipy, 9,999 draws"])
def test_long_sign_flips(benchmark, who):
    call = {"ours, exact": lambda: sign_flip_test(WHOLE)}.get(who, speed.scipy_flips(WHOLE, 9999))
    answer = benchmark.pedantic(call, rounds=2, warmup_rounds=1)

    p = answer.p if who.startswith("ours") else answer.pvalue
    assert abs(p - sign_flip_test(WHOLE).p) < 0.02


@pytest.mark.benchmark(group="BCa, 10,000 resamples, 12 pairs")
@pytest.mark.parametrize("who", ["ours", "scipy"])
def test_bca(benchmark, who):
    zeros = np.zeros(12)
    call = {
        "ours": lambda: bootstrap_mean_difference(FLIPS, zeros, seed=1).interval,
        "scipy": lambda: (
            stats.bootstrap((FLIPS,), np.mean, n_resamples=10_000, rng=RNG).confidence_interval
        ),
    }
    answer = benchmark.pedantic(call[who], rounds=5, warmup_rounds=1)

    assert answer.low < FLIPS.mean() < answer.high


@pytest.mark.benchmark(group="every interval of a report, 12 clients")
def test_report(benchmark):
    benchmark.pedantic(speed.report_of_intervals, args=(12,), rounds=3, warmup_rounds=1)
