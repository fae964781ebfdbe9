"""The forms can be read in the light and in the dark theme.

Contrast as defined by WCAG 2.1, success criterion 1.4.3: at least 4.5:1 for text.
"""

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

_THEME = """(theme) =>
  window.jupyterapp.commands.execute('apputils:change-theme', { theme: theme })"""
_CONTRAST = """() => {
  const canvas = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  const rgba = (colour) => {
    canvas.clearRect(0, 0, 1, 1);
    canvas.fillStyle = colour;
    canvas.fillRect(0, 0, 1, 1);
    return [...canvas.getImageData(0, 0, 1, 1).data];
  };
  const light = ([r, g, b]) => {
    const part = (v) => ((v /= 255) <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
  };
  const behind = (node) => {
    for (let here = node; here; here = here.parentElement) {
      const colour = rgba(getComputedStyle(here).backgroundColor);
      if (colour[3] > 0) return colour;
    }
    return [255, 255, 255, 255];
  };
  const found = [];
  const kinds = 'h3, h4, p, label, input, select, textarea, button, td, th, caption, pre, summary';
  for (const node of document.querySelectorAll('.pmulab-panel')) {
    for (const part of node.querySelectorAll(kinds)) {
      if (part.disabled || !part.getClientRects().length || part.closest('svg')) continue;
      const [one, other] = [light(rgba(getComputedStyle(part).color)), light(behind(part))];
      const ratio = (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
      const words = part.innerText || part.tagName;
      found.push([Math.round(ratio * 100) / 100, `${part.tagName}: ${words.slice(0, 40)}`]);
    }
  }
  return found;
}"""


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

    contrasts = page.page.evaluate(_CONTRAST)

    name = theme.split()[-1].lower()
    page.picture(f"theme-{name}-records", records.panel)
    page.picture(f"theme-{name}-enrol", page.form("Ask one client, then open her card").panel)
    page.page.evaluate(_THEME, "JupyterLab Light")
    assert len(contrasts) > 30
    assert [one for one in contrasts if one[0] < 4.5] == []
