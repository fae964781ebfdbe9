"""Parts of the clients: refused when small, compared with each other when two are large enough.

No part under twenty pairs: the rule of the kit (common practice, no source).
"""

from math import sqrt

import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.formula.api import ols

from pmulab.estimate import independent, paired
from pmulab.estimate.subgroups import FEWEST, group_subgroups, paired_subgroups

quick = settings(max_examples=25, deadline=None)
SIZES = st.lists(st.integers(1, 32), min_size=1, max_size=4)
HALF = st.integers(-40, 40).map(lambda half: half / 2)


@st.composite
def labelled(draw, sizes=SIZES):
    """Values with a part for each, in a mixed order."""
    names = [f"part {k}" for k, n in enumerate(draw(sizes)) for _ in range(n)]
    labels = draw(st.permutations(names))
    return np.array(draw(st.lists(HALF, min_size=len(labels), max_size=len(labels)))), labels


TWO_LARGE = st.tuples(st.integers(20, 28), st.integers(20, 28))


@quick
@given(labelled())
def test_a_part_is_answered_from_twenty_pairs_on_and_refused_below(drawn):
    d, labels = drawn

    found = paired_subgroups(d, labels, step=0.5)

    assert [part.label for part in found.parts] == sorted(set(labels))
    for part in found.parts:
        own = d[np.array(labels) == part.label]
        assert part.answer.n == len(own)
        if len(own) < FEWEST:
            assert part.answer.value is None
            assert part.answer.interval is None
            assert str(len(own)) in part.answer.note
        else:
            assert part.answer == paired.mean_difference(own, 0 * own, step=0.5)
    large = sum(part.answer.n >= 20 for part in found.parts)
    assert (found.between.value is not None) == (large == 2)
    assert found.between.note or large == 2


@quick
@given(labelled(TWO_LARGE), st.randoms(use_true_random=False))
def test_the_order_of_clients_does_not_matter(drawn, rng):
    d, labels = drawn
    mixed = list(range(len(d)))
    rng.shuffle(mixed)

    found, again = (
        paired_subgroups(d[order], [labels[k] for k in order], step=0.5)
        for order in (range(len(d)), mixed)
    )

    assert again.between.value == pytest.approx(found.between.value)
    assert again.between.interval.low == pytest.approx(found.between.interval.low)
    assert again.between.interval.high == pytest.approx(found.between.interval.high)


@quick
@given(labelled(TWO_LARGE), st.integers(-9, 9))
def test_what_all_clients_share_makes_no_difference_between_parts(drawn, shift):
    d, labels = drawn

    found = paired_subgroups(d, labels, step=0.5).between
    moved = paired_subgroups(d + shift, labels, step=0.5).between

    assert moved.value == pytest.approx(found.value)
    assert moved.interval.low == pytest.approx(found.interval.low)


@quick
@given(labelled(TWO_LARGE))
def test_parts_of_pairs_are_compared_at_least_as_carefully_as_by_welch(drawn):
    d, labels = drawn
    first, second = (d[np.array(labels) == f"part {k}"] for k in (0, 1))
    assume(min(first.std(), second.std()) > 1)  # above what rounding to halves explains

    found = paired_subgroups(d, labels, step=0.5).between
    theirs = stats.ttest_ind(first, second, equal_var=False).confidence_interval()

    assert found.value == pytest.approx(first.mean() - second.mean())
    assert found.interval.low <= theirs.low + 1e-9
    assert found.interval.high >= theirs.high - 1e-9


@quick
@given(st.integers(0, 2**32 - 1), st.lists(st.integers(20, 30), min_size=4, max_size=4))
def test_difference_of_differences_is_that_of_a_regression(seed, sizes):
    """With robust (HC2) errors a saturated regression gives the same standard error."""
    rng = np.random.default_rng(seed)
    part = np.repeat(["x", "x", "y", "y"], sizes)
    in_a = np.repeat([True, False, True, False], sizes)
    values = rng.normal(0, np.repeat([1, 2, 1, 3], sizes))

    found = group_subgroups(values, in_a, list(part)).between

    data = pd.DataFrame({"values": values, "a": in_a.astype(int), "x": (part == "x").astype(int)})
    fit = ols("values ~ a * x", data).fit(cov_type="HC2")
    assert found.value == pytest.approx(fit.params["a:x"])
    half = (found.interval.high - found.interval.low) / 2
    # Degrees of freedom lie between those of the smallest cell and of all cells together.
    t_many, t_few = stats.t.ppf(0.975, [sum(sizes) - 4, min(sizes) - 1])
    assert t_many * fit.bse["a:x"] <= half + 1e-9
    assert half <= t_few * fit.bse["a:x"] + 1e-9


def test_with_one_noisy_arm_the_degrees_of_freedom_are_its_own():
    """As only one of four means is uncertain, the interval is the t interval of that mean."""
    noisy = np.random.default_rng(2).normal(0, 1, 20)
    values = np.concatenate([noisy, np.zeros(60)])
    in_a = np.repeat([True, False, True, False], 20)

    found = group_subgroups(values, in_a, ["x"] * 40 + ["y"] * 40).between

    theirs = stats.t.interval(0.95, 19, noisy.mean(), noisy.std(ddof=1) / sqrt(20))
    assert (found.interval.low, found.interval.high) == pytest.approx(theirs)


@quick
@given(st.integers(15, 25), st.integers(15, 25))
def test_a_part_of_two_groups_needs_twenty_in_each_arm(n_a, n_b):
    values = np.random.default_rng(n_a + 100 * n_b).normal(0, 1, n_a + n_b)
    in_a = np.arange(n_a + n_b) < n_a

    (part,) = group_subgroups(values, in_a, ["all"] * (n_a + n_b)).parts

    if min(n_a, n_b) < 20:
        assert part.answer.value is None
        assert f"{n_a} and {n_b}" in part.answer.note
    else:
        assert part.answer == independent.mean_difference(values[in_a], values[~in_a])


def test_values_that_never_vary_give_no_interval_and_say_so():
    labels = ["x"] * 40 + ["y"] * 40
    in_a = [True, False] * 40

    silent = group_subgroups(np.ones(80), in_a, labels).between
    stepped = group_subgroups(np.ones(80), in_a, labels, step=1).between

    assert (silent.value, silent.interval) == (0, None)
    assert silent.note
    assert stepped.interval is not None


def test_no_clients_and_three_large_parts_give_no_comparison():
    none = paired_subgroups([], [])
    three = paired_subgroups(np.arange(60.0), ["x", "y", "z"] * 20)

    assert none.parts == ()
    assert "none" in none.between.note
    assert all(part.answer.interval for part in three.parts)
    assert "3 are" in three.between.note


@pytest.mark.parametrize(
    "call",
    [
        lambda: paired_subgroups([1.0, 2.0], ["x"]),
        lambda: paired_subgroups([1.0, 2.0], ["x", " "]),
        lambda: paired_subgroups([1.0, float("nan")], ["x", "x"]),
        lambda: paired_subgroups([1.0], ["x"], level=1),
        lambda: group_subgroups([1.0, 2.0], [True], ["x", "x"]),
        lambda: group_subgroups([1.0, 2.0], [True, False], ["x", "x"], step=-1),
    ],
)
def test_impossible_questions_are_refused(call):
    with pytest.raises(ValueError, match=r"must|needed"):
        call()
