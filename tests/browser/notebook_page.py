"""What a person does with a notebook in JupyterLab: open it, run it, use its forms."""

from pathlib import Path

from browser.jupyter_session import Session
from playwright.sync_api import Locator, Page, expect

_WAIT = 30_000
USUAL = {"width": 1280, "height": 1000}
_TALL = {"width": 1280, "height": 4000}
_RUN = "() => window.jupyterapp.commands.execute('notebook:run-all-cells')"
_END = "() => window.jupyterapp?.serviceManager.sessions.shutdownAll()"
_CELLS = "() => window.jupyterapp.shell.currentWidget.content.widgets.length"


class NotebookPage:
    """One notebook, and everything that went wrong on its page.

    Parameters
    ----------
    page : Page
    session : Session
    screenshots : Path
    """

    def __init__(self, page: Page, session: Session, screenshots: Path) -> None:
        self.page, self.session, self.screenshots = page, session, screenshots
        self.wrong: list[str] = []
        page.set_default_timeout(_WAIT)
        page.on("pageerror", lambda error: self.wrong.append(f"page error: {error}"))
        page.on("console", self._console)
        page.on("request", self._request)

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

    def run(self) -> None:
        """Run all cells."""
        self.page.evaluate(_RUN)

    def cells(self) -> int:
        """Count the cells."""
        return self.page.evaluate(_CELLS)

    def form(self, title: str) -> "Form":
        """Find a form by its title."""
        panel = self.page.locator(".pmulab-panel").filter(
            has=self.page.get_by_role("heading", name=title, exact=True)
        )
        return Form(panel)

    def picture(self, name: str, of: Locator | None = None) -> Path:
        """Take a screenshot."""
        path = self.screenshots / f"{name}.png"
        if of is None:
            self.page.screenshot(path=path)
            return path
        self.page.set_viewport_size(_TALL)
        of.screenshot(path=path)
        self.page.set_viewport_size(USUAL)
        return path

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

    def press(self, button: str) -> None:
        """Press a button."""
        self.panel.get_by_role("button", name=button, exact=True).click()
