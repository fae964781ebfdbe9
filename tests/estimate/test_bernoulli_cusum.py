"""Yes/no answers one by one: the sum from the likelihood ratio, its run length from known laws."""

from math import log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmulab.estimate.bernoulli_cusum import (
    RUN_LENGTH,
    Design,
    baseline_rate,
    bernoulli_cusum,
    bernoulli_run_length,
    clients_until_found,
    design,
    raised_rate,
)
from pmulab.estimate.false_alarms import bernoulli_false_alarms

RATES = [0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.8, 0.98]


@pytest.mark.parametrize("rate", RATES)
def test_the_sum_is_the_likelihood_ratio_of_the_raised_rate(rate):
    """Steiner et al. (2000): a yes weighs ln(p1/p0), a no ln((1-p1)/(1-p0)), odds doubled."""
    raised, chart = raised_rate(rate), design(rate)
    yes, no = log(raised / rate), log((1 - raised) / (1 - rate))

    assert raised / (1 - raised) == pytest.approx(2 * rate / (1 - rate))
    assert chart.down / chart.up == pytest.approx(-no / yes, rel=0.03)
    assert rate < chart.down / (chart.up + chart.down) < raised


@pytest.mark.parametrize("limit", [1, 2, 5, 30])
def test_an_even_walk_takes_its_known_time(limit):
    """Even steps of one, held at 0: limit (limit + 1) steps on average (Feller, vol. 1, XIV)."""
    expected = limit * (limit + 1)

    assert bernoulli_run_length(0.5, Design(1, 1, limit)) == pytest.approx(expected)


@pytest.mark.parametrize("rate", [0.1, 0.5, 0.8])
@pytest.mark.parametrize("run", [1, 2, 4])
def test_a_run_of_yes_takes_its_known_time(rate, run):
    """First run of r successes: (1 - p^r) / ((1 - p) p^r) trials (Feller, vol. 1, XIII.7)."""
    expected = (1 - rate**run) / ((1 - rate) * rate**run)

    assert bernoulli_run_length(rate, Design(1, run, run)) == pytest.approx(expected)


@pytest.mark.parametrize("rate", [0.1, 0.3])
def test_the_run_length_is_what_drawing_clients_gives(rate):
    """Against 4,000 invented practices of the raised rate, walked through one by one."""
    chart, raised = design(rate), raised_rate(rate)
    rows = np.random.default_rng(5).random((4_000, 2_000)) < raised
    running, lengths = np.zeros(4_000, dtype=int), np.zeros(4_000, dtype=int)
    for place, client in enumerate(rows.T, start=1):
        running = np.maximum(0, running + np.where(client, chart.up, -chart.down))
        lengths[(lengths == 0) & (running >= chart.limit)] = place

    assert (lengths > 0).all()
    assert lengths.mean() == pytest.approx(clients_until_found(rate), rel=0.03)


@pytest.mark.parametrize("rate", RATES)
def test_the_limit_is_the_smallest_that_signals_rarely_enough(rate):
    chart = design(rate)
    smaller = Design(chart.up, chart.down, chart.limit - 1)

    assert bernoulli_run_length(rate, chart) >= 2 * RUN_LENGTH
    assert bernoulli_run_length(rate, smaller) < 2 * RUN_LENGTH
    assert clients_until_found(rate) < RUN_LENGTH


def test_with_a_long_baseline_luck_signals_as_the_run_length_says():
    """Waiting times of a chart at rest are about geometric: 1 - (1 - 1/L)^n, L of both sides."""
    share = bernoulli_false_alarms(1_200, 1_000, 0.2)
    once = 1 / bernoulli_run_length(0.2, design(0.2)) + 1 / bernoulli_run_length(0.8, design(0.8))

    assert share == pytest.approx(1 - (1 - once) ** 200, abs=0.07)
    assert bernoulli_false_alarms(220, 20, 0.2) > share


def test_a_short_baseline_raises_false_alarms_as_drawn_one_by_one():
    rows = np.random.default_rng(6).random((1_500, 60)) < 0.25
    signs = [
        bernoulli_cusum(row[20:], baseline_rate(int(row[:20].sum()), 20)).signal_at is not None
        for row in rows
    ]

    assert bernoulli_false_alarms(60, 20, 0.25) == pytest.approx(np.mean(signs), abs=0.035)


@given(st.lists(st.booleans(), max_size=60), st.sampled_from(RATES))
def test_yes_and_no_turned_round_turn_the_sums_round(answers, rate):
    here, there = (
        bernoulli_cusum(answers, rate),
        bernoulli_cusum([not a for a in answers], 1 - rate),
    )

    assert here.high == there.low
    assert here.low == there.high
    assert here.signal_at == there.signal_at
    assert all(one >= 0 for one in (*here.high, *here.low))


def test_a_sign_says_where_it_began():
    """Ten no, then yes after yes: the sum leaves 0 at client 11 and the sign comes later."""
    found = bernoulli_cusum([False] * 10 + [True] * 30, 0.2)
    chart = design(0.2)

    assert found.side == "high"
    assert found.since == 11
    assert found.signal_at == 10 + -(-chart.limit // chart.up)
    assert bernoulli_cusum([], 0.2).signal_at is None


@pytest.mark.parametrize(("yes", "clients"), [(0, 12), (12, 12), (3, 20), (0, 1000)])
def test_a_baseline_without_any_yes_still_gives_a_rate(yes, clients):
    """(yes + 1/2) / (clients + 1): the Krichevsky-Trofimov estimate."""
    rate = baseline_rate(yes, clients)

    assert 0.02 <= rate <= 0.98
    assert rate == pytest.approx((yes + 0.5) / (clients + 1)) or clients > 24


@pytest.mark.parametrize(
    "call",
    [
        lambda: design(0.001),
        lambda: design(0.2, 1.0),
        lambda: bernoulli_run_length(0, Design(1, 1, 2)),
        lambda: bernoulli_false_alarms(20, 20, 0.2),
        lambda: bernoulli_false_alarms(20, 10, 0),
    ],
)
def test_numbers_out_of_range_are_refused(call):
    with pytest.raises(ValueError, match=r"rate|baseline"):
        call()
