"""Equivalence and non-inferiority, against statsmodels and against their own intervals."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.weightstats import ttost_ind, ttost_paired

from pmulab.estimate import equivalence

untimed = settings(deadline=None)  # the first call imports scipy

VALUES = st.lists(st.floats(-5, 5).map(lambda x: round(x, 2)), min_size=2, max_size=15)
MARGINS = st.floats(0.1, 5)


@untimed
@given(differences=VALUES.filter(lambda v: len(set(v)) > 1), margin=MARGINS)
def test_two_one_sided_tests_are_those_of_statsmodels(
    differences: list[float], margin: float
) -> None:
    theirs, _, _ = ttost_paired(np.array(differences), np.zeros(len(differences)), -margin, margin)

    answer = equivalence.paired_equivalence(differences, margin)

    assert answer.test.p == pytest.approx(theirs, rel=1e-6, abs=1e-12)


@untimed
@given(a=VALUES.filter(lambda v: len(set(v)) > 1), b=VALUES, margin=MARGINS)
def test_group_tests_are_those_of_statsmodels(
    a: list[float], b: list[float], margin: float
) -> None:
    theirs, _, _ = ttost_ind(np.array(a), np.array(b), -margin, margin, usevar="unequal")

    answer = equivalence.groups_equivalence(a, b, margin)

    assert answer.test.p == pytest.approx(theirs, rel=1e-6, abs=1e-12)


@untimed
@given(differences=VALUES, margin=MARGINS, alpha=st.sampled_from([0.025, 0.05, 0.1]))
def test_test_and_interval_agree(differences: list[float], margin: float, alpha: float) -> None:
    answers = [
        equivalence.paired_equivalence(differences, margin, alpha=alpha),
        equivalence.paired_noninferiority(differences, margin, "higher", alpha=alpha),
        equivalence.paired_noninferiority(differences, margin, "lower", alpha=alpha),
        equivalence.groups_equivalence(differences, differences[::-1], margin, alpha=alpha),
        equivalence.groups_noninferiority(differences, [0.0, 1.0], margin, "lower", alpha=alpha),
    ]

    for answer in answers:
        if answer.test.p is None:
            assert answer.interval is None
            assert answer.within is None
            assert answer.test.note
        elif abs(answer.test.p - alpha) > 1e-9:
            assert answer.within == (answer.test.p < alpha)


@untimed
@given(differences=VALUES, margin=MARGINS)
def test_equivalence_is_noninferiority_both_ways(differences: list[float], margin: float) -> None:
    both = equivalence.paired_equivalence(differences, margin, alpha=0.05)
    up = equivalence.paired_noninferiority(differences, margin, "higher", alpha=0.05)
    down = equivalence.paired_noninferiority(differences, margin, "lower", alpha=0.05)

    if both.test.p is not None:
        assert both.test.p == max(up.test.p or 0, down.test.p or 0)


@untimed
@given(differences=VALUES.filter(lambda v: len(v) <= 8), margin=MARGINS)
def test_sign_flip_tests_by_listing_the_patterns(differences: list[float], margin: float) -> None:
    def one_sided(values: np.ndarray) -> float:
        totals = [np.dot(s, values) for s in itertools.product([1, -1], repeat=len(values))]
        return float(np.mean(np.array(totals) >= values.sum() - 1e-9))

    values = np.array(differences)
    expected = max(one_sided(values + margin), one_sided(margin - values))

    p = equivalence.signflip_equivalence(differences, margin).p

    assert p is not None
    if expected <= 0.5:
        assert p == pytest.approx(expected, abs=1e-12)
    assert p >= expected - 1e-12 or expected > 0.5


def test_equal_differences_and_empty_groups_say_why() -> None:
    assert "equal" in equivalence.paired_equivalence([0.0, 0.0, 0.0], 1.0).test.note
    assert equivalence.groups_equivalence([1.0], [1.0, 2.0], 1.0).within is None
    assert equivalence.groups_noninferiority([1.0, 1.0], [2.0, 2.0], 1.0, "higher").within is None
    assert equivalence.signflip_equivalence([], 1.0).p is None


@pytest.mark.parametrize(
    "call",
    [
        lambda: equivalence.paired_equivalence([1.0, 2.0], 0),
        lambda: equivalence.paired_equivalence([1.0, 2.0], 1, alpha=0.5),
        lambda: equivalence.paired_noninferiority([1.0, 2.0], 1, "best"),  # type: ignore[arg-type]
        lambda: equivalence.signflip_equivalence([1.0], -1),
    ],
)
def test_impossible_margins_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"must"):
        call()  # type: ignore[operator]
