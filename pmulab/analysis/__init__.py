"""The analysis: (plan, opened cards, checked records) in, findings out; touches no file."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pmulab.allocation import Assignment
from pmulab.analysis.effects import (
    clients_needed,
    compare_between,
    compare_within,
    flips,
)
from pmulab.analysis.flow import flow, missing_reasons
from pmulab.analysis.running import missing_values, running_view, unfinished
from pmulab.analysis.safety import safety
from pmulab.analysis.scored import scored
from pmulab.analysis.values import Case, cases, unblinded, without_withdrawn
from pmulab.analysis.verdicts import Ending, Evidence, certainty, decide, verdict
from pmulab.findings import Effect, Findings, Flow, Provenance, Scoring
from pmulab.plan import Outcome, Plan
from pmulab.tables import Records

__all__ = ["LOOK_LEVEL", "Circumstances", "analyse", "cases", "running_view", "unfinished"]

LOOK_LEVEL = 0.999
"""Level of the intervals at a planned early look: it leaves the final 95 % untouched."""


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What the analysis has to know beside plan, cards and records.

    Parameters
    ----------
    provenance : Provenance
    level : float, default=0.95
        Level of the intervals; `LOOK_LEVEL` at a planned early look.
    scoring : Scoring, optional
        The blind scoring rounds.
    """

    provenance: Provenance
    level: float = 0.95
    scoring: Scoring | None = None

    def ending(self) -> Ending:
        """Give what a verdict has to know of them."""
        told = self.provenance
        return Ending(
            stopped=told.stopped,
            level=self.level,
            plan_holds=bool(told.locked) and not told.changes,
            departures=len(told.looks) + len(told.tampering),
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
    effects = [
        _effect(
            plan, outcome, cases(plan, assignments, records, outcome), used, counted, circumstances
        )
        for outcome in plan.outcomes
    ]
    return Findings(
        plan=plan,
        flow=counted,
        safety=safety(assignments, records),
        primary=effects[0],
        secondary=tuple(effects[1:]),
        provenance=circumstances.provenance,
        missing_values=missing_values(used),
        scoring=circumstances.scoring,
    )


def _effect(
    plan: Plan,
    outcome: Outcome,
    found: Sequence[Case],
    records: Records,
    counted: Flow,
    circumstances: Circumstances,
) -> Effect:
    compare = compare_within if plan.within_person else compare_between
    reasons = missing_reasons(plan, found, records, outcome)
    comparison = compare(found, outcome, reasons, circumstances.level)
    absent = replace(comparison.missing, flips=flips(comparison, outcome))
    evidence = Evidence(
        comparison.difference,
        comparison.adjusted,
        absent,
        fewest=min(comparison.a.n, comparison.b.n),
        unblinded=unblinded(plan, records, outcome),
        scored=scored(outcome, circumstances.scoring),
    )
    ending = circumstances.ending()
    ruling = decide(plan, outcome, evidence, ending, clients_needed(comparison, outcome))
    sure = certainty(outcome, evidence, counted, ending)
    main, beside = outcome is plan.primary, comparison.beside
    return Effect(
        outcome=outcome,
        role="primary" if main else "exploratory",
        clients=tuple(case.values for case in found),
        a=comparison.a,
        b=comparison.b,
        difference=comparison.difference,
        missing=absent,
        verdict=verdict(ruling, comparison.difference, outcome, sure),
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
