"""Exact p-values against plain listing of every arrangement and against scipy."""

from itertools import combinations, product

import numpy as np
import pytest
from scipy import stats

from pmulab.estimate.permutation import (
    label_test,
    rank_sum_test,
    sign_flip_test,
    signed_rank_test,
)
from pmulab.estimate.subset_sums import common_step, share_of_flips, share_of_labels

RNG = np.random.default_rng(11)


def listed_flips(d):
    d = np.asarray(d, dtype=float)
    sums = np.array([np.dot(signs, d) for signs in product((-1, 1), repeat=d.size)])
    return np.mean(np.abs(sums) >= abs(d.sum()) - 1e-9 * np.abs(d).sum())


def listed_labels(a, b):
    pooled = np.concatenate((a, b))
    everyone = range(pooled.size)
    gaps = []
    for chosen in combinations(everyone, len(a)):
        rest = [i for i in everyone if i not in chosen]
        gaps.append(pooled[list(chosen)].mean() - pooled[rest].mean())
    seen = np.mean(a) - np.mean(b)
    return np.mean(np.abs(gaps) >= abs(seen) - 1e-9)


@pytest.mark.parametrize("n", [1, 2, 3, 5, 8, 11])
@pytest.mark.parametrize(
    "draw",
    [lambda n: RNG.normal(0.5, 1, n), lambda n: RNG.integers(-2, 5, n) / 10],
    ids=["real", "tied"],
)
def test_sign_flips_equal_the_full_list(n, draw):
    d = draw(n)

    assert sign_flip_test(d).p == pytest.approx(listed_flips(d), rel=1e-12)


@pytest.mark.parametrize(("n_a", "n_b"), [(1, 1), (1, 4), (3, 3), (4, 6), (6, 5)])
@pytest.mark.parametrize(
    "draw",
    [lambda n: RNG.normal(0.5, 1, n), lambda n: RNG.integers(0, 4, n) / 2],
    ids=["real", "tied"],
)
def test_labels_equal_the_full_list(n_a, n_b, draw):
    a, b = draw(n_a), draw(n_b)

    assert label_test(a, b).p == pytest.approx(listed_labels(a, b), rel=1e-12)


def test_decimals_that_are_ties_on_paper_are_ties():
    """0.1 + 0.2 and 0.3 differ in binary; as a total of minutes they are the same."""
    d = [0.1, 0.2, -0.3, 0.3]

    assert sign_flip_test(d).p == listed_flips([1, 2, -3, 3])


def test_adding_a_large_constant_to_both_groups_changes_nothing():
    a, b = np.array([0.1, 0.4, 0.3]), np.array([0.2, 0.1, 0.0, 0.1])

    assert label_test(a + 1e6, b + 1e6).p == pytest.approx(label_test(a, b).p)


@pytest.mark.parametrize("n", [23, 30, 44])
def test_shift_counting_and_meeting_in_the_middle_agree(n):
    whole = RNG.integers(-3, 6, n).astype(float)
    whole = whole[whole != 0]
    almost = whole + RNG.normal(0, 1e-6, whole.size)  # no common step: listed in halves
    total = abs(whole.sum()) + 1

    assert common_step(whole) > 0
    assert common_step(almost) == 0
    counted = share_of_flips(whole, total)
    assert share_of_flips(almost, total + 1e-4) <= counted
    assert counted <= share_of_flips(almost, total - 1e-4)


@pytest.mark.parametrize("n", [11, 15])
def test_both_ways_of_counting_labels_agree(n):
    whole = RNG.integers(0, 7, 2 * n).astype(float)
    centred = whole - whole.mean()
    almost = centred + RNG.normal(0, 1e-7, 2 * n)
    total = abs(centred[:n].sum()) + 1

    counted = share_of_labels(centred, n, total)

    rounding = 1 + 1e-12
    assert share_of_labels(almost, n, total + 1e-4) <= counted * rounding
    assert counted <= share_of_labels(almost, n, total - 1e-4) * rounding


def test_beyond_44_real_values_the_p_is_an_upper_bound_close_by():
    d = RNG.normal(0.25, 1, 60)
    d[d == 0] = 1
    test = sign_flip_test(d)

    assert "conservative" in test.method
    signs = RNG.integers(0, 2, (200_000, 60)) * 2 - 1
    drawn = np.mean(np.abs(signs @ d) >= abs(d.sum()))
    assert drawn - 0.003 <= test.p <= drawn + 0.004


def test_common_step_does_not_depend_on_the_unit():
    half_minutes = np.array([1.5, -2.0, 3.5, 0.5, 4.0])

    assert common_step(half_minutes) == pytest.approx(0.5)
    assert common_step(half_minutes * 60) == pytest.approx(30)
    assert common_step(half_minutes / 7) == pytest.approx(0.5 / 7)
    assert common_step(RNG.normal(size=6)) == 0


@pytest.mark.parametrize("n", [6, 9, 12])
def test_signed_ranks_without_ties_equal_scipy(n):
    d = RNG.normal(0.4, 1, n)

    assert signed_rank_test(d).p == pytest.approx(stats.wilcoxon(d, method="exact").pvalue)


def test_signed_ranks_with_ties_equal_the_full_list_of_mean_ranks():
    d = np.array([1, 1, -1, 2, 2, 3, -3, 3, 0])
    ranks = stats.rankdata(np.abs(d[d != 0])) * np.sign(d[d != 0])

    assert signed_rank_test(d).p == pytest.approx(listed_flips(ranks))


@pytest.mark.parametrize("n", [5, 8, 10])
def test_rank_sums_without_ties_equal_scipy(n):
    a, b = RNG.normal(0.6, 1, n), RNG.normal(0, 1, n - 1)
    expected = stats.mannwhitneyu(a, b, method="exact")

    assert rank_sum_test(a, b).p == pytest.approx(expected.pvalue)
    assert rank_sum_test(a, b).statistic == expected.statistic


@pytest.mark.parametrize("n", range(1, 60, 7))
def test_no_p_is_smaller_than_the_smallest_said(n):
    d = np.abs(RNG.normal(1, 0.2, n))
    flips, labels = sign_flip_test(d), label_test(d + 10, -d)

    assert flips.p >= flips.smallest_p * (1 - 1e-12) > 0
    assert labels.p >= labels.smallest_p * (1 - 1e-12) > 0


def test_thousands_of_clients_never_give_zero():
    assert sign_flip_test(np.ones(5000)).p > 0
