"""Find and read the findings of an earlier study, which may come from anybody."""

from pathlib import Path

from pmulab.disk import disk_error, read_text
from pmulab.errors import UserError
from pmulab.findings import Findings, read_findings

_LARGEST = 50_000_000


def findings_at(place: str | Path) -> Findings:
    """Read the findings of a study folder, or of one findings file.

    Parameters
    ----------
    place : path-like

    Returns
    -------
    Findings

    Raises
    ------
    UserError
        If there is no such file, or it is too large, of a later format, or no findings.
    """
    from pmulab.stations.analyse import FINDINGS

    path = Path(place).expanduser()
    try:
        path = path / FINDINGS if path.is_dir() else path
        size = path.stat().st_size if path.is_file() else None
    except (OSError, ValueError) as error:
        raise disk_error(error, path) if isinstance(error, OSError) else _none(path) from None
    if size is None:
        raise _none(path)
    if size > _LARGEST:
        raise UserError(
            f"{path} is far larger than findings ever are.", "Name a findings.json of pmulab."
        )
    return read_findings(read_text(path), str(path))


def _none(path: Path) -> UserError:
    return UserError(
        f"There are no findings at {path}.",
        "Name the folder of an analysed study or its findings.json. Findings are written by: "
        "pmulab analyse FOLDER",
    )
