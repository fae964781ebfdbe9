"""What a finding means and does not mean: each case in its own words, and never too much."""

import re
from dataclasses import replace
from typing import get_args

import pytest
from studies import plan_text

from pmulab.estimate.results import Estimate, Interval
from pmulab.findings import ArmSummary, Counts, Effect, Missing, Verdict
from pmulab.findings.comparison import Case
from pmulab.plan import read_plan
from pmulab.wording.meaning import does_not_mean, means

PLAN = read_plan(plan_text(worthwhile=2, unit="min"))
CASES = {
    "G1": (-4.4, -2.1, "A"),
    "G2": (-3.0, -0.5, "A"),
    "G3": (-1.0, 1.5, ""),
    "G4": (-3.0, 1.0, ""),
    "G5": (-1.5, -0.5, "A"),
    "G6": (-5.0, 1.0, ""),
    "G7": (-4.0, -1.0, ""),
    "G8": (-3.0, -0.5, ""),
}
NEVER = re.compile(
    r"\b(prov(es|en)|guaranteed|safe|significant|trend|no effect|superior|best|risk-free|"
    r"patients?)\b",
    re.IGNORECASE,
)


def effect(case, role="primary", counts=None):
    low, high, favours = CASES[case]
    estimate = Estimate((low + high) / 2, 12, "mean", Interval(low, high, 0.95, "t"), "min")
    return Effect(
        outcome=PLAN.primary, role=role, clients=(), difference=estimate,
        a=ArmSummary(12, 10.0, 1.0), b=ArmSummary(12, 13.0, 1.0), missing=Missing(0),
        verdict=Verdict(case, favours, "not sure", (), depends_on="the order of working"),
        counts=counts,
    )  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_every_case_says_both_and_claims_nothing(case):
    said = [means(effect(case), PLAN), does_not_mean(effect(case), PLAN)]

    assert set(CASES) == set(get_args(Case))
    assert all(one.endswith(".") and len(one) < 260 for one in said)
    assert not NEVER.search(" ".join(said))
    assert said[1].startswith(("It does not mean", "It is no comparison", "The difference seen"))


@pytest.mark.parametrize(
    ("case", "told"),
    [
        ("G1", "expect way one to do better by more than the 2 min that matter"),
        ("G2", "anything from 0.5 to 3.0 min lower would fit"),
        ("G3", "way one and way two differ at all on average, it is likely by less than the 2 min"),
        ("G4", "from 3.0 min lower to 1.0 min higher would fit what was seen: none at all"),
        ("G5", "Way one is likely a little ahead on average, by less than the 2 min"),
        ("G6", "12 clients: too few"),
        ("G7", "matters more than the comparison"),
        ("G8", "depends on the order of working"),
    ],
)
def test_the_meaning_names_ways_and_numbers(case, told):
    assert told in means(effect(case), PLAN)


def test_what_matters_on_average_is_not_a_gain_for_everybody():
    counts = Counts(a_better=9, equal=1, b_better=2)

    assert "Here 9 of 12 clients did better with way one." in does_not_mean(
        effect("G1", counts=counts), PLAN
    )


def test_an_unclear_result_is_never_told_as_none():
    assert "Not having found one is not the same as there being none" in does_not_mean(
        effect("G4"), PLAN
    )


@pytest.mark.parametrize("case", CASES)
def test_an_extra_look_never_decides(case):
    extra = effect(case, role="exploratory")

    assert "can only suggest the next question" in means(extra, PLAN)
    assert "it decides nothing" in does_not_mean(extra, PLAN)


@pytest.mark.parametrize("case", CASES)
def test_without_an_interval_there_are_still_words(case):
    bare = replace(effect(case), difference=Estimate(None, 3, "mean", None, "min", "Too few."))

    assert means(bare, PLAN)
    assert does_not_mean(bare, PLAN)
