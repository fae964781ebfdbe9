"""The invented demonstration study of 12 clients: every figure of its worked analysis.

The data are invented; the figures were computed once with scipy and by hand, apart from this code.
"""

import numpy as np
import pytest

from pmulab.estimate import paired
from pmulab.estimate.missing import best_and_worst_case
from pmulab.estimate.order import adjusted_difference
from pmulab.estimate.permutation import sign_flip_test, signed_rank_test
from pmulab.estimate.randomisation import schedule_test
from pmulab.estimate.shift import t_mean

DAMP = [15.5, 15.5, 17.5, 10.5, 13.0, 15.0, 15.0, 15.5, 13.5, 14.0, 12.0, 14.0]
DRY = [18.0, 16.5, 21.5, 17.0, 17.0, 15.0, 17.0, 18.5, 16.5, 17.0, 15.5, 20.0]
PAIN_DAMP, PAIN_DRY = [2, 5, 4, 1, 4, 3, 2, 3, 4, 3, 2, 1], [3, 4, 4, 2, 6, 4, 2, 4, 3, 3, 4, 2]
SWELL_DAMP, SWELL_DRY = [1, 3, 2, 1, 2, 1, 2, 1, 2, 1, 3, 2], [2, 1, 1, 1, 2, 1, 3, 2, 3, 0, 3, 2]
KEPT_DAMP, KEPT_DRY = [9, 7, 7, 8, 9, 9, 9, 8, 8, 8, 9], [8, 8, 8, 8, 9, 9, 8, 7, 8, 8, 9]
DAMP_SIDE, FIRST_SIDE = "RLRLLRRLLRRL", "RRLLLLRRRLRL"

BLOCK = [place // 4 for place in range(12)]
DIFFERENCES = np.subtract(DAMP, DRY)
LEFT = [side == "L" for side in DAMP_SIDE]
FIRST = [side == first for side, first in zip(DAMP_SIDE, FIRST_SIDE, strict=True)]


def interval(estimate):
    assert estimate.interval is not None
    return estimate.interval.low, estimate.interval.high


def test_minutes():
    estimate = paired.t_mean_difference(DAMP, DRY)

    assert estimate.value == pytest.approx(-3.21, abs=0.005)
    assert interval(estimate) == pytest.approx((-4.38, -2.04), abs=0.005)
    assert paired.sd_of_differences(DAMP, DRY).value == pytest.approx(1.84, abs=0.005)
    assert paired.correlation(DAMP, DRY).value == pytest.approx(0.50, abs=0.005)
    assert paired.standardised_by_sd_of_differences(DAMP, DRY).value == pytest.approx(
        -1.74, abs=0.005
    )
    assert paired.typical_difference(DAMP, DRY).value == -3.125
    assert paired.counts(DAMP, DRY) == paired.Counts(higher=0, equal=1, lower=11)


def test_headline_holds_what_sign_flips_do_not_reject_and_is_little_wider_than_t():
    headline, student = (
        interval(paired.mean_difference(DAMP, DRY)),
        interval(paired.t_mean_difference(DAMP, DRY)),
    )

    assert sign_flip_test(DIFFERENCES - headline[0] + 1e-3).p <= 0.05
    assert sign_flip_test(DIFFERENCES - headline[1] - 1e-3).p <= 0.05
    assert headline[1] - headline[0] <= 1.05 * (student[1] - student[0])


def test_p_values_of_sign_flips_and_signed_ranks():
    assert sign_flip_test(DIFFERENCES).p == pytest.approx(0.00098, abs=5e-6)
    assert signed_rank_test(DIFFERENCES).p == pytest.approx(0.00098, abs=5e-6)


def test_schedule_of_three_blocks_of_four_allows_64_arrangements():
    strata = list(zip(BLOCK, FIRST_SIDE, strict=True))

    test = schedule_test(DIFFERENCES, LEFT, strata, [2] * 12)

    assert test.smallest_p == 2 / 64
    assert test.p == 2 / 64


def test_order_and_side():
    adjusted = adjusted_difference(DIFFERENCES, FIRST, LEFT)

    assert adjusted.effect.value == pytest.approx(-3.21, abs=0.005)
    assert interval(adjusted.effect) == pytest.approx((-4.23, -2.19), abs=0.005)
    assert adjusted.order.value == pytest.approx(-0.88, abs=0.0051)
    assert adjusted.side.value == pytest.approx(-0.71, abs=0.005)


@pytest.mark.parametrize(
    ("damp", "dry", "expected"),
    [
        (SWELL_DAMP, SWELL_DRY, (0.00, -0.61, 0.61)),
        (PAIN_DAMP, PAIN_DRY, (-0.58, -1.22, 0.05)),
        (KEPT_DAMP, KEPT_DRY, (0.09, -0.38, 0.56)),
    ],
    ids=["swelling", "pain", "segments kept"],
)
def test_secondary_outcomes(damp, dry, expected):
    estimate = paired.t_mean_difference(damp, dry)

    assert (estimate.value, *interval(estimate)) == pytest.approx(expected, abs=0.005)


def test_pain_adjusted_for_order():
    adjusted = adjusted_difference(np.subtract(PAIN_DAMP, PAIN_DRY), FIRST, LEFT)

    assert interval(adjusted.effect) == pytest.approx((-1.15, -0.02), abs=0.005)


def test_one_missing_healed_visit_bounded():
    bounds = best_and_worst_case(
        np.subtract(KEPT_DAMP, KEPT_DRY), 1, -4, 4, lambda d: t_mean(d, 0.95)
    )

    assert (bounds.all_low.value, *interval(bounds.all_low)) == pytest.approx(
        (-0.25, -1.11, 0.61), abs=0.005
    )
    assert (bounds.all_high.value, *interval(bounds.all_high)) == pytest.approx(
        (0.42, -0.42, 1.25), abs=0.0051
    )
    assert bounds.seen.n == 11
