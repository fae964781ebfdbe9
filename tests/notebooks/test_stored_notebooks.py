"""The stored notebooks are clean, and each watch over them notices what it is there for."""

import copy
import shutil
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest
from notebooks.hygiene import LARGEST, PANEL_TAG, faults

from pmulab.installed import installed

NOTEBOOKS = sorted(installed("notebooks").glob("*.ipynb"))
SANITIZE = Path(__file__).with_name("sanitize.cfg")


def read(path):
    return nbformat.read(path, as_version=4)


@pytest.fixture
def notebook():
    return copy.deepcopy(read(NOTEBOOKS[0]))


def test_all_notebooks_are_there():
    assert [path.name[:2] for path in NOTEBOOKS] == ["00", "01", "02", "03", "04", "05", "06", "07", "08"]
    assert not any(" " in path.name for path in NOTEBOOKS)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_stored_notebook_is_clean(path):
    nbformat.validate(read(path))

    assert faults(read(path)) == []


@pytest.mark.parametrize("number", ["00", "01", "02", "07"])
def test_cautions_stand_before_the_first_form(number):
    path = next(path for path in NOTEBOOKS if path.name.startswith(number))
    cells = read(path).cells
    first_form = next(
        n for n, cell in enumerate(cells) if PANEL_TAG in cell.metadata.get("tags", [])
    )
    before = " ".join(cell.source for cell in cells[:first_form])

    for caution in ("no medical advice", "stop and refer at once", "capillaries", "not enrolled"):
        assert caution in before


def test_cautions_about_photos_stand_before_the_first_form():
    path = next(path for path in NOTEBOOKS if path.name.startswith("04"))
    before = " ".join(cell.source for cell in read(path).cells[:3])

    for caution in ("broken skin", "Stop and refer at once", "stay in the studio", "Between-lash"):
        assert caution in before


def test_a_cleared_notebook_is_noticed(notebook):
    """nbval passes cells that were never run, so this has to be noticed here."""
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None

    assert "the code cells were not run in order" in faults(notebook)
    assert "no checked cell has a text output" in faults(notebook)


@pytest.mark.parametrize(
    ("source", "told"),
    [
        ("import numpy", "imports something else"),
        ("def f():\n    return 1", "belongs into the package"),
        ("1\n2\n3\n4", "more than three lines"),
        ("panels.Enrol(chosen)", "not marked as one"),
    ],
)
def test_code_that_does_not_belong_in_a_notebook_is_noticed(notebook, source, told):
    cell = next(cell for cell in notebook.cells if "chosen.shows(standing)" in cell.source)
    cell.source = source

    assert any(told in fault for fault in faults(notebook))


@pytest.mark.parametrize(
    "text", ["Written: /tmp/x/findings.json", "<P at 0x7f3acc0>", "pmulab 0.1"]
)
def test_traces_of_a_machine_are_noticed(notebook, text):
    cell = next(cell for cell in notebook.cells if "chosen.shows(standing)" in cell.source)
    cell.outputs[0].data["text/plain"] = text

    assert any("of this machine" in fault for fault in faults(notebook))


@pytest.mark.parametrize("text", ["ran at 14:05:09", "12.5 ms", "took 3 ms"])
def test_times_of_a_run_are_noticed(notebook, text):
    cell = next(cell for cell in notebook.cells if "chosen.shows(standing)" in cell.source)
    cell.outputs[0].data["text/plain"] = text

    assert any("a duration is stored" in fault for fault in faults(notebook))


def test_what_jupyterlab_adds_to_a_run_is_noticed(notebook):
    notebook.cells[3].metadata["execution"] = {"iopub.status.busy": "2026-01-01T00:00:00Z"}
    assert "times of a run are stored" in faults(notebook)


def test_a_stored_picture_is_noticed(notebook):
    cell = next(cell for cell in notebook.cells if "chosen.shows(standing)" in cell.source)
    cell.outputs[0].data["image/png"] = "x" * LARGEST
    assert f"larger than {LARGEST} characters" in faults(notebook)


def test_code_that_is_not_folded_away_is_noticed(notebook):
    cell = next(cell for cell in notebook.cells if "chosen.shows(standing)" in cell.source)
    del cell.metadata["jupyter"]
    assert any("not folded away" in fault for fault in faults(notebook))


def test_a_changed_number_is_noticed_by_comparing_outputs(notebook, tmp_path, made_demo):
    """nbval compares the text of every cell that is not a form."""
    for cell in notebook.cells:
        for output in cell.get("outputs", []):
            for kind, text in output.get("data", {}).items():
                output.data[kind] = text.replace("12 of 12", "13 of 12")
    shutil.copytree(made_demo, tmp_path / made_demo.name)
    seeded = tmp_path / "seeded.ipynb"
    nbformat.write(notebook, seeded)
    ran = subprocess.run(
        [
            sys.executable, "-m", "pytest", "--nbval", str(seeded), "-q", "-n", "0",
            "-p", "no:cacheprovider", "--nbval-current-env", "--nbval-sanitize-with", str(SANITIZE),
        ],
        cwd=tmp_path, capture_output=True, text=True, timeout=180, check=False,
    )  # fmt: skip

    assert ran.returncode == 1
    assert "2 failed, 3 passed" in ran.stdout
    assert "13 of 12" in ran.stdout
