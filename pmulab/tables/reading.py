"""The files of a study folder as four frames of text, with every mend and fault told.

A frame holds the fields present as text in the one form of `mending`, empty text for a blank,
and three columns that say where a row stands: `SOURCE`.
"""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from itertools import zip_longest
from pathlib import Path

import pandas as pd

from pmulab.tables.expectations import Expectations
from pmulab.tables.fields import Field, Table
from pmulab.tables.grids import Grid, Opened, open_grids
from pmulab.tables.guards import Source, file_problem
from pmulab.tables.headers import count_matches, match_columns, plain
from pmulab.tables.judging import as_grave_as_needed
from pmulab.tables.loose_cells import besides_columns
from pmulab.tables.mending import mend, shown
from pmulab.tables.photo_values import with_photo_values
from pmulab.tables.report import BLOCKS, LOOK, Mend, Problem
from pmulab.tables.sources import Sources, file_sources, folder_sources, tables_missing
from pmulab.tables.union import SOURCE, unite

_SILENT_SHEETS = frozenset({"guide", "lists"})

_NO_HEADER = "no_column_names"

Frames = dict[str, pd.DataFrame]


def read_folder(
    path: Path | str, expectations: Expectations
) -> tuple[Frames, list[Mend], list[Problem]]:
    """Read the workbook and the text tables of a study folder.

    Parameters
    ----------
    path : path-like
        The folder.  `records.xlsx` and `<table>.csv` (or .txt, .tsv) are read.
    expectations : Expectations

    Returns
    -------
    tuple of (dict of table name to DataFrame, list of Mend, list of Problem)
        Only the tables that were found.
    """
    return read_sources(folder_sources(Path(path)), expectations)


def read_file(
    path: Path | str, expectations: Expectations, beside: Sequence[Path] = ()
) -> tuple[Frames, list[Mend], list[Problem]]:
    """Read one workbook or text table.

    Parameters
    ----------
    path : path-like
    expectations : Expectations
    beside : sequence of Path, default=()
        Other tables to read together with it, such as the clients enrolled so far.

    Returns
    -------
    tuple of (dict of table name to DataFrame, list of Mend, list of Problem)
    """
    return read_sources(file_sources(Path(path), beside), expectations)


def read_sources(
    sources: Sources, expectations: Expectations
) -> tuple[Frames, list[Mend], list[Problem]]:
    """Give the files that were found their meaning; nothing else is looked at.

    Parameters
    ----------
    sources : Sources
    expectations : Expectations

    Returns
    -------
    tuple of (dict of table name to DataFrame, list of Mend, list of Problem)
        Only the tables that were found.
    """
    frames, mends, more = _read_all(sources.files, expectations)
    if not sources.folder:
        return frames, mends, more
    if not sources.files:
        return frames, mends, list(sources.problems)
    more += _with_photos(sources.photos, frames, expectations)
    unread = any(p.severity == BLOCKS and (p.row is None or p.code == _NO_HEADER) for p in more)
    missing = [] if unread else tables_missing(sources.folder, frames)
    return frames, mends, [*sources.problems, *more, *missing]


def _read_all(
    sources: Iterable[Source | Problem], expectations: Expectations
) -> tuple[Frames, list[Mend], list[Problem]]:
    parts: dict[str, list[pd.DataFrame]] = {}
    mends: list[Mend] = []
    problems: list[Problem] = []
    for source in sources:
        try:
            frames_of_file, more, found = _read_one(source, expectations)
        except Exception:  # a foreign file may hold anything; the artist gets a row, no traceback
            name = source.file if isinstance(source, Problem) else source.name
            frames_of_file, more, found = [], [], [_unexpected(name)]
        mends += more
        problems += found
        for name, frame in frames_of_file:
            parts.setdefault(name, []).append(frame)
    frames: Frames = {}
    for name in (name for name in expectations.tables if name in parts):
        frames[name], found = unite(expectations.tables[name], parts[name])
        problems += found
    return frames, mends, [p for p in problems if not _elsewhere(p, parts)]


def _unexpected(name: str) -> Problem:
    return file_problem(
        "cannot_read", name, f"Something in '{name}' could not be read at all.",
        "Copy your rows into a fresh template and check again; keep the old file.",
    )  # fmt: skip


def _with_photos(
    measured: Source | Problem | None, frames: Frames, expectations: Expectations
) -> list[Problem]:
    """Lay the values that the kit measured from photos beside the healed rows."""
    if "healed" not in frames or measured is None:
        return []
    parts, _, problems = _read_one(measured, expectations)
    problems = [problem for problem in problems if problem.code != "missing_column"]
    for name, frame in parts:
        if name == "healed":
            frames[name], found = with_photo_values(frames[name], frame)
            problems += found
    return problems


def _read_one(
    source: Source | Problem, expectations: Expectations
) -> tuple[list[tuple[str, pd.DataFrame]], list[Mend], list[Problem]]:
    if isinstance(source, Problem):
        return [], [], [source]
    opened = open_grids(source)
    mends, problems = list(opened.mends), list(opened.problems)
    frames = []
    for grid, table in _tables_of(opened, expectations.tables, problems):
        frame, more, found = _read_grid(grid, table, expectations.arms)
        mends += more
        problems += found
        if frame is not None:
            frames.append((table.name, frame))
    return frames, mends, problems


def _elsewhere(problem: Problem, parts: Mapping[str, list[pd.DataFrame]]) -> bool:
    """Whether a column missing here is given by another file of the same table."""
    if problem.code != "missing_column":
        return False
    for frames in parts.values():
        here = [(f.attrs["place"] == (problem.file, problem.sheet)) for f in frames]
        if any(here):
            return any(problem.column in frame.columns for frame in frames)
    return False


def _tables_of(
    opened: Opened, tables: Mapping[str, Table], problems: list[Problem]
) -> list[tuple[Grid, Table]]:
    found: list[tuple[Grid, Table]] = []
    for grid in opened.grids:
        name = grid.sheet or Path(grid.file).stem
        by_name = {plain(t): table for table in tables.values() for t in (table.title, table.name)}
        table = by_name.get(plain(name))
        alone = len(tables) == 1 and plain(name) not in _SILENT_SHEETS
        if table is None and (not grid.sheet or alone):
            table = _by_columns(grid, tables)
        if table is not None:
            found.append((grid, table))
        elif plain(name) not in _SILENT_SHEETS:
            problems.append(_not_read(grid, tables))
    return found


def _by_columns(grid: Grid, tables: Mapping[str, Table]) -> Table | None:
    cells = grid.rows[0][1] if grid.rows else ()
    best = max(tables.values(), key=lambda table: count_matches(table, cells))
    return best if 2 * count_matches(best, cells) > len(cells) else None


def _not_read(grid: Grid, tables: Mapping[str, Table]) -> Problem:
    names = ", ".join(tables)
    if grid.sheet:
        return Problem(
            "sheet_not_read", LOOK, grid.file, grid.sheet, None, "", "",
            f"The sheet '{grid.sheet}' is none of the tables and was not read.",
            f"Nothing to do if it is your own. The tables are named {names}.",
        )  # fmt: skip
    return file_problem(
        "table_not_recognised", grid.file,
        f"It is not clear which table '{grid.file}' is.",
        f"Name the file after its table: {names}.",
    )  # fmt: skip


def _read_grid(
    grid: Grid, table: Table, arms: Mapping[str, str]
) -> tuple[pd.DataFrame | None, list[Mend], list[Problem]]:
    columns, mends, problems = match_columns(grid, table)
    if columns is None:
        return None, mends, problems
    body = [row for row in grid.rows if row[0] > columns.row]
    problems += besides_columns(grid, columns, body)
    texts: dict[str, list[str]] = {}
    rows = [row for row, _ in body]
    values = tuple(zip_longest(*(cells for _, cells in body)))
    for name, position in columns.at:
        cells = values[position] if position < len(values) else (None,) * len(rows)
        texts[name], more, found = _read_column(grid, table[name], rows, cells, arms)
        mends += more
        problems += found
    frame = pd.DataFrame(texts, dtype=object)
    frame[SOURCE[0]], frame[SOURCE[1]] = grid.file, grid.sheet
    frame[SOURCE[2]] = rows
    frame.attrs["place"] = (grid.file, grid.sheet)
    return frame, mends, problems


def _read_column(
    grid: Grid, field: Field, rows: list[int], cells: tuple[Hashable, ...], arms: Mapping[str, str]
) -> tuple[list[str], list[Mend], list[Problem]]:
    """Read one column; each distinct value is mended once."""
    # in a workbook 1, 1.0 and True are equal but not the same; a text table holds text only
    whole = not grid.sheet
    kinds: Sequence[Hashable] = cells if whole else list(zip(map(type, cells), cells, strict=True))
    distinct = dict(zip(kinds, cells, strict=True))
    readings = {
        kind: mend(field, value, arms, grid.serial_dates) for kind, value in distinct.items()
    }
    texts = [readings[kind].text for kind in kinds]
    told = {kind: reading for kind, reading in readings.items() if reading.fault or reading.why}
    mends: list[Mend] = []
    problems: list[Problem] = []
    for row, kind in zip(rows, kinds, strict=True) if told else ():
        reading, value = told.get(kind), distinct[kind]
        if reading is None:
            continue
        place = (grid.file, grid.sheet, row)
        if reading.fault:
            fault = as_grave_as_needed(field, reading.fault)
            problems.append(fault.at(place, field.name, shown(value)))
        else:
            mends.append(Mend(*place, field.name, shown(value), reading.text, reading.why))
    return texts, mends, problems
