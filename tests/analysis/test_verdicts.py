"""The interval read against the smallest worthwhile difference, on unrounded numbers.

The ten cases and their precedence are this kit's own rule; what is checked here is that each rule
does what its sentence says, at its edges.
"""

from dataclasses import replace

import pytest
from studies import plan_text

from pmulab.analysis.verdicts import Ending, Evidence, certainty, decide, favoured, read_interval
from pmulab.estimate.results import Estimate, Interval
from pmulab.findings import Adjusted, Flow, Missing
from pmulab.plan import read_plan

PLAN = read_plan(plan_text(worthwhile=2))
OUTCOME = PLAN.primary
FLOW = Flow(12, 0, 0, 12, 12, 12, 12, 24)


def estimate(low, high, n=12):
    return Estimate((low + high) / 2, n, "mean", Interval(low, high, 0.95, "t"))


def evidence(low, high, n=12, adjusted=None, missing=0, flips=False):
    other = estimate(*adjusted) if adjusted else estimate(low, high)
    beside = Adjusted(other, other, other)
    return Evidence(estimate(low, high, n), beside, Missing(missing, flips=flips), fewest=n)


@pytest.mark.parametrize(
    ("low", "high", "case"),
    [
        (-4.4, -2.1, "G1"),
        (2.1, 4.0, "G1"),
        (-4.4, -2.0, "G2"),  # a limit equal to it counts as crossing
        (2.0, 4.0, "G2"),
        (-3.0, -0.1, "G2"),
        (0.1, 2.0, "G2"),
        (-1.9, 1.9, "G3"),
        (-1.9, 0.0, "G3"),  # a limit equal to 0 counts as crossing
        (-1.9, 2.0, "G4"),
        (-2.0, 1.0, "G4"),
        (-3.0, 3.0, "G4"),
        (0.0, 3.0, "G4"),
        (0.1, 1.9, "G5"),
        (-1.9, -0.1, "G5"),
    ],
)
def test_each_interval_has_its_case(low, high, case):
    assert read_interval(Interval(low, high, 0.95, "t"), 2.0) == case


def test_numbers_are_not_rounded_before_they_are_read():
    assert read_interval(Interval(-4.0, -2.0000000001, 0.95, "t"), 2.0) == "G1"


def test_stopping_comes_before_everything():
    assert decide(PLAN, OUTCOME, evidence(-9, -8, n=3), Ending("harm")).case == "G7"


@pytest.mark.parametrize(("n", "missing"), [(5, 0), (0, 0), (12, 6), (2, 10)])
def test_too_few_or_too_many_missing_comes_before_the_interval(n, missing):
    ruling = decide(PLAN, OUTCOME, evidence(-9, -8, n=n, missing=missing), Ending())

    assert ruling.case == "G6"


def test_thirty_per_cent_missing_is_not_yet_too_many():
    assert decide(PLAN, OUTCOME, evidence(-9, -8, n=7, missing=3), Ending()).case == "G1"


def test_plain_and_adjusted_that_disagree_are_unclear():
    ruling = decide(PLAN, OUTCOME, evidence(-3, 0.1, adjusted=(-3, -0.1)), Ending())

    assert ruling.case == "G8"
    assert "working order" in ruling.depends_on


def test_two_differences_off_zero_on_one_side_agree_on_the_cautious_case():
    assert decide(PLAN, OUTCOME, evidence(-4, -2, adjusted=(-4, -2.1)), Ending()).case == "G2"
    assert decide(PLAN, OUTCOME, evidence(-4, -2.1, adjusted=(-4, -1)), Ending()).case == "G2"


def test_two_differences_on_opposite_sides_are_unclear():
    assert decide(PLAN, OUTCOME, evidence(2.1, 4, adjusted=(-4, -2.1)), Ending()).case == "G8"


def test_a_missing_client_who_could_change_the_answer_makes_it_unclear():
    ruling = decide(PLAN, OUTCOME, evidence(-1, 1, n=11, missing=1, flips=True), Ending())

    assert (ruling.case, ruling.depends_on) == ("G8", "the one client without a result")


def test_between_clients_there_is_nothing_to_adjust():
    parallel = read_plan(plan_text(worthwhile=2, design="parallel"))
    alone = replace(evidence(-9, -8), adjusted=None)

    assert decide(parallel, parallel.primary, alone, Ending()).case == "G1"


@pytest.mark.parametrize(
    ("better", "low", "high", "arm"),
    [("lower", -3, -1, "A"), ("lower", 1, 3, "B"), ("higher", 1, 3, "A"), ("lower", -1, 1, "")],
)
def test_the_favoured_arm_follows_the_welcome_direction(better, low, high, arm):
    assert favoured(estimate(low, high), replace(OUTCOME, better=better)) == arm


def test_certainty_steps_down_once_for_each_doubt():
    clear, open_ = evidence(-9, -8), replace(OUTCOME, judged="open")
    words = [
        certainty(OUTCOME, clear, FLOW, Ending())[0],
        certainty(OUTCOME, clear, FLOW, Ending(plan_holds=False))[0],
        certainty(open_, clear, FLOW, Ending(plan_holds=False))[0],
        certainty(
            replace(OUTCOME, judged="open"), evidence(-9, -8, n=8), FLOW, Ending(plan_holds=False)
        )[0],
    ]

    assert words == ["fairly sure", "somewhat sure", "not sure", "very unsure"]


def test_certainty_counts_missing_clients_and_wrong_arms():
    _, reasons = certainty(
        OUTCOME, evidence(-9, -8, missing=3), replace(FLOW, wrong_arm=2), Ending()
    )

    assert len(reasons) == 3  # missing, wrong arm, one operator


def test_an_interval_below_the_level_asked_is_not_read():
    """Ten pairs reach no 99.9 %, so an early look decides nothing."""
    assert decide(PLAN, OUTCOME, evidence(-9, -8), Ending(level=0.999)).case == "G6"


def test_the_smaller_arm_counts_between_clients():
    unequal = replace(evidence(-9, -8, n=20), fewest=3)

    assert decide(PLAN, OUTCOME, unequal, Ending()).case == "G6"


def test_looks_and_judging_against_the_plan_cost_certainty():
    blind = replace(OUTCOME, judged="blind")
    seen = replace(evidence(-9, -8), unblinded=4)

    assert certainty(blind, seen, FLOW, Ending())[0] == "somewhat sure"
    told = Ending(departures=("the arms were seen before the end",))
    word, reasons = certainty(blind, evidence(-9, -8), FLOW, told)
    assert word == "somewhat sure"
    assert reasons[0] == "the arms were seen before the end"


@pytest.mark.parametrize(
    ("plain", "freed", "case"),
    [
        ((0.5, 1.999), (0.4, 2.001), "G2"),
        ((-1.0, 1.999), (-1.0, 2.001), "G4"),  # 0.002 min apart, around what would matter
        ((-0.015, 1.5), (0.015, 1.5), "G3"),
        ((-0.015, 3.0), (0.015, 3.0), "G4"),
        ((-0.03, 3.0), (0.03, 3.0), "G8"),
    ],
)
def test_limits_that_look_the_same_to_the_reader_do_not_disagree(plain, freed, case):
    """Two minutes matter, so nobody could feel a limit of one second; two seconds are read."""
    found = decide(PLAN, OUTCOME, evidence(*plain, adjusted=freed), Ending())

    assert found.case == case


def test_one_client_is_told_in_the_singular():
    few = replace(evidence(-9, -8), fewest=1)

    reasons = certainty(OUTCOME, few, replace(FLOW, allocated=4, wrong_arm=1), Ending())[1]

    assert {"only 1 client", "1 client was not worked as drawn"} <= set(reasons)
