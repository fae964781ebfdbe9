"""The analysis: (plan, opened cards, checked records) in, findings out; touches no file."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from pmulab.allocation import Assignment
from pmulab.analysis.effects import (
    Comparison,
    compare_between,
    compare_within,
)
from pmulab.analysis.flow import flow, missing_reasons
from pmulab.analysis.gaps import flips
from pmulab.analysis.looking import Looking, allowing_for_looks, level_of
from pmulab.analysis.needed import with_needed
from pmulab.analysis.running import missing_values, running_view, unfinished
from pmulab.analysis.safety import safety, with_earlier
from pmulab.analysis.scored import scored
from pmulab.analysis.values import Case, cases, judging, without_withdrawn
from pmulab.analysis.verdicts import Ending, Evidence, certainty, decide, verdict
from pmulab.findings import Earlier, Effect, Findings, Flow, Judging, Provenance, Scoring, Verdict
from pmulab.plan import Outcome, Plan
from pmulab.tables import Records

__all__ = ["Circumstances", "Looking", "analyse", "cases", "running_view", "unfinished"]


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What the analysis has to know beside plan, cards and records.

    Parameters
    ----------
    provenance : Provenance
    looking : Looking
        The looks at the arms that the plan allows, this one last.
    scoring : Scoring, optional
        The blind scoring rounds.
    earlier : Earlier
        Harm that was recorded before this reading of the records.
    """

    provenance: Provenance
    looking: Looking = field(default_factory=Looking)
    scoring: Scoring | None = None
    earlier: Earlier = field(default_factory=Earlier)

    def ending(self, level: float) -> Ending:
        """Give what a verdict has to know of them."""
        told = self.provenance
        return Ending(
            stopped=told.stopped,
            level=level,
            plan_holds=bool(told.locked) and not told.changes,
            departures=tuple(_departures(told)),
        )


def analyse(
    plan: Plan,
    assignments: Sequence[Assignment],
    records: Records,
    circumstances: Circumstances,
) -> Findings:
    """Run the plan.

    Parameters
    ----------
    plan : Plan
        As locked.
    assignments : sequence of Assignment
        Opened cards, in the order of enrolment.
    records : Records
        Checked, with nothing in them that blocks the analysis.
    circumstances : Circumstances

    Returns
    -------
    Findings
    """
    used = without_withdrawn(records)
    primary = cases(plan, assignments, records, plan.primary)
    counted = flow(plan, assignments, records, primary)
    harm = with_earlier(safety(assignments, records), circumstances.earlier)
    looking = circumstances.looking
    level = level_of(plan, looking, sum(case.complete for case in primary))
    ending = circumstances.ending(level)

    def effect(outcome: Outcome) -> Effect:
        found = cases(plan, assignments, records, outcome)
        compared = _compared(plan, outcome, found, used, level)
        if outcome is plan.primary:
            compared = allowing_for_looks(compared, found, plan, looking)
        judged = judging(plan, used, outcome)
        evidence = _evidence(outcome, compared, judged, circumstances.scoring)
        told = replace(
            _told(plan, outcome, compared, evidence, ending, counted), harm_first=harm.harm_first
        )
        whole = _effect(outcome, compared, found, told, main=outcome is plan.primary)
        return with_needed(replace(whole, judging=judged), plan)

    effects = [effect(outcome) for outcome in plan.outcomes]
    return Findings(
        plan=plan,
        flow=counted,
        safety=harm,
        primary=effects[0],
        secondary=tuple(effects[1:]),
        provenance=circumstances.provenance,
        missing_values=missing_values(used),
        scoring=circumstances.scoring,
    )


def _departures(told: Provenance) -> Iterator[str]:
    """Say which kinds of departure from the plan there were, and no others."""
    if told.early:
        yield "the arms were seen before the end"
    if len(told.looks) > len(told.early):
        yield "files were corrected, or records changed after an analysis"
    if told.tampering:
        yield "files were changed outside pmulab"
    if told.vanished:
        yield "harm that was recorded earlier is missing from the records"


def _compared(
    plan: Plan, outcome: Outcome, found: Sequence[Case], records: Records, level: float
) -> Comparison:
    compare = compare_within if plan.within_person else compare_between
    reasons = missing_reasons(plan, found, records, outcome)
    comparison = compare(found, outcome, reasons, level)
    absent = replace(
        comparison.missing, flips=flips(comparison.difference, comparison.missing, outcome)
    )
    return replace(comparison, missing=absent)


def _evidence(
    outcome: Outcome, comparison: Comparison, judged: Judging, scoring: Scoring | None
) -> Evidence:
    planned_blind = outcome.table == "healed" and outcome.judged == "blind"
    return Evidence(
        comparison.difference,
        comparison.adjusted,
        comparison.missing,
        fewest=min(comparison.a.n, comparison.b.n),
        unblinded=judged.knew if planned_blind else 0,
        scored=scored(outcome, scoring),
    )


def _told(
    plan: Plan,
    outcome: Outcome,
    comparison: Comparison,
    evidence: Evidence,
    ending: Ending,
    counted: Flow,
) -> Verdict:
    ruling = decide(plan, outcome, evidence, ending)
    sure = certainty(outcome, evidence, counted, ending)
    return verdict(ruling, comparison.difference, outcome, sure)


def _effect(
    outcome: Outcome, comparison: Comparison, found: Sequence[Case], told: Verdict, *, main: bool
) -> Effect:
    beside = comparison.beside
    return Effect(
        outcome=outcome,
        role="primary" if main else "exploratory",
        clients=tuple(case.values for case in found),
        a=comparison.a,
        b=comparison.b,
        difference=comparison.difference,
        missing=comparison.missing,
        verdict=told,
        typical=beside.typical,
        standardised=beside.standardised,
        chance_a_higher=beside.chance_a_higher,
        counts=comparison.counts,
        adjusted=comparison.adjusted,
        correlation=beside.correlation,
        sd_of_differences=beside.sd_of_differences,
        test=comparison.test if main else None,
        other_forms=beside.other_forms,
        other_tests=beside.other_tests,
    )
