"""An opened card says the steps that were agreed, in the order of working."""

from pmulab.allocation import Slot
from pmulab.plan import read_plan
from pmulab.plan.steps import step_lines
from pmulab.questions import draft
from pmulab.wording.cards import card_lines


def test_a_card_says_its_ways_and_no_other():
    plan = read_plan(draft("numbing-time", "own"))
    both = card_lines(Slot(1, 1, 4, left="A", first="R"), plan)
    heads = [line for line in both if line.startswith(("Her card", "How it is done"))]

    assert heads == [
        "Her card: First the client's own RIGHT eyelid: shorter numbing. Then the client's own "
        "LEFT eyelid: longer numbing.",
        "How it is done: shorter numbing",
        "How it is done: longer numbing",
    ]
    assert "25 minutes" in both[-3]
    one = card_lines(Slot(1, 1, 4, arm="B"), plan)
    assert "How it is done: longer numbing" not in one
    assert not any("25 minutes" in line for line in one)


def test_a_step_that_goes_on_in_the_next_line_stays_one_step():
    assert step_lines("1. Wipe\n   once.\n\n2.  Look.\nThen go on.") == (
        "1. Wipe once.",
        "2. Look.",
        "Then go on.",
    )
    assert step_lines("  \n ") == ()
