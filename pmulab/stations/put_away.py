"""Leave a study out of the list of studies; nothing of it is moved, changed or deleted."""

import json
from pathlib import Path

from pmulab.disk import read_text, write_atomically
from pmulab.errors import UserError
from pmulab.stations.answer import Answer
from pmulab.stations.opening import opened
from pmulab.study import ALLOCATION, ENROLLED

AWAY = ".pmulab-put-away.json"


def put_away(study: str, folder: str | Path = ".") -> Answer[tuple[str, ...]]:
    """Leave a study out of the list of a working folder.

    Parameters
    ----------
    study : str
        As it is seen from the working folder; its plan must not be locked.
    folder : path-like, default='.'
        The working folder.

    Returns
    -------
    Answer
        Its value names all studies that are put away now.

    Raises
    ------
    UserError
        If cards were drawn for the study, there is none, or the folder cannot be written.
    """
    place = opened(Path(folder) / study)
    drawn = any(place.path(name).exists() for name in (ALLOCATION, ENROLLED))
    if drawn or place.locked() is not None:
        raise UserError(
            f"The plan of {study} is locked, so it stays on the list: a study that has begun is "
            "never dropped in silence.",
            "To end it before its time, go to notebook 05 and say why.",
        )
    place.plan_as_written()
    found = _write(folder, {*away(folder), study})
    told = (
        f"{study} is put away: it is left out of the list from now on. Its folder stays where it "
        "is, with everything in it.",
    )
    return Answer(told, found)


def bring_back(folder: str | Path = ".") -> Answer[tuple[str, ...]]:
    """Put every study that was put away back on the list of a working folder.

    Parameters
    ----------
    folder : path-like, default='.'

    Returns
    -------
    Answer
        Its value names the studies that are back.
    """
    back = tuple(sorted(away(folder)))
    _write(folder, set())
    return Answer((f"Back on the list: {', '.join(back) or 'none was put away'}.",), back)


def away(folder: str | Path = ".") -> frozenset[str]:
    """Name the studies that are left out of the list; a list that cannot be read leaves none out.

    Parameters
    ----------
    folder : path-like, default='.'

    Returns
    -------
    frozenset of str
        As they are seen from the folder.
    """
    path = Path(folder) / AWAY
    try:
        known = json.loads(read_text(path)) if path.exists() else []
    except (UserError, ValueError):
        return frozenset()
    names = known if isinstance(known, list) else []
    return frozenset(name for name in names if isinstance(name, str))


def _write(folder: str | Path, names: set[str]) -> tuple[str, ...]:
    found = tuple(sorted(names))
    write_atomically(Path(folder) / AWAY, json.dumps(found, ensure_ascii=False) + "\n")
    return found
