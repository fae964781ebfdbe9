"""The short form of the measurements: few samples, wide allowance."""

import numpy as np
import pytest

from pmulab.estimate import independent, paired

from . import intervals, levels, yes_no
from .shapes import RARE_JUMPS, SHAPES

pytestmark = pytest.mark.bench

REPLICATES = 400
ALLOWED = 94.5 - 4 * 100 * np.sqrt(0.945 * 0.055 / REPLICATES)
"""Four standard errors below the floor: a construction that breaks falls far below this."""


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: shape.name)
@pytest.mark.parametrize("n", [5, 8, 12])
@pytest.mark.parametrize("is_paired", [True, False], ids=["paired", "groups"])
def test_every_interval_covers(shape, n, is_paired):
    makers = intervals.OURS_PAIRED if is_paired else intervals.OURS_GROUPS

    for name, cell in intervals.cell(shape, n, is_paired, makers, REPLICATES).items():
        assert cell.coverage >= ALLOWED, name
        assert (cell.none, cell.shut) == (0, 0), name


@pytest.mark.parametrize("n", [5, 8])
def test_yes_no_intervals_cover_at_every_base_rate(n):
    assert yes_no.paired_rows(n)["ours"]["worst"] >= 95
    assert yes_no.group_rows(n)["ours"]["worst"] >= 95
    assert yes_no.probability_rows(n)["worst"] >= 95


@pytest.mark.parametrize("shape", SHAPES[:3], ids=lambda shape: shape.name)
@pytest.mark.parametrize("is_paired", [True, False], ids=["paired", "groups"])
def test_intervals_of_the_mean_are_hardly_wider_than_t(shape, is_paired):
    makers = {
        "ours": (intervals.OURS_PAIRED if is_paired else intervals.OURS_GROUPS)["mean difference"],
        "t": intervals.baselines(is_paired)["t" if is_paired else "Welch"],
    }

    found = intervals.cell(shape, 8, is_paired, makers, REPLICATES)

    assert found["ours"].width <= 1.06 * found["t"].width


def test_yes_no_intervals_are_hardly_wider_than_the_score_intervals():
    pairs, groups = yes_no.paired_rows(8), yes_no.group_rows(8)

    assert pairs["ours"]["width"] <= 1.03 * pairs["Tango"]["width"]
    assert groups["ours"]["width"] <= 1.02 * groups["Miettinen-Nurminen"]["width"]


@pytest.mark.parametrize("n", [6, 9])
def test_yes_no_tests_keep_their_level(n):
    assert max(yes_no.type_one(n).values()) <= 5


def test_exact_tests_keep_their_level():
    found = levels.type_one(SHAPES[3], 8, REPLICATES)

    for name in ("sign-flip", "signed rank", "schedule", "labels", "rank sum", "group schedule"):
        assert found[name] <= 5 + 4 * 100 * np.sqrt(0.05 * 0.95 / REPLICATES), name


@pytest.mark.parametrize("share_first", [0.5, 0.75])
def test_adjusted_difference_covers_whatever_the_order_effect(share_first):
    found = levels.order_effect(12, share_first, 3.0, REPLICATES)

    assert ALLOWED <= found["adjusted"] <= 99
    assert ALLOWED <= found["Hills-Armitage"] <= 99


def test_rare_jumps_are_often_noticed_and_normal_samples_seldom_flagged():
    found = levels.jumps(20, True, REPLICATES)

    assert found["led by the typical, %"] >= 30
    assert found["flagged in normal samples, %"] <= 10


@pytest.mark.parametrize("function", [paired.typical_difference, independent.typical_shift])
def test_the_typical_difference_covers_in_spite_of_rare_jumps(function):
    makers = {"typical": ("typical", intervals.of(function))}
    is_paired = function is paired.typical_difference

    cell = intervals.cell(RARE_JUMPS, 12, is_paired, makers, REPLICATES)["typical"]

    assert cell.coverage >= ALLOWED
