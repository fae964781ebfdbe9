"""Rare one-sided jumps: what is flagged, what is left alone, and what is then said first."""

import numpy as np
import pytest

from pmulab.estimate import independent
from pmulab.estimate.jumps import jump_note, one_sided_jumps

REST = [0.2, -0.4, 0.9, 0.1, -1.1, 0.6, -0.3, 0.4, -0.8, 0.7]


@pytest.mark.parametrize(
    ("values", "step", "expected"),
    [
        (REST, 0.0, 0),
        ([*REST, 9.0], 0.0, 1),
        ([*REST, -9.0, -8.0], 0.0, -2),
        ([*REST, 9.0, -9.0], 0.0, 0),
        ([0.0, 0.1, 0.2, 9.0, 8.0], 0.0, 0),
        ([0.0, 0.1, 0.2, 9.0], 0.0, 0),
        ([0.0] * 8, 0.0, 0),
        ([0.0] * 9 + [5.0], 0.0, 1),
        ([0.0] * 9 + [1.0], 1.0, 0),
        ([0.0] * 9 + [6.0], 1.0, 1),
        ([], 0.0, 0),
    ],
)
def test_what_counts_as_a_jump(values, step, expected):
    assert one_sided_jumps(np.array(values), step) == expected


def test_modified_z_score_of_the_textbook_rule():
    """0.6745 (x - median) / MAD, Iglewicz and Hoaglin (1993); ours raises the limit by 10 / n."""
    values = np.array([*REST, 5.1])
    z = 0.6745 * (5.1 - np.median(values)) / np.median(np.abs(values - np.median(values)))

    assert (z > 3.5 + 10 / 11) == (one_sided_jumps(values, 0.0) == 1)


def test_the_note_names_how_many_and_where():
    assert jump_note(0, "differences") == ""
    assert jump_note(-1, "differences").startswith("1 of the differences lies far below the rest")
    assert "2 of the values of group A lie far above" in jump_note(2, "values of group A")


def test_a_jump_in_one_group_lets_the_typical_shift_lead():
    lead = independent.leading_difference([*REST, 12.0], REST)

    assert "Hodges-Lehmann" in lead.method
    assert "values of group A lies far above" in lead.note
    assert independent.leading_difference(REST, REST).method == "difference of means"
