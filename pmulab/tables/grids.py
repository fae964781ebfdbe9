"""Rows of cells as a workbook or a text table holds them, before any meaning is given to them."""

import csv
import re
import warnings
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO, StringIO
from typing import Any

from pmulab.tables.guards import Source, broken_workbook, file_problem
from pmulab.tables.report import BLOCKS, LOOK, Mend, Problem

MOST_ROWS = 20_000
MOST_LINES = 200_000
"""Rows of a sheet, which a stray format can make endless, and of a text table."""
MOST_COLUMNS = 300
ERROR_VALUES = frozenset(
    {"#N/A", "#DIV/0!", "#REF!", "#VALUE!", "#NAME?", "#NUM!", "#NULL!", "#SPILL!", "#CALC!"}
)


class NoStoredValue:
    """Stands for a formula cell whose result was never stored."""

    def __str__(self) -> str:
        return "a formula"


NO_STORED_VALUE = NoStoredValue()


@dataclass(frozen=True, slots=True)
class Grid:
    """One sheet or text table.

    Parameters
    ----------
    file, sheet : str
        `sheet` is empty for a text table.
    rows : tuple of (row number, cells)
        Rows with content only, numbered as a spreadsheet shows them.
    merged : tuple of (range, first row, last row, first column, last column)
        Merged cells; columns count from 0.
    serial_dates : bool
        Whether a bare number counts days from 1900.
    """

    file: str
    sheet: str
    rows: tuple[tuple[int, tuple[Any, ...]], ...]
    merged: tuple[tuple[str, int, int, int, int], ...] = ()
    serial_dates: bool = True


@dataclass(frozen=True, slots=True)
class Opened:
    """What one file gave."""

    grids: tuple[Grid, ...]
    mends: tuple[Mend, ...] = ()
    problems: tuple[Problem, ...] = ()


def is_blank(value: object) -> bool:
    """Whether a cell is empty or holds only spaces."""
    return value is None or (isinstance(value, str) and not value.strip())


def open_grids(source: Source) -> Opened:
    """Read every sheet of a workbook, or the one table of a text file.

    Parameters
    ----------
    source : Source
        A file that passed the guards.

    Returns
    -------
    Opened
    """
    return _workbook(source) if source.suffix == ".xlsx" else _text(source)


# Text tables: RFC 4180 section 2 for quotes and line ends.


def _decode(source: Source) -> tuple[str, str]:
    content = source.content
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return content.decode("utf-16", errors="replace"), "UTF-16"
    try:
        return content.decode("utf-8-sig"), ""
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace"), "Windows text (cp1252)"


def _delimiter(text: str) -> tuple[str, int]:
    """Find the separator, and how many lines a 'sep=' note takes."""
    note = re.match(r"sep=([,;\t])\r?\n", text)
    if note:
        return note[1], 1
    header = re.sub(r'"[^"]*"', "", next((ln for ln in text.splitlines() if ln.strip()), ""))
    return max(",;\t", key=header.count), 0


def _text(source: Source) -> Opened:
    text, encoding = _decode(source)
    delimiter, skipped = _delimiter(text)
    mends = []
    if encoding:
        mends.append(
            Mend(source.name, "", None, "", encoding, "UTF-8",
                 "the file is not in the usual encoding; look at letters with accents")
        )  # fmt: skip
    if delimiter != ",":
        was = {";": "semicolons", "\t": "tabs"}[delimiter]
        mends.append(
            Mend(source.name, "", None, "", was, "commas", "the columns are separated otherwise")
        )
    body = text.split("\n", 1)[1] if skipped else text
    rows: list[tuple[int, tuple[Any, ...]]] = []
    problems: list[Problem] = []
    reader = csv.reader(StringIO(body, newline=""), delimiter=delimiter, strict=True)
    try:
        for number, cells in enumerate(reader, start=1):
            if number > MOST_LINES:
                problems.append(_too_many_rows(source.name, "", MOST_LINES))
                break
            if any(cell.strip() for cell in cells):
                rows.append((number, tuple(cells)))
    except csv.Error:
        problems.append(
            file_problem(
                "broken_quotes",
                source.name,
                f"After row {rows[-1][0] if rows else 0} of '{source.name}' a quotation mark is"
                " opened or closed in the wrong place; nothing below it could be read.",
                'Take the quotation mark out or double it, such as "a ""soft"" wipe".',
            )
        )
    return Opened((Grid(source.name, "", tuple(rows)),), tuple(mends), tuple(problems))


def _too_many_rows(file: str, sheet: str, most: int) -> Problem:
    return Problem(
        "too_many_rows", BLOCKS, file, sheet, None, "", "",
        f"There are more than {most} rows or {MOST_COLUMNS} columns; the rest was not read.",
        "Delete the empty rows and columns beyond your table, save and check again.",
    )  # fmt: skip


# Workbooks


@lru_cache(maxsize=4)  # a workbook is read again each time another table beside it changes
def _workbook(source: Source) -> Opened:
    from openpyxl import load_workbook

    grids: list[Grid] = []
    problems: list[Problem] = []
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = load_workbook(BytesIO(source.content), data_only=True, keep_links=False)
            formulas = _formula_cells(source.content)
            for sheet in book.worksheets:
                grid, found = _sheet(source.name, sheet, formulas.get(sheet.title, set()))
                grids.append(grid)
                problems += found
    except Exception:  # any fault inside a foreign file is a row of the report
        return Opened((), problems=(broken_workbook(source.name),))
    return Opened(tuple(grids), problems=tuple(problems))


def _formula_cells(content: bytes) -> dict[str, set[tuple[int, int]]]:
    """Find formula cells; a second look into the workbook, taken only if there are any."""
    from openpyxl import load_workbook

    with zipfile.ZipFile(BytesIO(content)) as archive:
        sheets = [name for name in archive.namelist() if name.startswith("xl/worksheets/")]
        if not any(re.search(rb"<f[ >/]", archive.read(name)) for name in sheets):
            return {}
    book = load_workbook(BytesIO(content), data_only=False, keep_links=False)
    return {
        sheet.title: {place for place, cell in _near_cells(sheet) if cell.data_type == "f"}
        for sheet in book.worksheets
    }


def _near_cells(sheet: Any) -> Iterator[tuple[tuple[int, int], Any]]:
    """Give the cells that a sheet has, by row and column, within what is read.

    Walking its rows would make a cell for every place up to the last one: one stray cell far out
    would make six million.
    """
    for (row, column), cell in sheet._cells.items():
        if row <= MOST_ROWS and column <= MOST_COLUMNS:
            yield (row, column), cell


def _sheet(file: str, sheet: Any, formulas: set[tuple[int, int]]) -> tuple[Grid, list[Problem]]:
    from openpyxl.utils.datetime import CALENDAR_WINDOWS_1900

    filled: dict[int, dict[int, Any]] = {}
    for (row, column), cell in _near_cells(sheet):
        missing = cell.value is None and (row, column) in formulas
        if missing or not is_blank(cell.value):
            filled.setdefault(row, {})[column] = NO_STORED_VALUE if missing else cell.value
    width = max((max(cells) for cells in filled.values()), default=0)
    rows = [
        (number, tuple(filled[number].get(column) for column in range(1, width + 1)))
        for number in sorted(filled)
    ]
    problems = list(_hidden(file, sheet, {number for number, _ in rows}))
    if sheet.max_row > MOST_ROWS or sheet.max_column > MOST_COLUMNS:
        problems.append(_too_many_rows(file, sheet.title, MOST_ROWS))
    merged = tuple(
        (str(area), area.min_row, area.max_row, area.min_col - 1, area.max_col - 1)
        for area in sheet.merged_cells.ranges
    )
    epoch = sheet.parent.epoch == CALENDAR_WINDOWS_1900
    return Grid(file, sheet.title, tuple(rows), merged, epoch), problems


def _hidden(file: str, sheet: Any, filled: set[int]) -> Iterator[Problem]:
    rows = [n for n, dim in sheet.row_dimensions.items() if dim.hidden and n in filled]
    columns = [letter for letter, dim in sheet.column_dimensions.items() if dim.hidden]
    hidden = (("hidden_rows", "rows", rows), ("hidden_columns", "columns", columns))
    for code, word, names in hidden:
        if names:
            listed = ", ".join(str(name) for name in sorted(names)[:8])
            yield Problem(
                code, LOOK, file, sheet.title, None, "", listed,
                f"Hidden {word} hold values and were read like the others: {listed}.",
                f"Show the hidden {word} and look whether they belong to the study.",
            )  # fmt: skip
