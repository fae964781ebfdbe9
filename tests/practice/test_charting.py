"""Consecutive clients: baselines, signs, dated changes, and how often luck makes a sign."""

from importlib.resources import files

import numpy as np
import pytest
from scipy import stats
from series import series

from pmulab.practice import FEWEST_BASELINE, watch
from pmulab.tables import read_practice

STEADY = [16, 17.5, 15, 18, 16.5, 15.5, 17, 16, 18.5, 15, 16.5, 17, 16, 15.5, 17.5, 16, 18, 15, 17]


@pytest.fixture(scope="module")
def demo():
    return watch(read_practice(str(files("pmulab.demo") / "practice.csv"))[0].rows)


def minutes(found):
    return found.lines[0]


def test_the_demonstration_gives_its_expected_figures(demo):
    """12 + 12 clients: 15.8 (SD 3.0) after, 18.4 (3.4) before, -2.6 (-5.3 to 0.1) min.

    Worked out beforehand with scipy 1.17.1 from mean, SD and number (Welch's interval).
    """
    change = minutes(demo).changes[0]
    interval = change.difference.interval

    assert (change.before.n, change.after.n) == (12, 12)
    assert [round(one, 1) for one in (change.after.mean, change.after.sd)] == [15.8, 3.0]
    assert [round(one, 1) for one in (change.before.mean, change.before.sd)] == [18.4, 3.4]
    assert round(change.difference.value, 1) == -2.6
    assert (round(interval.low, 1), round(interval.high, 1)) == (-5.3, 0.1)
    before, after = minutes(demo).values[:12], minutes(demo).values[12:]
    welch = stats.ttest_ind(after, before, equal_var=False).confidence_interval()
    assert interval.low == pytest.approx(welch.low, abs=0.05)
    assert demo.invented


def test_a_dated_change_is_never_told_with_certainty(demo):
    for one in (*demo.lines, *demo.shares):
        for change in one.changes:
            assert change.certainty in ("not sure", "very unsure")
            assert change.reasons[0] == "a dated change is no comparison"


def test_limits_come_from_the_clients_before_the_first_change():
    found = minutes(watch(series([*STEADY[:14], *[30] * 6], changes={15: "new lamp"})))

    assert found.baseline == 14
    assert found.limits.centre == pytest.approx(np.mean(STEADY[:14]))
    assert found.limits.outside == tuple(range(15, 21))
    assert found.cusum.side == "high"
    assert found.clients[found.baseline + found.cusum.since - 1] == 15


def test_without_a_change_the_first_twenty_make_the_limits():
    found = minutes(watch(series([*STEADY, 16, 16.5, 17])))

    assert found.baseline == 20
    assert found.cusum is not None


@pytest.mark.parametrize(("clients", "limits"), [(11, False), (12, True)])
def test_too_few_clients_before_a_change_give_no_limits(clients, limits):
    found = minutes(watch(series(STEADY, changes={clients + 1: "new lamp"})))

    assert FEWEST_BASELINE == 12
    assert (found.limits is not None) == limits
    assert (found.cusum is not None) == limits
    assert (found.limits_alarms is not None) == limits


def test_every_chart_knows_how_often_luck_makes_a_sign(demo):
    """Shares: more with a short baseline than with a long one."""
    line, months = demo.lines[0], demo.shares[0]
    long = minutes(watch(series([*STEADY, *STEADY[:5]])))

    assert 0 < line.run_alarms < 0.05
    assert line.limits_alarms > long.limits_alarms > 0
    assert line.cusum_alarms > long.cusum_alarms > 0
    assert 0 <= months.limits_alarms < 0.05
    assert demo.limits_run_length == pytest.approx(370.4, abs=0.05)
    assert demo.cusum_run_length == pytest.approx(465, abs=0.5)


def test_missing_values_move_no_change(demo):
    """A client without minutes is left out; the change stays with its client."""
    values = [*STEADY[:12], None, *[20] * 6]
    found = minutes(watch(series(values, changes={13: "new lamp"})))

    assert found.not_known == 1
    assert found.baseline == 12
    assert (found.changes[0].before.n, found.changes[0].after.n) == (12, 6)


def test_two_changes_are_compared_with_the_stretch_before_each():
    values = [*[16, 17] * 6, *[20, 21] * 3, *[12, 13] * 3]
    found = minutes(watch(series(values, changes={13: "new lamp", 19: "new chair"})))
    first, second = found.changes

    assert (first.before.mean, first.after.mean) == (16.5, 20.5)
    assert (second.before.mean, second.after.mean) == (20.5, 12.5)
    assert second.difference.value == pytest.approx(-8)


@pytest.mark.parametrize(("client", "compared"), [(4, False), (5, True)])
def test_fewer_than_four_on_a_side_are_not_compared(client, compared):
    """Below four a side no relabelling reaches 90 %: 1 - 2 / C(6, 3)."""
    found = watch(series(STEADY, changes={client: "new lamp"}))

    for one in (minutes(found), found.shares[0]):
        assert (one.changes[0].difference.value is not None) == compared


def test_months_are_parted_at_a_change_and_counted():
    """Six clients a month about; the month of the change stands there twice."""
    needed = ["yes", "no", "no"] * 8
    found = watch(series(STEADY + STEADY[:5], needed=needed, changes={15: "new lamp"}))
    months = found.shares[0]

    assert sum(months.seen) == 24
    assert sum(months.yes) == 8
    at = months.first_clients.index(15)
    assert months.months[at] == months.months[at - 1]
    assert months.baseline == at
    assert months.limits.centre == pytest.approx(5 / 14)
    assert months.changes[0].difference.unit == "percentage points"


def test_answers_after_the_baseline_are_gathered_client_by_client():
    """Twenty clients with few touch-ups, then every one: a sign, counted from client 21."""
    needed = ["no", "no", "yes", "no", "no"] * 4 + ["yes"] * 12
    found = watch(series([16, 17] * 16, needed=needed, changes={21: "new lamp"})).shares[0]

    assert found.first == 20
    assert found.sum_clients == tuple(range(21, 33))
    assert found.cusum.side == "high"
    assert found.sum_clients[found.cusum.since - 1] == 21
    assert found.tuned.rate == pytest.approx(4.5 / 21)
    assert 0 < found.cusum_alarms < 0.2
    assert found.tuned.found_after > 12


def test_answers_are_not_gathered_without_a_baseline_or_anybody_after_it():
    few = watch(series(STEADY, changes={5: "new lamp"})).shares[0]
    nobody = watch(series(STEADY[:14])).shares[0]

    assert few.cusum is None
    assert nobody.cusum is None
    assert nobody.first == 14


@pytest.mark.parametrize("answer", ["yes", "no"])
def test_an_answer_that_never_changes_has_no_limits_and_a_reason(answer):
    months = watch(series(STEADY, needed=[answer] * len(STEADY))).shares[0]

    assert months.limits.centre is None
    assert months.limits.note
    assert months.limits_alarms is None


def test_equal_values_and_single_clients_are_no_accident():
    equal = watch(series([16.0] * 14))
    alone = watch(series([16.0]))

    assert minutes(equal).limits.centre is None
    assert minutes(equal).cusum is None
    assert minutes(alone).run.signal is None
    assert minutes(alone).limits is None
    assert minutes(watch(series([None, None]))).run.median is None


def test_harm_is_counted_with_its_upper_limit():
    """None of 19: 1 - 0.05^(1/19) = 14.6 % (Hanley and Lippman-Hand 1983)."""
    assert watch(series(STEADY)).upper_limit == pytest.approx(1 - 0.05 ** (1 / 19))
    harmed = watch(series(STEADY, harmed=(3,)))
    assert (harmed.harmed, harmed.asked, harmed.upper_limit) == (1, 19, None)


def test_mixed_lids_are_noticed():
    lids = ["upper"] * 10 + ["lower"] * 9

    assert watch(series(STEADY, lid=lids)).lids_mixed
    assert not watch(series(STEADY)).lids_mixed
