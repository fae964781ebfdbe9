"""Whether the rows of clients and sessions fit together: who, when, which lid, how long."""

from collections.abc import Iterator

import pandas as pd

from pmulab.tables.expectations import Expectations
from pmulab.tables.records import Records, row_problem
from pmulab.tables.report import BLOCKS, LOOK, Problem

MOST_OPENING_RATIO = 1.5


def true(flags: pd.Series) -> "pd.Series[bool]":
    """Read a series with missing values as plain truth; missing is false."""
    return flags.fillna(False).astype(bool)


def client_unknown(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to rows of a client who is not in `clients`."""
    if "clients" not in records.sources:
        return
    known = set(records.clients["client_code"].dropna())
    for table in ("sessions", "healed", "events"):
        codes = records[table]["client_code"].dropna()
        for row, client in codes[~codes.isin(known)].drop_duplicates().items():
            yield row_problem(
                records, table, row, ("client_unknown", BLOCKS), "client_code",
                (f"{client} has a row here but none in the table 'clients'.",
                 "Look at the code, or add her row to 'clients'."),
            )  # fmt: skip


def wrong_lid(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to rows about the lid the study is not about."""
    if expectations.lid is None:
        return
    sessions = records.sessions
    for row in sessions.index[true(sessions["lid"].ne(expectations.lid))]:
        yield row_problem(
            records, "sessions", row, ("wrong_lid", BLOCKS), "lid",
            (f"The study is about the {expectations.lid} lid; this row says"
             f" {sessions.loc[row, 'lid']}.",
             "Correct it, or keep work on the other lid out of the study's tables."),
        )  # fmt: skip


def minutes_contradict(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to rows where first to last stroke took less time than the needle worked."""
    sessions = records.sessions
    for row in sessions.index[true(sessions["elapsed_min"].lt(sessions["work_min"]))]:
        elapsed, work = sessions.loc[row, "elapsed_min"], sessions.loc[row, "work_min"]
        yield row_problem(
            records, "sessions", row, ("elapsed_below_work", BLOCKS), "elapsed_min",
            (f"Elapsed time ({elapsed:g} min) is shorter than needle time ({work:g} min).",
             "Elapsed runs from first to last stroke with pauses, so it is at least work_min."
             " Look whether the two were swapped."),
        )  # fmt: skip


def opening_grew(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to eyes that open far wider after the work than before."""
    sessions = records.sessions
    grew = sessions["aperture_after_mm"].gt(MOST_OPENING_RATIO * sessions["aperture_before_mm"])
    for row in sessions.index[true(grew)]:
        yield row_problem(
            records, "sessions", row, ("opening_grew", LOOK), "aperture_after_mm",
            (f"The eye opening went from {sessions.loc[row, 'aperture_before_mm']:g} to"
             f" {sessions.loc[row, 'aperture_after_mm']:g} mm; swelling makes it smaller.",
             "Look at the photos: same gaze, same scale, before and after not swapped?"),
        )  # fmt: skip


def session_dates(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to sessions in the wrong order, or one session on two dates."""
    columns = ["client_code", "session_no", "session_date"]
    rows = records.sessions[columns].dropna().sort_values(columns[:2], kind="stable")
    own = rows.groupby("client_code")
    steps = own["session_no"].diff().astype("Float64")
    days = own["session_date"].diff().dt.days.astype("Float64")
    for row in rows.index[true(steps.gt(0) & days.lt(0))]:
        client, number = rows.loc[row, "client_code"], rows.loc[row, "session_no"]
        yield row_problem(
            records, "sessions", row, ("sessions_out_of_order", BLOCKS), "session_date",
            (f"Session {number} of {client} lies before the one before it.",
             "Correct the date or the session number."),
        )  # fmt: skip
    for row in rows.index[true(steps.eq(0) & days.ne(0))]:
        client, number = rows.loc[row, "client_code"], rows.loc[row, "session_no"]
        yield row_problem(
            records, "sessions", row, ("one_session_two_dates", LOOK), "session_date",
            (f"The two eyelids of {client} in session {number} have different dates.",
             "Correct the date, or give the later one its own session number."),
        )  # fmt: skip


def days_to_come(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to dates of anything that has not happened yet."""
    if expectations.today is None:
        return
    for name, table in expectations.tables.items():
        frame = records[name]
        for field in table.fields:
            if field.kind != "date" or field.name not in frame:
                continue
            days = frame[field.name]
            for row in frame.index[true(days.gt(pd.Timestamp(expectations.today)))]:
                yield row_problem(
                    records, name, row, ("day_to_come", BLOCKS), field.name,
                    (f"This day has not come yet: {days[row].date()} ({field.title}); today is"
                     f" {expectations.today}.",
                     "Look at the year, and whether day and month were swapped; write the day on"
                     " which it happened. If today is wrong, set the clock of your computer."),
                )  # fmt: skip


RULES = (
    client_unknown,
    wrong_lid,
    minutes_contradict,
    opening_grew,
    session_dates,
    days_to_come,
)
