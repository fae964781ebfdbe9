"""Pooling: the demonstration's figures, a reference library, and what must hold whatever comes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar
from statsmodels.stats.meta_analysis import combine_effects

from pmulab.estimate.one_stage import one_stage_difference
from pmulab.estimate.pooling import between_variance, common_effect, pooled, without_each
from pmulab.estimate.results import Interval
from pmulab.estimate.study_errors import interval_error

EFFECTS = [-3.21, -1.60, -2.90, -0.40, -2.20]
ERRORS = [0.531, 0.70, 0.85, 0.60, 1.10]


def ends(interval):
    return (round(interval.low, 2), round(interval.high, 2))


def test_five_invented_studios():
    """Figures computed with statsmodels and scipy beforehand."""
    found = pooled(EFFECTS, ERRORS, spread="Paule-Mandel")

    assert round(found.tau2, 3) == 0.868
    assert round(found.tau, 2) == 0.93
    assert round(found.q, 2) == 13.77
    assert round(100 * (found.q - 4) / found.q) == 71
    assert round(found.value, 2) == -2.03
    assert ends(found.classical) == (-3.08, -0.99)
    assert ends(found.interval) == (-3.51, -0.56)
    assert ends(found.prediction) == (-5.45, 1.38)


def test_a_sixth_studio_that_saw_nothing():
    found = pooled([*EFFECTS, 0.3], [*ERRORS, 0.70], spread="Paule-Mandel")

    assert round(found.value, 2) == -1.64
    assert ends(found.interval) == (-3.13, -0.14)
    assert ends(found.prediction) == (-5.37, 2.10)


def test_two_studios_tell_next_to_nothing():
    found = pooled(EFFECTS[:2], ERRORS[:2], spread="Paule-Mandel")

    assert round(found.value, 2) == -2.47
    assert (round(found.interval.low, 1), round(found.interval.high, 1)) == (-12.7, 7.7)
    assert found.prediction is None


def test_three_studios():
    found = pooled(EFFECTS[:3], ERRORS[:3], spread="Paule-Mandel")

    assert round(found.tau2, 3) == 0.297
    assert round(found.value, 2) == -2.62
    assert ends(found.interval) == (-4.78, -0.46)


@pytest.mark.parametrize("seed", range(20))
def test_paule_mandel_and_its_interval_are_those_of_statsmodels(seed):
    rng = np.random.default_rng(seed)
    errors = rng.uniform(0.3, 2, 8)
    effects = rng.normal(0, 1.5, 8) + rng.normal(0, errors)
    theirs = combine_effects(effects, errors**2, method_re="iterated", use_t=False)
    found = pooled(effects, errors, spread="Paule-Mandel")

    assert found.tau2 == pytest.approx(theirs.tau2, abs=1e-4)
    assert found.q == pytest.approx(theirs.q)
    assert found.value == pytest.approx(theirs.mean_effect_re, abs=1e-4)
    assert common_effect(effects, errors)[0] == pytest.approx(theirs.mean_effect_fe)


def test_paule_mandel_is_not_nought_where_the_spread_is_more_than_chance():
    """An iteration that overshoots answers 0 here, though Q = 3.44 exceeds k - 1 = 2."""
    assert between_variance(EFFECTS[:3], ERRORS[:3], spread="Paule-Mandel") > 0.29


@pytest.mark.parametrize("seed", range(10))
def test_restricted_likelihood_is_highest_there(seed):
    """Against scipy's own search for the highest point."""
    rng = np.random.default_rng(seed)
    v = rng.uniform(0.1, 2, 6)
    y = rng.normal(0, np.sqrt(v + 0.5))

    def height(tau2):
        w = 1 / (v + tau2)
        m = (w * y).sum() / w.sum()
        return -0.5 * (np.log(w).sum() - np.log(w.sum()) - (w * (y - m) ** 2).sum())

    best = min(
        (minimize_scalar(height, bounds=(a, a + 1), method="bounded") for a in np.arange(0, 20, 1)),
        key=lambda found: found.fun,
    )
    tau2 = between_variance(y, np.sqrt(v))

    assert height(tau2) <= best.fun + 1e-9


sizes = st.floats(0.05, 5)
studies = st.lists(st.tuples(st.floats(-20, 20), sizes), min_size=2, max_size=12)


@given(studies, st.sampled_from(["REML", "Paule-Mandel", "DerSimonian-Laird"]))
def test_the_interval_is_never_narrower_than_the_classical_one(rows, spread):
    effects, errors = zip(*rows, strict=True)
    found = pooled(effects, errors, spread=spread)

    assert found.tau2 >= 0
    assert 0 <= found.i2 <= 1
    assert min(effects) - 1e-9 <= found.value <= max(effects) + 1e-9
    assert found.interval.low <= found.classical.low
    assert found.interval.high >= found.classical.high
    if found.prediction is not None:
        assert found.prediction.low <= found.classical.low


@given(studies, st.floats(-5, 5), st.floats(0.1, 10))
def test_shifting_and_scaling_the_differences_moves_the_answer_alike(rows, shift, scale):
    effects, errors = (np.array(part) for part in zip(*rows, strict=True))
    first, second = pooled(effects, errors), pooled(shift + scale * effects, scale * errors)

    assert second.value == pytest.approx(shift + scale * first.value, rel=1e-4, abs=1e-4)
    assert second.tau == pytest.approx(scale * first.tau, rel=1e-3, abs=1e-3)


def test_leaving_out_each_study_in_turn():
    found = without_each(EFFECTS, ERRORS, 0.868)
    w = 1 / (np.array(ERRORS) ** 2 + 0.868)
    by_hand = [np.delete(w * EFFECTS, i).sum() / np.delete(w, i).sum() for i in range(5)]

    assert found == pytest.approx(by_hand)


@pytest.mark.parametrize(
    ("effects", "errors"), [([1], [1]), ([1, 2], [1]), ([1, 2], [1, 0]), ([1, np.nan], [1, 1])]
)
def test_what_cannot_be_pooled_is_refused(effects, errors):
    with pytest.raises(ValueError, match=r"studies|errors|finite|error"):
        pooled(effects, errors)


def test_equal_studies_have_no_spread_between_them():
    found = pooled([1.0, 1.0, 1.0], [0.5, 0.5, 0.5])

    assert found.tau2 == 0
    assert found.value == 1


def test_clients_of_balanced_studies_give_the_mean_of_the_study_means():
    """In balanced data the mixed model's error is that of the study means (any textbook)."""
    rng = np.random.default_rng(3)
    d = (rng.normal(0, 1.5, 6)[:, None] + rng.normal(-2, 1, (6, 10))).round(1)
    found = one_stage_difference(d.ravel(), np.repeat(list("abcdef"), 10))
    means = d.mean(axis=1)
    half = 2.5706 * means.std(ddof=1) / np.sqrt(6)  # t(5), any table

    assert found.value == pytest.approx(means.mean(), abs=1e-6)
    assert found.interval.high - found.value == pytest.approx(half, rel=1e-3)


@pytest.mark.parametrize(
    ("d", "labels", "why"),
    [
        ([1, 2, 3, 4], "aabb", "Fewer than 3"),
        ([1, 2, 3, 4, 5], "aabbc", "one client only"),
        ([2] * 6, "aabbcc", "equal"),
        (list(range(402)), list(range(201)) * 2, "More than"),
    ],
)
def test_one_model_of_all_clients_is_refused_in_words(d, labels, why):
    found = one_stage_difference(d, list(labels))

    assert found.value is None
    assert why in found.note


def test_no_spread_between_studies_still_gives_an_answer():
    rng = np.random.default_rng(5)
    d = rng.normal(0, 1, 40)
    found = one_stage_difference(d, np.tile(list("abcd"), 10))

    assert found.value == pytest.approx(d.mean(), abs=1e-6)
    assert found.interval is not None


@pytest.mark.parametrize(("level", "divisor"), [(0.90, "3.29"), (0.95, "3.92"), (0.99, "5.15")])
def test_an_interval_stands_for_the_error_that_the_handbook_takes_from_it(level, divisor):
    """Cochrane Handbook, section 6.3.2: width over 3.29, 3.92 or 5.15 (from memory)."""
    interval = Interval(-12.5, 29.0, level, "any")

    assert f"{41.5 / interval_error(interval):.2f}" == divisor


@pytest.mark.parametrize(
    ("low", "level"),
    [(3.0, 0.95), (-100.0, 1.0), (-100.0, 0.0), (-100.0, 1e-300), (-100.0, 7.0), (-1.7e308, 1e-9)],
)
def test_an_interval_without_width_or_of_no_level_stands_for_no_error(low, level):
    """A level may be anything in a pack that came in."""
    assert interval_error(Interval(low, 3.0, level, "any")) is None
