"""The table of consecutive clients outside any study: read and checked like the study's own."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from pmulab.tables.checking import typed_frames
from pmulab.tables.expectations import Expectations
from pmulab.tables.fields import Table
from pmulab.tables.kinds import empty_frame
from pmulab.tables.reading import read_file
from pmulab.tables.records import fingerprint_of
from pmulab.tables.report import LOOK, Fault, Problem, Report
from pmulab.tables.schema import base_table
from pmulab.tables.union import SOURCE
from pmulab.tables.workbook import workbook_bytes

NAME = "practice"


@dataclass(frozen=True, slots=True, eq=False)
class Practice:
    """Consecutive clients.

    Parameters
    ----------
    rows : DataFrame
        One column a field, in the order of the clients; missing values are `pd.NA`.
    missing : DataFrame
        One row a missing value: table, row, column, reason.
    fingerprint : str
        SHA-256 of the values.
    """

    rows: pd.DataFrame
    missing: pd.DataFrame
    fingerprint: str


def practice_tables() -> dict[str, Table]:
    """Give the table of consecutive clients, by its name.

    Returns
    -------
    dict of str to Table
    """
    return {NAME: base_table(NAME)}


def practice_workbook() -> bytes:
    """Make the blank workbook of consecutive clients.

    Returns
    -------
    bytes
        An .xlsx file.
    """
    tables = practice_tables()
    return workbook_bytes(tables, Expectations(tables=tables))


def read_practice(path: Path | str) -> tuple[Practice, Report]:
    """Read a table of consecutive clients and report all problems at once.

    Parameters
    ----------
    path : path-like
        A workbook or a text table. Never written to.

    Returns
    -------
    tuple of (Practice, Report)
        What is usable, also when the report blocks.
    """
    tables = practice_tables()
    frames, mends, problems = read_file(path, Expectations(tables=tables))
    typed, missing, sources, found = typed_frames(frames, tables, problems, mends)
    problems = problems + found
    rows = typed.get(NAME, empty_frame(tables[NAME]))
    if NAME in typed:
        rows = rows.dropna(subset=["client_no"]).sort_values("client_no", kind="stable")
        problems += _rules(rows, sources[NAME])
    files = frames[NAME].attrs["files"] if NAME in frames else ()
    mark = fingerprint_of(tables, {NAME: rows}, missing)
    report = Report.of(problems, mends, files, ((name, len(rows)) for name in frames))
    return Practice(rows, missing, mark), report


def _rules(rows: pd.DataFrame, sources: pd.DataFrame) -> Iterator[Problem]:
    for row, column, fault in (*_order(rows), *_changes(rows), *_lids(rows)):
        file, sheet, number = sources.loc[row, list(SOURCE)]
        value = rows.loc[row, column]
        shown = value.date().isoformat() if isinstance(value, pd.Timestamp) else str(value)
        yield fault.at((str(file), str(sheet), int(number)), column, shown)


def _order(rows: pd.DataFrame) -> Iterator[tuple[Any, str, Fault]]:
    """Point to days that run backwards and to clients left out."""
    days = rows["session_date"].dropna()
    for row in days.index[days < days.cummax()]:
        yield row, "session_date", Fault(
            "dates_out_of_order",
            "This day lies before that of an earlier client, but the numbers say that she came "
            "later.",
            "Look at the date and the number; the numbers follow the order of work.",
        )  # fmt: skip
    steps = rows["client_no"].diff()
    for row in steps.index[steps.gt(1).fillna(False)]:
        last = int(rows.loc[row, "client_no"] - steps[row])
        yield row, "client_no", Fault(
            "clients_left_out",
            f"After client {last} comes client {rows.loc[row, 'client_no']}; those between are "
            "not there.",
            "Add them. A client left out bends the chart, most of all the one that went badly.",
            LOOK,
        )  # fmt: skip


def _changes(rows: pd.DataFrame) -> Iterator[tuple[Any, str, Fault]]:
    first = rows.index[:1]
    for row in first[rows.loc[first, "change_note"].notna()]:
        yield row, "change_note", Fault(
            "change_at_the_start",
            "A change stands with the first client: there is nobody before it.",
            "Add the clients before the change, or take the note out.",
            LOOK,
        )  # fmt: skip


def _lids(rows: pd.DataFrame) -> Iterator[tuple[Any, str, Fault]]:
    known = rows["lid"].dropna()
    for row in known.index[known.ne(known.shift()).fillna(True)][1:2]:
        yield row, "lid", Fault(
            "lids_mixed",
            "Work on different lids stands in one table; a shift may be a shift in the mix.",
            "Keep one table for each kind of work.",
            LOOK,
        )  # fmt: skip
