"""What the clients without a result could change: best and worst case."""

from collections.abc import Sequence
from dataclasses import replace

from pmulab.analysis.differences import PER_CENT, group_difference, pair_difference
from pmulab.analysis.values import Case
from pmulab.analysis.verdicts import read_interval
from pmulab.estimate import missing, paired
from pmulab.estimate.results import Estimate
from pmulab.findings import Missing
from pmulab.plan import Outcome


def missing_pairs(
    a: list[float],
    b: list[float],
    absent: Missing,
    outcome: Outcome,
    level: float,
    *,
    typical: bool = False,
) -> Missing:
    """Put the largest believable difference, either way, in place of every missing pair.

    Parameters
    ----------
    a, b : list of float
        Complete pairs.
    absent : Missing
        How many pairs are missing, and why.
    outcome : Outcome
    level : float
        Level of the intervals, in (0, 1).
    typical : bool, default=False
        Whether the typical difference is bounded rather than the mean.

    Returns
    -------
    Missing
    """
    if not absent.n:
        return absent
    limit = 1.0 if outcome.yes_no else _believable(a, b, outcome)
    low, high = (
        pair_difference(
            a + [max(0.0, fill)] * absent.n,
            b + [max(0.0, -fill)] * absent.n,
            outcome,
            level,
            typical=typical,
        )
        for fill in (-limit, limit)
    )
    return replace(absent, limit=PER_CENT if outcome.yes_no else limit, low=low, high=high)


def _believable(a: list[float], b: list[float], outcome: Outcome) -> float:
    """Give the plan's limit, or the largest difference seen where that is larger."""
    return max([outcome.limit, *(abs(one - other) for one, other in zip(a, b, strict=True))])


def t_bounds(a: list[float], b: list[float], n: int, outcome: Outcome) -> dict[str, Estimate]:
    """Give the same bounds by Student's t, kept by name.

    Parameters
    ----------
    a, b : list of float
        Complete pairs.
    n : int
        Missing pairs.
    outcome : Outcome

    Returns
    -------
    dict of str to Estimate
        Empty when nobody is missing.
    """
    if not n:
        return {}
    differences = [one - other for one, other in zip(a, b, strict=True)]
    limit = _believable(a, b, outcome)
    bounds = missing.best_and_worst_case(
        differences, n, -limit, limit, lambda d: paired.t_mean_difference(d, 0 * d)
    )
    low, high = (replace(one, unit=outcome.unit) for one in (bounds.all_low, bounds.all_high))
    return {"t_missing_low": low, "t_missing_high": high}


def missing_clients(
    cases: Sequence[Case],
    outcome: Outcome,
    reasons: tuple[str, ...],
    level: float,
    *,
    typical: bool = False,
) -> Missing:
    """Put the most extreme values seen (or yes and no) in place of every missing client.

    Parameters
    ----------
    cases : sequence of Case
    outcome : Outcome
    reasons : sequence of str
        Why clients have no result.
    level : float
        Level of the intervals, in (0, 1).
    typical : bool, default=False
        As in `missing_pairs`.

    Returns
    -------
    Missing
    """
    n = sum(not case.complete for case in cases)
    if not n:
        return Missing(0)
    absent = Missing(n, reasons)
    known = [
        value for case in cases for value in (case.values.a, case.values.b) if value is not None
    ]
    if not known:
        return absent
    least, most = (0.0, 1.0) if outcome.yes_no else (min(known), max(known))
    low, high = (
        group_difference(
            [_or(case.values.a, for_a) for case in cases if case.arm == "A"],
            [_or(case.values.b, for_b) for case in cases if case.arm == "B"],
            outcome,
            level,
            typical=typical,
        )
        for for_a, for_b in ((least, most), (most, least))
    )
    return replace(absent, limit=PER_CENT if outcome.yes_no else most - least, low=low, high=high)


def _or(value: float | None, other: float) -> float:
    return other if value is None else value


def flips(difference: Estimate, absent: Missing, outcome: Outcome) -> bool:
    """Tell whether the clients without a result could change the case.

    Parameters
    ----------
    difference : Estimate
    absent : Missing
    outcome : Outcome

    Returns
    -------
    bool
    """
    interval = difference.interval
    ends = [absent.low, absent.high]
    if interval is None or not absent.n:
        return False
    case = read_interval(interval, outcome.worthwhile)
    return any(
        end is not None
        and end.interval is not None
        and read_interval(end.interval, outcome.worthwhile) != case
        for end in ends
    )
