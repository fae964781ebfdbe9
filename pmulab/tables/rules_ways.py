"""Whether each row shows the way that was drawn, in what the plan says of the two ways."""

from collections.abc import Iterator, Mapping
from typing import Any

import pandas as pd

from pmulab.tables.expectations import ArmKey, Expectations, Shown, shown_words
from pmulab.tables.records import Records, row_problem
from pmulab.tables.report import LOOK, Problem

_DEPARTED = ("stopped_early", "other")
_SLACK = 1e-9


def unlike(
    records: Records, recorded: Mapping[ArmKey, Mapping[str, Shown]]
) -> Iterator[tuple[Any, str, ArmKey]]:
    """Find rows of the first session that show something else than the way that was worked.

    Parameters
    ----------
    records : Records
    recorded : mapping of arm to mapping of column to value
        What the plan says.

    Yields
    ------
    tuple of (row, column, arm)
        Nothing for a row that tells its departure, or where arm or value is missing.
    """
    rows = records.sessions
    rows = rows[rows["session_no"].eq(1).fillna(False)]
    rows = rows[~rows["deviation"].isin(_DEPARTED)]
    done = rows["arm_actual"].fillna(rows["arm_planned"])
    for arm, shown in recorded.items():
        for column, value in shown.items():
            for row, found in rows.loc[done.eq(arm).fillna(False), column].items():
                if not pd.isna(found) and not _fits(found, value):
                    yield row, column, arm


def way_not_shown(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to rows that show something else than the plan says of their way."""
    for row, column, arm in unlike(records, expectations.recorded):
        found, label = records.sessions.loc[row, column], expectations.arms[arm]
        wanted = shown_words(expectations.recorded[arm][column])
        field = expectations.tables["sessions"][column]
        yield row_problem(
            records, "sessions", row, ("way_not_shown", LOOK), column,
            (f"{field.named} says {shown_words(found)}, but way {arm} ({label}) is {wanted}.",
             "If she was worked otherwise, say so: write the arm that was done as arm_actual and"
             " the deviation wrong_arm, or the deviation other. Else correct the value. As long as"
             " it stands, every output counts it."),
        )  # fmt: skip


def _fits(found: Any, value: Shown) -> bool:
    if isinstance(value, str):
        return bool(found == value)
    low, high = value if isinstance(value, tuple) else (value, value)
    return low - _SLACK <= float(found) <= high + _SLACK


RULES = (way_not_shown,)
