"""What so few clients could never show."""

from dataclasses import replace

import pytest

from pmulab.plan import read_plan
from pmulab.questions import draft
from pmulab.sizing.seen import smallest_seen
from pmulab.wording import few_words


def plan_of(question):
    return read_plan(draft(question, question, ""))


@pytest.mark.parametrize(
    ("question", "clients", "spreads"),
    [("wipe-material", 34, 0.5), ("wipe-material", 15, 0.8), ("aftercare", 128, 0.5)],
)
def test_the_difference_seen_is_that_of_the_published_tables(question, clients, spreads):
    """J. Cohen (1988), ch. 2 (from memory): 80 % power, two-sided .05.

    64 in each of two groups for d = .5; 34 pairs for d = .5; 15 pairs for d = .8.
    """
    plan = plan_of(question)
    groups = 1 if plan.within_person else 2
    assert smallest_seen(plan, clients) <= spreads
    assert smallest_seen(plan, clients - groups) > spreads


def test_five_pairs_cannot_be_clear_of_luck():
    """2 / 2**5 = 0.0625: no sign-flip test of five pairs reaches .05."""
    plan = plan_of("wipe-material")

    assert smallest_seen(plan, 5) is None
    assert "5 clients are too few for an answer" in few_words(plan, 5)


def test_eight_are_said_to_be_few_and_forty_are_not():
    plan = plan_of("wipe-material")

    assert few_words(plan, 8).startswith("8 clients are few: only a large difference shows.")
    assert "few" not in few_words(plan, 40)
    planned = replace(plan, clients=replace(plan.clients, planned=8))
    assert few_words(planned) == few_words(plan, 8)


@pytest.mark.parametrize("question", ["wipe-material", "aftercare"])
def test_of_yes_and_no_even_the_best_case_is_told(question):
    plan = plan_of(question)
    asked = replace(plan, primary=replace(plan.primary, kind="yes-no", unit="", worthwhile=20.0))
    told = few_words(asked, 16)

    assert told.startswith("16 clients are few for a yes/no measure: even at best")
    assert smallest_seen(asked, 16) > smallest_seen(asked, 60)
