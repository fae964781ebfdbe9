"""How luck fools: against the published cost of repeated looks, and against the t test itself.

P. Armitage, C. K. McPherson, B. C. Rowe (1969), Repeated significance tests on accumulating data,
J R Statist Soc A 132:235-244: two looks at normal data with known spread, each at 5 %, find
something in 8.3 %; four in 12.6 %. The t test of so few clients, whose spread is estimated anew
at each look, lies a little above.
"""

import re
from math import sqrt

import numpy as np
import pytest
from scipy import stats

from pmulab import luck as made
from pmulab.errors import UserError
from pmulab.estimate.looks import repeated_t_error
from pmulab.figures import wandering
from pmulab.luck import CLIENTS, EXAMPLE, FIRST_LOOK, Often, how_often, series
from pmulab.stations.fooled import fooled, how_often_fooled
from pmulab.wording.luck import replay_lines

PUBLISHED_TWO_LOOKS = 0.083
MANY = 100_000


def three_errors(share):
    return 3 * sqrt(share * (1 - share) / MANY)


@pytest.fixture(scope="module")
def often():
    return how_often(MANY)


def looks_as_published(share):
    """Tell whether a share can be the published cost of two looks, t instead of normal allowed."""
    return PUBLISHED_TWO_LOOKS - three_errors(0.083) <= share <= PUBLISHED_TWO_LOOKS + 0.005


def test_two_looks_cost_what_was_published(often):
    assert looks_as_published(often.twice / MANY)


def test_another_limit_would_be_noticed():
    """Kept wrong on purpose: looks at 6.5 % each are not taken for looks at 5 %."""
    draws = np.random.default_rng(1).normal(size=(MANY, CLIENTS))

    assert not looks_as_published(repeated_t_error(draws, (10, 20), alpha=0.065))


def test_one_look_at_the_end_keeps_its_promise(often):
    assert often.at_end / MANY == pytest.approx(0.05, abs=three_errors(0.05))


def test_looking_after_every_client_fools_one_in_five(often):
    """20.8 %: counted apart, with other random numbers, by scipy's own t test."""
    draws = np.random.default_rng(99).normal(size=(4000, CLIENTS))
    p = [stats.ttest_1samp(draws[:, :n], 0, axis=1).pvalue for n in range(FIRST_LOOK, CLIENTS + 1)]
    share = (np.array(p) <= 0.05).any(axis=0).mean()

    assert share == pytest.approx(0.208, abs=0.02)
    assert often.every_client / MANY == pytest.approx(0.208, abs=0.005)


def test_arithmetic_made_for_it_stays_below_five_per_cent(often):
    """Ville's bound (1939, from memory): at most 1 in 20 whenever one looks."""
    assert 0 < often.made_for_it <= 0.05 * MANY


@pytest.mark.parametrize("number", [1, EXAMPLE, 44])
def test_every_moment_is_a_t_interval(number):
    found = series(number)
    own = [one.own for one in found.moments]

    assert len(own) == CLIENTS
    for one in found.moments[FIRST_LOOK - 1 :]:
        known = stats.ttest_1samp(own[: one.client], 0)
        limits = known.confidence_interval(0.95)
        assert (one.low, one.high) == pytest.approx((limits.low, limits.high))
        assert one.found == (known.pvalue < 0.05)
    assert not any(one.found for one in found.moments[: FIRST_LOOK - 1])


def test_the_example_fools_on_the_way_and_not_at_the_end():
    assert series(EXAMPLE).found
    assert not series(EXAMPLE).moments[-1].found


def test_the_same_number_gives_the_same_series():
    assert series(7) == series(7)
    assert series(7) != series(8)
    assert how_often(50) == how_often(50)


@pytest.mark.parametrize("number", [0, -1])
def test_a_series_that_is_none_is_refused(number):
    with pytest.raises(ValueError, match="1 or more"):
        series(number)
    with pytest.raises(UserError, match="no series"):
        fooled(number)


@pytest.mark.parametrize("times", [0, 100_001])
def test_too_many_series_are_refused(times):
    with pytest.raises(ValueError, match="between"):
        how_often(times)
    with pytest.raises(UserError, match="cannot be simulated"):
        how_often_fooled(times)


@pytest.mark.parametrize("shown", [0, CLIENTS + 1])
def test_clients_that_a_series_does_not_have_are_refused(shown):
    with pytest.raises(UserError, match="cannot be shown"):
        fooled(EXAMPLE, shown)


def test_the_words_never_tell_what_is_still_to_come():
    found = series(EXAMPLE)
    first = found.found[0]

    assert "nobody" in " ".join(replay_lines(found, first - 1))
    assert f"client {first}" in " ".join(replay_lines(found, first))
    assert "at the end" not in " ".join(replay_lines(found, first))
    assert "at the end" in " ".join(replay_lines(found, CLIENTS))


def test_it_is_always_said_that_it_is_invented_and_luck():
    for number in (1, EXAMPLE):
        for shown in (1, 10, CLIENTS):
            said = fooled(number, shown).lines
            assert "Invented" in said[0]
            assert "truly the same" in said[0]


def test_counts_are_told_as_shares():
    told = str(how_often_fooled())

    assert re.search(r"4th on: in 2\d\d \(2\d\.\d %\)", told)
    assert isinstance(how_often_fooled(10).value, Often)


def test_the_picture_keeps_its_frame_and_marks_each_false_find():
    whole, begun = wandering(series(EXAMPLE), CLIENTS), wandering(series(EXAMPLE), 5)

    assert (whole.width, whole.height) == (begun.width, begun.height)
    assert "6 and 10 to 15" in whole.alt
    assert "nobody" in begun.alt
    ticks = re.compile(r"<!--.*?-->|>([−\d]+)<")
    assert ticks.findall(whole.svg) == ticks.findall(begun.svg)


def test_the_series_needs_no_study(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    fooled()
    how_often_fooled(10)

    assert list(tmp_path.iterdir()) == []
    assert made.ALPHA == 0.05
