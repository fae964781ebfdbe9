"""Power, against statsmodels, against simulation and against full enumeration."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.power import TTestIndPower, TTestPower

from pmulab.estimate import power, power_curves, power_mcnemar
from pmulab.estimate.study_size import Design

untimed = settings(deadline=None)  # the first call imports scipy


@untimed
@given(n=st.integers(2, 60), effect=st.floats(-1.5, 1.5), alpha=st.sampled_from([0.01, 0.05, 0.2]))
def test_paired_power_is_that_of_statsmodels(n: int, effect: float, alpha: float) -> None:
    theirs = TTestPower().power(abs(effect), n, alpha)
    assume(not math.isnan(theirs))  # statsmodels answers NaN where the far tail underflows

    assert power.power_t(n, effect, alpha=alpha).power == pytest.approx(theirs, abs=1e-7)


@untimed
@given(n=st.integers(2, 60), effect=st.floats(0, 1.5))
def test_parallel_power_is_that_of_statsmodels(n: int, effect: float) -> None:
    theirs = TTestIndPower().power(effect, n, 0.05)
    assume(not math.isnan(theirs))

    assert power.power_t(n, effect, "parallel").power == pytest.approx(theirs, abs=1e-7)


@untimed
@given(
    effect=st.floats(0.1, 5),
    wanted=st.floats(0.05, 0.99),
    design=st.sampled_from(["paired", "parallel"]),
)
def test_clients_for_power_is_the_smallest_number(
    effect: float, wanted: float, design: Design
) -> None:
    found = power.clients_for_power(effect, wanted, design)

    assert found.power >= wanted
    assert found.n == 2 or power.power_t(found.n - 1, effect, design).power < wanted


@untimed
@given(n=st.integers(1, 5000), effect=st.floats(-1e3, 1e3))
def test_power_is_a_chance_however_far_the_shift(n: int, effect: float) -> None:
    assert 0 <= power.power_t(n + 1, effect).power <= 1


def test_a_schedule_too_short_for_alpha_has_no_power_and_says_so() -> None:
    floor = power.smallest_schedule_p([4, 4])
    answer = power.power_t(8, 3.0, floor=floor)

    assert floor == 0.125
    assert answer.power == 0
    assert "0.125" in answer.note


@pytest.mark.parametrize("blocks", [[4], [8], [4, 4], [4, 4, 4], [4, 8]])
def test_smallest_p_of_a_schedule_by_listing_its_arrangements(blocks: list[int]) -> None:
    """Every block holds the four sequences equally often; the working order is given."""
    arrangements = 1
    for size in blocks:
        order = [0] * (size // 2) + [1] * (size // 2)
        arrangements *= sum(
            sum(side for side, first in zip(sides, order, strict=True) if first == 0)
            == size // 4
            == sum(side for side, first in zip(sides, order, strict=True) if first == 1)
            for sides in itertools.product([0, 1], repeat=size)
        )

    assert power.smallest_schedule_p(blocks) == 2 / arrangements


def brute_mcnemar(n: int, only_a: float, only_b: float, alpha: float) -> float:
    total = 0.0
    for a in range(n + 1):
        for b in range(n + 1 - a):
            if stats.binomtest(a, a + b).pvalue <= alpha if a + b else False:
                ways = math.comb(n, a) * math.comb(n - a, b)
                total += ways * only_a**a * only_b**b * (1 - only_a - only_b) ** (n - a - b)
    return total


@pytest.mark.parametrize(
    ("n", "only_a", "only_b"), [(6, 0.5, 0.0), (9, 0.4, 0.1), (15, 0.1, 0.35), (12, 0.2, 0.2)]
)
def test_mcnemar_power_by_listing_all_tables(n: int, only_a: float, only_b: float) -> None:
    expected = brute_mcnemar(n, only_a, only_b, 0.05)

    assert power_mcnemar.power_mcnemar(n, only_a, only_b).power == pytest.approx(
        expected, abs=1e-12
    )


def test_mcnemar_needs_six_discordant_pairs() -> None:
    five = power_mcnemar.power_mcnemar(5, 1.0, 0.0)

    assert five.power == 0
    assert "0.0625" in five.note
    assert power_mcnemar.power_mcnemar(6, 1.0, 0.0).power == 1
    assert power_mcnemar.power_mcnemar(9, 0.0, 0.0).note


@untimed
@given(n=st.integers(6, 80), share=st.floats(0, 0.5))
def test_mcnemar_never_errs_more_often_than_allowed(n: int, share: float) -> None:
    assert power_mcnemar.power_mcnemar(n, share, share).power <= 0.05


def test_pairs_for_mcnemar_keep_the_power() -> None:
    found = power_mcnemar.pairs_for_mcnemar_power(0.4, 0.05)

    assert power_mcnemar.power_mcnemar(found.n - 1, 0.4, 0.05).power < 0.8
    assert all(power_mcnemar.power_mcnemar(found.n + k, 0.4, 0.05).power >= 0.8 for k in range(30))


@pytest.mark.parametrize(
    "call",
    [
        lambda: power.power_t(1, 0.5),
        lambda: power.power_t(5, float("inf")),
        lambda: power.power_t(5, 0.5, alpha=0),
        lambda: power.clients_for_power(0),
        lambda: power.clients_for_power(1e-4),
        lambda: power_mcnemar.power_mcnemar(5, 0.7, 0.7),
        lambda: power_mcnemar.pairs_for_mcnemar_power(0.2, 0.2),
        lambda: power_mcnemar.pairs_for_mcnemar_power(0.21, 0.20),
        lambda: power.smallest_schedule_p([]),
        lambda: power.smallest_schedule_p([6]),
        lambda: power_curves.t_power_curve([1.0, 2.0], [2]),
        lambda: power_curves.signflip_power_curve([[1.0, 2.0]], [3]),
        lambda: power_curves.schedule_power_curve(np.ones((2, 8)), [6]),
    ],
)
def test_impossible_questions_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"must|needed"):
        call()  # type: ignore[operator]


def test_t_curve_decides_as_scipy_does() -> None:
    draws = power_curves.normal_trials(0.7, 12, 400, np.random.default_rng(3))
    draws[0] = 1.0  # no spread: scipy would divide by nought

    curve = power_curves.t_power_curve(draws, [2, 6, 12])

    for answer in curve:
        p = stats.ttest_1samp(draws[1:, : answer.n], 0.0, axis=1).pvalue
        assert answer.power == pytest.approx((p <= 0.05).sum() / 400)


def test_t_curve_meets_the_exact_power() -> None:
    draws = power_curves.normal_trials(0.8, 24, 20_000, np.random.default_rng(4))

    for answer in power_curves.t_power_curve(draws, [6, 12, 24]):
        exact = power.power_t(answer.n, 0.8).power
        # four standard errors of 20,000 trials
        assert answer.power == pytest.approx(exact, abs=0.0142)


@pytest.mark.parametrize("step", [0.0, 1.0])
def test_signflip_curve_decides_as_scipys_full_count(step: float) -> None:
    draws = power_curves.normal_trials(0.9, 15, 120, np.random.default_rng(5))
    if step:
        draws = np.rint(draws)

    curve = power_curves.signflip_power_curve(draws, [4, 5, 6, 9, 11], step=step)

    for answer in curve:
        reached = [
            stats.permutation_test(
                (row[: answer.n],), np.sum, permutation_type="samples", n_resamples=np.inf
            ).pvalue
            <= 0.05
            for row in draws
        ]
        assert answer.power == pytest.approx(np.mean(reached))


@pytest.mark.parametrize(
    ("shape", "step"), [("normal", 0.0), ("grades", 1.0), ("heavy tails", 0.0)]
)
def test_saddlepoint_takes_over_without_a_jump(shape: str, step: float) -> None:
    rng = np.random.default_rng(6)
    draws = {
        "normal": rng.normal(0.6, 1, (2000, 15)),
        "grades": np.rint(rng.normal(0.6, 1, (2000, 15))),
        "heavy tails": rng.standard_t(2, (2000, 15)) + 0.6,
    }[shape]

    approximate = power_curves.signflip_power_curve(draws, [15], step=step)[0].power
    exact = power_curves._enumerated(draws, [15], 0.05)[15]

    assert approximate == pytest.approx(exact, abs=0.005)


def test_trials_of_nothing_but_noughts_never_reach_alpha() -> None:
    curve = power_curves.signflip_power_curve(np.zeros((5, 20)), [8, 20])

    assert [answer.power for answer in curve] == [0, 0]
    assert power_curves.t_power_curve(np.zeros((5, 20)), [8])[0].power == 0


def test_five_clients_cannot_reach_alpha_by_flipping_signs() -> None:
    curve = power_curves.signflip_power_curve(np.ones((3, 20)), [5, 6, 20])

    assert [answer.power for answer in curve] == [0, 1, 1]
    assert "0.0625" in curve[0].note


def test_schedule_in_blocks_of_four_pays_for_its_restriction() -> None:
    draws = power_curves.normal_trials(1.2, 12, 4000, np.random.default_rng(7))

    eight, twelve = power_curves.schedule_power_curve(draws, [8, 12])
    free = power_curves.signflip_power_curve(draws, [12])[0]

    assert (eight.n, eight.power, eight.smallest_p) == (8, 0, 0.125)
    assert twelve.smallest_p == 0.03125
    assert 0.1 < twelve.power < free.power - 0.05
