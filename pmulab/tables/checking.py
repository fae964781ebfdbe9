"""Each field of each row against its schema; and the one door: read, check, report."""

from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from pmulab.tables.expectations import Expectations
from pmulab.tables.fields import MISSING_REASONS, Field, Table
from pmulab.tables.judging import UNREADABLE, Judgement, judge
from pmulab.tables.kinds import typed
from pmulab.tables.reading import Frames, read_sources
from pmulab.tables.records import Records, assemble, missing_frame
from pmulab.tables.report import BLOCKS, Mend, Problem, Report
from pmulab.tables.rules import RULES
from pmulab.tables.sources import Sources, file_sources, folder_sources
from pmulab.tables.union import SOURCE

_Cell = tuple[str, str, int | None, str]
"""File, sheet, row and column."""

_EVERY_ROW = ("events",)  # the second row of an event may be the worse one


@dataclass(frozen=True, slots=True)
class _Checked:
    """One reading: what it was made from, byte for byte, and what it gave."""

    sources: Sources
    expectations: Expectations
    records: Records
    report: Report


_KEPT: deque[_Checked] = deque(maxlen=4)
"""Files are read from the disk each time; those that did not change are not judged anew."""


def read_and_check(
    path: Path | str, expectations: Expectations, beside: Sequence[Path] = ()
) -> tuple[Records, Report]:
    """Read a study folder or one file, check everything, and report all problems at once.

    Parameters
    ----------
    path : path-like
        A study folder, a workbook, or a text table.  Never written to.
    expectations : Expectations
        What the plan lets the tables expect.
    beside : sequence of Path, default=()
        With one file: other tables to read together with it.

    Returns
    -------
    tuple of (Records, Report)
        Records hold what is usable, also when the report blocks an analysis: a value that a
        blocking problem is about is missing with the reason 'unreadable'.

    References
    ----------
    .. [1] Data Package standard, Table Schema.
    .. [2] RFC 4180 section 2 (text tables); ISO 8601 (calendar dates).
    """
    place = Path(path)
    whole = place.is_dir() or not place.suffix
    sources = folder_sources(place) if whole else file_sources(place, beside)
    for known in tuple(_KEPT):
        if known.sources == sources and known.expectations == expectations:
            return known.records.copy(), known.report
    records, report = _checked(sources, expectations)
    _KEPT.append(_Checked(sources, expectations, records, report))
    return records.copy(), report


def _checked(sources: Sources, expectations: Expectations) -> tuple[Records, Report]:
    frames, mends, problems = read_sources(sources, expectations)
    records, found = check_frames(frames, expectations.tables, problems, mends)
    problems = problems + found
    for rule in RULES:
        problems += rule(records, expectations)
    files = dict.fromkeys(name for frame in frames.values() for name in frame.attrs["files"])
    rows = ((name, len(records[name])) for name in frames)
    return records, Report.of(problems, mends, files, rows)


def check_frames(
    frames: Frames,
    tables: Mapping[str, Table],
    before: list[Problem],
    mends: Iterable[Mend] = (),
) -> tuple[Records, list[Problem]]:
    """Check every field and build the typed records.

    Parameters
    ----------
    frames : mapping of table name to DataFrame
        As `read_folder` gives them.
    tables : mapping of table name to Table
    before : list of Problem
        What reading found; those cells are not complained about twice.
    mends : iterable of Mend, default=()
        What reading mended; a problem shows what was typed.

    Returns
    -------
    tuple of (Records, list of Problem)
    """
    out, missing, sources, problems = typed_frames(frames, tables, before, mends)
    return assemble(tables, out, missing, sources), problems


def typed_frames(
    frames: Frames,
    tables: Mapping[str, Table],
    before: list[Problem],
    mends: Iterable[Mend] = (),
) -> tuple[Frames, pd.DataFrame, Frames, list[Problem]]:
    """Check every field and give it its type.

    Parameters
    ----------
    frames, tables, before, mends
        As in `check_frames`.

    Returns
    -------
    tuple of (frames, DataFrame, frames, list of Problem)
        Typed columns; what is missing, as in `Records`; where each row stands; and problems.
    """
    faulty: set[_Cell] = {(p.file, p.sheet, p.row, p.column) for p in before if p.row}
    was = {(mend.file, mend.sheet, mend.row, mend.column): mend.was for mend in mends}
    problems: list[Problem] = []
    out: dict[str, pd.DataFrame] = {}
    sources: dict[str, pd.DataFrame] = {}
    missing: list[tuple[str, Any, str, str]] = []
    for name, frame in frames.items():
        table = tables[name]
        texts = _filled(table, frame)
        problems += _doubled(table, texts)
        once = texts if name in _EVERY_ROW else texts[~_repeats(table, texts)]
        columns: dict[str, pd.Series] = {}
        for field in table.fields:
            column, reasons, found = _check_field(table, field, once, faulty, was)
            columns[field.name] = column
            missing += [(name, row, field.name, reason) for row, reason in reasons]
            problems += found
        out[name] = pd.DataFrame(columns, index=once.index)
        sources[name] = once[list(SOURCE)]
    return out, missing_frame(missing), sources, problems


def _place(frame: pd.DataFrame, row: Any) -> tuple[str, str, int]:
    file, sheet, number = (frame[name][row] for name in SOURCE)
    return str(file), str(sheet), int(number)


def _filled(table: Table, frame: pd.DataFrame) -> pd.DataFrame:
    """Give the blanks of a row the reason that another answer of the row explains.

    The form says to leave them blank, so this is no mend.
    """
    frame = frame.copy()
    frame.attrs = {}  # pandas copies them at every step
    needed = [f.name for f in table.fields if f.needed == "always" and f.name not in table.keys]
    for fill in table.fills:
        if fill.field not in frame:
            continue
        rows = frame[fill.field].eq(fill.value)
        for name in fill.only or needed:
            if name in frame:
                blank = frame[name].eq("")
                if name in table.keys:
                    blank |= frame[name].isin(MISSING_REASONS)
                frame.loc[rows & blank, name] = fill.reason
    return frame


def _repeats(table: Table, frame: pd.DataFrame) -> "pd.Series[bool]":
    if any(key not in frame for key in table.keys):
        return pd.Series(False, index=frame.index)
    keys = frame[list(table.keys)]
    return keys.duplicated() & ~(keys == "").any(axis=1)


def _doubled(table: Table, frame: pd.DataFrame) -> Iterator[Problem]:
    repeats = frame.index[_repeats(table, frame)]
    if repeats.empty:
        return
    keys = [tuple(str(part) for part in row) for row in frame[list(table.keys)].to_numpy()]
    first = dict(zip(reversed(keys), reversed(frame.index), strict=True))
    for row in repeats:
        key = keys[frame.index.get_indexer(pd.Index([row]))[0]]
        file, _, number = _place(frame, first[key])
        named = ", ".join(
            f"{table[name].title} {value}" for name, value in zip(table.keys, key, strict=True)
        )
        numbers = () if table.name in _EVERY_ROW else ("look_no", "session_no")
        again = next((name for name in numbers if name in table.keys), None)
        yield Problem(
            "doubled_row", BLOCKS, *_place(frame, row), ", ".join(table.keys), ", ".join(key),
            f"This row is there twice, first in row {number} of {file}: {named}. "
            + ("Both were read." if table.name in _EVERY_ROW else "Only the first was read."),
            "Take one of them out, or put its keys right"
            + (f", such as 2 in {table[again].named} for a second one." if again else "."),
        )  # fmt: skip


def _check_field(
    table: Table, field: Field, frame: pd.DataFrame, faulty: set[_Cell], was: Mapping[_Cell, str]
) -> tuple[pd.Series, list[tuple[Any, str]], list[Problem]]:
    """Type one column; tell which values are missing and why, and which are wrong.

    Each distinct value is judged once.
    """
    is_key = field.name in table.keys
    if field.name not in frame:
        blank = pd.Series(pd.NA, index=frame.index, dtype=object)
        reasons = [(row, UNREADABLE) for row in frame.index] if field.needed == "always" else []
        return typed(field, blank), reasons, []
    texts: list[str] = frame[field.name].tolist()
    verdicts = {text: judge(field, text, is_key=is_key) for text in dict.fromkeys(texts)}
    unreadable = {place[:3] for place in faulty if place[3] == field.name}
    told = {text for text, verdict in verdicts.items() if verdict.missing or verdict.faults}
    values: list[Any] = [text if text else pd.NA for text in texts]
    reasons = []
    problems: list[Problem] = []
    for at in (at for at, text in enumerate(texts) if unreadable or text in told):
        row, text = frame.index[at], texts[at]
        place = _place(frame, row)
        typed_as = was.get((*place, field.name), "")
        verdict = judge(field, text, is_key=is_key, was=typed_as) if typed_as else verdicts[text]
        if place in unreadable:
            verdict = Judgement(UNREADABLE)
        if verdict.missing:
            reasons.append((row, verdict.missing))
            values[at] = pd.NA
        problems += (fault.at(place, field.name, typed_as or text) for fault in verdict.faults)
    return typed(field, pd.Series(values, index=frame.index, dtype=object)), reasons, problems
