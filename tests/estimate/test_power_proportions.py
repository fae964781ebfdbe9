"""Power of two proportions, against scipy's exact test and statsmodels' score test, table by table;
and the sign-flip power beside the known power of t."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.proportion import test_proportions_2indep as score_test

from pmulab.estimate import power_curves
from pmulab.estimate.power_proportions import clients_for_two_proportions, power_two_proportions
from pmulab.estimate.power_signflip import power_signflip
from pmulab.estimate.proportions import risk_difference

quick = settings(max_examples=30, deadline=None)
SHARES = st.floats(0, 1)


def listed(n, share_a, share_b, rejects):
    """Power by listing all tables, one decision each."""
    return sum(
        stats.binom.pmf(yes_a, n, share_a) * stats.binom.pmf(yes_b, n, share_b)
        for yes_a, yes_b in itertools.product(range(n + 1), repeat=2)
        if rejects(yes_a, yes_b)
    )


@pytest.mark.parametrize(("n", "a", "b"), [(4, 0.9, 0.1), (6, 0.7, 0.1), (9, 0.6, 0.15)])
def test_small_arms_decide_as_barnards_test_of_scipy(n, a, b):
    def rejects(yes_a, yes_b):
        table = [[yes_a, yes_b], [n - yes_a, n - yes_b]]
        return 0 < yes_a + yes_b < 2 * n and stats.barnard_exact(table).pvalue <= 0.05

    assert power_two_proportions(n, a, b).power == pytest.approx(listed(n, a, b, rejects))


@pytest.mark.parametrize(("n", "a", "b"), [(7, 0.8, 0.2), (31, 0.5, 0.2)])
def test_power_is_how_often_the_interval_leaves_out_zero(n, a, b):
    def rejects(yes_a, yes_b):
        interval = risk_difference(yes_a, n, yes_b, n).interval
        return not interval.low <= 0 <= interval.high

    assert power_two_proportions(n, a, b).power == pytest.approx(listed(n, a, b, rejects))


def test_beyond_sixty_clients_decides_as_the_score_test_of_statsmodels():
    n, a, b = 31, 0.45, 0.2

    def rejects(yes_a, yes_b):
        if yes_a == yes_b:
            return False
        with np.errstate(divide="ignore", invalid="ignore"):  # statsmodels also forms the ratio
            return score_test(yes_a, n, yes_b, n, compare="diff", method="score").pvalue < 0.05

    assert power_two_proportions(n, a, b).power == pytest.approx(listed(n, a, b, rejects))


@quick
@given(n=st.integers(1, 30), share=SHARES)
def test_the_exact_test_never_errs_more_often_than_allowed(n, share):
    assert power_two_proportions(n, share, share).power <= 0.05


@quick
@given(n=st.integers(1, 40), a=SHARES, b=SHARES)
def test_power_is_the_same_for_yes_and_no_and_for_both_arms(n, a, b):
    power = power_two_proportions(n, a, b).power

    assert power_two_proportions(n, b, a).power == pytest.approx(power, abs=1e-9)
    assert power_two_proportions(n, 1 - a, 1 - b).power == pytest.approx(power, abs=1e-9)


def test_two_clients_in_each_arm_cannot_answer_and_three_can():
    """By listing: all against none has chance 2 / 2**4 and 2 / 2**6 at even odds."""
    assert "0.125" in power_two_proportions(2, 1.0, 0.0).note
    assert power_two_proportions(2, 1.0, 0.0).power == 0
    assert power_two_proportions(3, 1.0, 0.0).power == 1


@pytest.mark.parametrize(("a", "b"), [(0.5, 0.1), (0.35, 0.15), (0.05, 0.25), (1.0, 0.0)])
def test_clients_for_two_proportions_keep_the_power(a, b):
    found = clients_for_two_proportions(a, b)

    assert power_two_proportions(found.n - 1, a, b).power < 0.8
    assert all(power_two_proportions(found.n + k, a, b).power >= 0.8 for k in range(30))


def test_many_clients_come_from_the_formula_which_the_listing_confirms():
    found = clients_for_two_proportions(0.5, 0.35)

    assert "approximation" in found.method
    assert power_two_proportions(found.n, 0.5, 0.35).power == pytest.approx(0.8, abs=0.01)


@pytest.mark.parametrize(
    "call",
    [
        lambda: power_two_proportions(0, 0.5, 0.5),
        lambda: power_two_proportions(5, 1.5, 0.5),
        lambda: power_two_proportions(5, 0.2, 0.5, alpha=1),
        lambda: clients_for_two_proportions(0.5, 0.5),
        lambda: clients_for_two_proportions(0.5, -0.1),
        lambda: clients_for_two_proportions(0.5, 0.1, 1.0),
    ],
)
def test_impossible_questions_are_refused(call):
    with pytest.raises(ValueError, match="must"):
        call()


SIZES = (4, 5, 6, 8, 12, 20)


def test_sign_flip_power_meets_a_large_simulation():
    found = power_signflip(SIZES, 0.9)

    draws = power_curves.normal_trials(0.9, 20, 20_000, np.random.default_rng(99))
    large = power_curves.signflip_power_curve(draws, SIZES)
    # three standard errors: about .0035 each here, at most .011 for six clients
    for one, other in zip(found, large, strict=True):
        assert one.power == pytest.approx(other.power, abs=0.03 if one.n < 8 else 0.015)


def test_six_clients_are_seen_when_all_lean_one_way():
    """The only patterns below 5 % are the two extreme ones: an exact power exists."""
    six = power_signflip((6,), 0.9)[0]

    one_way = stats.norm.cdf(0.9)
    assert six.power == pytest.approx(one_way**6 + (1 - one_way) ** 6, abs=0.03)


def test_four_and_five_clients_have_no_sign_flip_power_and_say_so():
    four, five = power_signflip((4, 5), 3.0)

    assert (four.power, five.power) == (0, 0)
    assert (four.smallest_p, five.smallest_p) == (0.125, 0.0625)
    assert "0.125" in four.note
