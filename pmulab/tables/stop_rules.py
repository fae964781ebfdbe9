"""When a series pauses: harm that stops it at once, and harm that comes twice in one arm.

One place for the rule, read by the check of the records and by the count of harm. The rule is
this kit's own (common practice, no source); a study may tighten it, never loosen it.
"""

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

import pandas as pd

from pmulab.tables.expectations import Allotted
from pmulab.tables.records import Records

NONE_SEEN = "none_seen"
UNREADABLE_KIND = "unreadable"
"""Stands for the kind of an event that cannot be read."""

STOPS_AT_ONCE = frozenset(
    {"corneal_injury", "vision_change", "severe_pain", "anaphylaxis", "seizure"}
)
"""Kinds that stop a series whatever was noted beside them."""

PAUSES_AT_ONCE = frozenset({"infection"})
"""Kinds that pause a series at the first time, so that batch and hygiene are looked at."""

_COUNT_WHEN_MILD = frozenset({"pigment_migration"})
_EITHER = ("A", "B")


def happened(events: pd.DataFrame) -> pd.DataFrame:
    """Give the rows that tell of harm.

    Parameters
    ----------
    events : DataFrame
        As `Records.events`.

    Returns
    -------
    DataFrame
        Without the signed 'none seen'; a kind that cannot be read is `UNREADABLE_KIND`, since it
        may be the worst of all.
    """
    rows = events.assign(event=events["event"].fillna(UNREADABLE_KIND))
    return rows[rows["event"].ne(NONE_SEEN)]


def serious(events: pd.DataFrame) -> "pd.Series[bool]":
    """Tell which events count as serious.

    Parameters
    ----------
    events : DataFrame
        As `happened` gives them.

    Returns
    -------
    Series of bool
        True as flagged, when the flag is missing, and for kinds that stop at once.
    """
    flagged = events["serious"].fillna(True).astype(bool)
    return flagged | events["event"].isin(STOPS_AT_ONCE).astype(bool)


def arms_given(
    events: pd.DataFrame, records: Records, cards: Mapping[str, Allotted] | None
) -> list[tuple[str, ...]]:
    """Say which arms an event may belong to.

    Parameters
    ----------
    events : DataFrame
    records : Records
    cards : mapping of client code to Allotted, or None

    Returns
    -------
    list of tuple of {'A', 'B'}
        One entry an event: the arm that the eyelid was given, else the arm of its card, else both
        arms. An event of both eyelids or the whole person has the arms of both eyelids.
    """
    keys = ["client_code", "session_no", "side", "arm_actual"]
    worked = records.sessions[keys].dropna().itertuples(index=False, name=None)
    given = {(str(code), str(visit), side): (str(arm),) for code, visit, side, arm in worked}

    def of(code: str, visit: str, side: str) -> tuple[str, ...]:
        card = (cards or {}).get(code)
        drawn = card.arm_on(side) if card else None
        return given.get((code, visit, side), (drawn,) if drawn else _EITHER)

    return [
        tuple(sorted({arm for one in _sides(side) for arm in of(str(code), str(visit), one)}))
        for code, visit, side in events[keys[:3]].itertuples(index=False, name=None)
    ]


def twice_in_one_arm(
    events: pd.DataFrame, records: Records, cards: Mapping[str, Allotted] | None
) -> dict[str, list[Any]]:
    """Find kinds of harm that came twice in one arm.

    Parameters
    ----------
    events : DataFrame
        As `happened` gives them.
    records : Records
    cards : mapping of client code to Allotted, or None

    Returns
    -------
    dict of kind to list of row labels
        Moderate or severe ones, and pigment migration of any severity; a missing severity counts
        as moderate. A visit counts once for each arm it touched.
    """
    counted = events["severity"].ne("mild").fillna(True) | events["event"].isin(_COUNT_WHEN_MILD)
    rows = events[counted.astype(bool) & events["event"].ne(UNREADABLE_KIND)]
    visits: dict[tuple[str, str], dict[tuple[str, str], Any]] = defaultdict(dict)
    for row, kind, code, visit, arms in zip(
        rows.index,
        rows["event"],
        rows["client_code"],
        rows["session_no"],
        arms_given(rows, records, cards),
        strict=True,
    ):
        known = not (pd.isna(code) or pd.isna(visit))
        for arm in arms:
            visits[str(kind), arm][(str(code), str(visit)) if known else ("", str(row))] = row
    found: dict[str, list[Any]] = {}
    for (kind, _), own in sorted(visits.items()):
        if len(own) >= 2 and len(own) > len(found.get(kind, [])):
            found[kind] = list(own.values())
    return found


def stop_reason(records: Records, cards: Mapping[str, Allotted] | None) -> str:
    """Say why a series has to pause.

    Parameters
    ----------
    records : Records
    cards : mapping of client code to Allotted, or None
        Cards opened so far.

    Returns
    -------
    str
        The gravest reason, without any arm; empty when nothing asks for a pause.
    """
    events = happened(records.events)
    grave = _kinds(events.loc[serious(events), "event"])
    if grave:
        return (
            f"a serious adverse event was recorded ({grave}). Stop the series, refer the client "
            "to a physician the same day, and go on only after a review."
        )
    if events["event"].eq(UNREADABLE_KIND).any():
        return (
            "what happened cannot be read in a row of the table 'events'. It counts as serious "
            "until it is put right: check the records before the next client."
        )
    if events["event"].isin(PAUSES_AT_ONCE).any():
        return (
            "an infection was recorded. Refer the client to a physician within a day, look at "
            "batch and hygiene, and review before the next client."
        )
    again = _kinds(pd.Series(list(twice_in_one_arm(events, records, cards)), dtype="string"))
    if again:
        return (
            f"two events of one kind, bad enough to count, came in one arm ({again}). "
            "Pause and review before the next client."
        )
    return ""


def _sides(side: Any) -> tuple[str, ...]:
    return (side,) if not pd.isna(side) and side in ("L", "R") else ("L", "R")


def _kinds(kinds: pd.Series) -> str:
    return ", ".join(sorted({str(kind).replace("_", " ") for kind in kinds}))
