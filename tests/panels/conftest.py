"""Studies for the forms: one that is being planned, one that is locked, and the demonstration."""

import shutil

import pytest
from studies import ANSWERS

from pmulab.stations.lock import PROMISES, lock
from pmulab.stations.new import new
from pmulab.stations.revise import revise


@pytest.fixture
def here(tmp_path, monkeypatch):
    """An empty working folder, so that forms show short names."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def draft(here):
    new("wipes", "wipe-material")
    return "wipes"


@pytest.fixture
def locked(draft):
    revise(draft, {f"promises.{name}": "Settled (invented)." for name in PROMISES})
    lock(draft)
    return draft


@pytest.fixture
def planned_look(draft):
    revise(draft, {f"promises.{name}": "Settled (invented)." for name in PROMISES})
    revise(draft, {"analysis.looks": (8,)})
    lock(draft)
    return draft


@pytest.fixture
def shown_demo(made_demo, here):
    shutil.copytree(made_demo, "demo-study")
    return "demo-study"


@pytest.fixture
def answers():
    return ANSWERS | {"study_exclusion": "no"}
