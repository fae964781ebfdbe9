"""The same numbers from scipy, statsmodels and pingouin, where they answer."""

from fractions import Fraction

import numpy as np
import pandas as pd
import pingouin as pg
import pytest
import statsmodels.api as sm
from scipy import stats
from statsmodels.stats.contingency_tables import mcnemar
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

from pmulab.estimate import independent, paired, proportions
from pmulab.estimate.bootstrap import bootstrap_mean_difference
from pmulab.estimate.order import adjusted_difference, order_adjusted_difference
from pmulab.estimate.permutation import signed_rank_test
from pmulab.estimate.proportions import paired_risk_difference
from pmulab.estimate.shift import small_sample_factor
from pmulab.estimate.unconditional import paired_p

RNG = np.random.default_rng(20)
A, B = RNG.gamma(3, 2, 13), RNG.gamma(4, 2, 13)
C = RNG.normal(9, 3, 9)


def limits(estimate):
    assert estimate.interval is not None
    return estimate.interval.low, estimate.interval.high


def test_paired_t_as_scipy():
    expected = stats.ttest_rel(A, B)

    assert paired.t_test(A, B).p == pytest.approx(expected.pvalue)
    assert limits(paired.t_mean_difference(A, B)) == pytest.approx(
        tuple(expected.confidence_interval())
    )


@pytest.mark.parametrize("level", [0.8, 0.9, 0.99])
def test_welch_as_scipy(level):
    expected = stats.ttest_ind(A, C, equal_var=False)
    test = independent.welch_test(A, C)

    assert (test.p, test.df) == pytest.approx((expected.pvalue, expected.df))
    assert limits(independent.welch_mean_difference(A, C, level)) == pytest.approx(
        tuple(expected.confidence_interval(level))
    )


def test_pooled_t_as_scipy():
    expected = stats.ttest_ind(A, C)

    assert independent.t_test(A, C).p == pytest.approx(expected.pvalue)


def test_correlation_as_scipy():
    expected = stats.pearsonr(A, B)

    assert paired.correlation(A, B).value == pytest.approx(expected.statistic)
    assert limits(paired.correlation(A, B)) == pytest.approx(tuple(expected.confidence_interval()))


def test_spread_of_differences_by_chi_squared():
    d = A - B
    low, high = np.sqrt(12 * d.var(ddof=1) / stats.chi2.ppf([0.975, 0.025], 12))

    assert limits(paired.sd_of_differences(A, B)) == pytest.approx((low, high))


def test_order_and_side_as_ordinary_least_squares():
    d = RNG.normal(1, 2, 11)
    first, left = RNG.permutation(11) < 5, RNG.permutation(11) < 6
    table = pd.DataFrame({"first": np.where(first, 1, -1), "left": np.where(left, 1, -1)})
    fit = sm.OLS(d, sm.add_constant(table)).fit()

    adjusted = adjusted_difference(d, first, left)

    for estimate, name in zip(
        (adjusted.effect, adjusted.order, adjusted.side), ("const", "first", "left"), strict=True
    ):
        assert estimate.value == pytest.approx(fit.params[name])
        assert limits(estimate) == pytest.approx(tuple(fit.conf_int().loc[name]))


def test_order_alone_as_the_half_sum_of_sequence_means():
    d, first = RNG.normal(1, 2, 11), np.arange(11) < 4
    pooled = stats.ttest_ind(d[first], -d[~first])

    estimate = order_adjusted_difference(d, first)

    assert estimate.value == pytest.approx((d[first].mean() + d[~first].mean()) / 2)
    assert limits(estimate) == pytest.approx(
        tuple(limit / 2 for limit in pooled.confidence_interval())
    )


def test_standardised_by_sd_of_differences_as_pingouin():
    value = (A - B).mean() / (A - B).std(ddof=1)
    expected = pg.compute_esci(value, 13, 13, paired=True, eftype="cohen", decimals=9)

    estimate = paired.standardised_by_sd_of_differences(A, B)

    assert estimate.value == pytest.approx(value)
    assert limits(estimate) == pytest.approx(tuple(expected))


def test_hedges_g_as_pingouin_but_for_its_rounded_factor():
    expected = pg.compute_effsize(A, C, eftype="hedges")
    rounded, exact = 1 - 3 / (4 * 20 - 1), small_sample_factor(20)

    assert independent.standardised_difference(A, C).value == pytest.approx(
        expected / rounded * exact, rel=1e-3
    )


@pytest.mark.parametrize(("yes", "n"), [(0, 7), (3, 9), (9, 9), (11, 40)])
def test_single_proportions_as_statsmodels(yes, n):
    wilson = proportion_confint(yes, n, method="wilson")
    exact = proportion_confint(yes, n, method="beta")

    assert limits(proportions.single_proportion(yes, n)) == pytest.approx(wilson, abs=1e-12)
    assert limits(proportions.exact_proportion(yes, n)) == pytest.approx(exact, abs=1e-12)


@pytest.mark.parametrize("table", [(9, 10, 3, 10), (5, 12, 4, 9), (14, 20, 17, 22)])
def test_risk_differences_as_statsmodels(table):
    """Only the hybrid: its score interval of the difference disagrees with the published ones."""
    newcombe = confint_proportions_2indep(*table, method="newcomb", compare="diff")

    assert limits(proportions.newcombe_risk_difference(*table)) == pytest.approx(newcombe)


@pytest.mark.parametrize(("only_a", "only_b"), [(0, 6), (2, 9), (5, 5), (0, 1)])
def test_mcnemar_as_statsmodels(only_a, only_b):
    expected = mcnemar([[4, only_a], [only_b, 3]], exact=True)

    got = proportions.mcnemar_test(only_a, only_b, 7 + only_a + only_b)

    assert got.p == pytest.approx(expected.pvalue)


def pooled_score_squared(x, n, y, m):
    share = Fraction(x + y, n + m)
    variance = share * (1 - share) * (Fraction(1, n) + Fraction(1, m))
    return (Fraction(x, n) - Fraction(y, m)) ** 2 / variance if variance else Fraction(0)


@pytest.mark.parametrize("table", [(9, 10, 3, 10), (5, 12, 4, 9), (7, 8, 2, 11)])
def test_unconditional_test_by_binomial_tables(table):
    """Lloyd's p-value, estimated at the pooled rate and then maximised, from binomial tables.

    scipy's barnard_exact, in the order of the score, loses tables tied with the one seen: 0.0069
    for 0.0080 in the first.
    """
    yes, n, other, m = table
    tables = [(i, j) for i in range(n + 1) for j in range(m + 1)]
    scores = [pooled_score_squared(i, n, j, m) for i, j in tables]

    def chance(rates, extreme):
        return sum(
            stats.binom.pmf(i, n, rates) * stats.binom.pmf(j, m, rates)
            for (i, j), one in zip(tables, extreme, strict=True)
            if one
        )

    estimated = [
        chance((i + j) / (n + m), [one >= score for one in scores])
        for (i, j), score in zip(tables, scores, strict=True)
    ]
    seen = estimated[tables.index((yes, other))]
    chances = chance(np.linspace(0.0005, 0.9995, 2000), [e <= seen + 1e-9 for e in estimated])

    assert proportions.risk_difference_test(*table).p == pytest.approx(chances.max(), rel=1e-5)


def test_paired_unconditional_p_by_drawing():
    """At a third base rate the chance of as extreme a table cannot exceed the p-value."""
    n, only_a, only_b, difference = 10, 5, 1, 0.1
    p = paired_p(only_a, only_b, n, difference)
    for share in (0.05, 0.2, 0.4):
        draws = RNG.multinomial(n, [share + difference, share, 0.9 - 2 * share], 40_000)
        seen = np.array([paired_p(*row, n, difference) for row in np.unique(draws[:, :2], axis=0)])
        rows, counted = np.unique(draws[:, :2], axis=0, return_counts=True)
        assert len(rows) == len(seen)
        assert counted[seen <= p + 1e-12].sum() / 40_000 <= p + 0.005


@pytest.mark.parametrize("n", [5, 6, 9, 13])
def test_typical_difference_by_search_of_the_signed_rank_test(n):
    d = RNG.gamma(2, 1, n)
    low, high = limits(paired.typical_difference(d, np.zeros(n)))
    alpha = max(0.05, 2 / 2**n)
    for inside, outside in ((low + 1e-9, low - 1e-9), (high - 1e-9, high + 1e-9)):
        if n > 5:
            assert signed_rank_test(d - outside).p <= alpha < signed_rank_test(d - inside).p


@pytest.mark.parametrize(("n_a", "n_b"), [(4, 4), (5, 8), (9, 7)])
def test_typical_shift_by_search_of_the_rank_sum_test(n_a, n_b):
    a, b = RNG.gamma(2, 1, n_a), RNG.normal(0, 1, n_b)
    low, high = limits(independent.typical_shift(a, b))
    for inside, outside in ((low + 1e-9, low - 1e-9), (high - 1e-9, high + 1e-9)):
        rejected = stats.mannwhitneyu(a - outside, b, method="exact").pvalue
        kept = stats.mannwhitneyu(a - inside, b, method="exact").pvalue
        assert rejected <= 0.05 < kept


def test_bca_as_scipy_within_resampling_error():
    expected = stats.bootstrap(
        (A - B,), np.mean, n_resamples=50_000, rng=np.random.default_rng(0)
    ).confidence_interval
    got = limits(bootstrap_mean_difference(A, B, seed=3, resamples=50_000))

    assert got == pytest.approx(tuple(expected), abs=0.02 * (expected.high - expected.low))


def test_chance_within_clients_is_the_risk_difference_of_higher_and_lower():
    a, b = [5, 4, 3, 3, 2, 1, 7, 8], [4, 4, 1, 3, 3, 0, 2, 1]
    low, high = limits(paired_risk_difference(5, 1, 8))

    estimate = paired.probability_a_higher(a, b)

    assert estimate.value == (5 + 2 / 2) / 8
    assert limits(estimate) == ((1 + low) / 2, (1 + high) / 2)


def test_chance_between_groups_of_yes_and_no_is_their_risk_difference():
    low, high = limits(proportions.risk_difference(5, 6, 2, 8))

    estimate = independent.probability_a_higher([1] * 5 + [0], [1] * 2 + [0] * 6)

    assert limits(estimate) == ((1 + low) / 2, (1 + high) / 2)


def test_complete_separation_leaves_a_chance_below_one():
    estimate = independent.probability_a_higher([5, 6, 7, 8, 9], [1, 2, 3, 4, 4.5])

    assert estimate.value == 1
    assert 0.5 < estimate.interval.low < 1
    assert estimate.interval.high == 1


def test_one_client_who_jumps_is_noticed_and_the_typical_difference_leads():
    a = np.array([1.0, 0.4, 1.3, 0.8, 0.6, 1.1, 0.9, 0.5, 14.0, 0.7])
    lead, mean = paired.leading_difference(a, np.zeros(10)), paired.mean_difference(a, np.zeros(10))

    assert "1 of the differences lies far above the rest" in mean.note
    assert "Hodges-Lehmann" in lead.method
    assert lead.note == mean.note
    assert paired.leading_difference(a[:8], np.zeros(8)).method == "mean"
