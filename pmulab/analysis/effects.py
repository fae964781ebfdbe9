"""One outcome compared between the arms, by the estimators that fit design and kind of outcome."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from pmulab.analysis.differences import (
    PER_CENT,
    discordant,
    group_difference,
    pair_difference,
    scaled,
)
from pmulab.analysis.gaps import missing_clients, missing_pairs, t_bounds
from pmulab.analysis.values import Case
from pmulab.estimate import (
    independent,
    order,
    paired,
    permutation,
    proportions,
    randomisation,
)
from pmulab.estimate.results import Estimate, Test
from pmulab.findings import Adjusted, ArmSummary, Counts, Missing
from pmulab.findings.comparison import better_counts
from pmulab.plan import Outcome


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

    def leads(self, difference: Estimate) -> bool:
        """Tell whether the typical difference is the one named first."""
        return self.typical is not None and difference.method == self.typical.method

    def with_mean(self, mean: Estimate) -> "Beside":
        """Keep the mean by name where the typical difference leads."""
        return replace(self, other_forms={**self.other_forms, "mean": mean})


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
        test = proportions.mcnemar_test(*discordant(a, b), len(a))
        beside = Beside(other_tests={"mcnemar": test})
    else:
        beside = _beside_pairs(a, b, outcome, level, t_bounds(a, b, absent, outcome))
    difference = pair_difference(a, b, outcome, level)
    typical = beside.leads(difference)
    if typical:
        beside = beside.with_mean(pair_difference(a, b, outcome, level, typical=False))
    return Comparison(
        a=_summary(a, outcome),
        b=_summary(b, outcome),
        difference=difference,
        missing=missing_pairs(a, b, Missing(absent, reasons), outcome, level, typical=typical),
        test=_schedule_test(pairs, differences),
        beside=beside,
        counts=better_counts(a, b, outcome),
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
    difference = group_difference(a, b, outcome, level)
    beside = Beside() if outcome.yes_no else _beside_groups(a, b, outcome, level)
    typical = beside.leads(difference)
    if typical:
        beside = beside.with_mean(group_difference(a, b, outcome, level, typical=False))
    return Comparison(
        a=_summary(a, outcome),
        b=_summary(b, outcome),
        difference=difference,
        missing=missing_clients(cases, outcome, reasons, level, typical=typical),
        test=_group_schedule_test(seen),
        beside=beside,
    )


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
