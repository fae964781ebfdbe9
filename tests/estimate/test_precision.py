"""Precision planning, against quantiles taken straight from scipy and from printed tables."""

from math import sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from pmulab.estimate import precision
from pmulab.estimate.study_size import Design

untimed = settings(deadline=None)  # the first call imports scipy

NS = st.integers(2, 200)
SDS = st.floats(1e-3, 1e3)
SHARES = st.floats(0.01, 0.99)


# t, half-width / SD, the same with 80 % assurance, between clients: computed from the
# formulas by an independent hand calculation, two decimals.
@pytest.mark.parametrize(
    ("n", "paired", "assured", "parallel"),
    [
        (6, 1.05, 1.27, 1.29),
        (8, 0.84, 0.99, 1.07),
        (10, 0.72, 0.83, 0.94),
        (12, 0.64, 0.73, 0.85),
        (16, 0.53, 0.60, 0.72),
        (20, 0.47, 0.53, 0.64),
    ],
)
def test_half_widths_of_small_studies(
    n: int, paired: float, assured: float, parallel: float
) -> None:
    assert precision.expected_half_width(n, 1) == pytest.approx(paired, abs=0.0051)
    assert precision.half_width_with_assurance(n, 1) == pytest.approx(assured, abs=0.0051)
    assert precision.expected_half_width(n, 1, "parallel") == pytest.approx(parallel, abs=0.0051)


@untimed
@given(n=NS, sd=SDS, level=SHARES)
def test_half_width_is_that_of_the_t_interval(n: int, sd: float, level: float) -> None:
    low, high = stats.t.interval(level, n - 1, loc=0, scale=sd / sqrt(n))

    assert precision.expected_half_width(n, sd, level=level) == pytest.approx((high - low) / 2)


@untimed
@given(n=NS, sd=SDS, assurance=SHARES)
def test_assured_half_width_is_kept_with_the_assurance(n: int, sd: float, assurance: float) -> None:
    assured = precision.half_width_with_assurance(n, sd, assurance=assurance)
    plain = precision.expected_half_width(n, sd)

    # width <= assured happens when the sample variance <= sd**2 * (assured / plain)**2
    chance = stats.chi2.cdf((n - 1) * (assured / plain) ** 2, n - 1)
    assert chance == pytest.approx(assurance, abs=1e-9)


@untimed
@given(
    target=st.floats(0.05, 50),
    design=st.sampled_from(["paired", "parallel"]),
    assurance=st.one_of(st.none(), SHARES),
)
def test_number_of_clients_is_the_smallest_that_is_narrow_enough(
    target: float, design: Design, assurance: float | None
) -> None:
    def width(n: int) -> float:
        if assurance is None:
            return precision.expected_half_width(n, 1, design)
        return precision.half_width_with_assurance(n, 1, design, assurance=assurance)

    n = precision.clients_for_half_width(target, 1, design, assurance=assurance)

    assert width(n) <= target
    assert n == 2 or width(n - 1) > target


def test_two_minutes_with_a_spread_of_two_minutes_needs_seven_clients() -> None:
    assert precision.clients_for_half_width(2.0, 2.0) == 7
    assert precision.expected_half_width(6, 2.0) == pytest.approx(2.1, abs=0.05)
    assert precision.expected_half_width(8, 2.0) == pytest.approx(1.7, abs=0.05)
    assert precision.expected_half_width(12, 2.0) == pytest.approx(1.3, abs=0.05)


@pytest.mark.parametrize(
    ("correlation", "ratio"), [(0.3, 1.18), (0.5, 1.00), (0.7, 0.77), (0.8, 0.63)]
)
def test_alike_sides_differ_less(correlation: float, ratio: float) -> None:
    assert precision.sd_of_differences(1, correlation) == pytest.approx(ratio, abs=0.0051)


@untimed
@given(n=st.integers(2, 60), sd=SDS, level=SHARES)
def test_upper_limit_of_a_spread_holds_with_its_level(n: int, sd: float, level: float) -> None:
    answer = precision.sd_upper_limit(sd, n, level=level)

    assert answer.interval is not None
    # Were the limit the truth, a rehearsal as uniform as this one has chance 1 - level.
    chance = stats.chi2.cdf((n - 1) * (sd / answer.interval.high) ** 2, n - 1)
    assert chance == pytest.approx(1 - level, abs=1e-9)


def test_a_rehearsal_of_one_or_without_spread_gives_no_limit_and_says_why() -> None:
    alone, uniform = precision.sd_upper_limit(1.0, 1), precision.sd_upper_limit(0.0, 5)

    assert alone.interval is None
    assert "four" in alone.note
    assert uniform.interval is None
    assert "same value" in uniform.note


@pytest.mark.parametrize(
    ("n", "share", "enrol"), [(12, 0.2, 15), (8, 0.0, 8), (16, 0.15, 19), (9, 0.1, 10)]
)
def test_enrol_more_than_are_needed(n: int, share: float, enrol: int) -> None:
    assert precision.inflate_for_dropout(n, share) == enrol


@untimed
@given(n=st.integers(1, 10_000), share=st.floats(0, 0.9))
def test_enough_come_back(n: int, share: float) -> None:
    enrol = precision.inflate_for_dropout(n, share)

    assert enrol * (1 - share) >= n - 1e-6
    assert (enrol - 1) * (1 - share) < n + 1e-6


@pytest.mark.parametrize(
    "call",
    [
        lambda: precision.expected_half_width(1, 1),
        lambda: precision.expected_half_width(5, 0),
        lambda: precision.expected_half_width(5, float("nan")),
        lambda: precision.expected_half_width(5, 1, level=1),
        lambda: precision.expected_half_width(5, 1, "crossed"),  # type: ignore[arg-type]
        lambda: precision.half_width_with_assurance(5, 1, assurance=0),
        lambda: precision.clients_for_half_width(0, 1),
        lambda: precision.clients_for_half_width(1e-4, 1),
        lambda: precision.sd_of_differences(1, 1),
        lambda: precision.sd_upper_limit(-1, 5),
        lambda: precision.inflate_for_dropout(5, 1),
    ],
)
def test_impossible_plans_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"must|needed"):
        call()  # type: ignore[operator]
