"""From asking to analysing: how many clients, and where they were lost."""

from collections import Counter
from collections.abc import Sequence, Set

import pandas as pd

from pmulab.allocation import Assignment
from pmulab.analysis.values import SEEN, Case, judged, side_values, with_days, withdrawn
from pmulab.findings import Flow
from pmulab.plan import Outcome, Plan
from pmulab.plan.recorded import recorded
from pmulab.tables import Records
from pmulab.tables.rules_ways import unlike
from pmulab.tables.worked import worked

_LOST_WORDS = {
    "lost": "not seen again",
    "refused": "refused the visit",
    "touched_up_before": "touched up before it was judged",
}
_OF_HEALTH = frozenset(
    {"eye_disease", "eye_surgery", "dry_eye", "medicine", "allergy", "pregnant_or_nursing",
     "skin_or_general_health"}
)  # fmt: skip
"""Reasons that say something of one client's health, known or not; told together."""


def flow(
    plan: Plan, assignments: Sequence[Assignment], records: Records, primary: Sequence[Case]
) -> Flow:
    """Count clients at every step.

    Parameters
    ----------
    plan : Plan
    assignments : sequence of Assignment
    records : Records
    primary : sequence of Case
        Cases of the primary outcome.

    Returns
    -------
    Flow
    """
    clients = records.clients
    refused = (clients["consent_record"] == False).fillna(False)  # noqa: E712 (missing is no refusal)
    refused |= (clients["eligible_reason"] == "declined").fillna(False)
    excluded = (clients["eligible"] == False).fillna(False) & ~refused  # noqa: E712
    gone = withdrawn(records)
    codes = {one.client_code for one in assignments} - gone
    carded = records.sessions["client_code"].isin(codes)
    treated = set(records.sessions.loc[carded & worked(records), "client_code"])
    complete = [case for case in primary if case.complete]
    known = {case.client_code: case.why for case in primary if case.why}
    seen = set(judged(records, plan.healed.earliest)["client_code"]) & treated
    unseen = _lost(plan, sorted(treated - seen - known.keys()), records)
    lost = Counter([*known.values(), *unseen.values()])
    lost["not worked on"] += len(codes - treated - known.keys())
    return Flow(
        asked=len(clients),
        not_eligible=int(excluded.sum()),
        no_consent=int(refused.sum()),
        allocated=len(assignments),
        treated=len(treated),
        seen_healed=len(seen),
        analysed=len(complete),
        eyelids_analysed=_eyelids(plan, records, complete),
        not_eligible_reasons=_counted(clients.loc[excluded, "eligible_reason"]),
        lost_reasons=_phrases(lost),
        wrong_arm=_wrong_arm(assignments, records),
        withdrawn=len(gone & {one.client_code for one in assignments}),
        before_card=_before_card(assignments, records),
        unlike_way=_unlike_way(plan, codes, records),
        unseen_reasons=_phrases(Counter(unseen.values())),
    )


def _unlike_way(plan: Plan, codes: Set[str], records: Records) -> int:
    """Count clients whose rows show something else than the plan says of the way worked."""
    rows = [row for row, _, _ in unlike(records, recorded(plan))]
    return len(set(records.sessions.loc[rows, "client_code"].dropna()) & codes)


def _before_card(assignments: Sequence[Assignment], records: Records) -> int:
    """Count clients whose first session is dated before the day their card was opened."""
    first = records.sessions[records.sessions["session_no"].eq(1).fillna(False)]
    days = pd.to_datetime(first["session_date"]).groupby(first["client_code"]).min()
    return sum(
        bool(days[one.client_code] < pd.Timestamp(one.revealed[:10]))
        for one in assignments
        if one.client_code in days.index
    )


def _eyelids(plan: Plan, records: Records, complete: Sequence[Case]) -> int:
    """Count the eyelids behind the clients who are compared."""
    codes = {case.client_code for case in complete}
    return sum(code in codes for code, _ in side_values(plan, records, plan.primary))


def missing_reasons(
    plan: Plan, cases: Sequence[Case], records: Records, outcome: Outcome
) -> tuple[str, ...]:
    """Say why clients have no value of an outcome.

    Parameters
    ----------
    plan : Plan
    cases : sequence of Case
    records : Records
    outcome : Outcome

    Returns
    -------
    tuple of str
        One short phrase each, with its count.
    """
    told = Counter(case.why for case in cases if not case.complete and case.why)
    gaps = [case.client_code for case in cases if not case.complete and not case.why]
    if outcome.table == "sessions":
        treated = set(records.sessions.loc[worked(records), "client_code"])
        told.update("not recorded" if code in treated else "not worked on" for code in gaps)
    else:
        lost = _lost(plan, gaps, records)
        told.update(lost.get(code, "not recorded") for code in gaps)
    return _phrases(told)


def _lost(plan: Plan, codes: Sequence[str], records: Records) -> dict[str, str]:
    """Say of every client without a healed result that counts why there is none."""
    rows = with_days(records)
    visits = {str(code): group for code, group in rows.groupby("client_code")}
    reasons = {code: _lost_reason(plan, visits.get(code)) for code in codes}
    return {code: reason for code, reason in reasons.items() if reason}


def _lost_reason(plan: Plan, rows: pd.DataFrame | None) -> str:
    if rows is None:
        return "no healed visit yet"
    seen = rows[rows["seen"].isin(SEEN)]
    if seen.empty:
        return _LOST_WORDS.get(str(rows["seen"].iloc[0]), "not seen")
    if seen["days"].isna().all():
        return "judged without a date"
    if (seen["days"] < plan.healed.earliest).fillna(True).all():
        return f"judged before day {plan.healed.earliest}"
    return ""


def _phrases(told: Counter[str]) -> tuple[str, ...]:
    return tuple(f"{count} {words}" for words, count in sorted(told.items()) if count)


def _wrong_arm(assignments: Sequence[Assignment], records: Records) -> int:
    rows = records.sessions[records.sessions["session_no"] == 1]
    drawn = {
        (one.client_code, side): one.slot.arm_of(side) for one in assignments for side in ("L", "R")
    }
    wrong = {
        client
        for client, side, arm in zip(
            rows["client_code"], rows["side"], rows["arm_actual"], strict=True
        )
        if not pd.isna(arm) and (client, side) in drawn and drawn[client, side] != arm
    }
    return len(wrong)


def _counted(codes: pd.Series) -> tuple[str, ...]:
    codes = codes.dropna().astype(str)
    told = Counter(codes.mask(codes.isin(_OF_HEALTH), "health").str.replace("_", " "))
    return tuple(f"{words}: {count}" for words, count in sorted(told.items()))
