"""Which column of a sheet is which field."""

import re
import unicodedata
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from typing import Any

from pmulab.tables.fields import Table
from pmulab.tables.grids import Grid, is_blank
from pmulab.tables.report import BLOCKS, LOOK, Mend, Problem

_LOOK_DOWN = 10
NEEDED_MARK = " *"


@dataclass(frozen=True, slots=True)
class Columns:
    """Where each field stands.

    Parameters
    ----------
    row : int
        Row number of the header.
    at : tuple of (field name, position)
    unread : tuple of (header, position)
    """

    row: int
    at: tuple[tuple[str, int], ...]
    unread: tuple[tuple[str, int], ...]


@lru_cache(maxsize=4096)
def _letters(text: str) -> str:
    folded = unicodedata.normalize("NFKC", text).casefold()
    return "".join(letter for letter in folded if letter.isalnum())


def plain(text: object) -> str:
    """Reduce a header or choice to its letters and digits, for comparing.

    Parameters
    ----------
    text : object

    Returns
    -------
    str
    """
    return _letters(str(text))


def _known(table: Table) -> dict[str, str]:
    names: dict[str, str] = {}
    for field in table.fields:
        for text in (field.title, f"{field.title} {field.unit}", field.name):
            names[plain(text)] = field.name
    return names


def _match(known: dict[str, str], header: object) -> str | None:
    text = str(header)
    return known.get(plain(text)) or known.get(plain(re.sub(r"\([^()]*\)|\[[^\[\]]*\]", "", text)))


def count_matches(table: Table, cells: tuple[Any, ...]) -> int:
    """Count the cells that name a field of the table."""
    known = _known(table)
    return sum(_match(known, cell) is not None for cell in cells if not is_blank(cell))


def match_columns(grid: Grid, table: Table) -> tuple[Columns | None, list[Mend], list[Problem]]:
    """Find the header row and match it with the fields of a table.

    Parameters
    ----------
    grid : Grid
    table : Table

    Returns
    -------
    tuple of (Columns or None, list of Mend, list of Problem)
        None when no header row is found.
    """
    head = grid.rows[:_LOOK_DOWN]
    best = max(head, key=lambda row: count_matches(table, row[1]), default=None)
    if best is None or count_matches(table, best[1]) == 0:
        return None, [], [_no_header(grid, table)]
    number, cells = best
    mends = []
    if number != 1:
        mends.append(
            Mend(grid.file, grid.sheet, number, "", "row 1", f"row {number}",
                 "the column names stand lower down")
        )  # fmt: skip
    columns, more, problems = _assign(grid, table, number, cells)
    return columns, mends + more, problems + _missing(grid, table, columns)


def _assign(
    grid: Grid, table: Table, number: int, cells: tuple[Any, ...]
) -> tuple[Columns, list[Mend], list[Problem]]:
    known = _known(table)
    at: dict[str, int] = {}
    unknown: list[tuple[str, int]] = []
    doubled: list[tuple[str, int]] = []
    mends: list[Mend] = []
    problems: list[Problem] = []
    for position, cell in enumerate(cells):
        if is_blank(cell):
            continue
        header, name = str(cell), _match(known, cell)
        if name is None:
            unknown.append((header.strip(), position))
        elif name in at:
            doubled.append((header.strip(), position))
            problems.append(_doubled(grid, number, name, header))
        else:
            at[name] = position
            if header.removesuffix(NEEDED_MARK) != name:
                mends.append(Mend(grid.file, grid.sheet, number, name, header, name, "column name"))
    problems += [_unknown(grid, table, number, header, at) for header, _ in unknown]
    unread = tuple(unknown + doubled)
    return Columns(number, tuple(at.items()), unread), mends, problems


def _no_header(grid: Grid, table: Table) -> Problem:
    return Problem(
        "no_column_names", BLOCKS, grid.file, grid.sheet, 1, "", "",
        f"No row with the column names of '{table.name}' was found.",
        f"Write the names in row 1, such as {', '.join(table.names[:3])}; see the template.",
    )  # fmt: skip


def _doubled(grid: Grid, row: int, name: str, header: str) -> Problem:
    return Problem(
        "doubled_column", BLOCKS, grid.file, grid.sheet, row, name, header,
        f"The column '{name}' is there twice; only the first one was read.",
        "Keep one of them. If they hold different things, rename the other.",
    )  # fmt: skip


def _unknown(grid: Grid, table: Table, row: int, header: str, at: dict[str, int]) -> Problem:
    absent = [name for name in table.names if name not in at]
    near = get_close_matches(header.casefold().replace(" ", "_"), absent, n=1, cutoff=0.7)
    hint = f"Did you mean '{near[0]}'? Rename it if so." if near else (
        "Nothing to do if it is a column of your own. A measure of the study is named in its plan."
    )  # fmt: skip
    return Problem(
        "unknown_column", LOOK, grid.file, grid.sheet, row, header, header,
        f"The column '{header}' is not known and was not read.", hint,
    )  # fmt: skip


def _missing(grid: Grid, table: Table, columns: Columns) -> list[Problem]:
    there = dict(columns.at)
    return [
        Problem(
            "missing_column", BLOCKS, grid.file, grid.sheet, columns.row, field.name, "",
            f"The column '{field.name}' ({field.title}) is missing.",
            f"Add it with that name; it holds {field.allowed}.",
        )
        for field in table.fields
        if field.needed == "always" and field.name not in there
    ]  # fmt: skip
