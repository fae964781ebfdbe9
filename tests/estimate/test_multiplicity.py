"""Several comparisons at once."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from statsmodels.stats.multitest import multipletests

from pmulab.estimate import multiplicity

untimed = settings(deadline=None)  # the first call imports scipy

P_VALUES = st.lists(st.floats(1e-6, 1.0), min_size=1, max_size=12)


@pytest.mark.parametrize(("k", "chance"), [(1, 0.05), (3, 0.14), (5, 0.23), (8, 0.34)])
def test_chance_of_a_false_finding(k: int, chance: float) -> None:
    assert multiplicity.chance_of_false_finding(k) == pytest.approx(chance, abs=0.005)


@settings(max_examples=30, deadline=None)
@given(p_values=P_VALUES)
def test_adjusted_p_values_are_those_of_statsmodels(p_values: list[float]) -> None:
    for ours, name in ((multiplicity.holm, "holm"), (multiplicity.benjamini_hochberg, "fdr_bh")):
        theirs = multipletests(p_values, method=name)[1]
        np.testing.assert_allclose(ours(p_values), theirs)


@untimed
@given(p_values=P_VALUES, alpha=st.floats(0.01, 0.3))
def test_holm_steps_down(p_values: list[float], alpha: float) -> None:
    """Holm's own procedure: the smallest against alpha / k, the next against alpha / (k - 1)."""
    kept = 0
    for rank, p in enumerate(sorted(p_values)):
        if p * (len(p_values) - rank) > alpha:
            break
        kept += 1

    adjusted = multiplicity.holm(p_values)
    assume(all(abs(p - alpha) > 1e-9 for p in adjusted))  # rounding decides there
    assert sum(p <= alpha for p in adjusted) == kept


def test_no_comparison_needs_no_adjustment() -> None:
    assert multiplicity.holm([]) == ()


@pytest.mark.parametrize(
    "call",
    [
        lambda: multiplicity.holm([0.0]),
        lambda: multiplicity.benjamini_hochberg([1.5]),
        lambda: multiplicity.chance_of_false_finding(0),
        lambda: multiplicity.chance_of_false_finding(2, alpha=0),
    ],
)
def test_impossible_p_values_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"must"):
        call()  # type: ignore[operator]
