"""GRRAS: J. Kottner et al. (2011), J Clin Epidemiol 64:96-106: fifteen items (from memory)."""

from dataclasses import replace

import findings_builder as build

from pmulab.estimate.results import Estimate
from pmulab.findings import Agreement, Scoring
from pmulab.sharing import agreement_items, items


def estimate(value, method):
    return Estimate(value, 24, method, note="invented, without interval")


def scored(reading="good"):
    found = build.demo()
    measure = found.plan.outcomes[-1]
    agreed = Agreement(
        measure.name, measure.title, "between", estimate(0.75, "share of equal answers"), None,
        estimate(0.62, "kappa, quadratic weights"), estimate(0.81, "ICC(A,1)"),
        estimate(1.4, "1.96 times the square root of 2 times the SEM"), reading,
    )  # fmt: skip
    scoring = Scoring(1, 12, 24, 5, ("R1", "R2"), ("R1",), (agreed,))
    return replace(found, scoring=scoring), measure


def test_fifteen_items_in_their_order_and_none_without_a_round():
    found = agreement_items(scored()[0])

    assert [one.number for one in found] == [f"GRRAS {n}" for n in range(1, 16)]
    assert agreement_items(build.demo()) == ()
    assert not any("GRRAS" in one.number for one in items(build.demo()))


def test_numbers_of_the_round_are_filled_in():
    """Items 4, 10, 11, 13 and 14: assessors, methods, counts, estimates, what they mean."""
    findings, measure = scored()
    told = {one.number: one.text for one in agreement_items(findings)}

    assert "2 assessors; R1 did the work too" in told["GRRAS 4"]
    assert "ICC(A,1)" in told["GRRAS 10"]
    assert "24 photos of 12 clients, 5 of them shown twice" in told["GRRAS 11"]
    assert "0.62" in told["GRRAS 13"]
    assert f"1.4 against {measure.worthwhile:g} said to matter" in told["GRRAS 14"]


def test_what_only_the_person_knows_is_left_to_her():
    """Rationale, choice of numbers, what assessors were like."""
    mine = [one.number for one in agreement_items(scored()[0]) if one.who == "you"]

    assert mine == ["GRRAS 5", "GRRAS 6", "GRRAS 12"]
    assert all(bool(one.text) == (one.who != "you") for one in agreement_items(scored()[0]))


def test_poor_agreement_is_said():
    told = {one.number: one.text for one in agreement_items(scored("poor")[0])}

    assert told["GRRAS 14"].startswith("Poor on ")
    assert "not to be read" in told["GRRAS 14"]


def test_the_handout_names_agreement_in_short():
    item = items(scored()[0])[-1]

    assert item.number == "GRRAS"
    assert "several 75 % of 24" in item.text
