"""Limits by inversion: against a search of the tests, and saddlepoint against full list."""

import numpy as np
import pytest

from pmulab.estimate import inversion
from pmulab.estimate.permutation import label_test, sign_flip_test

RNG = np.random.default_rng(8)


def slow_limit(p_of, start, outward):
    """Outermost value that is not rejected, by bisection of a p-value."""
    inner, outer = start, start + outward
    while p_of(outer) > 0.05:
        outer += outward
    for _ in range(60):
        middle = (inner + outer) / 2
        inner, outer = (middle, outer) if p_of(middle) > 0.05 else (inner, middle)
    return inner


@pytest.mark.parametrize("n", [6, 8, 11, 16])
def test_flip_limits_equal_a_search_of_the_test(n):
    d = RNG.gamma(2, 1, n)

    low, high = inversion.flip_limits(d, 0.95)

    step = float(d.std())
    assert low == pytest.approx(slow_limit(lambda m: sign_flip_test(d - m).p, d.mean(), -step))
    assert high == pytest.approx(slow_limit(lambda m: sign_flip_test(d - m).p, d.mean(), step))


@pytest.mark.parametrize("n", [4, 6, 8])
def test_label_limits_equal_a_search_of_the_test(n):
    a, b = RNG.gamma(2, 1, n), RNG.normal(0, 1, n)
    centre = a.mean() - b.mean()

    low, high = inversion.label_limits(a, b, 0.95)

    assert low == pytest.approx(slow_limit(lambda s: label_test(a - s, b).p, centre, -1.0))
    assert high == pytest.approx(slow_limit(lambda s: label_test(a - s, b).p, centre, 1.0))


@pytest.mark.parametrize("shape", ["normal", "skewed", "heavy"])
def test_saddlepoint_of_flips_is_near_the_full_list_at_17(monkeypatch, shape):
    for _ in range(10):
        d = draw(shape, 17)
        monkeypatch.setattr(inversion, "LISTED_PAIRS", 17)
        listed = inversion.flip_limits(d, 0.95)
        monkeypatch.setattr(inversion, "LISTED_PAIRS", 16)

        saddle = inversion.flip_limits(d, 0.95)

        assert np.abs(np.subtract(saddle, listed)).max() < 0.02 * (listed[1] - listed[0])


@pytest.mark.parametrize("shape", ["normal", "skewed", "heavy"])
def test_saddlepoint_of_labels_is_near_the_full_list_at_10(monkeypatch, shape):
    for _ in range(5):
        a, b = draw(shape, 10), draw(shape, 10)
        monkeypatch.setattr(inversion, "LISTED_LABELS", 10**6)
        listed = inversion.label_limits(a, b, 0.95)
        monkeypatch.setattr(inversion, "LISTED_LABELS", 1)

        saddle = inversion.label_limits(a, b, 0.95)

        assert np.abs(np.subtract(saddle, listed)).max() < 0.02 * (listed[1] - listed[0])


def draw(shape, n):
    if shape == "skewed":
        return RNG.lognormal(0, 0.8, n)
    if shape == "heavy":
        return RNG.standard_t(3, n)
    return RNG.normal(0, 1, n)


@pytest.mark.parametrize("level", [0.5, 0.8, 0.99, 0.999999])
def test_any_level_ends(level):
    d = RNG.normal(0, 1, 20)

    low, high = inversion.flip_limits(d, level)
    low_shift, high_shift = inversion.label_limits(d, d[::-1] + 1, level)

    assert low < d.mean() < high
    assert low_shift < -1 < high_shift
