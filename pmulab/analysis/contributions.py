"""One study's difference with its standard error, as it enters the pooling."""

from math import sqrt

from pmulab.counting import counted
from pmulab.estimate import independent, paired
from pmulab.estimate.results import Interval
from pmulab.estimate.study_errors import (
    groups_error,
    groups_share_error,
    interval_error,
    paired_error,
    paired_share_error,
)
from pmulab.findings import Effect
from pmulab.findings.pooled import Reported, SetAside, StudyResult

PER_CENT = 100.0


def contribution(pack: Reported) -> StudyResult | SetAside:
    """Give what a study brings into the pooling, or why it brings nothing.

    Parameters
    ----------
    pack : Reported

    Returns
    -------
    StudyResult or SetAside
        The difference is that of the averages, whatever the study itself names first.
    """
    findings, effect = pack.findings, pack.findings.primary
    if pack.stopped:
        return SetAside(pack.label, "stopped early; its numbers are no comparison")
    if not findings.provenance.locked:
        return SetAside(pack.label, "its plan was never locked")
    a, b = effect.a.mean, effect.b.mean
    within = findings.plan.within_person
    error = _error(effect, within) if a is not None and b is not None else None
    if a is None or b is None or error is None:
        return SetAside(pack.label, "too few clients, or all of them alike: it has no weight")
    standardised, own_error = _standardised(effect, a - b, within)
    return StudyResult(
        label=pack.label,
        study=pack.study,
        n=effect.difference.n,
        value=a - b,
        error=error,
        interval=_interval(effect),
        standardised=standardised,
        standardised_error=own_error,
        notes=_notes(pack),
    )


def _error(effect: Effect, within: bool) -> float | None:
    if effect.outcome.yes_no:
        return _share_error(effect, within)
    if within:
        spread = effect.sd_of_differences
        n, step = effect.difference.n, effect.outcome.step
        return None if spread is None else paired_error(spread, n, step)
    a, b = effect.a, effect.b
    if a.sd is None or b.sd is None:
        return None
    return groups_error(a.sd, a.n, b.sd, b.n, effect.outcome.step)


def _share_error(effect: Effect, within: bool) -> float | None:
    """Give the error of a difference of 'yes' shares, in percentage points.

    Where the counts stay in the studio, the interval has to do; where they are of those who
    agreed, the error is theirs.
    """
    if within:
        counts, interval = effect.counts, effect.difference.interval
        if counts is None:
            return interval_error(interval) if interval else None
        error = paired_share_error(counts.a_better, counts.b_better, counts.n)
    else:
        yes_a, yes_b = (round((arm.mean or 0.0) * arm.n / PER_CENT) for arm in (effect.a, effect.b))
        error = groups_share_error(yes_a, effect.a.n, yes_b, effect.b.n)
    return PER_CENT * error if error else None


def _interval(effect: Effect) -> Interval | None:
    """Give the study's own interval of the difference of averages."""
    for name in ("t", "welch_t"):
        if name in effect.other_forms:
            return effect.other_forms[name].interval
    return effect.difference.interval


def _standardised(
    effect: Effect, difference: float, within: bool
) -> tuple[float | None, float | None]:
    own, a, b = effect.standardised, effect.a, effect.b
    if own is None or own.value is None or a.sd is None or b.sd is None:
        return None, None
    variances = (a.sd**2, b.sd**2)
    average = sum(variances) / 2
    if average == 0 or min(a.n, b.n) < 2:
        return None, None
    raw = difference / sqrt(average)
    if within:
        spread = effect.sd_of_differences or 0.0
        error = paired.standardised_error(raw, variances, spread**2, a.n)
    else:
        error = independent.standardised_error(raw, variances, (a.n, b.n))
    return (own.value, error) if error > 0 else (None, None)


def _notes(pack: Reported) -> tuple[str, ...]:
    provenance, effect = pack.findings.provenance, pack.findings.primary
    notes = []
    if provenance.changes:
        notes.append("its plan was edited after locking; the locked one was analysed")
    if provenance.looks or provenance.tampering:
        notes.append("looked at early, or changed outside pmulab")
    if effect.missing.n:
        notes.append(f"{counted(effect.missing.n, 'client')} without a result")
    if pack.rows_withheld:
        notes.append(
            "its clients' own values stay in the studio, since a few did not agree to share "
            "theirs; its averages are of everybody and cannot be checked by them"
        )
    elif pack.left_out:
        notes.append(f"{counted(pack.left_out, 'client')} did not agree to share their numbers")
    if effect.typical_leads:
        notes.append("a few clients lie far off; its average leans on them")
    return tuple(notes)
