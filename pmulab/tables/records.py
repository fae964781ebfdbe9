"""The four tables, typed, with what is missing and why, and a fingerprint of the values."""

import hashlib
import json
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from typing import Any, cast

import numpy as np
import pandas as pd

from pmulab.tables.fields import MISSING_REASONS, TABLE_NAMES, Field, Table
from pmulab.tables.kinds import empty_frame, typed, value_text
from pmulab.tables.report import Problem, Severity
from pmulab.tables.union import SOURCE


@dataclass(frozen=True, slots=True, eq=False, weakref_slot=True)
class Records:
    """What was recorded.

    Parameters
    ----------
    clients, sessions, healed, events : DataFrame
        One column a field; types `string`, `datetime64[s]`, `Int64`, `Float64`, `boolean`;
        missing values are `pd.NA` (`NaT` for dates).
    missing : DataFrame
        One row a missing value: table, row (index in that table's frame), column, reason (a
        missing-reason code, or 'unreadable' for a value that a problem is about).
    fingerprint : str
        SHA-256 of the values; the same for the same values in any file format or row order.
    sources : mapping of table name to DataFrame
        File, sheet and row (`SOURCE`) of each row; only for tables that were found.
    """

    clients: pd.DataFrame
    sessions: pd.DataFrame
    healed: pd.DataFrame
    events: pd.DataFrame
    missing: pd.DataFrame
    fingerprint: str
    sources: Mapping[str, pd.DataFrame] = field(default_factory=dict)

    def __getitem__(self, table: str) -> pd.DataFrame:
        """Return the frame of that table."""
        if table not in TABLE_NAMES:
            raise KeyError(table)
        frame: pd.DataFrame = getattr(self, table)
        return frame

    def copy(self) -> "Records":
        """Give the same records in frames of their own."""
        frames = {name: self[name].copy() for name in TABLE_NAMES}
        sources = {name: frame.copy() for name, frame in self.sources.items()}
        return Records(
            **frames, missing=self.missing.copy(), fingerprint=self.fingerprint, sources=sources
        )

    def place(self, table: str, row: Any) -> tuple[str, str, int | None]:
        """Return file, sheet and row number of a row of a table.

        Parameters
        ----------
        table : str
        row : label
            Index in that table's frame.

        Returns
        -------
        tuple of (str, str, int or None)
        """
        source = self.sources.get(table)
        if source is None or row not in source.index:
            return table, "", None
        file, sheet, number = source.loc[row, list(SOURCE)]
        return str(file), str(sheet), int(number)


def fingerprint_of(
    tables: Mapping[str, Table], frames: Mapping[str, pd.DataFrame], missing: pd.DataFrame
) -> str:
    """Take the fingerprint of values and reasons, whatever their file format or row order.

    Parameters
    ----------
    tables : mapping of table name to Table
    frames : mapping of table name to DataFrame
        Typed.
    missing : DataFrame
        As in `Records`.

    Returns
    -------
    str
        SHA-256, hexadecimal.
    """
    reasons: dict[tuple[str, Hashable, str], str] = {
        (str(entry.table), entry.row, str(entry.column)): str(entry.reason)
        for entry in missing.itertuples(index=False)
    }
    lines: list[str] = []
    for name, frame in frames.items():
        fields = sorted(tables[name].fields, key=lambda field: field.name)
        parts = [_written(field, name, frame[field.name], reasons) for field in fields]
        begun = f"[{_json(name)}, {{"
        lines += (f"{begun}{', '.join(filter(None, row))}}}]" for row in zip(*parts, strict=True))
    return hashlib.sha256("\n".join(sorted(lines)).encode()).hexdigest()


def _json(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _written(
    field: Field, table: str, values: pd.Series, reasons: Mapping[tuple[str, Hashable, str], str]
) -> list[str]:
    """Give a column as members of JSON objects; a blank without a reason is empty.

    Each distinct value is written once.
    """
    codes, distinct = pd.factorize(values)
    name = _json(field.name)
    texts = [f"{name}: {_json(value_text(field, value))}" for value in distinct]
    out = np.array([*texts, ""], dtype=object)[codes]  # a blank has the code -1, the last one
    for place in (codes < 0).nonzero()[0] if reasons else ():
        reason = reasons.get((table, values.index[int(place)], field.name), "")
        out[place] = f"{name}: {_json(reason)}" if reason else ""
    return cast("list[str]", out.tolist())


def assemble(
    tables: Mapping[str, Table],
    frames: Mapping[str, pd.DataFrame],
    missing: pd.DataFrame,
    sources: Mapping[str, pd.DataFrame],
) -> Records:
    """Put typed frames together and take their fingerprint.

    Parameters
    ----------
    tables : mapping of table name to Table
    frames : mapping of table name to DataFrame
        Typed; a table left out is empty.
    missing : DataFrame
        As in `Records`.
    sources : mapping of table name to DataFrame

    Returns
    -------
    Records
    """
    full = {
        name: frames[name] if name in frames else empty_frame(tables[name]) for name in TABLE_NAMES
    }
    return Records(
        **full, missing=missing, fingerprint=fingerprint_of(tables, full, missing), sources=sources
    )


def missing_frame(entries: list[tuple[str, Any, str, str]]) -> pd.DataFrame:
    """Make the tidy frame of missing values from (table, row, column, reason)."""
    return pd.DataFrame(entries, columns=["table", "row", "column", "reason"])


def records_from_frames(frames: Mapping[str, pd.DataFrame], tables: Mapping[str, Table]) -> Records:
    """Make records from frames already in memory, such as invented data.

    Parameters
    ----------
    frames : mapping of table name to DataFrame
        Columns named as the fields; values as text in the one form, or as Python or pandas
        values; missing-reason codes and blanks are understood.  Values are trusted.
    tables : mapping of table name to Table

    Returns
    -------
    Records
    """
    out: dict[str, pd.DataFrame] = {}
    sources: dict[str, pd.DataFrame] = {}
    entries: list[tuple[str, Any, str, str]] = []
    for name, given in frames.items():
        plain = given.reset_index(drop=True)
        columns = {}
        for fields in tables[name].fields:
            raw = plain.get(fields.name, pd.Series([pd.NA] * len(plain), dtype=object))
            texts = raw.map(lambda value, f=fields: _as_text(f, value)).astype(object)
            coded = texts.isin(MISSING_REASONS)
            entries += [(name, row, fields.name, texts[row]) for row in texts.index[coded]]
            columns[fields.name] = typed(fields, texts.mask(coded | texts.eq(""), pd.NA))
        out[name] = pd.DataFrame(columns, index=plain.index)
        sources[name] = pd.DataFrame(
            {SOURCE[0]: name, SOURCE[1]: "", SOURCE[2]: range(2, len(plain) + 2)},
            index=plain.index,
        )
    return assemble(tables, out, missing_frame(entries), sources)


def _as_text(fields: Field, value: Any) -> str:
    return value if isinstance(value, str) else value_text(fields, value)


def row_problem(
    records: Records,
    table: str,
    row: Any,
    rule: tuple[str, Severity],
    column: str,
    words: tuple[str, str],
) -> Problem:
    """Make a problem of one row of a table.

    Parameters
    ----------
    records : Records
    table : str
    row : label
        Index in that table's frame.
    rule : tuple of (code, severity)
    column : str
        The column to look at.
    words : tuple of (what, remedy)

    Returns
    -------
    Problem
    """
    code, severity = rule
    value = records[table].loc[row, column]
    if isinstance(value, pd.Timestamp):
        value = value.date()
    if isinstance(value, (bool, np.bool_)):
        value = "yes" if value else "no"
    return Problem(
        code, severity, *records.place(table, row), column,
        "" if pd.isna(value) else str(value), *words,
    )  # fmt: skip
