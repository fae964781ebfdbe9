"""What every interval does, whatever the data: holds its estimate, mirrors, scales."""

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from pmulab.estimate import independent, paired
from pmulab.estimate.permutation import label_test, rank_sum_test, sign_flip_test, signed_rank_test
from pmulab.estimate.proportions import paired_risk_difference, risk_difference

SCORES = st.integers(0, 10).map(float)
MINUTES = st.integers(10, 80).map(lambda half: half / 2)
REAL = st.floats(0.5, 1000, allow_nan=False, width=32)
VALUE = st.sampled_from([SCORES, MINUTES, REAL])

PAIRED = [
    paired.mean_difference,
    paired.t_mean_difference,
    paired.typical_difference,
    paired.standardised_difference,
    paired.standardised_by_sd_of_differences,
]
GROUPS = [
    independent.mean_difference,
    independent.welch_mean_difference,
    independent.typical_shift,
    independent.standardised_difference,
]
STANDARDISED = {
    paired.standardised_difference,
    paired.standardised_by_sd_of_differences,
    independent.standardised_difference,
}


@st.composite
def two_columns(draw, least=5, most=22):
    n = draw(st.integers(least, most))
    column = st.lists(draw(VALUE), min_size=n, max_size=n)
    return np.array(draw(column)), np.array(draw(column))


def numbers(estimate):
    assert estimate.interval is not None
    return np.array([estimate.value, estimate.interval.low, estimate.interval.high])


def answered(function, a, b):
    estimate = function(a, b)
    assume(estimate.interval is not None)
    return numbers(estimate)


def close(got, expected, scale=1.0):
    np.testing.assert_allclose(got, expected, rtol=1e-6, atol=1e-6 * scale)


each = pytest.mark.parametrize(
    "function", PAIRED + GROUPS, ids=lambda f: f"{f.__module__[17:]}.{f.__name__}"
)
quick = settings(max_examples=40, deadline=None)


@each
@quick
@given(columns=two_columns())
@example(columns=(np.array([0.0] * 19 + [10.0]), np.zeros(20)))
@example(columns=(np.linspace(0, 1, 17), np.zeros(17)))
@example(columns=(np.array([0.0] * 18 + [1.0, -1.0]), np.zeros(20)))
@example(columns=(np.ones(20), np.zeros(20)))
@example(columns=(np.array([1e9, 2e9] * 10), np.zeros(20)))
def test_the_interval_holds_the_estimate(function, columns):
    value, low, high = answered(function, *columns)

    assert low <= value <= high
    assert low < high


@each
@quick
@given(columns=two_columns())
def test_swapping_the_arms_mirrors(function, columns):
    a, b = columns
    value, low, high = answered(function, a, b)

    close(answered(function, b, a), [-value, -high, -low], np.abs(a).max() + np.abs(b).max())


@each
@quick
@given(
    columns=two_columns(), factor=st.sampled_from([60.0, 1 / 60, 0.3937]), shift=st.integers(0, 9)
)
def test_a_change_of_unit_scales(function, columns, factor, shift):
    a, b = columns
    expected = answered(function, a, b) * (1 if function in STANDARDISED else factor)

    got = answered(function, factor * (a + shift), factor * (b + shift))

    close(got, expected, factor * (np.abs(a).max() + np.abs(b).max() + shift))


@each
@quick
@given(columns=two_columns(), seed=st.integers(0, 99))
def test_the_order_of_the_rows_does_not_matter(function, columns, seed):
    a, b = columns
    order = np.random.default_rng(seed).permutation(a.size)

    close(answered(function, a[order], b[order]), answered(function, a, b), np.abs(a).max() + 1)


@quick
@given(columns=two_columns())
def test_ratio_is_turned_over_by_swapping_the_arms(columns):
    a, b = columns[0] + 1, columns[1] + 1
    value, low, high = answered(paired.ratio, a, b)

    close(answered(paired.ratio, b, a), [1 / value, 1 / high, 1 / low])


@quick
@given(columns=two_columns())
def test_chances_of_the_two_arms_add_up_to_one(columns):
    a, b = columns
    for function in (paired.probability_a_higher, independent.probability_a_higher):
        value, low, high = numbers(function(a, b))

        assert 0 <= low <= value <= high <= 1
        assert low < high
        close(numbers(function(b, a)), [1 - value, 1 - high, 1 - low])


@quick
@given(columns=two_columns(least=2))
def test_p_values_lie_between_their_smallest_and_one_and_ignore_the_unit(columns):
    a, b = columns
    for test, arguments, scaled in (
        (sign_flip_test, (a - b,), (0.3937 * (a - b),)),
        (signed_rank_test, (a - b,), (60 * (a - b),)),
        (label_test, (a, b), (0.3937 * a, 0.3937 * b)),
        (rank_sum_test, (a, b), (b, a)),
    ):
        result = test(*arguments)

        assert 0 < result.smallest_p <= result.p * (1 + 1e-9)
        assert result.p <= 1
        assert test(*scaled).p == pytest.approx(result.p, rel=1e-6)


@quick
@given(columns=two_columns(least=6, most=16))
def test_the_headline_holds_every_mean_that_sign_flips_do_not_reject(columns):
    a, b = columns
    _, low, high = answered(paired.mean_difference, a, b)
    d, width = a - b, high - low

    for mean in (low - 0.01 * width, high + 0.01 * width):
        assert sign_flip_test(d - mean).p <= 0.05 + 1e-9


@quick
@given(columns=two_columns(), level=st.sampled_from([0.9, 0.95, 0.99]))
def test_the_headline_is_never_narrower_than_t_nor_surer_than_was_asked(columns, level):
    for headline, plain in (
        (paired.mean_difference, paired.t_mean_difference),
        (independent.mean_difference, independent.welch_mean_difference),
    ):
        ours = headline(*columns, level=level).interval
        student = plain(*columns, level=level).interval
        assume(ours is not None and student is not None)

        assert ours.high - ours.low >= (student.high - student.low) * (1 - 1e-6)
        assert ours.level <= level


@quick
@given(columns=two_columns(least=5, most=6))
def test_at_five_and_six_pairs_the_headline_holds_t_and_every_difference(columns):
    a, b = columns
    _, low, high = answered(paired.mean_difference, a, b)
    _, of_t, to_t = answered(paired.t_mean_difference, a, b)
    slack = 1e-9 * (np.abs(a).max() + np.abs(b).max())

    assert low <= min(of_t, (a - b).min()) + slack
    assert high >= max(to_t, (a - b).max()) - slack


@quick
@given(columns=two_columns(least=4, most=9))
def test_the_headline_holds_every_shift_that_labels_do_not_reject(columns):
    a, b = columns
    _, low, high = answered(independent.mean_difference, a, b)
    width = high - low

    for shift in (low - 0.01 * width, high + 0.01 * width):
        assert label_test(a - shift, b).p <= 0.05 + 1e-9


@quick
@given(n=st.integers(1, 14), data=st.data())
def test_yes_no_intervals_mirror_and_hold_the_estimate(n, data):
    only_a = data.draw(st.integers(0, n))
    only_b = data.draw(st.integers(0, n - only_a))
    for function, arguments, swapped in (
        (paired_risk_difference, (only_a, only_b, n), (only_b, only_a, n)),
        (risk_difference, (only_a, n, only_b, n), (only_b, n, only_a, n)),
    ):
        value, low, high = numbers(function(*arguments))

        assert -1 <= low <= value <= high <= 1
        assert low < high
        close(numbers(function(*swapped)), [-value, -high, -low])
