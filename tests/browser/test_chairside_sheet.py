"""Prints the chairside sheet in a real browser: one sheet of paper, steps included."""

import re
from dataclasses import replace

import pytest

from pmulab.plan import Arms, read_plan
from pmulab.plan.steps import step_lines
from pmulab.questions import draft, names
from pmulab.stations.opening import expectations
from pmulab.tables.chairside import chairside_sheet

pytestmark = pytest.mark.browser

PAPERS = ("A4", "Letter")
STEP = "Work a short section with small strokes, look, wipe once and lightly, then go on. "
LONG = "\n".join(f"{number}. {STEP * 4}" for number in range(1, 13))[:4000]
"""As much as a plan takes."""


@pytest.fixture
def sheet(browser):
    page = browser.new_page()
    yield page
    page.close()


def printed(sheet, plan, paper):
    steps = {key: step_lines(arm.steps) for key, arm in plan.arms.both}
    sheet.set_content(chairside_sheet(plan.tables(), expectations(plan, ()), steps))
    pdf = sheet.pdf(format=paper)
    return len(re.findall(rb"/Type /Page\n", pdf))


@pytest.mark.parametrize("paper", PAPERS)
def test_every_ready_question_fits_on_one_page_with_its_steps(sheet, paper):
    pages = {name: printed(sheet, read_plan(draft(name, "own")), paper) for name in names()}

    assert pages == dict.fromkeys(pages, 1)
    assert "How it is done: " in sheet.inner_text("body")


@pytest.mark.parametrize("paper", PAPERS)
def test_long_steps_and_names_go_on_the_back_of_the_same_sheet(sheet, paper):
    plan = read_plan(draft("wipe-material", "own"))
    name = f"as long as a name may be {'x' * 80}"
    ways = (replace(arm, label=f"{arm.label}, {name}", steps=LONG) for _, arm in plan.arms.both)

    assert printed(sheet, replace(plan, arms=Arms(*ways)), paper) == 2
    assert sheet.inner_text("body").count("12. Work a short section") == 2
