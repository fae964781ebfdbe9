"""A JupyterLab of its own for the tests: loopback, own settings, a temporary copy of the kit."""

import secrets
import shutil
import socket
import subprocess
import time
import urllib.request
from dataclasses import dataclass
from pathlib import Path
from urllib.error import URLError

from supply.watching import watched

from pmulab.stations.lab import command, lab, write_settings

_OWN_PLACES = (
    "JUPYTER_CONFIG_DIR",
    "JUPYTER_DATA_DIR",
    "JUPYTER_RUNTIME_DIR",
    "JUPYTERLAB_SETTINGS_DIR",
    "JUPYTERLAB_WORKSPACES_DIR",
    "IPYTHONDIR",
    "HOME",
)


@dataclass
class Session:
    """A running JupyterLab.

    Parameters
    ----------
    process : Popen
    address : str
        With the port.
    token : str
    folder : Path
        Notebooks and studies, as `pmulab lab` lays them out.
    outside : Path
        What server and kernels asked of a network beyond this computer; not there if nothing.
    """

    process: subprocess.Popen
    address: str
    token: str
    folder: Path
    outside: Path

    @property
    def opens_at(self) -> str:
        """Where `pmulab lab` opens it."""
        told = next(part for part in command(self.folder) if "default_url" in part)
        return told.partition("=")[2]

    def notebook(self, name: str) -> str:
        """Give the address of one notebook."""
        return f"{self.address}/doc/tree/{name}?token={self.token}&reset"

    def stop(self) -> None:
        """End the server that was started here."""
        self.process.terminate()
        try:
            self.process.wait(20)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait(20)


def start(place: Path, demo: Path | None = None) -> Session:
    """Lay out a folder as `pmulab lab` does, and serve it.

    Parameters
    ----------
    place : Path
        An empty folder.
    demo : Path, optional
        The invented study, if it is made already.
    """
    folder, settings = place / "my-studies", place / "settings"
    if demo is not None:
        shutil.copytree(demo, folder / demo.name)
    lab(folder)
    settings.mkdir()
    write_settings(settings)
    for name in _OWN_PLACES:
        (place / name).mkdir()
    port, token = _free_port(), secrets.token_hex(16)
    outside = place / "asked-outside.txt"
    environment = watched(outside) | {name: str(place / name) for name in _OWN_PLACES}
    with (place / "server.log").open("w") as log:
        process = _serve(folder, settings, port, token, environment, log)
    session = Session(process, f"http://127.0.0.1:{port}", token, folder, outside)
    _wait(session, place / "server.log")
    return session


def _serve(folder, settings, port, token, environment, log) -> subprocess.Popen:
    return subprocess.Popen(
        [
            *command(folder),
            "--ServerApp.open_browser=False",
            "--ServerApp.allow_root=True",
            "--ServerApp.port_retries=0",
            f"--ServerApp.port={port}",
            f"--IdentityProvider.token={token}",
            "--LabApp.expose_app_in_browser=True",
        ],
        env=environment | {"JUPYTER_CONFIG_PATH": str(settings)},
        stdout=log,
        stderr=subprocess.STDOUT,
    )


def _free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def _wait(session: Session, log: Path) -> None:
    for _ in range(240):
        if session.process.poll() is not None:
            break
        try:
            urllib.request.urlopen(
                f"{session.address}/api?token={session.token}", timeout=2
            ).close()
        except (URLError, OSError):
            time.sleep(0.25)
        else:
            return
    session.stop()
    raise RuntimeError(f"JupyterLab did not start:\n{log.read_text()[-3000:]}")


__all__ = ["Session", "start"]
