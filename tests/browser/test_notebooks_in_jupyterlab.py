"""Every notebook runs from top to bottom in a real JupyterLab, and asks nothing outside."""

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

NOTEBOOKS = {
    "00_start_here.ipynb": 1,
    "01_plan_a_comparison.ipynb": 6,
    "02_record_and_check_cases.ipynb": 3,
    "05_analyse.ipynb": 2,
    "06_share.ipynb": 2,
    "08_watch_my_practice.ipynb": 1,
}


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_a_notebook_runs_on_the_demo_study_without_a_click(page, name):
    page.open(name)
    page.run()

    forms = page.page.locator(".pmulab-panel")
    expect(forms).to_have_count(NOTEBOOKS[name])
    expect(page.page.locator(".pmulab-panel[data-pmulab-guard=on]")).to_have_count(NOTEBOOKS[name])
    page.picture(f"{name.removesuffix('.ipynb')}")
    for number, form in enumerate(forms.all(), start=1):
        page.picture(f"{name.removesuffix('.ipynb')}-form-{number}", form)
    errors = page.page.locator(".jp-OutputArea-output[data-mime-type*=error]")
    assert errors.count() == 0
    assert page.page.locator(".pmulab-problem").count() == 0
    assert page.wrong == []
