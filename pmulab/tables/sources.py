"""What lies on the disk: each file is read once, before any meaning is given to it."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from pathlib import Path

from pmulab.tables.fields import TABLE_NAMES
from pmulab.tables.guards import WORKBOOK, Source, file_problem, find_sources, open_source
from pmulab.tables.photo_values import MEASURED
from pmulab.tables.report import Problem


@dataclass(frozen=True, slots=True)
class Sources:
    """The files of one reading; equal only if every byte is.

    Parameters
    ----------
    folder : str
        Name of the study folder; '' when single files were named.
    files : tuple of (Source or Problem)
        In the order of reading.
    photos : Source, Problem or None
        The values that the kit measured from photos.
    problems : tuple of Problem
        Of the folder itself, and of files that are left unread.
    """

    folder: str
    files: tuple[Source | Problem, ...]
    photos: Source | Problem | None = None
    problems: tuple[Problem, ...] = ()


def folder_sources(path: Path) -> Sources:
    """Read the files of a study folder that hold tables.

    Parameters
    ----------
    path : Path

    Returns
    -------
    Sources
    """
    if not path.is_dir():
        return Sources(path.name, (), None, (file_problem(
            "folder_missing", path.name, f"There is no folder '{path.name}'.",
            "Check the name, or make the study folder first.",
        ),))  # fmt: skip
    paths, problems = find_sources(path)
    if not paths:
        problems.append(file_problem(
            "no_records", path.name, f"No tables were found in '{path.name}'.",
            f"Put {WORKBOOK}.xlsx from the template there, or the four tables as CSV.",
        ))  # fmt: skip
        return Sources(path.name, (), None, tuple(problems))
    photos = path / "photos" / MEASURED
    measured = open_source(photos) if photos.is_file() else None
    return Sources(path.name, tuple(map(open_source, paths)), measured, tuple(problems))


def file_sources(path: Path, beside: Sequence[Path] = ()) -> Sources:
    """Read one workbook or text table, and others that are read together with it.

    Parameters
    ----------
    path : Path
    beside : sequence of Path, default=()

    Returns
    -------
    Sources
    """
    return Sources("", tuple(map(open_source, (path, *beside))))


def tables_missing(folder: str, found: Collection[str]) -> list[Problem]:
    """Say which of the four tables no file of a folder holds.

    Parameters
    ----------
    folder : str
    found : collection of str
        Names of the tables that were found.

    Returns
    -------
    list of Problem
    """
    return [
        file_problem(
            "table_missing", folder, f"The table '{name}' was not found.",
            f"Add the sheet '{name}' to {WORKBOOK}.xlsx, or a file {name}.csv; see the template.",
        )
        for name in TABLE_NAMES
        if name not in found
    ]  # fmt: skip
