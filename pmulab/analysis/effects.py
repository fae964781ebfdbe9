"""One outcome compared between the arms, by the estimators that fit design and kind of outcome."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from pmulab.analysis.values import Case
from pmulab.analysis.verdicts import read_interval
from pmulab.estimate import (
    independent,
    missing,
    order,
    paired,
    permutation,
    proportions,
    randomisation,
)
from pmulab.estimate.precision import clients_for_half_width
from pmulab.estimate.results import Estimate, Interval, Test
from pmulab.findings import Adjusted, ArmSummary, Counts, Missing
from pmulab.plan import Outcome

PER_CENT = 100.0


@dataclass(frozen=True, slots=True)
class Beside:
    """What stands beside the difference of a numeric outcome.

    Parameters are those of `pmulab.findings.Effect`.
    """

    typical: Estimate | None = None
    standardised: Estimate | None = None
    chance_a_higher: Estimate | None = None
    correlation: float | None = None
    sd_of_differences: float | None = None
    other_forms: Mapping[str, Estimate] = field(default_factory=dict)
    other_tests: Mapping[str, Test] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Comparison:
    """What the estimators gave for one outcome; the verdict is still to come.

    Parameters are those of `pmulab.findings.Effect`.
    """

    a: ArmSummary
    b: ArmSummary
    difference: Estimate
    missing: Missing
    test: Test
    beside: Beside
    counts: Counts | None = None
    adjusted: Adjusted | None = None


def compare_within(
    cases: Sequence[Case], outcome: Outcome, reasons: tuple[str, ...], level: float
) -> Comparison:
    """Compare the two eyelids of each client.

    Parameters
    ----------
    cases : sequence of Case
    outcome : Outcome
    reasons : sequence of str
        Why clients have no result.
    level : float
        Level of the intervals, in (0, 1).

    Returns
    -------
    Comparison
    """
    pairs = [case for case in cases if case.complete]
    a = [case.values.a or 0.0 for case in pairs]
    b = [case.values.b or 0.0 for case in pairs]
    differences = [one - other for one, other in zip(a, b, strict=True)]
    absent = len(cases) - len(pairs)
    if outcome.yes_no:
        test = proportions.mcnemar_test(*_discordant(a, b), len(a))
        beside = Beside(other_tests={"mcnemar": test})
    else:
        beside = _beside_pairs(a, b, outcome, level, _t_bounds(a, b, absent, outcome))
    return Comparison(
        a=_summary(a, outcome),
        b=_summary(b, outcome),
        difference=_difference(a, b, outcome, level),
        missing=_missing_pairs(a, b, Missing(absent, reasons), outcome, level),
        test=_schedule_test(pairs, differences),
        beside=beside,
        counts=_counts(a, b, outcome),
        adjusted=_adjusted(pairs, differences, outcome, level),
    )


def compare_between(
    cases: Sequence[Case], outcome: Outcome, reasons: tuple[str, ...], level: float
) -> Comparison:
    """Compare clients who had arm A with clients who had arm B.

    Parameters
    ----------
    cases : sequence of Case
    outcome : Outcome
    reasons : sequence of str
        Why clients have no result.
    level : float
        Level of the intervals, in (0, 1).

    Returns
    -------
    Comparison
    """
    seen = [case for case in cases if case.complete]
    a = [case.values.a for case in seen if case.values.a is not None]
    b = [case.values.b for case in seen if case.values.b is not None]
    return Comparison(
        a=_summary(a, outcome),
        b=_summary(b, outcome),
        difference=_group_difference(a, b, outcome, level),
        missing=_missing_clients(cases, outcome, reasons, level),
        test=_group_schedule_test(seen),
        beside=Beside() if outcome.yes_no else _beside_groups(a, b, outcome, level),
    )


def clients_needed(comparison: Comparison, outcome: Outcome) -> int | None:
    """Give the clients for whom the interval would be no wider than what matters.

    Parameters
    ----------
    comparison : Comparison
    outcome : Outcome

    Returns
    -------
    int or None
        None when the spread is not known or there is none, or when as many were seen already.
    """
    seen = comparison.difference.n
    within = comparison.beside.sd_of_differences
    if within:
        needed = clients_for_half_width(outcome.worthwhile, within)
        return needed if needed > seen else None
    if comparison.adjusted is None and comparison.a.sd and comparison.b.sd:
        pooled = ((comparison.a.sd**2 + comparison.b.sd**2) / 2) ** 0.5
        needed = 2 * clients_for_half_width(outcome.worthwhile, pooled, "parallel")
        return needed if needed > seen else None
    return None


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


def _difference(a: list[float], b: list[float], outcome: Outcome, level: float) -> Estimate:
    if outcome.yes_no:
        risk = proportions.paired_risk_difference(*_discordant(a, b), len(a), level)
        return scaled(risk, PER_CENT, "percentage points")
    found = paired.mean_difference(a, b, step=outcome.step, level=level)
    return replace(found, unit=outcome.unit)


def _group_difference(a: list[float], b: list[float], outcome: Outcome, level: float) -> Estimate:
    if outcome.yes_no:
        risk = proportions.risk_difference(round(sum(a)), len(a), round(sum(b)), len(b), level)
        return scaled(risk, PER_CENT, "percentage points")
    found = independent.mean_difference(a, b, step=outcome.step, level=level)
    return replace(found, unit=outcome.unit)


def _discordant(a: list[float], b: list[float]) -> tuple[int, int]:
    """Count the clients with 'yes' under arm A only, and under arm B only."""
    pairs = list(zip(a, b, strict=True))
    return sum(one > other for one, other in pairs), sum(one < other for one, other in pairs)


def _beside_pairs(
    a: list[float],
    b: list[float],
    outcome: Outcome,
    level: float,
    bounds: Mapping[str, Estimate],
) -> Beside:
    unit, step = outcome.unit, outcome.step
    t_form = replace(paired.t_mean_difference(a, b, level=level), unit=unit)
    d_z = paired.standardised_by_sd_of_differences(a, b)
    differences = [one - other for one, other in zip(a, b, strict=True)]
    return Beside(
        typical=replace(paired.typical_difference(a, b, step=step, level=level), unit=unit),
        standardised=paired.standardised_difference(a, b, level=level),
        chance_a_higher=paired.probability_a_higher(a, b, level=level),
        correlation=paired.correlation(a, b).value,
        sd_of_differences=paired.sd_of_differences(a, b).value,
        other_forms={"t": t_form, "by_sd_of_differences": d_z, **bounds},
        other_tests={
            "t": paired.t_test(a, b),
            "sign_flip": permutation.sign_flip_test(differences),
            "signed_rank": permutation.signed_rank_test(differences),
        },
    )


def _beside_groups(a: list[float], b: list[float], outcome: Outcome, level: float) -> Beside:
    unit, step = outcome.unit, outcome.step
    welch = replace(independent.welch_mean_difference(a, b, level=level), unit=unit)
    return Beside(
        typical=replace(independent.typical_shift(a, b, step=step, level=level), unit=unit),
        standardised=independent.standardised_difference(a, b, level=level),
        chance_a_higher=independent.probability_a_higher(a, b, level=level),
        other_forms={"welch_t": welch},
        other_tests={
            "welch_t": independent.welch_test(a, b),
            "label": permutation.label_test(a, b),
        },
    )


def _summary(values: list[float], outcome: Outcome) -> ArmSummary:
    n = len(values)
    if not n:
        return ArmSummary(0, None, None)
    mean = sum(values) / n
    if outcome.yes_no:
        return ArmSummary(n, PER_CENT * mean, None)
    squares = sum((value - mean) ** 2 for value in values)
    return ArmSummary(n, mean, (squares / (n - 1)) ** 0.5 if n > 1 else None)


def _counts(a: list[float], b: list[float], outcome: Outcome) -> Counts:
    found = paired.counts(a, b)
    if outcome.better == "higher":
        return Counts(found.higher, found.equal, found.lower)
    return Counts(found.lower, found.equal, found.higher)


def _adjusted(
    pairs: list[Case], differences: list[float], outcome: Outcome, level: float
) -> Adjusted:
    factor = PER_CENT if outcome.yes_no else 1.0
    unit = "percentage points" if outcome.yes_no else outcome.unit
    first = [bool(case.values.a_first) for case in pairs]
    left = [bool(case.values.a_left) for case in pairs]
    found = order.adjusted_difference(differences, first, left, level)
    return Adjusted(
        scaled(found.effect, factor, unit),
        scaled(found.order, factor, unit),
        scaled(found.side, factor, unit),
    )


def _schedule_test(pairs: list[Case], differences: list[float]) -> Test:
    left = [bool(case.values.a_left) for case in pairs]
    strata = [(case.block, case.values.a_first == case.values.a_left) for case in pairs]
    return randomisation.schedule_test(
        differences, left, strata, [case.block_size // 2 for case in pairs]
    )


def _group_schedule_test(seen: list[Case]) -> Test:
    values = [case.values.a if case.arm == "A" else case.values.b for case in seen]
    return randomisation.group_schedule_test(
        [value or 0.0 for value in values],
        [case.arm == "A" for case in seen],
        [case.block for case in seen],
        [case.block_size for case in seen],
    )


def _missing_pairs(
    a: list[float], b: list[float], absent: Missing, outcome: Outcome, level: float
) -> Missing:
    """Put the largest believable difference, either way, in place of every missing pair."""
    if not absent.n:
        return absent
    limit = 1.0 if outcome.yes_no else _believable(a, b, outcome)
    low, high = (
        _difference(
            a + [max(0.0, fill)] * absent.n, b + [max(0.0, -fill)] * absent.n, outcome, level
        )
        for fill in (-limit, limit)
    )
    return replace(absent, limit=PER_CENT if outcome.yes_no else limit, low=low, high=high)


def _believable(a: list[float], b: list[float], outcome: Outcome) -> float:
    """Give the plan's limit, or the largest difference seen where that is larger."""
    return max([outcome.limit, *(abs(one - other) for one, other in zip(a, b, strict=True))])


def _t_bounds(a: list[float], b: list[float], n: int, outcome: Outcome) -> dict[str, Estimate]:
    """Give the same bounds by Student's t, kept by name."""
    if not n:
        return {}
    differences = [one - other for one, other in zip(a, b, strict=True)]
    limit = _believable(a, b, outcome)
    bounds = missing.best_and_worst_case(
        differences, n, -limit, limit, lambda d: paired.t_mean_difference(d, 0 * d)
    )
    low, high = (replace(one, unit=outcome.unit) for one in (bounds.all_low, bounds.all_high))
    return {"t_missing_low": low, "t_missing_high": high}


def _missing_clients(
    cases: Sequence[Case], outcome: Outcome, reasons: tuple[str, ...], level: float
) -> Missing:
    """Put the most extreme values seen (or yes and no) in place of every missing client."""
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
        _group_difference(
            [_or(case.values.a, for_a) for case in cases if case.arm == "A"],
            [_or(case.values.b, for_b) for case in cases if case.arm == "B"],
            outcome,
            level,
        )
        for for_a, for_b in ((least, most), (most, least))
    )
    return replace(absent, limit=PER_CENT if outcome.yes_no else most - least, low=low, high=high)


def _or(value: float | None, other: float) -> float:
    return other if value is None else value


def flips(comparison: Comparison, outcome: Outcome) -> bool:
    """Tell whether the clients without a result could change the case.

    Parameters
    ----------
    comparison : Comparison
    outcome : Outcome

    Returns
    -------
    bool
    """
    interval = comparison.difference.interval
    ends = [comparison.missing.low, comparison.missing.high]
    if interval is None or not comparison.missing.n:
        return False
    case = read_interval(interval, outcome.worthwhile)
    return any(
        end is not None
        and end.interval is not None
        and read_interval(end.interval, outcome.worthwhile) != case
        for end in ends
    )
