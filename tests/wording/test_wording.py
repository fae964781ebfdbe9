"""Sentences: the case decides the words, and no number looks like what it is not."""

import re
from dataclasses import replace
from typing import get_args

import pytest
from studies import plan_text

from pmulab.estimate.results import Estimate, Interval, Test
from pmulab.findings import Adjusted, ArmSummary, Effect, Event, Missing, Safety, Verdict
from pmulab.findings.comparison import Case, Certainty
from pmulab.plan import read_plan
from pmulab.wording import (
    certainty,
    decimals,
    details,
    finding,
    level_words,
    p_words,
    safety_lines,
    span,
    with_unit,
)
from pmulab.wording.meaning import means

PLAN = read_plan(plan_text(worthwhile=2, unit="min"))
OUTCOME = PLAN.primary
NEVER = re.compile(
    r"\b(prov(es|en)|scientifically|guaranteed|safe|no side effects|significant|trend towards|"
    r"almost significant|no effect|highly effective|superior|clinically tested|best|"
    r"breakthrough|risk-free|patients?)\b",
    re.IGNORECASE,
)


def effect(low, high, case, favours="", **given):
    interval = Interval(low, high, 0.95, "t")
    return Effect(
        outcome=OUTCOME,
        role="primary",
        clients=(),
        a=ArmSummary(12, 10.0, 1.0),
        b=ArmSummary(12, 13.0, 1.0),
        difference=Estimate((low + high) / 2, 12, "mean", interval, "min"),
        missing=given.pop("missing", Missing(0)),
        verdict=Verdict(case, favours, "fairly sure", ("one operator",), **given),
    )


def test_the_difference_comes_first_with_its_interval():
    said = finding(effect(-4.4, -2.1, "G1", "A"), PLAN)

    assert said.startswith(
        "Own_value: 3.2 min lower with way one than with way two, on average over 12 clients "
        "(95 % interval: 2.1 to 4.4 min lower)."
    )
    assert "more than the 2 min" in said
    assert "favours way one" in said


@pytest.mark.parametrize("case", get_args(Case))
def test_no_case_uses_a_word_that_claims_too_much(case):
    said = finding(effect(-1.0, 1.5, case, "A", depends_on="the order", clients_needed=30), PLAN)

    assert not NEVER.search(said + certainty(effect(-1, 1, case)))


def test_an_open_result_says_both_ends_and_the_clients_needed():
    needed = {"clients_needed": 31, "clients_to_enrol": 40}
    said = finding(effect(-3.0, 1.0, "G4", **needed), PLAN)

    assert "from 3.0 min lower to 1.0 min higher" in said
    assert (
        "We cannot tell. To see a true difference of 2 min four times in five, a new study would "
        "take about 31 clients; with losses, enrol 40." in said
    )


@pytest.mark.parametrize(
    ("difference", "standardised", "shown"),
    [
        ((0.0, 2.2), (0.37, 3.68), False),
        ((0.1, 2.2), (0.37, 3.68), True),
        ((-0.1, 2.2), (-0.02, 3.68), True),
        ((0.1, 2.2), (-0.02, 3.68), False),
        ((-2.2, -0.1), (0.1, 2.0), False),
    ],
)
def test_two_intervals_never_say_different_things_about_zero(difference, standardised, shown):
    found = effect(*difference, "G4")
    beside = Estimate(1.86, 8, "in standard deviations", Interval(*standardised, 0.95, "t"))
    (line,) = [
        line
        for line in details(replace(found, standardised=beside), PLAN)
        if line.startswith("In standard deviations")
    ]

    assert ("95 % interval" in line) is shown
    assert ("the interval of the difference itself counts" in line) is not shown


def test_one_unit_stands_in_the_singular():
    """'1 segment of 10', never '1 segments of 10'; '1 percentage point'."""
    kept = replace(OUTCOME, unit="segments of 10")
    shares = replace(OUTCOME, kind="yes-no", unit="yes", low=0.0, high=1.0, worthwhile=20.0)

    assert with_unit(1, kept) == "1 segment of 10"
    assert with_unit(2, kept) == "2 segments of 10"
    assert span(Interval(-3.0, 1.0, 0.95, "t"), shares) == (
        "from 3 percentage points lower to 1 percentage point higher"
    )


def test_about_the_same_is_said_as_such():
    assert "about the same with way one as with way two" in finding(effect(-1, 1, "G3"), PLAN)


def test_a_number_that_is_not_the_edge_never_looks_like_it():
    """-2.04 must not be printed as 2.0 when 2 is what matters."""
    assert decimals(OUTCOME, -2.04) == 2
    assert decimals(OUTCOME, -2.0) == 1
    assert decimals(OUTCOME, 0.04) == 2
    assert span(Interval(-4.38, -2.04, 0.95, "t"), OUTCOME) == "2.04 to 4.38 min lower"


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (1.0, 3.0, "1.0 to 3.0 min higher"),
        (-3.0, -1.0, "1.0 to 3.0 min lower"),
        (-1.0, 3.0, "from 1.0 min lower to 3.0 min higher"),
        (0.0, 3.0, "0.0 to 3.0 min higher"),
        (-3.0, 0.0, "0.0 to 3.0 min lower"),
    ],
)
def test_an_interval_is_said_by_direction(low, high, said):
    assert span(Interval(low, high, 0.95, "t"), OUTCOME) == said


def test_one_of_a_unit_is_singular():
    grades = replace(OUTCOME, unit="grades")

    assert with_unit(1, grades) == "1 grade"
    assert with_unit(1.5, grades) == "1.5 grades"
    assert with_unit(1, replace(OUTCOME, unit="segments of 10")) == "1 segment of 10"


def test_true_levels_are_shown():
    assert (level_words(0.95), level_words(0.9375), level_words(0.999)) == (
        "95 %", "93.75 %", "99.9 %",
    )  # fmt: skip


def test_a_p_value_is_never_alone():
    said = p_words(Test(0.03125, "exact randomisation test", 12, smallest_p=0.03125))

    assert said.startswith("p = 0.031 (exact randomisation test; the smallest")
    assert "does not say how large" in said


def test_the_p_value_comes_last():
    with_test = replace(
        effect(-4, -2.1, "G1", "A"), test=Test(0.03, "exact randomisation test", 12)
    )

    lines = list(details(with_test, PLAN))
    assert lines[-1].startswith("p = ")
    assert sum(line.startswith("p = ") for line in lines) == 1


def test_no_events_are_said_with_what_would_still_fit():
    """Hanley & Lippman-Hand (1983), JAMA 249:1743-1745: none of 12, upper limit 22 %."""
    said = list(safety_lines(Safety(12, 12, 12, (), 0, 1 - 0.05 ** (1 / 12))))

    assert said == [
        "No adverse event was seen in 12 clients; a true rate up to 22 % would still fit that."
    ]


def test_events_name_their_arm_only_when_the_plan_is_given():
    safety = Safety(12, 12, 12, (Event("bruise", "mild", "A", False, 1),), 1, None)

    assert "way one" in " ".join(safety_lines(safety, PLAN))
    assert "way one" not in " ".join(safety_lines(safety))


def freed(low, high):
    difference = Estimate((low + high) / 2, 12, "least squares", Interval(low, high, 0.95, "t"))
    order = Estimate(-0.88, 12, "least squares", Interval(-1.9, 0.15, 0.95, "t"))
    return Adjusted(difference, order, order)


def test_a_plan_can_name_the_adjusted_difference_first():
    text = plan_text(worthwhile=2, unit="min") + '[analysis]\nlead = "adjusted"\n'
    found = replace(effect(-4.4, -2.1, "G1", "A"), adjusted=freed(-4.2, -2.2))

    said, beside = finding(found, read_plan(text)), list(details(found, read_plan(text)))

    assert "freed of working order and side (95 % interval: 2.2 to 4.2 min lower)" in said
    assert any(line.startswith("Plain difference: 3.2 min lower") for line in beside)


def test_a_size_left_open_by_the_adjusted_interval_alone_is_said_so():
    found = replace(effect(-4.4, -2.1, "G2", "A"), adjusted=freed(-4.2, -1.0))

    assert "the interval freed of working order and side reaches from" in finding(found, PLAN)


def test_an_order_that_is_not_clear_may_have_mattered():
    """A first-minus-second of -0.88 is a second eyelid 0.88 higher."""
    found = replace(effect(-4.4, -2.1, "G1", "A"), adjusted=freed(-4.2, -2.2))

    assert any(
        line.startswith("Working order may have mattered: the second eyelid came out about 0.9 min")
        for line in details(found, PLAN)
    )


@pytest.mark.parametrize("case", ["G4", "G6", "G7", "G8"])
def test_nobody_is_sure_of_an_answer_that_is_none(case):
    found = certainty(effect(-1.0, 1.5, case, "A", depends_on="the order"))

    assert "no answer yet" in found
    assert not any(word in found for word in ("fairly sure", "somewhat sure", "not sure"))


def test_both_readings_are_given_where_they_disagree():
    words = "whether working order and side are taken into account"
    found = replace(effect(-3.0, 0.2, "G8", depends_on=words), adjusted=freed(-3.1, -0.2))

    assert (
        "(without: from 3.0 min lower to 0.2 min higher; with: 0.2 to 3.1 min lower); we treat it "
        "as unclear." in finding(found, PLAN)
    )


def test_few_clients_are_named_before_a_p_value_that_cannot_be_small():
    """Three equal signs of three: 2 of 8 patterns are as extreme, p = 0.25 (counted by hand)."""
    said = p_words(Test(0.25, "sign-flip", 3, smallest_p=0.25))

    assert said.startswith("So few clients cannot give a small p-value: even the clearest result")
    assert "25 of 100 such studies" in said
    assert p_words(Test(0.03, "sign-flip", 8, smallest_p=2 / 256)).startswith("p = 0.030")


@pytest.mark.parametrize("sure", get_args(Certainty))
def test_nothing_is_called_probable_beside_not_sure(sure):
    found = effect(-4.4, -1.0, "G2", "A")
    found = replace(found, verdict=replace(found.verdict, certainty=sure))
    said = f"{finding(found, PLAN)} {means(found, PLAN)}"

    assert ("probably" in said) == (sure in ("fairly sure", "somewhat sure"))
    assert ("far from sure" in said) == (sure in ("not sure", "very unsure"))


def test_harm_is_told_for_each_kind_of_visit():
    """Who was not seen healed does not count as without late harm."""
    safety = Safety(12, 12, 12, (), 0, 0.22, clients_signed=12, clients_healed=11)

    assert next(safety_lines(safety)) == (
        "Looked for harm: on the day, signed for 12 of 12 clients; when healed, 11 of 12 seen "
        "(nothing is signed then). Of 1 client late harm is not known."
    )
