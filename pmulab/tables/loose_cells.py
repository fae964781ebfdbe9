"""Cells that stand in no column that is read: merged, unnamed, or in an unread column."""

from pmulab.tables.grids import Grid, is_blank
from pmulab.tables.headers import Columns
from pmulab.tables.identifiers import find_identifiers, identifier_fault
from pmulab.tables.mending import shown
from pmulab.tables.report import BLOCKS, LOOK, Problem

Rows = list[tuple[int, tuple[object, ...]]]


def besides_columns(grid: Grid, columns: Columns, body: Rows) -> list[Problem]:
    """Point to what stands in a sheet beside the columns that are read.

    Parameters
    ----------
    grid : Grid
    columns : Columns
        As they were matched.
    body : list of (int, tuple)
        Number and cells of every row below the column names.

    Returns
    -------
    list of Problem
    """
    return [
        *_merged(grid, columns),
        *_strays(grid, columns, body),
        *_unknown_contents(grid, columns, body),
    ]


def _merged(grid: Grid, columns: Columns) -> list[Problem]:
    places = {position for _, position in columns.at}
    return [
        Problem(
            "merged_cells", BLOCKS, grid.file, grid.sheet, first, "", area,
            f"The cells {area} are merged; only the first one holds a value.",
            "Take the merging off and fill in each cell.",
        )
        for area, first, last, left, right in grid.merged
        if last >= columns.row and places & set(range(left, right + 1))
    ]  # fmt: skip


def _strays(grid: Grid, columns: Columns, body: Rows) -> list[Problem]:
    """Point to cells that stand under no column name."""
    named = {position for _, position in (*columns.at, *columns.unread)}
    last, found = max(named), []
    unnamed = set(range(max((len(cells) for _, cells in body), default=0))) - named
    for row, cells in body if unnamed else ():
        loose = [p for p, cell in enumerate(cells) if p in unnamed and not is_blank(cell)]
        if not loose:
            continue
        value = shown(cells[loose[0]])
        beyond = not grid.sheet and loose[-1] > last
        found.append(Problem(
            "row_too_long" if beyond else "value_without_column_name",
            BLOCKS if beyond else LOOK, grid.file, grid.sheet, row, "", value,
            f"'{value}' stands under no column name"
            + ("; the row has more cells than there are columns." if beyond else "."),
            "Look for a comma inside a value, such as 3,5: write 3.5, or quote the text."
            if beyond else "Give the column a name, or take the value out.",
        ))  # fmt: skip
    return found


def _unknown_contents(grid: Grid, columns: Columns, body: Rows) -> list[Problem]:
    """Look for what names a person in columns that are not read, and in their names."""
    found = []
    for header, position in columns.unread:
        named = f"the column '{header}'"
        for kind in find_identifiers(header, header=True):
            place = (grid.file, grid.sheet, columns.row)
            found.append(identifier_fault(kind, named, header).at(place, header, header))
        for row, cells in body:
            value = shown(cells[position]) if position < len(cells) else ""
            for kind in find_identifiers(value):
                fault = identifier_fault(kind, named, value)
                found.append(fault.at((grid.file, grid.sheet, row), header, value))
    return found
