"""One JupyterLab for all browser tests; a fresh page for each."""

import os
from pathlib import Path

import pytest
from browser.jupyter_session import Session, start
from browser.notebook_page import USUAL, NotebookPage

from pmulab.stations.chosen import CHOSEN


@pytest.fixture(scope="session")
def session(tmp_path_factory, made_demo):
    running = start(tmp_path_factory.mktemp("lab"), made_demo)
    yield running
    running.stop()
    assert not running.outside.exists(), running.outside.read_text()


@pytest.fixture(scope="session")
def screenshots():
    """Where pictures are kept, if somebody asked for them: they take a third of the time."""
    asked = os.environ.get("PMULAB_SCREENSHOTS")
    if asked:
        Path(asked).mkdir(parents=True, exist_ok=True)
    return Path(asked) if asked else None


@pytest.fixture
def page(session: Session, browser, screenshots):
    (session.folder / CHOSEN).unlink(missing_ok=True)
    shown = browser.new_page(viewport=USUAL)
    notebook = NotebookPage(shown, session, screenshots)
    yield notebook
    notebook.close()
