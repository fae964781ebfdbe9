"""Which rows of the table of sessions show that somebody was worked on."""

import pandas as pd

from pmulab.tables.once import once
from pmulab.tables.records import Records
from pmulab.tables.schema import study_tables

_SHOWS_WORK = ("work", "reaction")


@once
def worked(records: Records) -> "pd.Series[bool]":
    """Tell which session rows show work.

    Parameters
    ----------
    records : Records

    Returns
    -------
    Series of bool
        Indexed as `records.sessions`. True where the arm given, or anything of the work itself or
        of the study's own outcomes, is recorded; a row of reasons only shows no work.
    """
    table = study_tables()["sessions"]
    known = {field.name for field in table.fields if field.group in _SHOWS_WORK}
    own = set(records.sessions.columns) - set(table.names)
    return records.sessions[["arm_actual", *sorted(known | own)]].notna().any(axis=1)
