"""All that an analysis found, in its order: departures, harm, agreement, then the outcomes."""

from collections.abc import Iterator

from pmulab.findings import Findings
from pmulab.wording.certainties import certainty
from pmulab.wording.comparisons import finding
from pmulab.wording.safety import harm_lines
from pmulab.wording.scoring import scoring_lines
from pmulab.wording.studies import departures, plan_state


def found_lines(findings: Findings) -> Iterator[str]:
    """Say what was found, harm before any effect.

    Parameters
    ----------
    findings : Findings

    Yields
    ------
    str
    """
    plan = findings.plan
    if plan.study.invented:
        yield "Invented data for demonstration."
    yield from plan_state(findings)
    yield from departures(findings)
    yield from harm_lines(findings)
    if findings.scoring is not None:
        yield from scoring_lines(findings.scoring, plan)
    yield f"Main outcome. {finding(findings.primary, plan)}"
    yield certainty(findings.primary)
    for effect in findings.secondary:
        yield f"Exploratory. {finding(effect, plan)}"
