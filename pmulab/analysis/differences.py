"""The difference that is named first, by design and kind of outcome."""

from dataclasses import replace

from pmulab.estimate import independent, paired, proportions
from pmulab.estimate.independent.difference import FEWEST_A_GROUP, too_few
from pmulab.estimate.results import Estimate, Interval
from pmulab.estimate.shift import FEWEST_PAIRS
from pmulab.estimate.shift import too_few as too_few_pairs
from pmulab.plan import Outcome

PER_CENT = 100.0


def scaled(estimate: Estimate, factor: float, unit: str) -> Estimate:
    """Give an estimate in another unit.

    Parameters
    ----------
    estimate : Estimate
    factor : float
        Positive.
    unit : str

    Returns
    -------
    Estimate
    """
    interval = estimate.interval
    wider = interval and Interval(
        interval.low * factor, interval.high * factor, interval.level, interval.method
    )
    value = None if estimate.value is None else estimate.value * factor
    return replace(estimate, value=value, interval=wider, unit=unit)


def pair_difference(
    a: list[float], b: list[float], outcome: Outcome, level: float, *, typical: bool | None = None
) -> Estimate:
    """Give the difference A minus B between the two eyelids of each client.

    Parameters
    ----------
    a, b : list of float
        The same clients in the same order.
    outcome : Outcome
    level : float
        Level of the interval, in (0, 1).
    typical : bool, optional
        True for the typical difference, False for the mean; by default the mean, or the
        typical one where a few clients lie so far off on one side that the mean leans on them.

    Returns
    -------
    Estimate
        In the outcome's unit; yes/no in percentage points. Where so few clients give a mean no
        interval, a yes/no difference gets none either.
    """
    if outcome.yes_no:
        risk = proportions.paired_risk_difference(*discordant(a, b), len(a), level)
        if len(a) < FEWEST_PAIRS:
            risk = replace(risk, interval=None, note=too_few_pairs(len(a)))
        return scaled(risk, PER_CENT, "percentage points")
    choices = {
        None: paired.leading_difference,
        True: paired.typical_difference,
        False: paired.mean_difference,
    }
    return replace(choices[typical](a, b, step=outcome.step, level=level), unit=outcome.unit)


def group_difference(
    a: list[float], b: list[float], outcome: Outcome, level: float, *, typical: bool | None = None
) -> Estimate:
    """Give the difference A minus B between clients who had one way each.

    Parameters
    ----------
    a, b : list of float
        Clients of arm A and of arm B.
    outcome, level, typical
        As in `pair_difference`.

    Returns
    -------
    Estimate
    """
    if outcome.yes_no:
        risk = proportions.risk_difference(round(sum(a)), len(a), round(sum(b)), len(b), level)
        if min(len(a), len(b)) < FEWEST_A_GROUP:
            risk = replace(risk, interval=None, note=too_few(len(a), len(b)))
        return scaled(risk, PER_CENT, "percentage points")
    choices = {
        None: independent.leading_difference,
        True: independent.typical_shift,
        False: independent.mean_difference,
    }
    return replace(choices[typical](a, b, step=outcome.step, level=level), unit=outcome.unit)


def discordant(a: list[float], b: list[float]) -> tuple[int, int]:
    """Count the clients with 'yes' under arm A only, and under arm B only.

    Parameters
    ----------
    a, b : list of float
        1 for yes, 0 for no.

    Returns
    -------
    tuple of int
    """
    pairs = list(zip(a, b, strict=True))
    return sum(one > other for one, other in pairs), sum(one < other for one, other in pairs)
