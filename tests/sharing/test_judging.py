"""What was planned and what was done, never one for the other (CONSORT 2010, item 11a)."""

from dataclasses import replace

import findings_builder as build
import pytest

from pmulab.findings import Judging
from pmulab.sharing import handout_html, items
from pmulab.sharing.slides.deck import deck
from pmulab.wording import fooled_lines, method_lines

KNEW = "planned to be judged by someone who does not know which way is which; done: 14 of 14 eyelids by someone who knew"  # noqa: E501


def judged(judging, kind="blind", table="healed"):
    """Give the demonstration with its main measure judged like this."""
    found = build.demo()
    outcome = replace(found.primary.outcome, judged=kind, table=table)
    return replace(
        found,
        plan=replace(found.plan, primary=outcome),
        primary=replace(found.primary, outcome=outcome, judging=judging),
    )


def item_11a(findings):
    return next(item.text for item in items(findings) if item.number == "11a")


def shown(findings):
    """Join all that is told at once: the page, the slides and the item."""
    slides = [
        line
        for slide in deck(findings).slides
        for row in slide.rows
        for part in row
        for line in part.lines
    ]
    return handout_html(findings), " ".join(slides), item_11a(findings)


def test_eyelids_judged_by_someone_who_knew_are_told_beside_the_plan_everywhere():
    """Fourteen eyelids that the operator herself looked at."""
    found = judged(Judging(14, 14))

    assert all(KNEW in text for text in shown(found))
    for text in shown(found)[:2]:
        assert "14 of 14 eyelids were judged by someone who knew which way was which" in text
        assert "by someone who did not know" not in text


def test_one_eyelid_is_named_too():
    lines = list(fooled_lines(judged(Judging(14, 1))))

    assert any("1 of 14 eyelids was judged" in line for line in lines)


def test_all_as_planned_stays_short():
    found = judged(Judging(14, 0))

    assert "Main measure judged by someone who did not know which way was which" in item_11a(found)
    assert not any("14 eyelids" in line for line in [*method_lines(found), *fooled_lines(found)])


@pytest.mark.parametrize("judging", [None, Judging(0, 0)])
def test_nothing_judged_yet_tells_only_the_plan(judging):
    for text in shown(judged(judging)):
        assert "planned to be judged by someone who does not know which way is which" in text
        assert "did not know" not in text


def test_what_is_recorded_on_the_day_is_judged_by_someone_who_knows():
    """Whoever works writes it down and knows (common practice, no source)."""
    found = judged(Judging(14, 0))
    day = replace(found.primary, role="exploratory", outcome=build.SWELLING)
    blind = replace(found.primary, role="exploratory")
    told = replace(found, secondary=(day, blind, replace(blind, judging=Judging(14, 2))))

    assert item_11a(told).endswith("Of 3 others, 2 by someone who knew")


def test_clients_who_were_never_worked_on_had_no_way():
    found = build.demo()
    fewer = replace(found, flow=replace(found.flow, treated=found.flow.allocated - 1))

    assert next(method_lines(found)).startswith("Each client had both ways")
    assert next(method_lines(fewer)).startswith("Each client was to have both ways")
