"""Adverse events: counted per client, read before any effect, never left out."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import cast

import pandas as pd

from pmulab.allocation import Assignment
from pmulab.analysis.values import SEEN
from pmulab.estimate.proportions import zero_events_upper_limit
from pmulab.findings import Earlier, Event, EventArm, Safety
from pmulab.tables import Allotted, Records
from pmulab.tables.once import once
from pmulab.tables.stop_rules import NONE_SEEN, arms_given, happened, serious, stop_reason
from pmulab.tables.worked import worked

_Kind = tuple[str, str, EventArm, bool]
_VISIT = ["client_code", "session_no"]
_ORDER = ("mild", "moderate", "severe")


def safety(assignments: Sequence[Assignment], records: Records) -> Safety:
    """Count adverse events and apply the stop rules.

    Parameters
    ----------
    assignments : sequence of Assignment
    records : Records

    Returns
    -------
    Safety
        Treated are clients with an opened card and a session that shows work. Every event is
        counted, whoever had it. `stop` holds a sentence when the stop rule asks for a pause.
    """
    return _safety(records, tuple(assignments))


@once
def _safety(records: Records, assignments: tuple[Assignment, ...]) -> Safety:
    cards = {
        one.client_code: Allotted(one.slot.left, one.slot.first, one.slot.arm)
        for one in assignments
    }
    visits = _visits(records, cards)
    treated = set(visits["client_code"])
    clients_signed = len(treated - set(visits.loc[~visits["signed"], "client_code"]))
    events = _named(happened(records.events))
    events = events.assign(arm=_arms(events, records, cards), serious=serious(events))
    harmed = set(events["client_code"])
    return Safety(
        treated=len(treated),
        visits=len(visits),
        visits_signed=int(visits["signed"].sum()),
        events=_counted(events),
        with_event=len(harmed),
        upper_limit=_upper_limit(clients_signed) if not harmed else None,
        stop=stop_reason(records, cards),
        clients_signed=clients_signed,
        not_treated_with_event=len(harmed - treated),
        clients_healed=len(treated & _seen_healed(records)),
        pooled=_counted(events.assign(arm="hidden")),
    )


def masked(found: Safety) -> Safety:
    """Show the same events over both arms together, for the running view.

    Parameters
    ----------
    found : Safety

    Returns
    -------
    Safety
        Without any arm.
    """
    return replace(found, events=found.pooled)


def with_earlier(found: Safety, earlier: Earlier) -> Safety:
    """Tell what was recorded before beside what is recorded now.

    Parameters
    ----------
    found : Safety
    earlier : Earlier

    Returns
    -------
    Safety
        Without an upper limit where harm was recorded that is gone.
    """
    limit = None if earlier.recorded else found.upper_limit
    return replace(found, earlier=earlier, upper_limit=limit)


def _visits(records: Records, cards: Mapping[str, Allotted]) -> pd.DataFrame:
    """Give the visits of clients with a card at which somebody worked, and whether signed."""
    sessions = records.sessions[worked(records)]
    visits = sessions.loc[sessions["client_code"].isin(list(cards)), _VISIT].drop_duplicates()
    events = records.events
    unsigned = events["event"].eq(NONE_SEEN).fillna(False) & events["signed_by"].isna()
    told = set(events.loc[~unsigned, _VISIT].dropna().itertuples(index=False, name=None))
    signed = [visit in told for visit in visits.itertuples(index=False, name=None)]
    return visits.assign(signed=pd.Series(signed, index=visits.index, dtype=bool))


def _seen_healed(records: Records) -> set[str]:
    """Name the clients whose healed eyelids somebody looked at, in the chair or on photos."""
    rows = records.healed
    return set(rows.loc[rows["seen"].isin(SEEN), "client_code"].dropna().astype(str))


def _upper_limit(clients: int) -> float | None:
    interval = zero_events_upper_limit(clients).interval
    return interval.high if interval else None


def _named(events: pd.DataFrame) -> pd.DataFrame:
    """Count each event whose client cannot be read as one of a client of her own."""
    nobody = pd.Series([f"row {row}" for row in events.index], index=events.index, dtype="string")
    return events.assign(client_code=events["client_code"].fillna(nobody))


def _arms(events: pd.DataFrame, records: Records, cards: Mapping[str, Allotted]) -> list[str]:
    given = arms_given(events, records, cards)
    return [
        arms[0] if len(arms) == 1 else "both" if side == "both" else "general"
        for arms, side in zip(given, events["side"].fillna("general"), strict=True)
    ]


def _counted(events: pd.DataFrame) -> tuple[Event, ...]:
    rows = events.assign(severity=events["severity"].fillna("not said"))
    groups = rows.groupby(["event", "severity", "arm", "serious"])["client_code"].nunique()
    counted = [Event(*cast("_Kind", kind), clients=int(n)) for kind, n in groups.items()]
    return tuple(sorted(counted, key=lambda e: (not e.serious, -_rank(e.severity), e.event)))


def _rank(severity: str) -> int:
    return _ORDER.index(severity) if severity in _ORDER else len(_ORDER)
