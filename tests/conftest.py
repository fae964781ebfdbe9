"""What every test can rely on."""

import os
import shutil
from contextlib import suppress

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
def made_demo(tmp_path_factory):
    """The invented study, made once for all tests of a run: copy it, never change it."""
    from pmulab.stations.demo import demo

    base = tmp_path_factory.getbasetemp()
    run = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    place = run / "made-demo" / "demo-study"
    if not place.exists():
        made = tmp_path_factory.mktemp("making") / "demo-study"
        demo(made)
        place.parent.mkdir(exist_ok=True)
        with suppress(OSError):  # another worker was quicker
            made.rename(place)
    return place


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
