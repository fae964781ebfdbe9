"""Too few, all equal, impossible: every function says so in words, without NaN or a warning."""

import math
from functools import partial

import numpy as np
import pytest

from pmulab.estimate import independent, paired, proportions
from pmulab.estimate.bootstrap import bootstrap_mean_difference
from pmulab.estimate.missing import best_and_worst_case
from pmulab.estimate.order import adjusted_difference, order_adjusted_difference
from pmulab.estimate.permutation import label_test, rank_sum_test, sign_flip_test, signed_rank_test
from pmulab.estimate.randomisation import group_schedule_test, schedule_test
from pmulab.estimate.results import Estimate, Test

PAIRED = [
    paired.mean_difference,
    paired.t_mean_difference,
    paired.typical_difference,
    paired.leading_difference,
    paired.standardised_difference,
    paired.standardised_by_sd_of_differences,
    paired.probability_a_higher,
    paired.ratio,
    paired.sd_of_differences,
    paired.correlation,
    paired.t_test,
    partial(bootstrap_mean_difference, seed=1),
]
GROUPS = [
    independent.mean_difference,
    independent.welch_mean_difference,
    independent.typical_shift,
    independent.leading_difference,
    independent.standardised_difference,
    independent.probability_a_higher,
    independent.ratio,
    independent.welch_test,
    independent.t_test,
    label_test,
    rank_sum_test,
]
SMALL = [
    ([], []),
    ([1.0], [2.0]),
    ([1.0, 2.0], [1.0, 2.0]),
    ([1.0, 2.0, 4.0], [0.5, 0.0, 1.0]),
    ([3.0] * 4, [3.0] * 4),
    ([3.0] * 6, [2.0] * 6),
    ([0.1 + 0.2] * 5, [0.3] * 5),
    (list(range(1, 9)), list(range(1, 9))),
    (list(range(1, 9)), list(range(2, 10))),
    ([1e-300] * 6, [0.0] * 6),
    ([1e15, 1e15 + 1, 1e15 + 2, 1e15, 1e15], [1e15] * 5),
    ([0, 0, 0, 0, 1], [0, 0, 0, 0, 0]),
    ([-1.0, 2.0, 3.0, 4.0, 5.0], [0.0, 0.0, 0.0, 0.0, 0.0]),
]


def name_of(function):
    return getattr(function, "__qualname__", "bootstrap")


def check_answer(answer):
    """Results refuse NaN themselves; here: what is missing is explained."""
    if isinstance(answer, Estimate):
        assert answer.value is None or math.isfinite(answer.value)
        assert answer.interval is not None or len(answer.note) > 20
        if answer.interval is not None:
            assert answer.interval.low < answer.interval.high
            assert answer.interval.low <= answer.value <= answer.interval.high
    else:
        assert isinstance(answer, Test)
        assert answer.p is not None or len(answer.note) > 20


@pytest.mark.parametrize("function", PAIRED, ids=name_of)
@pytest.mark.parametrize(("a", "b"), SMALL)
def test_pairs_of_any_kind_get_an_answer(function, a, b):
    check_answer(function(a, b))


@pytest.mark.parametrize("function", GROUPS, ids=name_of)
@pytest.mark.parametrize(("a", "b"), [*SMALL, ([], [1.0, 2.0]), ([1.0], [1.0, 2.0, 3.0])])
def test_groups_of_any_kind_get_an_answer(function, a, b):
    check_answer(function(a, b))


@pytest.mark.parametrize("function", [*PAIRED, *GROUPS], ids=name_of)
@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_values_that_are_no_numbers_are_refused(function, bad):
    with pytest.raises(ValueError, match="finite"):
        function([1.0, bad, 3.0, 4.0, 5.0, 6.0], [1.0, 2.0, 3.0, 4.0, 5.0, 7.0])


@pytest.mark.parametrize("function", [*PAIRED, paired.counts], ids=name_of)
def test_arms_of_unequal_length_are_refused(function):
    with pytest.raises(ValueError, match="same clients"):
        function([1.0, 2.0, 3.0], [1.0, 2.0])


@pytest.mark.parametrize(
    "function",
    [f for f in PAIRED + GROUPS if "test" not in name_of(f)],
    ids=name_of,
)
@pytest.mark.parametrize("level", [0.0, 1.0, -0.5, 95, math.nan])
def test_levels_outside_zero_to_one_are_refused(function, level):
    with pytest.raises(ValueError, match="level"):
        function([1.0, 2.0, 3.0, 4.0, 5.0], [2.0, 2.0, 3.0, 3.0, 5.0], level=level)


def test_tables_instead_of_columns_are_refused():
    with pytest.raises(ValueError, match="one value per client"):
        paired.mean_difference(np.ones((3, 2)), np.ones((3, 2)))


@pytest.mark.parametrize("n", [0, 1, 2, 3, 4])
def test_headline_below_five_pairs_has_no_interval(n):
    estimate = paired.mean_difference(np.arange(n) + 1.0, np.zeros(n))

    assert estimate.interval is None
    assert "fewer than 5" in estimate.note


def test_headline_at_five_pairs_states_its_true_level():
    estimate = paired.mean_difference([1, 2, 3, 4, 6], [0, 0, 0, 0, 0])

    assert estimate.interval.level == 0.9375
    assert "93.75" in estimate.note


def test_equal_differences_have_an_interval_once_the_step_is_known():
    unknown = paired.mean_difference([3] * 6, [2] * 6)
    known = paired.mean_difference([3] * 6, [2] * 6, step=1)

    assert unknown.interval is None
    assert "the same amount" in unknown.note
    assert known.interval.low < 1 < known.interval.high


@pytest.mark.parametrize(
    ("function", "arguments"),
    [
        (sign_flip_test, ([],)),
        (signed_rank_test, ([],)),
        (sign_flip_test, ([0.0, 0.0],)),
        (signed_rank_test, ([0.0, 0.0],)),
        (schedule_test, ([], [], [], [])),
        (group_schedule_test, ([], [], [], [])),
        (schedule_test, ([0.0, 0.0], [True, False], [1, 1], [2, 2])),
        (group_schedule_test, ([5.0, 5.0], [True, False], [1, 1], [2, 2])),
        (order_adjusted_difference, ([], [])),
        (order_adjusted_difference, ([1.0, 1.0, 1.0, 1.0], [True, True, False, False])),
    ],
)
def test_tests_and_adjustments_of_nothing(function, arguments):
    check_answer(function(*arguments))


@pytest.mark.parametrize(
    ("first", "left", "reason"),
    [
        ([True, False] * 3, [True, True, False] * 2, "needs 8 pairs"),
        ([True] * 8, [True, False] * 4, "worked first"),
        ([True, False] * 4, [False] * 8, "on the left"),
        ([True, False] * 4, [True, False] * 4, "went together"),
        ([True, False] * 4, [False, True] * 4, "went together"),
    ],
)
def test_adjustment_says_why_it_cannot(first, left, reason):
    adjusted = adjusted_difference(np.arange(len(first), dtype=float), first, left)

    for estimate in (adjusted.effect, adjusted.order, adjusted.side):
        assert estimate.value is None
        assert reason in estimate.note


def test_adjustment_of_differences_that_follow_order_exactly():
    first = [True, False] * 4
    adjusted = adjusted_difference(np.where(first, 2.0, 1.0), first, [True, True, False, False] * 2)

    assert adjusted.effect.value == pytest.approx(1.5)
    assert adjusted.effect.interval is None


@pytest.mark.parametrize(
    ("function", "arguments"),
    [
        (proportions.mcnemar_test, (3, 3, 5)),
        (proportions.mcnemar_test, (-1, 3, 5)),
        (proportions.paired_risk_difference, (3, 3, 5)),
        (proportions.paired_risk_difference_test, (1, 3, 61)),
        (proportions.risk_difference, (6, 5, 0, 5)),
        (proportions.risk_difference_test, (1, 31, 0, 30)),
        (proportions.single_proportion, (4, 3)),
        (proportions.zero_events_upper_limit, (-1,)),
        (best_and_worst_case, ([1.0], 1, 2, -2)),
        (best_and_worst_case, ([1.0], -1, -2, 2)),
        (sign_flip_test, ([math.nan],)),
        (schedule_test, ([1.0, 2.0], [True], [0, 0], [2, 2])),
        (schedule_test, ([1.0, 2.0], [True, 7], [0, 0], [2, 2])),
    ],
)
def test_impossible_counts_are_refused(function, arguments):
    with pytest.raises(ValueError, match=r".+"):
        function(*arguments)


@pytest.mark.parametrize(
    ("function", "arguments"),
    [
        (proportions.mcnemar_test, (0, 0, 0)),
        (proportions.mcnemar_test, (0, 0, 7)),
        (proportions.paired_risk_difference, (0, 0, 0)),
        (proportions.paired_risk_difference, (0, 0, 1)),
        (proportions.paired_risk_difference, (9, 0, 9)),
        (proportions.paired_risk_difference, (9, 0, 90)),
        (proportions.paired_risk_difference_test, (0, 0, 0)),
        (proportions.paired_risk_difference_test, (0, 0, 4)),
        (proportions.tango_risk_difference, (4, 0, 4)),
        (proportions.risk_difference, (0, 0, 1, 4)),
        (proportions.risk_difference, (0, 5, 0, 5)),
        (proportions.risk_difference, (5, 5, 5, 5)),
        (proportions.risk_difference, (50, 50, 0, 50)),
        (proportions.risk_difference_test, (0, 0, 0, 3)),
        (proportions.risk_difference_test, (0, 3, 0, 3)),
        (proportions.newcombe_risk_difference, (0, 5, 5, 5)),
        (proportions.single_proportion, (0, 0)),
        (proportions.exact_proportion, (3, 3)),
        (proportions.zero_events_upper_limit, (0,)),
        (proportions.zero_events_upper_limit, (1,)),
    ],
)
def test_yes_no_counts_at_the_edge_get_an_answer(function, arguments):
    check_answer(function(*arguments))
