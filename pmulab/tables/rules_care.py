"""Consent, eligibility and harm: what comes before any comparison."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from pmulab.tables.expectations import Expectations
from pmulab.tables.once import once
from pmulab.tables.records import Records, row_problem
from pmulab.tables.report import BLOCKS, LOOK, Problem
from pmulab.tables.rules_visits import true
from pmulab.tables.stop_rules import (
    PAUSES_AT_ONCE,
    STOPS_AT_ONCE,
    happened,
    twice_in_one_arm,
)

_FINDINGS = (
    ("old_pigment", "old pigment on the lid"),
    ("active_eye_disease", "eye or lid disease now"),
    ("pregnant_or_nursing", "pregnant or breast-feeding"),
    ("isotretinoin_12m", "isotretinoin in the last 12 months"),
    ("eye_surgery_6m", "eye or lid surgery in the last 6 months"),
    ("anticoagulant", "a blood thinner"),
    ("lash_serum_4w", "lash serum in the last four weeks"),
    ("allergy_flag", "a known allergy"),
    ("other_health_reason", "another health reason"),
)


@once
def _per_session_client(records: Records) -> pd.DataFrame:
    """One row a client who has sessions, with her `clients` row; `row` is the session's index."""
    sessions = records.sessions.dropna(subset=["client_code"])
    first = sessions.assign(row=sessions.index).drop_duplicates("client_code")
    clients = records.clients.drop_duplicates("client_code")
    return first[["row", "client_code"]].merge(clients, on="client_code")


@once
def _by_code(records: Records) -> pd.DataFrame:
    known = records.clients.dropna(subset=["client_code"])
    return known.drop_duplicates("client_code").set_index("client_code")


def _of_client(rows: pd.DataFrame, values: pd.Series) -> pd.Series:
    """Bring a value of each client to the rows of another table."""
    return values.reindex(rows["client_code"]).set_axis(rows.index)


def consent_missing(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to clients recorded without their yes."""
    rows = _per_session_client(records)
    for entry in rows[true(rows["consent_record"].eq(False))].itertuples():
        yield row_problem(
            records, "sessions", entry.row, ("consent_missing", BLOCKS), "client_code",
            (f"{entry.client_code} did not consent to be recorded, but has a session here.",
             "Take her rows out of 'sessions', 'healed' and 'events'; her line in 'clients' stays,"
             " so that she is counted."),
        )  # fmt: skip


def consent_dates(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to consent that came after the session, or was withdrawn."""
    clients = _by_code(records)
    sessions = records.sessions.dropna(subset=["client_code", "session_date"])
    asked = _of_client(sessions, clients["consent_record_date"])
    late = sessions.index[true(sessions["session_date"].lt(asked))]
    for row in sessions.loc[late].drop_duplicates("client_code").index:
        yield row_problem(
            records, "sessions", row, ("consent_after_session", LOOK), "session_date",
            (f"{sessions.loc[row, 'client_code']} consented only after this session.",
             "Correct the dates. If it is true, ask her whether the session may be used, and note"
             " it."),
        )  # fmt: skip
    yield from _withdrawn(records, clients)


def _withdrawn(records: Records, clients: pd.DataFrame) -> Iterator[Problem]:
    left = clients["consent_withdrawn"].dropna()
    for table, column in (("sessions", "session_date"), ("healed", "healed_date")):
        rows = records[table].dropna(subset=["client_code"])
        after = rows[column].gt(_of_client(rows, left))
        for row in rows.index[true(after)]:
            yield row_problem(
                records, table, row, ("recorded_after_withdrawal", BLOCKS), column,
                (f"{rows.loc[row, 'client_code']} withdrew her consent before this date.",
                 "Take this row out, or correct the date."),
            )  # fmt: skip
    for row in records.clients.index[records.clients["consent_withdrawn"].notna()]:
        yield row_problem(
            records, "clients", row, ("consent_withdrawn", LOOK), "consent_withdrawn",
            (f"{records.clients.loc[row, 'client_code']} withdrew her consent.",
             "Her rows are left out of analysis and sharing, and she is counted as withdrawn."),
        )  # fmt: skip


def excluded_client_worked(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to clients who could not take part but have a session in the study."""
    rows = _per_session_client(records)
    for entry in rows[true(rows["eligible"].eq(False))].itertuples():
        yield row_problem(
            records, "sessions", entry.row, ("excluded_client_worked", BLOCKS), "client_code",
            (f"{entry.client_code} is noted as 'cannot take part', but has a session here.",
             "Take her rows out of the study. A study never overrides who may be treated."),
        )  # fmt: skip


def eligible_despite_finding(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to clients noted as able to take part against a usual reason."""
    clients = records.clients
    for row in clients.index[true(clients["eligible"])]:
        answers = {name: clients.loc[row, name] for name, _ in _FINDINGS}
        known = {name: answer for name, answer in answers.items() if not pd.isna(answer)}
        found = [words for name, words in _FINDINGS if known.get(name) in (True, "yes")]
        found += [
            f"unsure about {words}" for name, words in _FINDINGS if known.get(name) == "unsure"
        ]
        found += [f"no answer about {words}" for name, words in _FINDINGS if name not in known]
        same = clients.loc[row, "eyelid_symmetry_ok"]
        if expectations.design == "within-person" and not pd.isna(same) and not same:
            found.append("eyelids that differ")
        if found:
            yield row_problem(
                records, "clients", row, ("eligible_despite_finding", LOOK), "eligible",
                (f"{clients.loc[row, 'client_code']} is noted as able to take part, with:"
                 f" {', '.join(found)}.",
                 "Usual reasons to wait, decline or ask her doctor. Your local code and her doctor"
                 " decide; never tell her to stop a prescribed medicine."),
            )  # fmt: skip


def reason_contradicts(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to answers on taking part that do not fit their reason."""
    clients = records.clients
    none = clients["eligible_reason"].eq("none")
    for row in clients.index[true(clients["eligible"].eq(none.eq(False)))]:
        yield row_problem(
            records, "clients", row, ("reason_contradicts", LOOK), "eligible_reason",
            ("The answers to 'can take part' and its reason do not fit together.",
             "Write none if she can take part, otherwise the reason why not."),
        )  # fmt: skip


def carbon_with_capillaries(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to carbon pigment on lids with visible capillaries (common practice, no source)."""
    clients = _by_code(records)
    sessions = records.sessions
    vessels = _of_client(sessions, clients["lid_capillaries"])
    risky = sessions["pigment_family"].isin(["carbon", "mixed"]) & vessels.isin(["faint", "marked"])
    for row in sessions.index[true(risky)]:
        yield row_problem(
            records, "sessions", row, ("carbon_with_capillaries", LOOK), "pigment_family",
            (f"{sessions.loc[row, 'client_code']} has visible capillaries along the lash line and"
             " was given a pigment with carbon.",
             "Common practice: a mineral pigment such as iron oxide, or decline. Watch this lid,"
             " refer if colour spreads, and do not treat the next such client that way."),
        )  # fmt: skip


def visit_without_event_row(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to sessions with neither an event nor a signed 'none_seen'."""
    if "events" not in records.sources:
        return
    keys = ["client_code", "session_no"]
    seen = set(records.events[keys].dropna().itertuples(index=False, name=None))
    visits = records.sessions.dropna(subset=keys).drop_duplicates(keys)
    for row in visits.index:
        client, number = visits.loc[row, "client_code"], visits.loc[row, "session_no"]
        if (client, number) not in seen:
            yield row_problem(
                records, "sessions", row, ("visit_without_event_row", BLOCKS), "session_no",
                (f"Session {number} of {client} has no row in 'events', not even 'none_seen'.",
                 "Look and ask; then add a row: the event, or none_seen with your code in"
                 " signed_by."),
            )  # fmt: skip


def event_rows_fit(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to events without a session, or before it."""
    if "sessions" not in records.sources:
        return
    keys = ["client_code", "session_no"]
    events = records.events.dropna(subset=[*keys, "event"])
    sessions = records.sessions.dropna(subset=keys).drop_duplicates(keys)
    dates = sessions.set_index(keys)["session_date"]
    for row in events.index:
        client, number = (events.loc[row, name] for name in keys)
        when: Any = dates.get((client, number))
        if when is None:
            yield row_problem(
                records, "events", row, ("event_without_session", BLOCKS), "session_no",
                (f"{client} has no session {number} in 'sessions'.",
                 "Correct the client code or the session number."),
            )  # fmt: skip
        elif events.loc[row, "onset_date"] < when:
            yield row_problem(
                records, "events", row, ("event_before_session", LOOK), "onset_date",
                ("The event began before the session it belongs to.",
                 "Correct the date or the session number."),
            )  # fmt: skip


def none_seen_beside_event(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to a 'none_seen' of a session that has an event."""
    keys = ["client_code", "session_no"]
    events = records.events.dropna(subset=[*keys, "event"])
    none = events["event"].eq("none_seen")
    with_event = set(events.loc[~none, keys].itertuples(index=False, name=None))
    for row in events.index[true(none)]:
        client, number = (events.loc[row, name] for name in keys)
        if (client, number) in with_event:
            yield row_problem(
                records, "events", row, ("none_seen_beside_event", BLOCKS), "event",
                (f"Session {number} of {client} has 'none_seen' and an event.",
                 "Take the 'none_seen' row out if something happened."),
            )  # fmt: skip


def serious_event(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to serious events without a pause of the study, or without a referral."""
    at_once = records.events["event"].isin(STOPS_AT_ONCE)
    for row in records.events.index[true(at_once & records.events["serious"].eq(False))]:
        kind = str(records.events.loc[row, "event"]).replace("_", " ")
        yield row_problem(
            records, "events", row, ("serious_flag_contradicts", LOOK), "serious",
            (f"An event that stops a study at once ({kind}) is noted as not serious.",
             "It counts as serious here. Write yes, or correct what happened."),
        )  # fmt: skip
    events = records.events[true(at_once) | true(records.events["serious"])]
    for row in events.index[true(events["series_action"].eq("none"))]:
        yield row_problem(
            records, "events", row, ("serious_without_action", BLOCKS), "series_action",
            ("A serious event, and the study went on.",
             "Stop now and have it reviewed; then write stopped or paused. The client's care comes"
             " first: a doctor the same day if it is the eye."),
        )  # fmt: skip
    for row in events.index[true(events["referred_to"].isin(["none", "pharmacist"]))]:
        yield row_problem(
            records, "events", row, ("serious_without_referral", LOOK), "referred_to",
            ("A serious event that no doctor saw.",
             "Refer her now, then write where to, such as eye_doctor or emergency."),
        )  # fmt: skip


def stop_rule_reached(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to an infection, and to events of one kind that came twice in one arm (not named)."""
    events = happened(records.events)
    for row in events.index[true(events["event"].isin(PAUSES_AT_ONCE))]:
        yield row_problem(
            records, "events", row, ("stop_rule_reached", LOOK), "event",
            ("An infection pauses the study.",
             "Refer her to a doctor within a day, look at batch and hygiene, have it reviewed"
             " before the next client; write paused."),
        )  # fmt: skip
    again = twice_in_one_arm(events, records, expectations.allocation)
    for kind, rows in again.items():
        if kind in PAUSES_AT_ONCE:
            continue
        yield row_problem(
            records, "events", rows[-1], ("stop_rule_reached", LOOK), "event",
            (f"{len(rows)} events of one kind ({kind}), bad enough to count, in one arm.",
             "Pause the study and have it reviewed before the next client; write paused."),
        )  # fmt: skip


RULES = (
    consent_missing,
    consent_dates,
    excluded_client_worked,
    eligible_despite_finding,
    reason_contradicts,
    carbon_with_capillaries,
    visit_without_event_row,
    event_rows_fit,
    none_seen_beside_event,
    serious_event,
    stop_rule_reached,
)
