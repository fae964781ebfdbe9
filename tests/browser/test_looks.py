"""The forms can be read in the light and in the dark theme."""

import pytest
from browser.contrast import contrasts
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

_THEME = """(theme) =>
  window.jupyterapp.commands.execute('apputils:change-theme', { theme: theme })"""


@pytest.mark.parametrize("theme", ["JupyterLab Light", "JupyterLab Dark"])
def test_text_stands_out_in_both_themes(page, theme):
    page.open("02_record_and_check_cases.ipynb")
    page.page.evaluate(_THEME, theme)
    dark = "false" if theme.endswith("Dark") else "true"
    expect(page.page.locator("body")).to_have_attribute("data-jp-theme-light", dark)
    page.run()
    records = page.form("Check the records")
    records.press("Check")
    expect(records.said).to_contain_text("Nothing here blocks")

    found = contrasts(page.page, ".pmulab-panel")

    name = theme.split()[-1].lower()
    page.picture(f"theme-{name}-records", records.panel)
    page.picture(f"theme-{name}-enrol", page.form("Ask one client, then open her card").panel)
    page.page.evaluate(_THEME, "JupyterLab Light")
    assert len(found) > 30
    assert [one for one in found if one[0] < 4.5] == []
