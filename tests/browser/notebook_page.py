"""What a person does with a notebook in JupyterLab: open it, run it, use its forms."""

from pathlib import Path

from axe_playwright_python.base import AXE_SCRIPT
from axe_playwright_python.sync_playwright import Axe
from browser.jupyter_session import Session
from playwright.sync_api import Locator, Page, expect

_WAIT = 60_000
USUAL = {"width": 1280, "height": 1000}
SMALL = {"width": 1280, "height": 800}
TWICE_AS_LARGE = {"width": 640, "height": 400}
"""What a page of 1280 by 800 gets when it is shown at 200 %."""
_TALL = {"width": 1280, "height": 4000}
_SLOW = "[anywidget] Failed to initialize model"
"""Said after two seconds on a loaded machine; `load_slowly` is for what must work then too."""
_GIVEN_UP = """(() => {
  const patient = AbortSignal.timeout.bind(AbortSignal);
  AbortSignal.timeout = (time) => {
    if (time !== 2000) return patient(time);
    const over = new AbortController();
    Promise.resolve().then(() => over.abort());
    return over.signal;
  };
})()"""
"""The two seconds after which anywidget gives up an element are over at once."""
_RUN = "() => window.jupyterapp.commands.execute('notebook:run-all-cells')"
_IN_KERNEL = (
    "(code) => { window.jupyterapp.shell.currentWidget.sessionContext.session.kernel"
    ".requestExecute({ code }); }"
)
_END = "() => window.jupyterapp?.serviceManager.sessions.shutdownAll()"
_THEME = "(theme) => window.jupyterapp.commands.execute('apputils:change-theme', { theme })"
_CUT_OFF = """() => [...document.querySelectorAll('.pmulab-panel')].flatMap((panel) => {
  const edge = panel.getBoundingClientRect().right + 1;
  return [...panel.querySelectorAll('*')]
    .filter((part) => !part.closest('svg, iframe') && part.getClientRects().length)
    .filter((part) => part.getBoundingClientRect().right > edge
      || (part.scrollWidth > part.clientWidth + 2 && getComputedStyle(part).overflowX === 'hidden'
        && !part.matches('input, select, textarea')))
    .map((part) => `${part.tagName}: ${(part.innerText || part.className).slice(0, 60)}`);
})"""
_HAS_HEIGHT = "() => { document.body.style.height = '100vh' }"
"""All in a body without height axe-core takes for hidden, and it passes over its letters."""
_AXE = {"resultTypes": ["violations"]}
_AXE_LOADED = "() => 'axe' in window"
_LOADED_AXE = Axe("")
"""It would load half a megabyte of script anew for each form."""
_CELLS = "() => window.jupyterapp.shell.currentWidget.content.widgets.length"


class NotebookPage:
    """One notebook, and everything that went wrong on its page.

    Parameters
    ----------
    page : Page
    session : Session
    screenshots : Path or None
    """

    def __init__(self, page: Page, session: Session, screenshots: Path | None) -> None:
        self.session, self.screenshots = session, screenshots
        self.wrong: list[str] = []
        self._listen(page)

    def _listen(self, page: Page) -> None:
        self.page = page
        page.set_default_timeout(_WAIT)
        page.on("pageerror", self._page_error)
        page.on("console", self._console)
        page.on("request", self._request)

    def _page_error(self, error) -> None:
        if _SLOW not in str(error):
            self.wrong.append(f"page error: {error}")

    def _console(self, message) -> None:
        if message.type == "error":
            self.wrong.append(f"console: {message.text} ({message.location.get('url', '')})")

    def _request(self, request) -> None:
        inside = (self.session.address, self.session.address.replace("http", "ws", 1))
        if not request.url.startswith((*inside, "data:", "blob:")):
            self.wrong.append(f"asked outside: {request.url}")

    def open(self, name: str) -> None:
        """Open a notebook and wait until its kernel is ready."""
        self.page.goto(self.session.notebook(name))
        self.page.locator(".jp-NotebookPanel .jp-Cell").first.wait_for()
        expect(self.page.locator("#jp-main-statusbar")).to_contain_text("| Idle", timeout=_WAIT)
        expect(self.page.locator("#jupyterlab-splash")).to_have_count(0, timeout=_WAIT)

    def load_slowly(self) -> None:
        """Open from now on as if everything took longer than anywidget waits."""
        self.page.add_init_script(_GIVEN_UP)

    def run(self) -> None:
        """Run all cells."""
        self.page.evaluate(_RUN)

    def in_kernel(self, code: str) -> None:
        """Let the kernel run some code that the page does not show."""
        self.page.evaluate(_IN_KERNEL, code)

    def trouble(self) -> list[str]:
        """List everything that went wrong so far: in the page, in cells and in forms."""
        errors = self.page.locator(".jp-OutputArea-output[data-mime-type*=stderr]")
        told = self.page.locator(".pmulab-problem")
        return [
            *self.wrong,
            *(f"cell: {one}" for one in errors.all_inner_texts()),
            *(f"form: {one}" for one in told.all_inner_texts()),
        ]

    def theme(self, name: str) -> None:
        """Change to the light or the dark theme."""
        self.page.evaluate(_THEME, f"JupyterLab {name}")
        light = "true" if name == "Light" else "false"
        expect(self.page.locator("body")).to_have_attribute("data-jp-theme-light", light)

    def barriers(self) -> list[str]:
        """List what axe-core finds in our forms; JupyterLab's own parts are not ours to mend."""
        self.page.evaluate(_HAS_HEIGHT)
        if not self.page.evaluate(_AXE_LOADED):
            self.page.evaluate(AXE_SCRIPT)
        found = []
        for number, panel in enumerate(self.page.locator(".pmulab-panel").all()):
            panel.scroll_into_view_if_needed()
            panel.evaluate("(panel, number) => { panel.dataset.number = number }", str(number))
            place = f".pmulab-panel[data-number='{number}']"
            found += _LOADED_AXE.run(self.page, context=place, options=_AXE).response["violations"]
        return [
            f"{fault['id']}: {node['html'][:160]}" for fault in found for node in fault["nodes"]
        ]

    def cut_off(self, size: dict[str, int]) -> list[str]:
        """List the parts of forms that do not fit into a window of this size."""
        self.page.set_viewport_size(size)
        found = self.page.evaluate(_CUT_OFF)
        self.page.set_viewport_size(USUAL)
        return found

    def cells(self) -> int:
        """Count the cells."""
        return self.page.evaluate(_CELLS)

    def form(self, title: str) -> "Form":
        """Find a form by its title."""
        panel = self.page.locator(".pmulab-panel").filter(
            has=self.page.get_by_role("heading", name=title, exact=True)
        )
        return Form(panel)

    def picture(self, name: str, of: Locator | None = None, size=_TALL) -> None:
        """Take a screenshot, if pictures are asked for."""
        if self.screenshots is None:
            return
        path = self.screenshots / f"{name}.png"
        if of is None:
            self.page.screenshot(path=path)
            return
        self.page.set_viewport_size(size)
        of.screenshot(path=path)
        self.page.set_viewport_size(USUAL)

    def open_again(self) -> None:
        """Open a new page, as after a night; nothing is left of the old one but files."""
        self._listen(self.page.context.browser.new_page(viewport=USUAL))

    def close(self) -> None:
        """End all kernels and close the page."""
        self.page.evaluate(_END)
        self.page.close()


class Form:
    """One form of a notebook.

    Parameters
    ----------
    panel : Locator
    """

    def __init__(self, panel: Locator) -> None:
        self.panel = panel

    @property
    def said(self) -> Locator:
        """What it announces."""
        return self.panel.get_by_role("status")

    def fill(self, label: str, text: str) -> None:
        """Type into an input and leave it."""
        given = self.panel.get_by_label(label, exact=True)
        given.fill(text)
        given.press("Tab")

    def choose(self, label: str, option: str) -> None:
        """Choose from a list."""
        self.panel.get_by_label(label, exact=True).select_option(option)

    def choose_file(self, path: Path) -> None:
        """Choose a file to check."""
        self.panel.get_by_label("Choose a file to check").set_input_files(path)

    def press(self, button: str) -> None:
        """Press a button."""
        self.panel.get_by_role("button", name=button, exact=True).click()
