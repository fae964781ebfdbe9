"""Nothing reaches a network, on import or at work: the network is cut and every try noted."""

import subprocess
import sys

import pytest
from supply.watching import cut_off, watched

EVERY_MODULE = """
import importlib, pkgutil, pmulab
names = [one.name for one in pkgutil.walk_packages(pmulab.__path__, "pmulab.")]
for name in names:
    if not name.endswith("__main__"):
        importlib.import_module(name)
print(len(names))
"""
REACHING_OUT = "import socket; socket.create_connection(('192.0.2.1', 80), timeout=2)"
"""An address that RFC 5737 keeps for documentation: nobody answers there."""


@pytest.fixture
def run(tmp_path):
    notes = tmp_path / "notes.txt"

    def run(*words, fails=False):
        out = subprocess.run(
            [*cut_off(), sys.executable, *map(str, words)],
            env=watched(notes), capture_output=True, text=True, timeout=300,
        )  # fmt: skip
        assert bool(out.returncode) == fails, out.stderr
        return out.stdout, notes.read_text("utf-8") if notes.exists() else ""

    return run


def test_a_try_would_be_noted(run):
    assert run("-c", REACHING_OUT, fails=True)[1] == "socket.getaddrinfo 192.0.2.1\n"


def test_importing_every_module(run):
    told, notes = run("-c", EVERY_MODULE)

    assert int(told) > 200
    assert notes == ""


def test_the_whole_job(run, tmp_path):
    told, notes = run("-m", "pmulab", "demo", tmp_path / "demo")

    assert (tmp_path / "demo" / "handout.html").exists()
    assert "7. Shared" in told
    assert notes == ""
