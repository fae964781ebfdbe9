"""How long a form lets one wait, from the click to what it shows, on the demonstration.

PYTHONPATH=tests python tests/bench/forms_in_browser.py

Prints the median and the range of ten clicks in the page's own clock, after one to warm up, until
the new picture or page is there.
"""

import shutil
import statistics
from pathlib import Path
from tempfile import TemporaryDirectory

from browser.jupyter_session import start
from browser.notebook_page import USUAL, NotebookPage
from playwright.sync_api import sync_playwright

CLICKS = 10
_CHANGED = """([panel, act, watched]) => new Promise((done) => {
  const seen = () => [...panel.querySelectorAll(watched)].map((part) => part.innerHTML).join();
  const before = seen(), began = performance.now();
  const look = () => {
    const now = seen();
    if (now && now !== before && !panel.querySelector('progress')) done(performance.now() - began);
    else requestAnimationFrame(look);
  };
  if (act.button) [...panel.querySelectorAll('button')]
    .find((one) => one.innerText === act.button).click();
  else {
    const input = [...panel.querySelectorAll('input')][act.place];
    input.value = act.value;
    input.dispatchEvent(new Event('change', { bubbles: true }));
  }
  look();
})"""
_EMPTY = "([panel, seen]) => panel.querySelectorAll(seen).forEach((part) => part.remove())"
"""The same picture drawn again is a new one only where the old one is gone."""
FORMS = (
    ("00_start_here", "Which study?", "Show how far it has come", "output"),
    ("02_record_and_check_cases", "Check the records", "Check", "output"),
    (
        "01_plan_a_comparison",
        "3. What difference would matter, and how many clients?",
        "",
        "figure",
    ),
    ("05_analyse", "Analyse", "Analyse", "figure"),
    ("05_analyse", "How luck fools whoever looks too often", "Next client", "figure"),
    ("06_share", "The handout", "Show it first", "iframe"),
)


def waits(form, button: str, watched: str) -> list[float]:
    """Click some times and give how long each answer took, in milliseconds."""
    panel, found = form.panel.element_handle(), []
    for number in range(CLICKS + 1):
        act = {"button": button, "place": 2, "value": str(1.5 + number / 10)}
        form.panel.page.evaluate(_EMPTY, [panel, watched])
        found.append(form.panel.page.evaluate(_CHANGED, [panel, act, watched]))
        form.panel.page.wait_for_timeout(2500)  # past the patience of the form
    return found[1:]


def main() -> None:
    """Measure every form and print a table."""
    with TemporaryDirectory() as place, sync_playwright() as playwright:
        session = start(Path(place))
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        for name, title, button, watched in FORMS:
            page = NotebookPage(browser.new_page(viewport=USUAL), session, Path(place))
            page.open(f"{name}.ipynb")
            page.run()
            page.form(title).panel.wait_for()
            took = waits(page.form(title), button, watched)
            middle = statistics.median(took)
            print(f"{title:52} {middle:6.0f} ms ({min(took):.0f} to {max(took):.0f})", flush=True)
            page.close()
        browser.close()
        session.stop()


if __name__ == "__main__":
    main()
