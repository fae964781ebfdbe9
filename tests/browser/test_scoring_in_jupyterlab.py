"""A round prepared, scored by keyboard and collected in notebook 03, with nothing but forms."""

import json

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

NOTEBOOK = "03_score_healed_results_blind.ipynb"


def start(page, code):
    score = page.form("2. Score")
    score.fill("Assessor code", code)
    score.choose("Did you do any of this work yourself?", "no")
    score.press("Begin, or go on")
    form = score.panel.locator(".pmulab-scorer > div")
    form.wait_for()
    return score, form


def saved(page, path, wanted):
    """Give the one photo's answers once a busy kernel has written them, or after ten seconds."""
    for _ in range(50):
        (answer,) = json.loads(path.read_text())["photos"].values()
        if answer == wanted:
            break
        page.page.wait_for_timeout(200)
    return answer


def test_a_round_in_the_notebook(page, session):
    page.open(NOTEBOOK)
    page.run()
    cells = page.cells()
    prepare = page.form("1. Prepare a round")
    prepare.panel.get_by_label("Also take photos that were in an earlier round").check()
    prepare.press("Prepare the round")
    expect(prepare.said).to_contain_text("Round 2 is ready", timeout=60_000)

    score, form = start(page, "R21")
    expect(form.locator("h2")).to_have_text("Photo 1 of 24")
    shown = form.locator("img")
    expect(shown).not_to_have_js_property("naturalWidth", 0)
    assert shown.evaluate("one => one.naturalWidth") > 900
    for key in ("1", "0", "Enter", "3", "2", "1", "1", "1"):
        page.page.keyboard.press(key)
    page.picture("scoring-in-the-notebook", score.panel)
    page.page.keyboard.press("Enter")
    expect(form.locator("h2")).to_have_text("Photo 2 of 24")
    for key in ("d", "d", "x", "x", "ArrowLeft"):
        page.page.keyboard.press(key)
    expect(form.locator("h2")).to_have_text("Photo 1 of 24")
    assert page.cells() == cells

    path = session.folder / "demo-study/scoring/round-02/answers/R21.json"
    wanted = {
        "segments_kept": [1, 10], "retention_grade": "3", "evenness_grade": "2",
        "migration": "no", "colour_shift": "none", "touchup_needed": "no",
    }  # fmt: skip
    assert saved(page, path, wanted) == wanted

    page.load_slowly()
    page.open(NOTEBOOK)
    page.run()
    score, form = start(page, "R21")
    expect(form.locator("img")).not_to_have_js_property("naturalWidth", 0)
    expect(score.panel.locator(".pmulab-said")).to_contain_text("goes on where it stopped")
    expect(form.locator("h2")).to_have_text("Photo 2 of 24")
    assert page.wrong == []
