"""Dated changes of a practice, and what the clients before and after them show."""

from collections.abc import Iterator
from dataclasses import replace

import pandas as pd

from pmulab.analysis.differences import PER_CENT, group_difference
from pmulab.estimate.independent.difference import FEWEST_A_GROUP
from pmulab.estimate.results import Estimate
from pmulab.estimate.series import before_after_change
from pmulab.findings import ArmSummary
from pmulab.plan import Outcome
from pmulab.practice.model import BeforeAfter, Moment

LEVEL = 0.95
FEWEST_A_SIDE = 12
"""Clients on each side below which a before-after change is told with least certainty.

Of a series the usual advice is twelve points a side (Turner et al. 2021,
10.1186/s12874-021-01364-0)."""


def moments_of(rows: pd.DataFrame) -> tuple[Moment, ...]:
    """List the dated changes.

    Parameters
    ----------
    rows : DataFrame
        As for `watch`.

    Returns
    -------
    tuple of Moment
        Without one that stands with the first client: nobody came before it.
    """
    noted = rows.iloc[1:].dropna(subset=["change_note"])
    return tuple(
        Moment(int(row["client_no"]), _iso(row["session_date"]), str(row["change_note"]))
        for row in noted.to_dict("records")
    )


def before_after(
    known: pd.DataFrame, outcome: Outcome, moments: tuple[Moment, ...]
) -> tuple[BeforeAfter, ...]:
    """Compare the clients between two changes with those of the stretch before.

    Parameters
    ----------
    known : DataFrame
        Rows with a value of the outcome.
    outcome : Outcome
    moments : tuple of Moment

    Returns
    -------
    tuple of BeforeAfter
        One a change.
    """
    found = []
    edges = [0, *(one.client for one in moments), float("inf")]
    values = known[outcome.name].astype(float)
    numbers = known["client_no"]
    for place, moment in enumerate(moments):
        start, at, end = edges[place : place + 3]
        before = values[(numbers >= start) & (numbers < at)].tolist()
        after = values[(numbers >= at) & (numbers < end)].tolist()
        found.append(_one(moment, outcome, before, after))
    return tuple(found)


def _one(moment: Moment, outcome: Outcome, before: list[float], after: list[float]) -> BeforeAfter:
    difference = _difference(outcome, before, after)
    reasons = ("a dated change is no comparison", *_doubts(outcome, difference, before, after))
    return BeforeAfter(
        moment,
        _summary(before, outcome),
        _summary(after, outcome),
        difference,
        "not sure" if len(reasons) == 1 else "very unsure",
        reasons,
    )


def _difference(outcome: Outcome, before: list[float], after: list[float]) -> Estimate:
    if min(len(before), len(after)) < FEWEST_A_GROUP:
        note = (
            f"Too few to compare: {len(before)} before and {len(after)} after; each side needs "
            f"{FEWEST_A_GROUP} at least."
        )
        return Estimate(None, len(before) + len(after), "change of the mean", note=note)
    if outcome.yes_no:
        return group_difference(after, before, outcome, LEVEL)
    # The mean of two eyelids has half the step of one.
    found = before_after_change(before, after, step=outcome.step / 2, level=LEVEL)
    return replace(found, unit=outcome.unit)


def _doubts(
    outcome: Outcome, difference: Estimate, before: list[float], after: list[float]
) -> Iterator[str]:
    if min(len(before), len(after)) < FEWEST_A_SIDE:
        yield f"fewer than {FEWEST_A_SIDE} clients on one side of it"
    interval = difference.interval
    edges = (-outcome.worthwhile, outcome.worthwhile)
    if interval is not None and any(interval.low <= edge <= interval.high for edge in edges):
        yield "the interval reaches across the smallest worthwhile difference"


def _summary(values: list[float], outcome: Outcome) -> ArmSummary:
    series = pd.Series(values, dtype=float)
    if not len(series):
        return ArmSummary(0, None, None)
    if outcome.yes_no:
        return ArmSummary(len(series), float(series.mean() * PER_CENT), None)
    return ArmSummary(
        len(series), float(series.mean()), float(series.std()) if len(series) > 1 else None
    )


def _iso(day: pd.Timestamp) -> str:
    return "" if pd.isna(day) else day.date().isoformat()
