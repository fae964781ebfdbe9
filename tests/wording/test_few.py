"""What so few clients could never show."""

from dataclasses import replace

import pytest

from pmulab.plan import read_plan
from pmulab.questions import draft
from pmulab.sizing import sizes
from pmulab.sizing.seen import smallest_seen
from pmulab.wording import few_words
from pmulab.wording.few import too_few
from pmulab.wording.sizes import size_lines


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


@pytest.mark.parametrize("kind", ["continuous", "yes-no"])
def test_no_chance_is_promised_where_the_analysis_answers_too_few_to_compare(kind):
    """The analysis compares from six results a way on; four against four it only describes."""
    plan = plan_of("aftercare")
    plan = replace(
        plan,
        primary=replace(plan.primary, kind=kind, worthwhile=20.0 if kind == "yes-no" else 1.0),
        clients=replace(plan.clients, planned=8),
    )
    spread = 45.0 if kind == "yes-no" else 1.0

    found = {row.clients: row for row in sizes(plan, spread, "given").rows}
    assert [found[n].power for n in (4, 8, 10)] == [None] * 3
    assert found[12].power is not None
    told = [*size_lines(sizes(plan, spread, "given"), plan), few_words(plan)]
    assert sum("at least 6 clients in each way, 12 in all" in line for line in told) == 2
    assert too_few(plan)
    assert not too_few(replace(plan, clients=replace(plan.clients, planned=12)))


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
