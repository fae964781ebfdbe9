"""One row given as answers to questions instead of cells of a file."""

from collections.abc import Collection, Mapping
from dataclasses import replace

import pandas as pd

from pmulab.tables.checking import check_frames
from pmulab.tables.fields import Field, Table
from pmulab.tables.judging import NOT_NOTED, UNREADABLE
from pmulab.tables.kinds import value_text
from pmulab.tables.mending import mend, shown
from pmulab.tables.report import BLOCKS, Mend, Problem
from pmulab.tables.schema import study_tables
from pmulab.tables.union import SOURCE

_PLACE = ("answers", "", 1)


def read_answers(
    table: Table, answers: Mapping[str, str], skip: Collection[str] = ()
) -> tuple[dict[str, str], tuple[Problem, ...]]:
    """Check the answers for one row as a row of a file would be checked.

    Parameters
    ----------
    table : Table
    answers : mapping of field name to text
    skip : collection of str
        Fields that are filled in later and not asked for.

    Returns
    -------
    tuple of (dict of field name to text, tuple of Problem)
        Every field of the table in the one form, '' where nothing is known, reason codes where a
        value is missing; and what blocks the row, unknown answers among it.
    """
    problems = [
        Problem("unknown_answer", BLOCKS, *_PLACE, name, str(value),
                f"There is no question '{name}'.", f"Use one of: {', '.join(table.names)}.")
        for name, value in answers.items()
        if name not in table.names
    ]  # fmt: skip
    asked = [field for field in table.fields if field.name not in skip]
    read = {field.name: mend(field, answers.get(field.name, ""), {}, False) for field in asked}
    for name, reading in read.items():
        if reading.fault is not None:
            problems.append(
                Problem(reading.fault.code, BLOCKS, *_PLACE, name, reading.text,
                        reading.fault.what, reading.fault.remedy)
            )  # fmt: skip
    row = {name: reading.text for name, reading in read.items()}
    frame = pd.DataFrame([row | dict(zip(SOURCE, _PLACE, strict=True))], dtype=object)
    tables = study_tables() | {table.name: _only(table, row)}
    mends = [
        Mend(*_PLACE, name, shown(answers[name]), reading.text, reading.why)
        for name, reading in read.items()
        if reading.why
    ]
    records, found = check_frames({table.name: frame}, tables, problems, mends)
    reasons = dict(zip(records.missing["column"], records.missing["reason"], strict=True))
    # What cannot be read can be asked again at once, so here it blocks even where it may be blank.
    problems += [
        replace(
            problem,
            severity=BLOCKS,
            what=_asked(table[problem.column], problem.what),
            remedy=problem.remedy.removesuffix(NOT_NOTED),
        )
        for problem in found
        if problem.severity == BLOCKS or reasons.get(problem.column) == UNREADABLE
    ]
    typed = records[table.name].iloc[0]
    texts = {field.name: value_text(field, typed[field.name]) for field in asked}
    return {name: text or str(reasons.get(name, "")) for name, text in texts.items()}, tuple(
        problems
    )


def _asked(field: Field, told: str) -> str:
    """Leave out the column: who answers a question sees its title only."""
    return told.replace(field.named, field.asked)


def _only(table: Table, names: Collection[str]) -> Table:
    fields = tuple(field for field in table.fields if field.name in names)
    return Table(table.name, table.title, fields, table.keys, table.description, table.fills)
