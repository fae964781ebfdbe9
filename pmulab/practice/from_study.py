"""A finished study as a series of consecutive clients."""

import pandas as pd

from pmulab.analysis.values import agreed_to_share, side_values, without_withdrawn
from pmulab.plan import Plan
from pmulab.practice.charting import MEASURED, YES_NO
from pmulab.questions import usual_outcome
from pmulab.tables import Records, practice_tables
from pmulab.tables.days import first_session
from pmulab.tables.kinds import typed
from pmulab.tables.practice import NAME
from pmulab.tables.stop_rules import NONE_SEEN, happened


def rows_of(plan: Plan, records: Records) -> pd.DataFrame:
    """Turn the records of a study into rows of the table 'practice', both ways together.

    Parameters
    ----------
    plan : Plan
    records : Records

    Returns
    -------
    DataFrame
        Clients by the day of their first session; of two eyelids the average, and 'yes' if
        either needs it. Clients who took back their consent are left out. No change is marked.
    """
    kept = without_withdrawn(records)
    first = _first_days(kept)
    harmed = set(happened(kept.events)["client_code"])
    signed = set(kept.events.loc[kept.events["event"].eq(NONE_SEEN), "client_code"])
    rows = pd.DataFrame(
        {
            "client_no": [str(number) for number in range(1, len(first) + 1)],
            "session_date": [day.date().isoformat() for day in first],
            "lid": plan.study.lid,
            "adverse_event": [
                "yes" if code in harmed else "no" if code in signed else pd.NA
                for code in first.index
            ],
            "invented": "yes" if plan.study.invented else pd.NA,
        }
    )
    for name in (*MEASURED, *YES_NO):
        rows[name] = pd.Series(_values(plan, kept, name, list(first.index)), dtype=object)
    fields = practice_tables()[NAME].fields
    blank = pd.Series(pd.NA, index=rows.index, dtype=object)
    return pd.DataFrame({one.name: typed(one, rows.get(one.name, blank)) for one in fields})


def held_back(records: Records) -> int:
    """Count the clients of `rows_of` who did not agree to share their numbers.

    Parameters
    ----------
    records : Records

    Returns
    -------
    int
    """
    return len(set(_first_days(without_withdrawn(records)).index) - agreed_to_share(records))


def _first_days(records: Records) -> pd.Series:
    return first_session(records).groupby(level=0).min().dropna().sort_values(kind="stable")


def _values(plan: Plan, records: Records, name: str, codes: list[str]) -> list[object]:
    """Give one value a client as text, NA where there is none."""
    outcome = usual_outcome(name)
    found: dict[str, list[float]] = {}
    for (code, _), value in side_values(plan, records, outcome).items():
        found.setdefault(code, []).append(value)

    def told(values: list[float]) -> object:
        if not values:
            return pd.NA
        if outcome.yes_no:
            return "yes" if max(values) else "no"
        return format(sum(values) / len(values), ".15g")

    return [told(found.get(code, [])) for code in codes]
