"""Randomisation tests against schedules drawn and listed in full."""

from itertools import combinations, product

import numpy as np
import pytest

from pmulab.estimate.randomisation import group_schedule_test, schedule_test

RNG = np.random.default_rng(5)


def every_draw(slots):
    """All ways to put half of the slots on the plus side."""
    return [
        np.array([1 if place in chosen else -1 for place in range(slots)])
        for chosen in combinations(range(slots), slots // 2)
    ]


def listed(weights_by_stratum, slots_by_stratum, observed):
    """Share of complete schedules whose seen part reaches the observed total."""
    totals = [0.0]
    for weights, slots in zip(weights_by_stratum, slots_by_stratum, strict=True):
        here = [float(draw[: len(weights)] @ weights) for draw in every_draw(slots)]
        totals = [one + other for one, other in product(totals, here)]
    return np.mean(np.abs(totals) >= abs(observed) - 1e-9)


@pytest.mark.parametrize(("clients", "arrangements"), [(8, 16), (12, 64), (16, 256), (20, 1024)])
def test_blocks_of_four_allow_two_arrangements_a_stratum(clients, arrangements):
    left = np.tile([True, False], clients // 2)
    shown = np.where(left, 1, -1) * RNG.normal(0, 1, clients)
    strata = [place // 2 for place in range(clients)]

    test = schedule_test(shown, left, strata, [2] * clients)

    assert test.smallest_p == pytest.approx(2 / arrangements)


@pytest.mark.parametrize(
    "slots_and_seen",
    [
        [(2, 2), (2, 2), (4, 4)],
        [(4, 3), (4, 4), (2, 1)],
        [(4, 1), (4, 2), (8, 5)],
        [(2, 1), (2, 1), (2, 1), (2, 1)],
    ],
)
@pytest.mark.parametrize("tied", [False, True])
def test_unfinished_strata_equal_the_list_of_complete_schedules(slots_and_seen, tied):
    for _ in range(5):
        plus, strata, sizes = [], [], []
        for number, (slots, seen) in enumerate(slots_and_seen):
            draw = every_draw(slots)[RNG.integers(len(every_draw(slots)))]
            plus += list(draw[:seen] > 0)
            strata += [number] * seen
            sizes += [slots] * seen
        n = len(plus)
        fixed = RNG.integers(-2, 3, n).astype(float) if tied else RNG.normal(0, 1, n)
        signs = np.where(plus, 1, -1)
        order = RNG.permutation(n)  # clients of one stratum need not stand together

        test = schedule_test(
            (signs * fixed)[order],
            np.array(plus)[order],
            [strata[i] for i in order],
            [sizes[i] for i in order],
        )

        by_stratum = [fixed[np.array(strata) == k] for k in range(len(slots_and_seen))]
        expected = listed(by_stratum, [slots for slots, _ in slots_and_seen], signs @ fixed)
        assert test.p == pytest.approx(expected, rel=1e-9)


def test_groups_in_unfinished_blocks_equal_the_list():
    values = RNG.normal(0, 1, 10)
    in_a = [True, False, False, True, True, True, False, False, False, True]
    blocks, sizes = [0] * 4 + [1] * 4 + [2] * 2, [4] * 10
    centred = values - values.mean()

    test = group_schedule_test(values, in_a, blocks, sizes)

    parts = [centred[:4], centred[4:8], centred[8:]]
    assert test.p == pytest.approx(listed(parts, [4, 4, 4], np.where(in_a, 1, -1) @ centred))
    assert test.statistic == pytest.approx(values[in_a].mean() - values[~np.array(in_a)].mean())


def test_a_pure_side_effect_tells_nothing_about_the_arms():
    """Left is always 2 more than right; arm A was left in half of the clients of each stratum."""
    left = [True, False] * 4
    differences = np.where(left, 2.0, -2.0)

    test = schedule_test(differences, left, [0, 0, 1, 1, 2, 2, 3, 3], [2] * 8)

    assert (test.p, test.smallest_p) == (1.0, 1.0)


def test_sides_that_no_schedule_gives_are_said():
    test = schedule_test([1, 2, 3, 4], [True, True, True, True], [0, 0, 1, 1], [2] * 4)

    assert test.p is None
    assert "not a draw" in test.note


def test_type_one_error_over_real_draws_stays_below_the_level():
    """No arm effect, strong side effect: the share of p <= 5 % over all schedules is exact."""
    fixed = 1.5 + RNG.normal(0, 1, 12)
    strata = [place // 2 for place in range(12)]
    ps = []
    for flips in product((True, False), repeat=6):
        left = np.array([side for flip in flips for side in (flip, not flip)])
        ps.append(schedule_test(np.where(left, fixed, -fixed), left, strata, [2] * 12).p)

    assert np.mean(np.array(ps) <= 0.05) <= 0.05
    assert np.mean(np.array(ps) <= 0.10) <= 0.10


def test_long_studies_are_bounded_rather_than_refused():
    n = 96
    left = np.tile([True, False], n // 2)
    d = RNG.normal(0.3, 1, n)

    test = schedule_test(d, left, [place // 2 for place in range(n)], [2] * n)

    fixed = np.where(left, d, -d)
    half = (fixed[::2] - fixed[1::2]) * RNG.choice([-1, 1], (100_000, n // 2))
    drawn = np.mean(np.abs(half.sum(axis=1)) >= abs(d.sum()))
    assert "conservative" in test.method
    assert drawn - 0.004 <= test.p <= drawn + 0.006


@pytest.mark.parametrize(
    ("strata", "sizes"), [([0, 0, 0], [2] * 4), ([0, 0, 1, 1], [2, 4, 2, 2]), ([0] * 4, [3] * 4)]
)
def test_impossible_strata_are_refused(strata, sizes):
    with pytest.raises(ValueError, match="needed"):
        schedule_test([1, 2, 3, 4], [True, False] * 2, strata, sizes)
