"""After harm no headline praises a way: harm comes first, the difference is a mere measurement."""

import re
from dataclasses import replace

import findings_builder as build
import pytest
from reading_svg import words

from pmulab.figures import all_outcomes, pairs
from pmulab.sharing import checklists, handout_html
from pmulab.sharing.slides import deck
from pmulab.wording import headline_words
from pmulab.wording.comparisons import HARM_FIRST
from pmulab.wording.meaning import does_not_mean, means

# What names a better way (our own list); "did better" stands in the details as a count only.
PRAISE = re.compile(
    r"\b(favours?|better with|ahead|pays|to do better|with A \d|did better)\b", re.I
)
CASES = ("G1", "G2", "G5")


def judged(found, **verdict):
    """The findings with another verdict on every outcome."""
    effects = [replace(one, verdict=replace(one.verdict, **verdict)) for one in found.effects]
    return replace(found, primary=effects[0], secondary=tuple(effects[1:]))


def harmed(case="G1"):
    found = judged(build.demo(), case=case, favours="A", certainty="somewhat sure", harm_first=True)
    return replace(found, safety=replace(found.safety, stop="an eye was hurt."))


def stopped():
    found = judged(build.demo(), case="G7", favours="")
    return replace(found, provenance=replace(found.provenance, stopped="no further clients"))


def headlines(found):
    """Headings, bold sentences and letters of the pictures, as handout and slides show them."""
    page = handout_html(found)
    yield from re.findall(r"<h[12][^>]*>([^<]*)<", page)
    yield from re.findall(r'<p class="said">([^<]*)<', page)
    for svg in re.findall(r"<svg.*?</svg>", page, flags=re.DOTALL):
        yield from words(svg)
    for slide in deck(found).slides:
        yield slide.title
        yield from (line for row in slide.rows for part in row for line in part.lines)


@pytest.mark.parametrize("case", CASES)
def test_no_headline_praises_a_way_after_harm(case):
    told = list(headlines(harmed(case)))

    assert [line for line in told if PRAISE.search(line)] == []
    assert any(line.startswith(HARM_FIRST) for line in told)
    assert "A measured 3.2 min lower" in told
    assert headline_words(harmed(case).primary)[0] == "Harm comes first" in told


@pytest.mark.parametrize("case", CASES)
def test_the_same_words_stand_where_nobody_was_harmed(case):
    """The check above would notice them."""
    found = judged(build.demo(), case=case, favours="A", certainty="somewhat sure")

    assert any(PRAISE.search(line) for line in headlines(found))
    assert "With A 3.2 min lower" in list(headlines(found))


def test_a_stopped_study_is_no_comparison_over_its_picture_either():
    told = list(headlines(stopped()))

    assert [line for line in told if PRAISE.search(line)] == []
    assert headline_words(stopped().primary) == (
        "Stopped early: no comparison", "A measured 3.2 min lower",
    )  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_what_it_means_names_no_way_after_harm(case):
    found = harmed(case)
    told = (means(found.primary, found.plan), does_not_mean(found.primary, found.plan))

    assert not any(label in " ".join(told) for label in ("damp", "dry", "one way"))
    assert "harm weighs more than any difference" in told[1]


def test_after_harm_the_outcomes_lie_by_number_and_not_by_what_is_better():
    """Segments kept, 'higher is better': turned over while it may be read as better."""
    usual, harm = (words(all_outcomes(one).svg) for one in (build.demo(), harmed()))

    assert {"better with A", "better with B"} <= set(usual)
    assert {"lower with A", "higher with A"} <= set(harm)
    assert not {"better with A", "better with B"} & set(harm)
    assert "left of the middle" not in pairs(harmed().primary, harmed().plan).alt


def test_reporting_items_tell_the_measurement():
    (told,) = (one.text for one in checklists(harmed()) if one.number == "17a")

    assert "A measured 3.2 min lower" in told
    assert "with A" not in told
