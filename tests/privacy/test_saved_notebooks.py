"""A notebook that is saved in the lab holds no row of a client, and its forms still say how they
are woken."""

import json
from types import SimpleNamespace

import nbformat
import pytest
from jupyter_server.services.contents.largefilemanager import AsyncLargeFileManager
from nbclient import NotebookClient
from studies import code_of, paired_study

from pmulab.installed import installed
from pmulab.panels import saving
from pmulab.panels.showing import asleep
from pmulab.stations.lab import write_settings

OWN = "my-study"


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    """Notebook 02 run on a study of her own, with a cell that shows her records."""
    place = tmp_path_factory.mktemp("lab")
    paired_study(place / OWN, [3.0, 4.0, 5.5, 2.0], [2.0, 3.5, 5.0, 1.0])
    source = installed("notebooks") / "02_record_and_check_cases.ipynb"
    notebook = nbformat.read(source, as_version=4)
    code = next(cell for cell in notebook.cells if cell.cell_type == "code")
    code.source = f'study = "{OWN}"'
    show = "from pmulab.tables import read_and_check; from pmulab.stations.opening import *"
    rows = f'read_and_check("{OWN}", expected(opened("{OWN}")))[0].sessions'
    notebook.cells = [
        cell for cell in notebook.cells if "demo-study" not in cell.source or cell is code
    ]
    notebook.cells.append(nbformat.v4.new_code_cell(f"{show}\n{rows}"))
    notebook.cells.append(nbformat.v4.new_markdown_cell("my own note"))
    NotebookClient(
        notebook, timeout=120, resources={"metadata": {"path": str(place)}}, store_widget_state=True
    ).execute()
    return notebook


async def saved(notebook, place):
    """The notebook as the lab's own server writes it."""
    manager = AsyncLargeFileManager(root_dir=str(place))
    saving._load_jupyter_server_extension(SimpleNamespace(contents_manager=manager))
    await manager.save({"type": "notebook", "content": notebook}, "saved.ipynb")
    return (place / "saved.ipynb").read_text(encoding="utf-8")


@pytest.fixture
def text(ran, tmp_path):
    import asyncio
    import copy

    return asyncio.run(saved(copy.deepcopy(ran), tmp_path))


def test_without_the_lab_such_a_notebook_would_hold_rows(ran):
    told = nbformat.writes(ran)

    assert code_of(2) in told
    assert "widgets" in ran.metadata


def test_a_saved_notebook_holds_no_row_and_no_state_of_forms(text):
    # C101 is also an example in the notebook's own words
    assert not any(code_of(number) in text for number in range(2, 5))
    assert "widget-state" not in text
    assert saving.NOT_KEPT in text


def test_what_she_wrote_and_the_forms_stay(text, ran):
    notebook = nbformat.reads(text, as_version=4)
    nbformat.validate(notebook)
    outputs = [out for cell in notebook.cells for out in cell.get("outputs", [])]

    assert [cell.source for cell in notebook.cells] == [cell.source for cell in ran.cells]
    assert any(out.get("data", {}).get("text/html") == asleep() for out in outputs)


def test_a_form_that_was_made_to_show_rows_is_no_form():
    forged = {"data": {"text/plain": "C101 3.0 2.0"}, "output_type": "display_data"}
    with_rows = {"data": {"text/plain": "Form: choose Run > Run All Cells to show it.",
                          "text/html": "<p>C101</p>"}, "output_type": "display_data"}  # fmt: skip
    model = {"type": "notebook", "content": {"cells": [
        {"cell_type": "code", "metadata": {}, "outputs": [forged, with_rows]}
    ]}}  # fmt: skip
    saving.without_results(model=model, path="x.ipynb", contents_manager=None)

    assert "C101" not in json.dumps(model)


def test_a_file_that_is_no_notebook_is_left_alone():
    model = {"type": "file", "content": "C101"}
    saving.without_results(model=model, path="notes.txt", contents_manager=None)

    assert model == {"type": "file", "content": "C101"}


def test_the_lab_switches_it_on(tmp_path):
    write_settings(tmp_path)
    told = json.loads((tmp_path / "jupyter_server_config.json").read_text())

    assert told["ServerApp"]["jpserver_extensions"] == {"pmulab.panels.saving": True}
    assert saving._jupyter_server_extension_points() == [{"module": "pmulab.panels.saving"}]
