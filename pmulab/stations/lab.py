"""Copy the guided notebooks into her folder, and open JupyterLab there."""

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import nbformat

from pmulab import __version__
from pmulab.errors import UserError
from pmulab.installed import installed
from pmulab.stations.answer import Answer
from pmulab.stations.open_study import DEMO as DEMO
from pmulab.stations.open_study import open_study
from pmulab.study import write_atomically

FIRST = "00_start_here.ipynb"
_LARGEST_MESSAGE = 100 * 1024 * 1024
_SETTINGS: Mapping[str, Mapping[str, Any]] = {
    "@jupyterlab/apputils-extension:notification": {
        "fetchNews": "false",
        "checkForUpdates": False,
        "doNotDisturbMode": True,
    }
}
"""Nothing is fetched from outside, and nothing is asked about it."""
_HEADINGS = "@jupyterlab/toc:plugin"
_LAYOUT: Mapping[str, Any] = {
    "layout-restorer:data": {
        "left": {"collapsed": False, "visible": True, "current": _HEADINGS},
        "right": {"collapsed": True, "visible": True},
        "relativeSizes": [0.22, 0.78, 0],
    }
}
"""The list of headings stands beside the notebook; lists of files and others are a click away."""


def lab(folder: str | Path) -> Answer[tuple[Path, ...]]:
    """Copy the notebooks into a folder; `open_lab` opens JupyterLab there.

    Parameters
    ----------
    folder : path-like
        Her own folder for notebooks and studies; made if it is not there.

    Returns
    -------
    Answer
        Its value holds the notebooks that were copied now.

    Raises
    ------
    UserError
        If the folder cannot be written.
    """
    place = Path(folder).expanduser()
    try:
        place.mkdir(parents=True, exist_ok=True)
        copied = [_copy(source, place) for source in sorted(installed("notebooks").glob("*.ipynb"))]
    except OSError as error:
        raise UserError(
            f"{error.filename or place} could not be written: {error.strerror}.",
            "Choose a folder of your own, such as my-studies in your home folder.",
        ) from None
    open_study(place / DEMO)
    new = tuple(path for path in copied if path is not None)
    lines = [_told(path) for path in new] or ["The notebooks are there already, as they should be."]
    return Answer(tuple(lines), new)


def _copy(source: Path, place: Path) -> Path | None:
    """Copy one notebook without its outputs; an edited one stays, the newer goes beside it."""
    fresh = _cleared(source)
    target = place / source.name
    if target.exists():
        if _cells(target) == _cells(source):
            return None
        target = place / f"{source.stem} (pmulab {__version__}).ipynb"
        if target.exists():
            return None
    write_atomically(target, fresh)
    return target


def _cleared(source: Path) -> str:
    notebook = nbformat.read(source, as_version=4)
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
    text: str = nbformat.writes(notebook)
    return text + "\n"


def _cells(path: Path) -> list[tuple[str, str]] | None:
    """Give the cells as they were written, without anything that running them changes."""
    try:
        notebook = nbformat.read(path, as_version=4)
    except Exception:  # whatever is there is hers, and stays
        return None
    return [(cell.cell_type, cell.source) for cell in notebook.cells]


def _told(path: Path) -> str:
    if "(pmulab " in path.name:
        return f"You have edited this one, so the newer is put beside it: {path.name}"
    return f"Copied: {path.name}"


def open_lab(place: Path) -> str:
    """Run JupyterLab on this computer only, until it is closed.

    Parameters
    ----------
    place : Path
        Folder with the notebooks.

    Returns
    -------
    str
        How it ended.
    """
    with TemporaryDirectory(prefix="pmulab-lab-") as settings:
        write_settings(Path(settings))
        known = os.environ.get("JUPYTER_CONFIG_PATH")
        search = os.pathsep.join([settings, *([known] if known else [])])
        server = subprocess.Popen(command(place), env=os.environ | {"JUPYTER_CONFIG_PATH": search})
        while server.poll() is None:
            # Ctrl+C reaches JupyterLab too, which asks back before it stops.
            with suppress(KeyboardInterrupt):
                server.wait()
    if server.returncode:
        return "JupyterLab stopped by itself; its last lines above say why. Nothing was lost."
    return "JupyterLab was closed. Your studies are in the folder."


def command(place: Path) -> list[str]:
    """Give the command that opens JupyterLab in a folder.

    Parameters
    ----------
    place : Path

    Returns
    -------
    list of str
    """
    return [
        sys.executable, "-m", "jupyterlab",
        "--ServerApp.ip=127.0.0.1",
        f"--ServerApp.root_dir={place.resolve()}",
        f"--LabApp.default_url=/lab/tree/{FIRST}",
        "--LabApp.news_url=None",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.extension_manager=readonly",
        *(["--allow-root"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []),
    ]  # fmt: skip


def write_settings(place: Path) -> None:
    """Write the settings: ask nothing outside, let larger files in, save no results of a study.

    Parameters
    ----------
    place : Path
        An empty folder on the search path for settings.
    """
    (place / "labconfig").mkdir()
    overrides = json.dumps(_SETTINGS)
    (place / "labconfig" / "default_setting_overrides.json").write_text(overrides, "utf-8")
    from jupyterlab_server.workspaces_handler import WorkspacesManager

    workspaces = place / "workspaces"
    layout = {"data": _LAYOUT, "metadata": {"id": "default"}}
    WorkspacesManager(str(workspaces)).save("default", json.dumps(layout))
    server = {
        "LabApp": {"workspaces_dir": str(workspaces)},
        "ServerApp": {
            "jpserver_extensions": {"pmulab.panels.saving": True},
            "tornado_settings": {"websocket_max_message_size": _LARGEST_MESSAGE},
        },
        "KernelManager": {"transport_encryption": "auto"},
    }
    (place / "jupyter_server_config.json").write_text(json.dumps(server), "utf-8")
