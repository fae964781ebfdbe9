"""How long a form lets one wait, from the click to what it shows, on the demonstration.

PYTHONPATH=tests python tests/bench/forms_in_browser.py [WORDS OF A FORM]

Prints the median and the range of ten clicks in the page's own clock, after one to warm up, until
the new picture, page or table is in the page.
"""

import shutil
import statistics
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import openpyxl
from browser.jupyter_session import start
from browser.notebook_page import USUAL, Form, NotebookPage
from playwright.sync_api import sync_playwright

from pmulab import new
from pmulab.stations.chosen import CHOSEN

CLICKS = 10
_ANSWERED = """([panel, act, watched, count]) => new Promise((done) => {
  const fresh = () => [...panel.querySelectorAll(watched)].filter((part) => !part.dataset.old);
  panel.querySelectorAll(watched).forEach((part) => { part.dataset.old = 'yes'; });
  const field = [...panel.querySelectorAll('input, select')]
    .find((one) => [...one.labels].some((label) => label.textContent.includes(act.label)));
  const began = performance.now();
  const look = () => {
    if (fresh().length >= count) done(performance.now() - began);
    else if (performance.now() - began > 20000) done(null);
    else requestAnimationFrame(look);
  };
  if (act.button) [...panel.querySelectorAll('button')]
    .find((one) => one.innerText === act.button).click();
  else {
    if ('place' in act) field.selectedIndex = act.place; else field.value = act.value;
    field.dispatchEvent(new Event('change', { bubbles: true }));
  }
  look();
})"""
"""Whatever stood there before is marked; what is drawn anew has no mark."""


@dataclass(frozen=True)
class Wait:
    """One step of one form.

    Parameters
    ----------
    notebook : str
    title : str
        Of the form.
    act : callable
        Gives for a click its number's button, or label and value of an input that is changed.
    watched : str
        CSS of what appears.
    count : int, default=1
        How many have to appear.
    before : callable, optional
        Makes the answer another one, with the form and the folder of studies and the number.
    """

    notebook: str
    title: str
    act: Callable[[int], dict[str, Any]]
    watched: str
    count: int = 1
    before: Callable[[Form, Path, int], None] = lambda form, folder, number: None

    def took(self, form: Form, folder: Path) -> list[float]:
        """Act some times and give how long each answer took, in milliseconds."""
        panel, found = form.panel.element_handle(), []
        for number in range(CLICKS + 1):
            self.before(form, folder, number)
            asked = [panel, self.act(number), self.watched, self.count]
            found.append(form.panel.page.evaluate(_ANSWERED, asked))
            form.panel.page.wait_for_timeout(1500)  # past the patience of the form
        return found[1:]


def _button(label: str) -> Callable[[int], dict[str, Any]]:
    return lambda _number: {"button": label}


def _mended(_form: Form, folder: Path, number: int) -> None:
    """Let a cell be wrong or right by turns, as it is between two checks."""
    path = folder / "demo-study" / "records.xlsx"
    book = openpyxl.load_workbook(path)
    sheet = book["sessions"]
    heads = [cell.value for cell in sheet[1]]
    sheet.cell(2, heads.index("work_min *") + 1).value = (15.5, "15 or so")[number % 2]
    book.save(path)


def _other_practice(form: Form, _folder: Path, number: int) -> None:
    form.fill("Table or folder", ("demo-study", "demo-practice")[number % 2])


def _other_group(_form: Form, folder: Path, number: int) -> None:
    """Let a pack come and go."""
    pack = folder / "demo-group" / "packs" / "demo-nivard.zip"
    aside = folder / pack.name
    if number % 2:
        pack.rename(aside)
    elif aside.exists():
        aside.rename(pack)


WAITS = (
    Wait("00_start_here", "Which study?", lambda n: {
        "label": "Study", "place": 1 - n % 2}, "output"),
    Wait("01_plan_a_comparison", "3. What difference would matter, and how many clients?",
         lambda n: {"label": "Spread", "value": str(1.5 + n / 10)}, "figure"),
    Wait("02_record_and_check_cases", "Check the records", _button("Check"), "output",
         before=_mended),
    Wait("05_analyse", "Analyse", _button("Analyse"), "figure"),
    Wait("05_analyse", "Analyse", _button("Analyse"), "figure", count=3),
    Wait("05_analyse", "How luck fools whoever looks too often", _button("Next client"), "figure"),
    Wait("06_share", "The handout", _button("Show it first"), "iframe"),
    Wait("07_pool_with_the_study_group", "Put the studies together",
         _button("Put them together"), "figure",
         before=_other_group),
    Wait("08_watch_my_practice", "Watch my practice", _button("Show the charts"), "figure",
         before=_other_practice),
)  # fmt: skip


def main(words: str = "") -> None:
    """Measure every form, or those with these words in their title, and print a table."""
    with TemporaryDirectory() as place, sync_playwright() as playwright:
        session = start(Path(place))
        new(session.folder / "second", "aftercare")
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        for wait in WAITS:
            if words not in wait.title:
                continue
            (session.folder / CHOSEN).unlink(missing_ok=True)
            page = NotebookPage(browser.new_page(viewport=USUAL), session, Path(place))
            page.open(f"{wait.notebook}.ipynb")
            page.run()
            page.form(wait.title).panel.wait_for()
            page.page.wait_for_timeout(6000)
            took = wait.took(page.form(wait.title), session.folder)
            middle = statistics.median(took)
            told = f"{wait.title} ({wait.watched} {wait.count})"
            print(f"{told:64} {middle:6.0f} ms ({min(took):.0f} to {max(took):.0f})", flush=True)
            page.close()
        browser.close()
        session.stop()


if __name__ == "__main__":
    main(*sys.argv[1:])
