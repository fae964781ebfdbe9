"""Remember which study was chosen, for every notebook of a working folder."""

import json
from pathlib import Path

from pmulab.disk import read_text, write_atomically
from pmulab.errors import UserError
from pmulab.stations.put_away import away
from pmulab.study import JOURNAL, PLAN

CHOSEN = ".pmulab-chosen-study.json"


def choose(study: str, instead_of: str, folder: str | Path = ".") -> None:
    """Remember that a study was chosen.

    Parameters
    ----------
    study : str
        As it is seen from the working folder.
    instead_of : str
        The study that the notebook names itself.
    folder : path-like, default='.'
        The working folder.

    Raises
    ------
    UserError
        If the folder cannot be written.
    """
    choices = _choices(Path(folder)) | {instead_of: study}
    write_atomically(Path(folder) / CHOSEN, json.dumps(choices, ensure_ascii=False) + "\n")


def chosen(instead_of: str, folder: str | Path = ".") -> str:
    """Give the study that was chosen last, if it is still there and was not put away.

    Parameters
    ----------
    instead_of : str
        The study that the notebook names itself; given when none was chosen.
    folder : path-like, default='.'
        The working folder.

    Returns
    -------
    str
    """
    study = _choices(Path(folder)).get(instead_of, instead_of)
    place = Path(folder) / study
    there = (place / PLAN).exists() or (place / JOURNAL).exists()
    return study if there and study not in away(folder) else instead_of


def _choices(folder: Path) -> dict[str, str]:
    """Read the choices; a file that cannot be read holds none, as any of them is quickly made."""
    path = folder / CHOSEN
    try:
        known = json.loads(read_text(path)) if path.exists() else {}
    except (UserError, ValueError):
        return {}
    if not isinstance(known, dict):
        return {}
    return {key: value for key, value in known.items() if isinstance(value, str)}
