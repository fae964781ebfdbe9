"""What every test can rely on."""

import shutil

import pytest
from hypothesis import settings

settings.register_profile("kit", deadline=None, print_blob=True)
settings.load_profile("kit")

_QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="session")
def browser():
    """One browser for all tests that need it; they fail without one, and never skip."""
    from playwright.sync_api import sync_playwright

    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        raise FileNotFoundError("no chromium: apt-get install chromium")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=path, args=list(_QUIET))
        yield opened
        opened.close()
