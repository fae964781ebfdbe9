"""The notebooks come into her folder, and nothing of hers is ever replaced."""

import json

import nbformat
import pytest

import pmulab
from pmulab.errors import UserError
from pmulab.installed import installed
from pmulab.stations import lab as station
from pmulab.stations.lab import FIRST, command, lab, open_lab, write_settings


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder in which the demonstration is taken for made; making it is tested elsewhere."""
    monkeypatch.setattr(station, "open_study", lambda place: None)
    return tmp_path / "my studies"


def edit(path, words):
    notebook = nbformat.read(path, as_version=4)
    notebook.cells[0].source += words
    nbformat.write(notebook, path)


def test_the_same_look_up_serves_notebooks_and_templates():
    assert (installed("notebooks") / FIRST).is_file()
    assert installed("data_templates").is_dir()
    with pytest.raises(FileNotFoundError, match="incomplete"):
        installed("nothing_of_the_kind")


def test_every_notebook_is_copied_without_outputs(folder):
    answer = lab(folder)

    names = {path.name for path in installed("notebooks").glob("*.ipynb")}
    assert {path.name for path in answer.value} == names
    for path in answer.value:
        cells = [c for c in nbformat.read(path, as_version=4).cells if c.cell_type == "code"]
        assert all(not cell.outputs and cell.execution_count is None for cell in cells)
    assert "Copied: 00_start_here.ipynb" in str(answer)


def test_a_second_time_nothing_is_copied_even_after_the_notebooks_were_run(folder):
    lab(folder)
    path = folder / FIRST
    notebook = nbformat.read(path, as_version=4)
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.execution_count = 7
    nbformat.write(notebook, path)
    before = path.read_bytes()

    assert lab(folder).value == ()
    assert path.read_bytes() == before


def test_an_edited_notebook_stays_and_the_newer_is_put_beside_it(folder):
    lab(folder)
    edit(folder / FIRST, "\n\nMy own note.")
    before = (folder / FIRST).read_bytes()
    answer = lab(folder)

    beside = folder / f"00_start_here (pmulab {pmulab.__version__}).ipynb"
    assert answer.value == (beside,)
    assert "You have edited this one" in answer.lines[0]
    assert (folder / FIRST).read_bytes() == before
    edit(beside, "\n\nAnother note.")
    kept = beside.read_bytes()
    assert lab(folder).value == ()
    assert beside.read_bytes() == kept


def test_a_file_that_is_no_notebook_stays(folder):
    folder.mkdir()
    (folder / FIRST).write_text("not a notebook")
    lab(folder)

    assert (folder / FIRST).read_text() == "not a notebook"


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(UserError, match="could not be written"):
        lab(tmp_path / "file" / "inside")


def test_jupyterlab_is_opened_on_this_computer_with_its_token(folder):
    told = command(folder)

    assert "--ServerApp.ip=127.0.0.1" in told
    assert f"--LabApp.default_url=/lab/tree/{FIRST}" in told
    assert not any("token" in part or "password" in part for part in told)


def test_settings_ask_nothing_outside_and_let_larger_files_in(tmp_path):
    write_settings(tmp_path)
    overrides = json.loads((tmp_path / "labconfig/default_setting_overrides.json").read_text())
    server = json.loads((tmp_path / "jupyter_server_config.json").read_text())

    assert overrides["@jupyterlab/apputils-extension:notification"]["fetchNews"] == "false"
    limit = server["ServerApp"]["tornado_settings"]["websocket_max_message_size"]
    assert limit == 100 * 1024 * 1024


def test_it_opens_with_the_headings_beside_and_leaves_her_own_layout_alone(tmp_path):
    write_settings(tmp_path)
    server = json.loads((tmp_path / "jupyter_server_config.json").read_text())
    workspaces = tmp_path / "workspaces"
    (layout,) = (json.loads(path.read_text()) for path in workspaces.iterdir())

    assert server["LabApp"]["workspaces_dir"] == str(workspaces)
    assert layout["metadata"]["id"] == "default"
    assert "toc" in layout["data"]["layout-restorer:data"]["left"]["current"]


class Server:
    """A server that is interrupted once, asks back, and stops."""

    returncode = 0

    def __init__(self, told, env):
        self.told, self.env, self.waited = told, env, 0
        Server.latest = self

    def poll(self):
        return 0 if self.waited == 2 else None

    def wait(self):
        self.waited += 1
        if self.waited == 1:
            raise KeyboardInterrupt


def test_starting_runs_jupyterlab_until_it_is_closed(folder, monkeypatch):
    monkeypatch.setattr(station.subprocess, "Popen", Server)
    lab(folder)
    ended = open_lab(folder)

    assert Server.latest.told == command(folder)
    assert "pmulab-lab-" in Server.latest.env["JUPYTER_CONFIG_PATH"]
    assert Server.latest.waited == 2
    assert "closed" in ended


def test_a_server_that_stops_by_itself_is_told(folder, monkeypatch):
    monkeypatch.setattr(station.subprocess, "Popen", Server)
    monkeypatch.setattr(Server, "returncode", 1)

    lab(folder)
    assert "stopped by itself" in open_lab(folder)
