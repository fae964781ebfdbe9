"""Adverse events: counted per client, read before any effect, never left out."""

from collections.abc import Sequence
from dataclasses import replace
from typing import cast

import pandas as pd

from pmulab.allocation import Assignment
from pmulab.estimate.proportions import zero_events_upper_limit
from pmulab.findings import Event, EventArm, Safety
from pmulab.tables import Records

NONE_SEEN = "none_seen"
_Kind = tuple[str, str, EventArm, bool]
_ORDER = ("mild", "moderate", "severe")
_GENERAL = "general"


def safety(assignments: Sequence[Assignment], records: Records) -> Safety:
    """Count adverse events and apply the stop rules.

    Parameters
    ----------
    assignments : sequence of Assignment
    records : Records

    Returns
    -------
    Safety
        `stop` holds a sentence when a serious event, or two clients with the same moderate or
        severe event in one arm, ask for a pause (rules of this kit, which a study may tighten).
    """
    visits = records.sessions[["client_code", "session_no"]].drop_duplicates()
    signed = records.events[["client_code", "session_no"]].drop_duplicates()
    happened = records.events[records.events["event"] != NONE_SEEN]
    happened = happened.assign(arm=_arms(happened, assignments))
    treated = int(visits["client_code"].nunique())
    with_event = int(happened["client_code"].nunique())
    return Safety(
        treated=treated,
        visits=len(visits),
        visits_signed=len(visits.merge(signed, on=["client_code", "session_no"])),
        events=_counted(happened),
        with_event=with_event,
        upper_limit=_upper_limit(treated) if not with_event else None,
        stop=_stop(happened),
    )


def _upper_limit(clients: int) -> float | None:
    interval = zero_events_upper_limit(clients).interval
    return interval.high if interval else None


def masked(found: Safety) -> Safety:
    """Count the same events over both arms together, for the running view.

    Parameters
    ----------
    found : Safety

    Returns
    -------
    Safety
        Without any arm.
    """
    pooled: dict[tuple[str, str, bool], int] = {}
    for event in found.events:
        key = (event.event, event.severity, event.serious)
        pooled[key] = pooled.get(key, 0) + event.clients
    events = tuple(
        Event(event, severity, "hidden", serious, clients)
        for (event, severity, serious), clients in pooled.items()
    )
    return replace(found, events=events)


def _arms(events: pd.DataFrame, assignments: Sequence[Assignment]) -> list[str]:
    cards = {one.client_code: one.slot for one in assignments}
    arms = []
    for client, side in zip(events["client_code"], events["side"], strict=True):
        slot = cards.get(client)
        if slot is None or (side not in ("L", "R") and slot.arm is None):
            arms.append("both" if side == "both" else _GENERAL)
        else:
            arms.append(slot.arm or slot.arm_of(side))
    return arms


def _counted(events: pd.DataFrame) -> tuple[Event, ...]:
    rows = events.assign(serious=events["serious"].fillna(True).astype(bool))
    keys = ["event", "severity", "arm", "serious"]
    rows[keys[:3]] = rows[keys[:3]].astype("string").fillna("not said")
    groups = rows.groupby(keys)["client_code"].nunique()
    counted = [Event(*cast("_Kind", kind), clients=int(n)) for kind, n in groups.items()]
    return tuple(sorted(counted, key=lambda e: (not e.serious, -_rank(e.severity), e.event)))


def _rank(severity: str) -> int:
    return _ORDER.index(severity) if severity in _ORDER else len(_ORDER)


def _stop(events: pd.DataFrame) -> str:
    serious = events[events["serious"].fillna(True).astype(bool)]
    if len(serious):
        names = ", ".join(sorted(set(serious["event"].astype(str))))
        return (
            f"a serious adverse event was recorded ({names}). Stop the series, refer the client "
            "to a physician the same day, and go on only after a review."
        )
    worse = events[events["severity"].isin(_ORDER[1:])]
    repeated = worse.groupby(["event", "arm"])["client_code"].nunique()
    again = sorted({str(cast("_Kind", kind)[0]) for kind, n in repeated.items() if n >= 2})
    if again:
        return (
            f"two clients had the same event of moderate or worse severity in one arm "
            f"({', '.join(again)}). Pause and review before the next client."
        )
    return ""
