"""The difference named first, and when so few clients give none an interval."""

import pytest
from studies import plan_text

from pmulab.analysis.differences import group_difference, pair_difference
from pmulab.plan import read_plan

NUMBER = read_plan(plan_text()).primary
YES_NO = next(
    one
    for one in read_plan(
        plan_text(kind="yes-no", low=0, high=1, unit="percentage points", worthwhile=20)
    ).outcomes
    if one.yes_no
)


@pytest.mark.parametrize("outcome", [NUMBER, YES_NO], ids=["number", "yes-no"])
def test_where_a_mean_gets_no_interval_a_share_gets_none(outcome):
    """With four pairs the surest exact level is 1 - 2 / 2**4 = 87.5 % (counted by hand)."""
    few = pair_difference([1, 1, 0, 1], [0, 1, 1, 0], outcome, 0.95)
    groups = group_difference([1, 0, 1], [0, 1, 1, 0], outcome, 0.95)

    assert few.interval is None
    assert groups.interval is None
    assert few.note == "There are 4 pairs: fewer than 5 give no honest interval."
    assert "no honest interval" in groups.note
