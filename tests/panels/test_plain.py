"""Whoever uses the notebooks is never sent to a command."""

import re

import pytest

from pmulab.panels.plain import in_notebooks
from pmulab.panels.showing import paragraphs
from pmulab.questions import names, question
from pmulab.wording.amounts import ended


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Lock it first: pmulab lock my-studies/wipes.2026", "Lock it first: notebook 01"),
        (
            "See every place with: pmulab check wipes  Mend the records.",
            "See every place with: notebook 02 (Check the records). Mend the records.",
        ),
        (
            "always allowed: pmulab analyse wipes --stopped \"why\". Only once they have agreed: "
            "pmulab enrol wipes --client CODE --answers FILE --reviewed \"who\"  "
            "(in a notebook: reviewed=\"...\").",
            "always allowed: notebook 05, End the study early. Only once they have agreed: "
            "notebook 02 (Ask one client), with the entry 'After an adverse event: who reviewed "
            "it'.",
        ),
        (
            "came (pmulab absent wipes --client CODE --reason WHY) take a spare card: "
            '--replacement "for whom and why".',
            "came (notebook 02 (A client with a card who never came)) take a spare card: "
            "see 'For whom this client comes, and why'.",
        ),
        ("gives a reason (--unplanned), which stays", "gives a reason, which stays"),
        ("What pmulab checks is written down.", "What pmulab checks is written down."),
    ],
)  # fmt: skip
def test_a_command_is_told_as_its_place(text, told):
    assert in_notebooks(text) == told
    assert "pmulab lock" not in paragraphs(["pmulab lock x"])


@pytest.mark.parametrize("name", names())
def test_no_sentence_ends_in_two_marks(name):
    """A ready question's summary may be a question."""
    assert not re.search(r"[?!.]\.", ended(question(name).summary))
