"""From rows of consecutive clients to charts: pure, and without any claim of a cause."""

from dataclasses import replace

import pandas as pd

from pmulab.estimate.bernoulli_cusum import (
    baseline_rate,
    bernoulli_cusum,
    clients_until_found,
    raised_rate,
)
from pmulab.estimate.control_charts import (
    SETTLED,
    individuals_chart,
    p_chart,
    shewhart_run_length,
)
from pmulab.estimate.cusum import (
    ALLOWANCE,
    DECISION,
    baseline_cusum,
    cusum_run_length,
)
from pmulab.estimate.false_alarms import (
    bernoulli_false_alarms,
    cusum_false_alarms,
    individuals_false_alarms,
    p_chart_false_alarms,
)
from pmulab.estimate.proportions import zero_events_upper_limit
from pmulab.estimate.run_chart import run_chart, run_false_alarms
from pmulab.plan import Outcome
from pmulab.practice.changes import before_after, moments_of
from pmulab.practice.model import FEWEST_BASELINE, Line, Moment, Shares, Tuned, Watched
from pmulab.questions import usual_outcome

MEASURED = ("work_min", "segments_kept")
YES_NO = ("touchup_needed",)


def watch(rows: pd.DataFrame) -> Watched:
    """Chart consecutive clients.

    Parameters
    ----------
    rows : DataFrame
        Columns of the table 'practice', typed, in the order of the clients.

    Returns
    -------
    Watched
        Limits come from the clients before the first dated change, or from the first twenty
        without one, and are held for the rest. Below twelve there are none.

    References
    ----------
    .. [1] D. C. Montgomery, Introduction to Statistical Quality Control: limits from 20 to 25
       values.
    .. [2] L. P. Provost, S. K. Murray (2011), The Health Care Data Guide: trial limits from
       about twelve values (from memory).
    """
    moments = moments_of(rows)
    known = rows["adverse_event"].dropna()
    harmed = int(known.sum())
    quiet = zero_events_upper_limit(len(known)).interval if not harmed else None
    days = rows["session_date"].dropna()
    return Watched(
        clients=len(rows),
        first=_day(days.min()),
        last=_day(days.max()),
        moments=moments,
        harmed=harmed,
        asked=len(known),
        upper_limit=quiet.high if quiet else None,
        lines=tuple(_line(rows, usual_outcome(name), moments) for name in MEASURED),
        shares=tuple(_shares(rows, usual_outcome(name), moments) for name in YES_NO),
        limits_run_length=shewhart_run_length(0),
        cusum_run_length=cusum_run_length(0, k=ALLOWANCE, h=DECISION),
        invented=bool(rows["invented"].fillna(False).any()),
        lids_mixed=len(set(rows["lid"].dropna())) > 1,
    )


def _line(rows: pd.DataFrame, outcome: Outcome, moments: tuple[Moment, ...]) -> Line:
    known = rows.dropna(subset=[outcome.name])
    clients = known["client_no"].astype(int).tolist()
    values = known[outcome.name].astype(float).tolist()
    baseline = _baseline(clients, moments)
    run = run_chart(values)
    limits = individuals_chart(values, baseline) if baseline >= FEWEST_BASELINE else None
    drawn = limits is not None and limits.centre is not None
    watched = drawn and baseline < len(values)
    return Line(
        outcome=outcome,
        clients=tuple(clients),
        values=tuple(values),
        not_known=len(rows) - len(known),
        baseline=baseline,
        run=run,
        run_alarms=None if run.signal is None else run_false_alarms(run.n),
        limits=limits,
        limits_alarms=individuals_false_alarms(len(values), baseline) if drawn else None,
        cusum=baseline_cusum(values, baseline) if watched else None,
        cusum_alarms=cusum_false_alarms(len(values), baseline) if watched else None,
        changes=before_after(known, outcome, moments),
    )


def _shares(rows: pd.DataFrame, outcome: Outcome, moments: tuple[Moment, ...]) -> Shares:
    known = rows.dropna(subset=[outcome.name, "session_date"])
    clients = known["client_no"].astype(int).tolist()
    months = known["session_date"].dt.strftime("%Y-%m").tolist()
    answers = known[outcome.name].astype(bool).tolist()
    periods: dict[tuple[int, str], list[tuple[int, bool]]] = {}
    for client, month, answer in zip(clients, months, answers, strict=True):
        phase = sum(client >= one.client for one in moments)
        periods.setdefault((phase, month), []).append((client, answer))
    yes = tuple(sum(answer for _, answer in one) for one in periods.values())
    seen = tuple(len(one) for one in periods.values())
    before = sum(phase == 0 for phase, _ in periods)
    baseline = before if moments else _periods_of(seen, _baseline(clients, moments))
    enough = sum(seen[:baseline]) >= FEWEST_BASELINE
    limits = p_chart(yes, seen, baseline) if enough else None
    charted = Shares(
        outcome=outcome,
        months=tuple(month for _, month in periods),
        first_clients=tuple(one[0][0] for one in periods.values()),
        yes=yes,
        seen=seen,
        not_known=len(rows) - len(known),
        baseline=baseline,
        limits=limits,
        limits_alarms=p_chart_false_alarms(limits, seen) if limits else None,
        changes=before_after(known, outcome, moments),
    )
    return _with_sum(charted, clients, answers) if enough else charted


def _with_sum(shares: Shares, clients: list[int], answers: list[bool]) -> Shares:
    """Add the running sum of the answers that came after the baseline."""
    first, yes = shares.first, sum(shares.yes[: shares.baseline])
    if first == len(answers):
        return shares
    rate = baseline_rate(yes, first)
    return replace(
        shares,
        sum_clients=tuple(clients[first:]),
        cusum=bernoulli_cusum(answers[first:], rate),
        cusum_alarms=bernoulli_false_alarms(len(answers), first, rate),
        tuned=Tuned(rate, raised_rate(rate), clients_until_found(rate)),
    )


def _baseline(clients: list[int], moments: tuple[Moment, ...]) -> int:
    """Count the values that limits are taken from."""
    if moments:
        return sum(client < moments[0].client for client in clients)
    return min(len(clients), SETTLED)


def _periods_of(seen: tuple[int, ...], clients: int) -> int:
    """Count the periods that hold the first so many clients, the last one whole."""
    total, periods = 0, 0
    while periods < len(seen) and total < clients:
        total, periods = total + seen[periods], periods + 1
    return periods


def _day(day: pd.Timestamp) -> str:
    return "" if pd.isna(day) else day.date().isoformat()
