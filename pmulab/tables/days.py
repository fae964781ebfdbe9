"""Dates as days: what is shared instead of calendar dates, and what the window is read from."""

import pandas as pd

from pmulab.tables.once import once
from pmulab.tables.records import Records


@once
def first_session(records: Records) -> pd.Series:
    """Date of the first session of each eyelid.

    Parameters
    ----------
    records : Records

    Returns
    -------
    Series of datetime64[s]
        Indexed by client_code and side.
    """
    dated = records.sessions.dropna(subset=["client_code", "side", "session_no"])
    ordered = dated.sort_values("session_no", kind="stable")
    first = ordered.drop_duplicates(["client_code", "side"])
    return first.set_index(["client_code", "side"])["session_date"]


@once
def days_healed(records: Records) -> pd.Series:
    """Days from an eyelid's first session to its healed photo or visit.

    Parameters
    ----------
    records : Records

    Returns
    -------
    Series of Int64
        Indexed as `records.healed`; NA where a date is missing.
    """
    start = first_session(records).rename("start").reset_index()
    rows = records.healed[["client_code", "side", "healed_date"]].merge(
        start, on=["client_code", "side"], how="left"
    )
    days = (rows["healed_date"] - rows["start"]).dt.days.astype("Int64")
    return days.set_axis(records.healed.index).rename("days_healed")


def healed_long_enough(records: Records, first_day: int = 28) -> pd.Series:
    """Whether each healed row was judged late enough to count as healed.

    Parameters
    ----------
    records : Records
    first_day : int, default=28
        Days after the session.

    Returns
    -------
    Series of boolean
        Indexed as `records.healed`; False where the day is not known.
    """
    return days_healed(records).ge(first_day).fillna(False).rename("healed_long_enough")


def session_day(records: Records) -> pd.Series:
    """Days from the first session of the study to each session.

    Parameters
    ----------
    records : Records

    Returns
    -------
    Series of Int64
        Indexed as `records.sessions`.
    """
    dates = records.sessions["session_date"]
    days: pd.Series[int] = (dates - dates.min()).dt.days.astype("Int64")
    return days.rename("session_day")
