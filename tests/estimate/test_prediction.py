"""The range for the next study: its law of the spread, what must hold, and how often it holds."""

import numpy as np
import pytest
from scipy import stats

from pmulab.estimate.pooling import pooled
from pmulab.estimate.prediction import MOST_DRAWN, _drawn_variances, next_study

EFFECTS = np.array([-3.21, -1.60, -2.90, -0.40, -2.20])
ERRORS = np.array([0.531, 0.70, 0.85, 0.60, 1.10])


@pytest.mark.parametrize("tau2", [0.3, 1.0, 3.0])
def test_drawn_spreads_follow_the_law_of_cochrans_q(tau2):
    """P(drawn <= tau2) is P(Q >= observed) at that tau2, by drawing studies themselves.

    Nagashima et al. (2019), equation of the confidence distribution.
    """
    rng = np.random.default_rng(3)
    v = ERRORS**2
    w = 1 / v
    invented = rng.normal(0, np.sqrt(v + tau2), (200_000, 5))
    apart = invented - (invented @ w / w.sum())[:, None]
    observed = pooled(EFFECTS, ERRORS).q
    above = float(((apart**2 @ w) >= observed).mean())
    drawn = _drawn_variances(EFFECTS, v, rng.chisquare(1, (200_000, 4)))

    assert float((drawn <= tau2).mean()) == pytest.approx(above, abs=0.005)


def test_studies_alike_in_size_have_a_law_in_closed_form():
    """With equal errors Q / (1 + tau2 / v) is one chi-square (Cochran 1954)."""
    y = np.array([1.0, 2.5, 4.0, 3.0])
    v = np.full(4, 0.5)
    rng = np.random.default_rng(4)
    drawn = _drawn_variances(y, v, rng.chisquare(1, (200_000, 3)))
    q = ((y - y.mean()) ** 2).sum() / 0.5

    for tau2 in (0.2, 1.0, 4.0):
        share = stats.chi2.sf(q / (1 + tau2 / 0.5), 3)
        assert float((drawn <= tau2).mean()) == pytest.approx(share, abs=0.005)


def test_very_precise_equal_studies_give_the_range_of_a_plain_sample():
    """Without errors of their own the studies are a sample: mean ± t(k - 1) s sqrt(1 + 1/k)."""
    found = next_study(EFFECTS, np.full(5, 1e-4))
    half = stats.t.ppf(0.975, 4) * EFFECTS.std(ddof=1) * np.sqrt(1 + 1 / 5)

    assert found.high == pytest.approx(EFFECTS.mean() + half, rel=0.02)
    assert found.low == pytest.approx(EFFECTS.mean() - half, rel=0.02)


def test_shift_scale_and_order_of_the_studies_move_the_range_alike():
    first = next_study(EFFECTS, ERRORS)
    moved = next_study(7 + 3 * EFFECTS[::-1], 3 * ERRORS[::-1])

    assert moved.low == pytest.approx(7 + 3 * first.low)
    assert moved.high == pytest.approx(7 + 3 * first.high)
    assert next_study(EFFECTS, ERRORS) == first


def test_it_is_about_the_older_range_for_five_studios():
    """The figures beside each other; the older one is checked against published ones."""
    found, older = next_study(EFFECTS, ERRORS), pooled(EFFECTS, ERRORS).prediction

    assert (round(found.low, 1), round(found.high, 1)) == (-5.9, 1.7)
    assert found.low == pytest.approx(older.low, abs=0.3)


def test_where_nothing_can_be_drawn():
    many = np.linspace(-1, 1, MOST_DRAWN + 1)
    errors = np.full(many.size, 0.5)

    assert next_study([1, 2], [1, 1]) is None
    assert next_study(many, errors) == pooled(many, errors).prediction
    assert next_study([2, 2, 2], [1, 1, 2]) == pooled([2, 2, 2], [1, 1, 2]).prediction
    with pytest.raises(ValueError, match="above 0"):
        next_study([1, 2, 3], [1, 0, 1])


def test_it_holds_the_next_studio_about_as_often_as_it_says():
    """A short form of the bench: 95 % within what 600 groups allow (binomial, 99.9 %)."""
    rng = np.random.default_rng(8)
    held = 0
    for _ in range(600):
        errors = rng.uniform(0.6, 1.4, 5)
        effects = rng.normal(rng.normal(0, 1.0, 5), errors)
        one = next_study(effects, errors, draws=1_000)
        held += one.low <= rng.normal(0, 1.0) <= one.high

    assert stats.binom.ppf(0.0005, 600, 0.94) <= held
