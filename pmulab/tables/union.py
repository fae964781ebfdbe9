"""One table that comes from several files."""

from collections.abc import Sequence

import pandas as pd

from pmulab.tables.fields import Table
from pmulab.tables.report import BLOCKS, Problem

SOURCE = ("source_file", "source_sheet", "source_row")


def unite(table: Table, frames: Sequence[pd.DataFrame]) -> tuple[pd.DataFrame, list[Problem]]:
    """Bring the rows of one table from several files together, each row once.

    Parameters
    ----------
    table : Table
    frames : sequence of DataFrame
        One a file or sheet: text columns and `SOURCE`.

    Returns
    -------
    tuple of (DataFrame, list of Problem)
        Blanks of a row are filled from the other file; differing values are problems.
    """
    names = [name for name in table.names if any(name in frame.columns for frame in frames)]
    files = tuple(dict.fromkeys(part.attrs["place"][0] for part in frames))
    if len(frames) == 1:
        frame = frames[0][[*names, *SOURCE]].copy()
        frame.attrs = {"files": files}
        return frame, []
    merged: dict[tuple[str, ...], dict[str, object]] = {}
    problems: list[Problem] = []
    for number, frame in enumerate(frames):
        own: dict[tuple[str, ...], dict[str, object]] = {}
        rows: list[dict[str, object]] = [
            {str(name): value for name, value in row.items()} for row in frame.to_dict("records")
        ]
        for index, row in enumerate(rows):
            key = tuple(_key_part(table, row, name) for name in table.keys)
            before = merged.get(key) if all(key) else None
            if before is None:
                own[key if key not in own and all(key) else (str(number), str(index))] = row
            else:
                problems += _take_over(table, before, row)
        merged |= own
    columns = [*names, *SOURCE]
    frame = pd.DataFrame(list(merged.values()), columns=columns, dtype=object)
    frame[names] = frame[names].fillna("")
    frame.attrs["files"] = files
    return frame, problems


def _key_part(table: Table, row: dict[str, object], name: str) -> str:
    """Give one part of a row's key, with the answer that another answer of the row implies."""
    implied = (
        fill.reason
        for fill in table.fills
        if name in fill.only and row.get(fill.field) == fill.value
    )
    return str(row.get(name, "")) or next(implied, "")


def _take_over(table: Table, before: dict[str, object], row: dict[str, object]) -> list[Problem]:
    """Fill the blanks of a row from the same row of another file; point to differences."""
    found = []
    where = f"{before[SOURCE[0]]}, row {before[SOURCE[2]]}"
    for name in table.names:
        first, second = before.get(name, ""), row.get(name, "")
        if not first:
            before[name] = second
        elif second and not _equal(str(first), str(second)):
            found.append(Problem(
                "files_disagree", BLOCKS, str(row[SOURCE[0]]), str(row[SOURCE[1]]),
                int(str(row[SOURCE[2]])), name, str(second),
                f"'{second}' stands here, but '{first}' in {where}, for the same row.",
                "Find out which one is right and write it in both, or take one of the rows out.",
            ))  # fmt: skip
    return found


def _equal(first: str, second: str) -> bool:
    try:
        return float(first) == float(second)
    except ValueError:
        return first == second
