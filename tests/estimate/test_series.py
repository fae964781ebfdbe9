"""Charts, CUSUM, run rules, trends and overlap of two phases."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from pmulab.estimate import control_charts, cusum, false_alarms, run_chart, series
from pmulab.estimate.independent import mean_difference

untimed = settings(deadline=None)  # the first call imports scipy

VALUES = st.lists(st.floats(-1e6, 1e6), max_size=30)
SMALL = st.lists(st.integers(0, 5).map(float), max_size=12)


@untimed
@given(values=VALUES)
def test_individuals_chart_has_limits_or_a_reason(values: list[float]) -> None:
    chart = control_charts.individuals_chart(values)

    assert chart.centre is not None or chart.note
    assert len(chart.lower) == len(chart.upper) == (0 if chart.centre is None else len(values))
    for position, value in enumerate(values):
        if chart.centre is not None:
            beyond = not chart.lower[position] <= value <= chart.upper[position]
            assert beyond == (position + 1 in chart.outside) or beyond is False


def test_constants_of_ranges_of_two() -> None:
    """d2 = 1.128 and D4 = 3.267 for n = 2 (Montgomery, Appendix VI)."""
    values = [0.0, 1.0, 0.0, 1.0, 0.0]

    chart = control_charts.individuals_chart(values)
    ranges = control_charts.moving_range_chart(values)

    assert 3 / (chart.upper[0] - 0.4) == pytest.approx(1.128, abs=0.0006)
    assert ranges.upper[0] == pytest.approx(3.267, abs=0.0006)


def test_a_lone_jump_falls_outside() -> None:
    values = [10.0, 10.2, 9.9, 10.1, 10.0, 9.8, 10.1, 13.0, 10.0, 9.9, 10.1, 10.0]

    assert control_charts.individuals_chart(values).outside == (8,)


@pytest.mark.parametrize("values", [[], [1.0], [2.0, 2.0, 2.0]])
def test_no_chart_without_spread(values: list[float]) -> None:
    assert control_charts.individuals_chart(values).note
    assert control_charts.moving_range_chart(values).centre is None


def test_p_chart_follows_the_size_of_each_period() -> None:
    chart = control_charts.p_chart([1, 2, 0, 3], [10, 20, 5, 12])

    assert chart.centre == pytest.approx(6 / 47)
    assert all(0 <= low < high <= 1 for low, high in zip(chart.lower, chart.upper, strict=True))
    assert chart.upper[2] > chart.upper[1]


@pytest.mark.parametrize(("events", "word"), [([0, 0], "No client"), ([3, 4], "Every client")])
def test_p_chart_without_variety_has_no_limits(events: list[int], word: str) -> None:
    assert control_charts.p_chart(events, [3, 4]).note.startswith(word)


def test_shewhart_run_length_by_simulation_free_identity() -> None:
    assert control_charts.shewhart_run_length(0, sigmas=1.959964) == pytest.approx(20, abs=1e-4)


def test_run_chart_sees_a_shift() -> None:
    shifted = run_chart.run_chart([1, 2, 1, 2, 1, 2, 1, 2, 1, 2, *[8] * 10])
    steady = run_chart.run_chart([1, 2] * 10)

    assert (shifted.n, shifted.longest_run, shifted.crossings, shifted.signal) == (20, 10, 1, True)
    assert (steady.longest_run, steady.crossings, steady.signal) == (1, 19, False)


def test_points_on_the_median_do_not_count() -> None:
    answer = run_chart.run_chart([5, 5, 5, 1, 9, 5, 1, 9])

    assert (answer.n, answer.signal) == (4, None)
    assert "too few" in answer.note


@untimed
@given(values=VALUES)
def test_run_chart_counts_match_a_string_of_sides(values: list[float]) -> None:
    answer = run_chart.run_chart(values)

    if answer.median is None:
        return
    sides = "".join("+" if v > answer.median else "-" for v in values if v != answer.median)
    assert answer.longest_run == max(
        (len(stretch) for sign in "+-" for stretch in sides.split("-" if sign == "+" else "+")),
        default=0,
    )
    assert answer.crossings == sides.count("+-") + sides.count("-+")


@pytest.mark.parametrize("n", [9, 10, 12])
def test_false_alarms_of_run_rules_by_all_orders(n: int) -> None:
    longest, crossings = run_chart.run_limits(n)
    orders = list(itertools.combinations(range(n), n // 2))
    alarms = 0
    for chosen in orders:
        sides = ["-" if place in chosen else "+" for place in range(n)]
        runs = ["".join(run) for _, run in itertools.groupby(sides)]
        alarms += max(map(len, runs)) > longest or len(runs) - 1 < crossings

    assert run_chart.run_false_alarms(n) == pytest.approx(alarms / len(orders))


def test_limits_are_held_from_the_baseline() -> None:
    values = [10.0, 11.0, 9.0, 10.5, 10.0, 30.0, 31.0]

    chart = control_charts.individuals_chart(values, baseline=5)

    assert chart.upper[-1] == control_charts.individuals_chart(values[:5]).upper[0]
    assert chart.outside == (6, 7)
    assert "Limits from 5 points" in chart.note


def test_false_alarms_of_individuals_charts_near_theory_for_a_long_baseline() -> None:
    """Known limits: 1 - (1 - 0.0027)^n (Montgomery, 'Average run length')."""
    share = false_alarms.individuals_false_alarms(400, 400)

    assert share == pytest.approx(1 - (1 - 1 / 370.4) ** 400, abs=0.03)
    assert false_alarms.individuals_false_alarms(24, 12) > share / 8


def test_false_alarms_of_a_cusum_near_its_run_length_for_a_long_baseline() -> None:
    """A run length of 465 means about one signal in 465 values once it runs (Montgomery)."""
    share = false_alarms.cusum_false_alarms(1060, 1000)

    assert share == pytest.approx(1 - math.exp(-60 / 465), abs=0.06)
    assert false_alarms.cusum_false_alarms(40, 20) > share


def test_false_alarms_of_p_charts_by_counting() -> None:
    """Share .2 of 20 clients: limits 0 and .468, so that only 10 and more lie outside."""
    chart = control_charts.p_chart([4] * 6, [20] * 6)

    one = 1 - stats.binom.cdf(9, 20, 0.2)
    found = false_alarms.p_chart_false_alarms(chart, [20] * 6)
    assert found == pytest.approx(1 - (1 - one) ** 6)
    assert false_alarms.p_chart_false_alarms(control_charts.p_chart([0], [4]), [4]) is None


def test_a_cusum_after_a_baseline_counts_from_the_first_value_watched() -> None:
    steady = [10.0, 11.0, 9.0, 10.0, 11.0, 9.5, 10.5, 10.0, 9.0, 11.0, 10.0, 10.5]

    found = cusum.baseline_cusum([*steady, *[14.0] * 6], 12)

    assert found is not None
    assert (found.signal_at, found.side, found.since) == (2, "high", 1)
    assert cusum.baseline_cusum([3.0] * 14, 12) is None


@pytest.mark.bench
@pytest.mark.parametrize("n", [10, 20, 24])
def test_run_rules_rarely_cry_wolf(n: int) -> None:
    """The figures in the docstring of `run_chart`: both rules together, random series."""
    rng = np.random.default_rng(1)
    alarms = np.mean([run_chart.run_chart(row).signal for row in rng.normal(size=(2000, n))])

    assert 0.002 < alarms < 0.045


def test_cusum_run_length_by_simulation() -> None:
    rng = np.random.default_rng(2)
    lengths = []
    for row in rng.normal(1.0, 1.0, (2000, 80)):
        answer = cusum.tabular_cusum(row, 0.0, allowance=0.5, decision_interval=4.0)
        lengths.append(answer.signal_at or 80)

    assert np.mean(lengths) == pytest.approx(cusum.cusum_run_length(1.0, k=0.5, h=4.0), rel=0.04)


@untimed
@given(values=VALUES.filter(bool))
def test_cusum_turns_with_the_sign(values: list[float]) -> None:
    here = cusum.tabular_cusum(values, 0.0, allowance=0.5, decision_interval=4.0)
    there = cusum.tabular_cusum(-np.array(values), 0.0, allowance=0.5, decision_interval=4.0)

    assert here.high == there.low
    assert here.signal_at == there.signal_at
    assert min(here.high) >= 0


def test_cusum_without_a_signal_names_no_point() -> None:
    answer = cusum.tabular_cusum([0.1, -0.1], 0.0, allowance=0.5, decision_interval=4.0)

    assert (answer.signal_at, answer.side, answer.since) == (None, "", None)


def test_before_after_is_the_two_group_difference_with_a_warning_word() -> None:
    before, after = [5, 6, 5, 7, 6], [8, 7, 9, 8, 8]

    answer = series.before_after_change(before, after)

    assert answer.interval == mean_difference(after, before).interval
    assert "season" in answer.note
    assert series.before_after_change([], [1.0, 2.0]).value is None


@untimed
@given(values=SMALL)
def test_theil_sen_is_the_median_of_all_slopes(values: list[float]) -> None:
    answer = series.theil_sen(values)

    slopes = [
        (values[j] - values[i]) / (j - i) for i, j in itertools.combinations(range(len(values)), 2)
    ]
    if not slopes:
        assert answer.value is None
        return
    assert answer.value == pytest.approx(np.median(slopes))
    if answer.interval is None:
        assert answer.note
    else:
        assert answer.interval.low <= np.median(slopes) <= answer.interval.high


@untimed
@given(values=st.permutations(range(9)))
def test_mann_kendall_without_ties_is_kendalls_exact_test(values: list[int]) -> None:
    theirs = stats.kendalltau(range(9), values, method="exact")

    assert series.mann_kendall(values).p == pytest.approx(theirs.pvalue)


@untimed
@given(values=st.lists(st.integers(0, 3), min_size=2, max_size=6))
def test_mann_kendall_with_ties_by_all_orders(values: list[int]) -> None:
    def s(order: tuple[int, ...]) -> int:
        return sum(
            (order[j] > order[i]) - (order[j] < order[i])
            for i, j in itertools.combinations(range(len(order)), 2)
        )

    orders = list(itertools.permutations(values))
    expected = sum(abs(s(order)) >= abs(s(tuple(values))) for order in orders) / len(orders)

    answer = series.mann_kendall(values)

    assert answer.p == pytest.approx(expected)
    assert answer.statistic == s(tuple(values))


def test_mann_kendall_of_long_or_equal_series_never_gives_nought() -> None:
    assert series.mann_kendall(np.arange(3000.0)).p == pytest.approx(0, abs=1e-300)
    assert (series.mann_kendall(np.arange(3000.0)).p or 0) > 0
    assert series.mann_kendall([2.0] * 7).p == 1
    assert series.mann_kendall([2.0]).p is None


@untimed
@given(before=SMALL.filter(bool), after=SMALL.filter(bool))
def test_overlap_by_counting_pairs(before: list[float], after: list[float]) -> None:
    above = sum((b > a) + (b == a) / 2 for a in before for b in after)
    pairs = len(before) * len(after)

    nap = series.nonoverlap_of_all_pairs(before, after)
    tau = series.tau_u(before, after)

    assert nap.value == pytest.approx(above / pairs)
    trend = sum(
        (before[j] > before[i]) - (before[j] < before[i])
        for i, j in itertools.combinations(range(len(before)), 2)
    )
    assert tau.value == pytest.approx(2 * above / pairs - 1 - trend / pairs)


def test_empty_phases_say_so() -> None:
    assert series.tau_u([], [1.0]).value is None
    assert series.nonoverlap_of_all_pairs([], [1.0]).value is None


@pytest.mark.parametrize(
    "call",
    [
        lambda: control_charts.individuals_chart([1.0, math.nan]),
        lambda: control_charts.individuals_chart([1.0, 2.0], 3),
        lambda: false_alarms.individuals_false_alarms(5, 1),
        lambda: control_charts.p_chart([3], [2]),
        lambda: cusum.baseline_cusum([1.0, 2.0], 2),
        lambda: control_charts.p_chart([1, 1], [2]),
        lambda: control_charts.shewhart_run_length(0, sigmas=0),
        lambda: run_chart.run_limits(1),
        lambda: cusum.tabular_cusum([1.0], 0, allowance=-1, decision_interval=4),
        lambda: cusum.cusum_run_length(0, h=0),
        lambda: series.theil_sen([1.0, 2.0], [1.0]),
    ],
)
def test_wrong_arrays_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"must"):
        call()  # type: ignore[operator]
