"""Whole folders: written aside and moved in, and what a killed write left cleared away."""

import os
import re
import shutil
import tempfile
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from pmulab.disk import disk_error, sync_folder, umask, write_atomically
from pmulab.errors import UserError

_LEFT_BEHIND = re.compile(r"\.new-[a-z0-9_]{8}|\..+\.[a-z0-9_]{8}\.part")
"""What a write that was killed leaves beside its target."""

HOUR = 3600.0


def write_folder(path: Path, files: Mapping[str, bytes]) -> None:
    """Write a new folder so that a crash leaves all of it or none of it.

    Parameters
    ----------
    path : Path
        Not there yet; the folders above it are made.
    files : mapping of str to bytes
        Content by name below the folder, with slashes.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    aside = Path(tempfile.mkdtemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part"))
    try:
        for name, content in files.items():
            target = aside / name
            target.parent.mkdir(parents=True, exist_ok=True)
            write_atomically(target, content)
        os.chmod(aside, 0o777 & ~umask())
        os.rename(aside, path)
    except BaseException:
        shutil.rmtree(aside, ignore_errors=True)
        raise
    sync_folder(path.parent)


@contextmanager
def made_aside(place: Path) -> Iterator[Path]:
    """Make a folder aside and move it in whole, so that nobody meets half of it.

    Parameters
    ----------
    place : Path
        Not there yet, or empty; the folders above it are made.

    Yields
    ------
    Path
        Where to make it.

    Raises
    ------
    UserError
        If something is there, or the disk refuses.
    """
    tidy([place.parent], f".{place.name}.", HOUR)
    _refuse_used(place)
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        aside = Path(tempfile.mkdtemp(dir=place.parent, prefix=f".{place.name}.", suffix=".part"))
    except OSError as error:
        raise disk_error(error, place) from None
    try:
        yield aside / place.name
        _refuse_used(place)
        if place.exists():
            place.rmdir()
        (aside / place.name).rename(place)
        sync_folder(place.parent)
    except OSError as error:
        raise disk_error(error, place) from None
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def _refuse_used(place: Path) -> None:
    if place.exists() and (not place.is_dir() or any(place.iterdir())):
        raise UserError(
            f"{place} is there already and is not empty.",
            "Choose another folder name; nothing was changed.",
        )


def tidy(folders: Iterable[Path], beginning: str = ".", older: float = 0.0) -> None:
    """Clear away what writes that were killed left behind; nobody else may be writing there.

    Parameters
    ----------
    folders : iterable of Path
        Only looked into themselves; one that is not there is passed over.
    beginning : str, default='.'
        Of the names.
    older : float, default=0
        Seconds since they were written, where somebody else may be writing after all: `HOUR`.
    """
    for folder in folders:
        with suppress(OSError):
            for path in list(folder.iterdir()):
                left = _LEFT_BEHIND.fullmatch(path.name) and path.name.startswith(beginning)
                if not left or time.time() - path.stat().st_mtime < older:
                    continue
                if path.is_dir():
                    shutil.rmtree(path, ignore_errors=True)
                else:
                    path.unlink()
