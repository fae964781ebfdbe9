"""Every notebook runs in a real JupyterLab, can be read by everybody, and asks nothing outside.

What can be read: axe-core's rules (WCAG 2.1, contrast of at least 4.5:1 among them) in the light
and in the dark theme; nothing cut off in a window of 1280 by 800, nor at 200 %.
"""

import pytest
from browser.notebook_page import SMALL, TWICE_AS_LARGE
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

NOTEBOOKS = {
    "00_start_here": (1, "Which study?", "Show how far it has come", "Enrolled: 12 of 12"),
    "01_plan_a_comparison": (7, "Which study?", "Show how far it has come", "Enrolled: 12 of 12"),
    "02_record_and_check_cases": (4, "Check the records", "Check", "Nothing here blocks"),
    "03_score_healed_results_blind": (
        4,
        "Which study?",
        "Show how far it has come",
        "Enrolled: 12 of 12",
    ),
    "04_measure_photos": (4, "Which study?", "Show how far it has come", "Enrolled: 12 of 12"),
    "05_analyse": (3, "Analyse", "Analyse", "Main outcome. Working minutes: 3.2 min lower"),
    "06_share": (2, "The handout", "Show it first", "as it would be saved"),
    "07_pool_with_the_study_group": (
        3,
        "Put the studies together",
        "Put them together",
        "5 of 6",
    ),
    "08_watch_my_practice": (1, "Watch my practice", "Show the charts", "24 clients in a row"),
}


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_a_notebook_runs_on_the_demo_study_and_can_be_read(page, name):
    forms, title, button, answer = NOTEBOOKS[name]
    page.open(f"{name}.ipynb")
    page.run()
    shown = page.page.locator(".pmulab-panel[data-pmulab-guard=on]")
    expect(shown).to_have_count(forms)
    form = page.form(title)
    form.press(button)
    expect(form.said).to_contain_text(answer)
    if name.startswith("05"):
        _play(page)

    for theme in ("Light", "Dark"):
        page.theme(theme)
        assert page.barriers() == []
        for number, one in enumerate(shown.all(), start=1):
            page.picture(f"{name}-{theme.lower()}-form-{number}", one)
    page.theme("Light")
    page.picture(name)
    for size in (SMALL, TWICE_AS_LARGE):
        assert page.cut_off(size) == []
        page.picture(f"{name}-at-{size['width']}", form.panel, size)
    assert page.trouble() == []


def _play(page):
    """Play the series that fools up to the client at whom it does."""
    fooled = page.form("How luck fools whoever looks too often")
    for client in range(1, 7):
        fooled.press("Next client")
        expect(fooled.said).to_contain_text(f"After client {client}:")
    expect(fooled.said).to_contain_text("'finds' a difference")
    expect(fooled.panel.get_by_role("img")).to_be_visible()
