"""How the kit opens, what is seen when a form is asleep, and that failures are never silent."""

import nbformat
import pytest
from browser.notebook_page import USUAL
from nbformat.v4 import new_code_cell, new_notebook
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

_SHUT_DOWN = "() => window.jupyterapp.commands.execute('kernelmenu:shutdown')"
_RESTART = """() =>
  window.jupyterapp.shell.currentWidget.sessionContext.session.kernel.restart()"""
_SAVE = "() => window.jupyterapp.commands.execute('docmanager:save')"
_END = "() => window.jupyterapp.serviceManager.sessions.shutdownAll()"
_NOT_OURS = ("widget model not found", "Canceled future")
"""JupyterLab's own words in the console about a kernel that is gone."""

SEEDED = """# Form: seeded failures
from time import sleep
from ipywidgets import Text
from pmulab import panels, standing
from pmulab.panels.call import Call
class Broken(panels.Panel):
    title, button = "Broken", "Break"
    def call(self):
        raise ZeroDivisionError("nobody foresaw this")
class Long(panels.Panel):
    title, button, slow = "Long", "Take long", True
    def form(self):
        self.inputs = {"word": Text(description="Word")}
        return list(self.inputs.values())
    def call(self):
        return Call(lambda: sleep(60), {})
display(Broken("demo-study"), Long("demo-study"))
"""


@pytest.fixture
def seeded(session):
    """A notebook with a form that breaks, one that takes long, and a cell that fails."""
    path = session.folder / "seeded.ipynb"
    cells = [new_code_cell(SEEDED), new_code_cell("1 / 0")]
    nbformat.write(new_notebook(cells=cells, metadata=_kernel()), path)
    yield path.name
    path.unlink()


def _kernel():
    return {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}


def test_it_opens_at_the_start_with_headings_beside_and_code_folded_away(page, session):
    page.page.goto(f"{session.address}/lab?token={session.token}")
    page.page.goto(f"{session.address}{session.opens_at}?token={session.token}")
    page.page.locator(".jp-NotebookPanel .jp-Cell").first.wait_for()
    headings = page.page.locator(".jp-TableOfContents")
    expect(headings).to_contain_text("Your studies")
    expect(page.page.locator(".lm-DockPanel-tabBar .lm-mod-current")).to_contain_text("00_start")
    expect(page.page.locator("#jp-main-statusbar")).to_contain_text("| Idle")
    assert page.page.locator(".jp-CodeCell .jp-Cell-inputArea .cm-content").count() == 0
    page.picture("opening")

    page.run()
    page.page.get_by_role("link", name="notebook 07").first.click()
    expect(headings).to_contain_text("2. Make your pack")
    assert page.trouble() == []


def test_a_form_without_its_kernel_says_how_it_is_woken(page):
    page.open("00_start_here.ipynb")
    page.run()
    form = page.form("Which study?")
    expect(form.panel).to_have_attribute("data-pmulab-guard", "on")
    asleep = page.page.get_by_text("This form is asleep. To wake it")
    expect(asleep).to_be_hidden()
    page.page.evaluate(_SAVE)
    page.page.evaluate(_RESTART)
    page.page.locator(".pmulab-panel.jupyter-widgets-disconnected").wait_for()
    told = form.panel.evaluate("panel => getComputedStyle(panel, '::before').content")
    assert "buttons do nothing" in told
    page.picture("asleep-after-restart", form.panel)

    page.page.evaluate(_END)
    page.open("00_start_here.ipynb")
    expect(asleep).to_be_visible()
    expect(page.page.get_by_text("model not found")).to_be_hidden()
    assert "VBox(" not in page.page.locator(".jp-Notebook").inner_text()
    page.picture("asleep-after-reopening")
    page.run()
    expect(asleep).to_be_hidden()
    expect(form.panel).to_be_visible()
    form.press("Show how far it has come")
    expect(form.said).to_be_visible()
    page.page.evaluate(_SHUT_DOWN)
    page.page.locator(".pmulab-panel.pmulab-gone").wait_for()
    expect(form.said).to_be_hidden()  # an old answer must not stand there as a new one
    told = form.panel.evaluate("panel => getComputedStyle(panel, '::before').content")
    assert "buttons do nothing" in told
    ours = [one for one in page.trouble() if not any(word in one for word in _NOT_OURS)]
    assert ours == []


def test_failures_are_told_in_the_page_and_noticed_by_these_tests(page, seeded):
    """Kept wrong on purpose: what breaks here has to be seen by the person and by the tests."""
    page.open(seeded)
    page.run()
    broken = page.form("Broken")
    broken.press("Break")
    expect(broken.said).to_contain_text("Something went wrong inside pmulab.")
    expect(broken.said).to_contain_text("nobody foresaw this")
    page.page.evaluate("() => console.error('seeded')")

    trouble = "\n".join(page.trouble())
    assert "cell: " in trouble
    assert "ZeroDivisionError: division by zero" in trouble
    assert "form: Something went wrong" in trouble
    assert "console: seeded" in trouble


def test_what_takes_long_shows_it_and_can_be_stopped(page, seeded):
    page.open(seeded)
    page.run()
    long = page.form("Long")
    long.press("Take long")
    expect(long.panel.get_by_role("progressbar")).to_be_visible()
    page.picture("working", long.panel)
    long.press("Stop")
    expect(long.said).to_contain_text("Stopped before it was done.")
    expect(long.panel.get_by_role("progressbar")).to_have_count(0)


def test_a_barrier_is_noticed(page):
    """Kept wrong on purpose: an input without a label, pale letters, and a line that is cut off."""
    page.open("00_start_here.ipynb")
    page.run()
    form = page.form("Which study?")
    expect(form.panel).to_have_attribute("data-pmulab-guard", "on")
    form.panel.evaluate(
        """panel => panel.insertAdjacentHTML('beforeend',
        '<input><p style="color:#bbb">pale</p><div style="width:90em">wide</div>')"""
    )

    assert {one.split(":")[0] for one in page.barriers()} >= {"label", "color-contrast"}
    assert page.cut_off(USUAL) == ["DIV: wide"]
