"""The tables as they may leave the studio: what the schemas let go, under fresh codes.

`share` in a field's schema decides: kept, turned into days, or left out. Free text never leaves,
whatever its schema says, and adverse events leave as counts only.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

import pandas as pd

from pmulab.tables.days import days_healed, session_day
from pmulab.tables.fields import Field, Table
from pmulab.tables.records import Records
from pmulab.tables.schema import base_table

SHARED = ("clients", "sessions", "healed")
SMALLEST_CELL = 5
"""An answer about a person leaves only if at least so many clients gave it."""

_OF_ASSESSORS = "blinding"
"""What an assessor knew tells of no client, and decides which judgements count."""

_VISITS = ("sessions", "healed")
_DAYS = {"sessions": session_day, "healed": days_healed}
_SINCE = {
    "sessions": "Days since the first session of the study.",
    "healed": "Days since the eyelid's first session.",
}


def differences_table() -> Table:
    """Give the table of each client's values with way A and way B."""
    return base_table("differences")


def frame_of(table: Table, rows: Iterable[Mapping[str, object]]) -> pd.DataFrame:
    """Put rows into the columns of a table, in the order of its keys.

    Parameters
    ----------
    table : Table
    rows : iterable of mapping of str to value

    Returns
    -------
    DataFrame
    """
    frame = pd.DataFrame(list(rows), columns=list(table.names))
    return frame.sort_values(list(table.keys), ignore_index=True)


def shared_tables(tables: Mapping[str, Table]) -> dict[str, Table]:
    """Give the tables of a study with the fields that may leave the studio.

    Parameters
    ----------
    tables : mapping of str to Table
        As the study records them.

    Returns
    -------
    dict of str to Table
        Clients, sessions and healed; dates are days.
    """
    return {name: _shared(tables[name]) for name in SHARED}


def _shared(table: Table) -> Table:
    kept = (_left(table.name, field) for field in table.fields)
    fields = tuple(field for field in kept if field is not None)
    return replace(table, fields=fields, fills=())


def _left(table: str, field: Field) -> Field | None:
    if field.share == "drop" or field.kind == "text":
        return None
    if field.share == "day":
        return replace(
            field,
            name=_day_name(field),
            title=f"{field.title}, as days",
            kind="int",
            unit="days",
            plausible=None,
            example="",
            hint=_SINCE[table],
        )
    return None if field.kind == "date" else field


def _day_name(field: Field) -> str:
    return field.name.removesuffix("_date") + "_day"


def shared_frames(
    records: Records,
    tables: Mapping[str, Table],
    codes: Mapping[str, str],
    outcomes: Collection[str] = (),
) -> tuple[dict[str, pd.DataFrame], tuple[str, ...]]:
    """Give the rows of some clients as they may leave the studio.

    Parameters
    ----------
    records : Records
    tables : mapping of str to Table
        As the study records them.
    codes : mapping of str to str
        The studio's code of each client whose rows may leave, and her fresh one.
    outcomes : collection of str
        Columns that are compared; they stay, as the differences tell them in any case.

    Returns
    -------
    tuple of (dict of str to DataFrame, sequence of str)
        Rows in the order of the fresh codes, and the columns that were emptied because an answer
        in them stands for fewer than five clients: 'column' of clients, else 'table.column'.
    """
    frames = {}
    for name, table in shared_tables(tables).items():
        rows = records[name]
        days = _DAYS[name](records) if name in _DAYS else None
        dated = [field for field in tables[name].fields if field.share == "day"]
        for field in dated:
            rows = rows.assign(**{_day_name(field): days})
        rows = rows[rows["client_code"].isin(list(codes))]
        rows = rows.assign(client_code=rows["client_code"].map(dict(codes)).astype("string"))
        frames[name] = rows[list(table.names)].sort_values(list(table.keys), ignore_index=True)
    frames["clients"], withheld = _without_small_cells(frames["clients"])
    for name in _VISITS:
        frames[name], more = _without_rare_answers(frames[name], tables[name], outcomes)
        withheld += tuple(f"{name}.{column}" for column in more)
    return frames, withheld


def _without_rare_answers(
    rows: pd.DataFrame, table: Table, outcomes: Collection[str]
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Empty every choice or yes/no of a visit in which some answer stands for so few clients."""
    asked = [
        one.name
        for one in table.fields
        if one.kind in ("choice", "flag") and not one.arm and one.name in rows.columns
        and one.name not in (*table.keys, *outcomes) and one.group != _OF_ASSESSORS
    ]  # fmt: skip
    small = [
        name
        for name in asked
        if rows[name].notna().any()
        and rows.groupby(rows[name].astype("string").fillna("")).client_code.nunique().min()
        < SMALLEST_CELL
    ]
    emptied = rows.copy()
    emptied[small] = pd.NA
    return emptied, tuple(small)


def _without_small_cells(clients: pd.DataFrame) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Empty every column in which some answer, or no answer, stands for fewer than five."""
    small = [
        str(column)
        for column in clients.columns
        if column != "client_code"
        and clients[column].notna().any()
        and clients[column].value_counts(dropna=False).min() < SMALLEST_CELL
    ]
    emptied = clients.copy()
    emptied[small] = pd.NA
    return emptied, tuple(small)
