"""Agreement, against pingouin, scikit-free hand counts and published worked examples."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from scipy import stats

from pmulab.estimate import agreement, blinding, krippendorff, measurement_error

untimed = settings(deadline=None)  # the first call imports scipy

SHROUT_FLEISS = [
    [9, 2, 5, 8],
    [6, 1, 3, 2],
    [8, 4, 6, 8],
    [7, 1, 2, 6],
    [10, 5, 6, 9],
    [6, 2, 4, 7],
]
GRADES = st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), min_size=1, max_size=30)
RATINGS = arrays.arrays(
    np.float64,
    st.tuples(st.integers(3, 8), st.integers(2, 4)),
    elements=st.integers(0, 4).map(float),
)
PARTS = ("one_way", "absolute", "consistent", "one_way_mean", "absolute_mean", "consistent_mean")


def test_icc_intervals_of_the_shrout_fleiss_data() -> None:
    """Limits as R package psych prints them for this table (from memory, two decimals)."""
    answer = agreement.intraclass_correlations(SHROUT_FLEISS)

    limits = [
        (part.interval.low, part.interval.high)
        for part in (getattr(answer, name) for name in PARTS)
        if part.interval
    ]
    expected = [
        (-0.13, 0.72),
        (0.02, 0.76),
        (0.34, 0.95),
        (-0.88, 0.91),
        (0.07, 0.93),
        (0.68, 0.99),
    ]
    np.testing.assert_allclose(limits, expected, atol=0.0051)


@settings(max_examples=40, deadline=None)
@given(ratings=RATINGS)
def test_icc_is_a_number_or_a_reason_and_never_a_warning(ratings: np.ndarray) -> None:
    answer = agreement.intraclass_correlations(ratings)

    for name in PARTS:
        part = getattr(answer, name)
        assert part.value is None or math.isfinite(part.value)
        assert part.interval is not None or part.note


@settings(max_examples=20, deadline=None)
@given(ratings=RATINGS, shift=st.floats(-50, 50), scale=st.floats(0.1, 10))
def test_icc_does_not_depend_on_the_unit(ratings: np.ndarray, shift: float, scale: float) -> None:
    before = agreement.intraclass_correlations(ratings).absolute.value
    after = agreement.intraclass_correlations(scale * ratings + shift).absolute.value

    assert (before is None) == (after is None)
    assert before is None or after == pytest.approx(before, abs=1e-6)


@pytest.mark.parametrize(
    "ratings",
    [[[1, 1], [2, 2], [3, 3]], [[1, 2], [2, 3], [3, 4]], [[1, 2], [2, 1], [1, 2], [2, 1]]],
)
def test_icc_without_spread_says_why(ratings: list[list[float]]) -> None:
    answer = agreement.intraclass_correlations(ratings)

    assert answer.absolute.value is None
    assert answer.absolute.note


def test_percent_agreement_counts_and_has_the_exact_interval() -> None:
    first, second = [0, 1, 2, 3, 4, 4], [0, 2, 2, 1, 4, 3]

    exact = agreement.percent_agreement(first, second)
    close = agreement.percent_agreement(first, second, within=1)

    assert exact.value == 3 / 6
    assert close.value == 5 / 6
    limits = stats.binomtest(3, 6).proportion_ci()
    assert exact.interval is not None
    assert (exact.interval.low, exact.interval.high) == pytest.approx((limits.low, limits.high))


@untimed
@given(grades=GRADES, weights=st.sampled_from(["none", "linear", "quadratic"]))
def test_kappa_by_its_definition(grades: list[tuple[int, int]], weights: agreement.Weights) -> None:
    first, second = (list(side) for side in zip(*grades, strict=True))

    answer = agreement.kappa(first, second, range(5), weights=weights)

    power = {"none": 0, "linear": 1, "quadratic": 2}[weights]

    def cost(a: int, b: int) -> float:
        return float(a != b) * abs(a - b) ** power

    observed = np.mean([cost(a, b) for a, b in grades])
    expected = np.mean([cost(a, b) for a in first for b in second])
    if len(set(grades)) == 1:
        assert answer.value is None
    else:
        assert answer.value == pytest.approx(1 - observed / expected)
    assert answer.interval is not None or answer.note
    if answer.interval is not None:
        assert -1 <= answer.interval.low < answer.interval.high <= 1


def test_kappa_of_perfect_agreement_has_no_interval() -> None:
    answer = agreement.kappa([0, 1, 2, 3], [0, 1, 2, 3], range(5))

    assert answer.value == pytest.approx(1)
    assert answer.interval is None
    assert "every item" in answer.note


def test_kappa_of_one_cell_does_not_exist() -> None:
    answer = agreement.kappa([3] * 8, [3] * 8, range(5))

    assert answer.value is None
    assert "same pair" in answer.note


def test_kappa_of_a_rater_who_gives_one_grade_says_nothing() -> None:
    answer = agreement.kappa([3, 3, 3, 3], [3, 3, 2, 3], range(5))

    assert answer.value == pytest.approx(0)
    assert answer.interval is None


def test_limits_of_agreement_meet_the_large_sample_formula() -> None:
    """Bland & Altman 1986 give the standard error of a limit as about sqrt(3 s^2 / n)."""
    rng = np.random.default_rng(1)
    first = rng.normal(size=2000)

    answer = measurement_error.limits_of_agreement(first, np.zeros(2000))

    sd = answer.sd.value
    assert sd is not None
    assert answer.upper.interval is not None
    width = answer.upper.interval.high - answer.upper.interval.low
    assert width == pytest.approx(2 * 1.96 * math.sqrt(3 * sd**2 / 2000), rel=0.03)


@pytest.mark.bench
@pytest.mark.parametrize("n", [5, 12])
def test_limits_of_agreement_hold_their_level(n: int) -> None:
    rng = np.random.default_rng(2)
    hits = 0
    for _ in range(1000):
        upper = measurement_error.limits_of_agreement(rng.normal(size=n), np.zeros(n)).upper
        assert upper.interval is not None
        hits += upper.interval.low <= stats.norm.ppf(0.975) <= upper.interval.high

    assert hits / 1000 == pytest.approx(0.95, abs=0.0207)  # three standard errors


def test_error_of_ten_doubled_readings_may_be_three_quarters_larger() -> None:
    """Upper factor sqrt(10 / 3.247): chi-square quantile from a printed table."""
    readings = np.column_stack([np.arange(10.0), np.arange(10.0) + 0.3])

    answer = measurement_error.standard_error_of_measurement(readings)

    assert answer.value == pytest.approx(0.3 / math.sqrt(2))
    assert answer.interval is not None
    assert answer.interval.high / (0.3 / math.sqrt(2)) == pytest.approx(1.755, abs=0.001)


def test_smallest_detectable_change_shrinks_with_clients() -> None:
    readings = [[1.0, 1.2], [2.0, 1.9], [3.0, 3.3]]
    error = measurement_error.standard_error_of_measurement(readings).value
    one = measurement_error.smallest_detectable_change(readings).value
    nine = measurement_error.smallest_detectable_change(readings, clients=9).value

    assert error is not None
    assert one is not None
    assert one == pytest.approx(1.96 * math.sqrt(2) * error, rel=1e-4)
    assert nine == pytest.approx(one / 3)


def test_readings_without_spread_say_that_the_scale_is_too_coarse() -> None:
    error = measurement_error.standard_error_of_measurement([[1, 1], [2, 2]])

    assert error.interval is None
    assert "coarse" in error.note
    assert measurement_error.smallest_detectable_change([[1, 1], [2, 2]]).value is None
    assert measurement_error.limits_of_agreement([1, 2, 3], [2, 3, 4]).upper.interval is None
    assert measurement_error.limits_of_agreement([1, 2], [2, 3]).bias.value is None


@untimed
@given(
    ratings=arrays.arrays(
        np.float64,
        st.tuples(st.integers(1, 8), st.integers(2, 4)),
        elements=st.one_of(st.just(math.nan), st.integers(0, 4).map(float)),
    ),
    scale=st.sampled_from(["nominal", "ordinal", "interval", "ratio"]),
)
def test_alpha_by_pairs(ratings: np.ndarray, scale: krippendorff.Scale) -> None:
    """Straight from the definition: all pairs within items against all pairs at all."""
    answer = krippendorff.krippendorff_alpha(ratings, scale)

    units = [[v for v in row if not math.isnan(v)] for row in ratings]
    units = [unit for unit in units if len(unit) >= 2]
    every = [v for unit in units for v in unit]
    if len(units) < 2 or len(set(every)) == 1:
        assert answer.value is None
        return

    def distance(a: float, b: float) -> float:
        if scale == "nominal":
            return float(a != b)
        if scale == "interval":
            return (a - b) ** 2
        if scale == "ratio":
            return 0.0 if a == b else ((a - b) / (a + b)) ** 2
        low, high = sorted((a, b))
        between = sum(low <= v <= high for v in every)
        return 0.0 if a == b else (between - (every.count(low) + every.count(high)) / 2) ** 2

    observed = sum(
        distance(a, b) / (len(unit) - 1) for unit in units for a in unit for b in unit
    ) / len(every)
    expected = sum(distance(a, b) for a in every for b in every) / len(every) / (len(every) - 1)
    assert answer.value == pytest.approx(1 - observed / expected)


def test_alpha_gives_no_interval_and_says_so() -> None:
    answer = krippendorff.krippendorff_alpha([[1, 2], [2, 2], [3, 3]], "ordinal")

    assert answer.interval is None
    assert "interval" in answer.note


def test_guesses_better_than_a_coin() -> None:
    """Nine right of ten: 11 / 1024, counted by hand."""
    assert blinding.guess_test(9, 1).p == pytest.approx(11 / 1024)
    assert blinding.guess_test(0, 3).p == 1
    assert blinding.guess_test(4, 0).note
    assert blinding.guess_test(0, 0).p is None


@untimed
@given(correct=st.integers(0, 20), wrong=st.integers(0, 20), unsure=st.integers(0, 20))
def test_blinding_index_turns_with_the_arms(correct: int, wrong: int, unsure: int) -> None:
    here = blinding.bang_index(correct, wrong, unsure)
    there = blinding.bang_index(wrong, correct, unsure)

    if here.value is None or there.value is None:
        assert correct + wrong + unsure == 0
        return
    assert here.value == -there.value
    assert here.interval is not None
    assert there.interval is not None
    assert here.interval.low == pytest.approx(-there.interval.high)
    assert here.interval.low < here.interval.high


@pytest.mark.parametrize(
    "call",
    [
        lambda: agreement.percent_agreement([1], [1, 2]),
        lambda: agreement.percent_agreement([1], [1], within=-1),
        lambda: agreement.kappa([1], [9], range(5)),
        lambda: agreement.kappa_of_table([[1, -1], [0, 0]]),
        lambda: agreement.kappa_of_table([[1, 1], [0, 1]], weights="cubic"),  # type: ignore[arg-type]
        lambda: agreement.intraclass_correlations([[1, 2], [2, 3]]),
        lambda: agreement.intraclass_correlations([[1, 2], [2, math.nan], [3, 4]]),
        lambda: measurement_error.limits_of_agreement([1, 2], [1, 2], coverage=1),
        lambda: measurement_error.standard_error_of_measurement([[1], [2]]),
        lambda: measurement_error.smallest_detectable_change([[1, 2]], clients=0),
        lambda: krippendorff.krippendorff_alpha([[1, math.inf]], "interval"),
        lambda: krippendorff.krippendorff_alpha([[1, 2]], "cyclic"),  # type: ignore[arg-type]
        lambda: krippendorff.krippendorff_alpha([[-1, 2]], "ratio"),
        lambda: blinding.bang_index(-1, 0, 0),
        lambda: blinding.guess_test(-1, 0),
    ],
)
def test_wrong_arrays_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"must"):
        call()  # type: ignore[operator]
