"""The running view: pace, gaps and safety while the arms stay hidden, and when a study is over."""

from collections.abc import Sequence
from datetime import date

import pandas as pd

from pmulab.allocation import Assignment
from pmulab.analysis.safety import masked, safety
from pmulab.analysis.values import SEEN, cases, judged, with_days, withdrawn
from pmulab.findings import Running
from pmulab.plan import Outcome, Plan
from pmulab.tables import Records
from pmulab.tables.worked import worked

SIDES = ("L", "R")
_NAMED = 6
"""Client codes named in one sentence; the rest are counted."""


def unfinished(plan: Plan, assignments: Sequence[Assignment], records: Records) -> tuple[str, ...]:
    """Say what is still to come before the arms may be compared.

    Parameters
    ----------
    plan : Plan
    assignments : sequence of Assignment
    records : Records

    Returns
    -------
    tuple of str
        One sentence each; empty when every planned client is enrolled and every outcome is
        recorded or left out with a reason.
    """
    left = plan.clients.planned - len(assignments)
    told = (
        [f"{left} of {plan.clients.planned} planned clients are still to be enrolled."]
        if (left > 0)
        else []
    )
    for outcome in plan.outcomes:
        open_ = _open(plan, assignments, records, outcome)
        if open_:
            title = outcome.title[:1].upper() + outcome.title[1:]
            more = f" and {len(open_) - _NAMED} more" if len(open_) > _NAMED else ""
            told.append(f"{title}: still open for {', '.join(open_[:_NAMED])}{more}.")
    return tuple(told)


def running_view(
    plan: Plan, assignments: Sequence[Assignment], records: Records, today: date
) -> Running:
    """Show how a study stands without showing the arms.

    Parameters
    ----------
    plan : Plan
    assignments : sequence of Assignment
    records : Records
    today : date

    Returns
    -------
    Running
    """
    primary = cases(plan, assignments, records, plan.primary)
    enrolled = [one.revealed[:10] for one in assignments]
    started = min(enrolled, default="")
    return Running(
        planned=plan.clients.planned,
        asked=len(records.clients),
        enrolled=len(assignments),
        not_enrolled=len(records.clients) - len(assignments),
        treated=int(records.sessions.loc[worked(records), "client_code"].nunique()),
        with_primary=sum(case.complete for case in primary),
        days_running=(today - date.fromisoformat(started)).days if started else None,
        last_enrolment=max(enrolled, default=""),
        missing_values=missing_values(records),
        overdue=tuple(_overdue(plan, assignments, records, today)),
        safety=masked(safety(assignments, records)),
        notes=(
            *unfinished(plan, assignments, records),
            "The arms stay hidden until then: looking early finds differences that are not there.",
            "A client with a card who never came: pmulab absent FOLDER --client CODE --reason WHY",
        ),
    )


def missing_values(records: Records) -> dict[str, int]:
    """Count entries of clients who take part, left out although they apply, by 'table.column'."""
    clients = records.clients
    outside = clients.index[~clients["eligible"].fillna(True).astype(bool)]
    gaps = records.missing[records.missing["reason"] != "NA_not_applicable"]
    gaps = gaps[~((gaps["table"] == "clients") & gaps["row"].isin(outside))]
    names = gaps["table"].astype(str) + "." + gaps["column"].astype(str)
    return {str(name): int(count) for name, count in names.value_counts(sort=False).items()}


def _open(
    plan: Plan, assignments: Sequence[Assignment], records: Records, outcome: Outcome
) -> list[str]:
    """Name enrolled clients for whom nothing that counts, not even a reason, stands."""
    rows = records.sessions if outcome.table == "sessions" else _settled(plan, records)
    answered = rows.groupby("client_code")["side"].nunique()
    gone = withdrawn(records)
    return [
        one.client_code
        for one in assignments
        if one.client_code not in gone
        and not one.absent
        and int(answered.get(one.client_code, 0)) < len(SIDES)
    ]


def _settled(plan: Plan, records: Records) -> pd.DataFrame:
    """Give the healed rows that count, and those that say why there will be none.

    A row judged too early settles nothing: a later visit, or its reason, is still to come.
    """
    lost = records.healed[~records.healed["seen"].isin(SEEN).fillna(False)]
    return pd.concat([judged(records, plan.healed.earliest), lost])


def _overdue(
    plan: Plan, assignments: Sequence[Assignment], records: Records, today: date
) -> list[str]:
    first = records.sessions[records.sessions["session_no"] == 1]
    worked = pd.to_datetime(first["session_date"]).groupby(first["client_code"]).min()
    judged = set(with_days(records)["client_code"])
    told = []
    for one in assignments:
        if one.client_code in judged or one.client_code not in worked.index:
            continue
        days = (pd.Timestamp(today) - worked[one.client_code]).days
        if days > plan.healed.latest:
            told.append(
                f"{one.client_code}: worked on {days} days ago, healed visit due by day "
                f"{plan.healed.latest}."
            )
    return told
