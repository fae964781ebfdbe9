"""What an analysis found: data only, with method and version, no computing.

`findings.json` is `Findings` written down; handout, slides and pooled reports read it back.
"""

from pmulab.estimate.results import Estimate, Interval, Test
from pmulab.findings.comparison import (
    FEWEST_CLIENTS,
    Adjusted,
    ArmSummary,
    Case,
    Certainty,
    ClientValues,
    Counts,
    Effect,
    Judging,
    Missing,
    Verdict,
)
from pmulab.findings.course import Earlier, Event, EventArm, Flow, Provenance, Running, Safety
from pmulab.findings.scoring import Agreement, Guesses, Scoring
from pmulab.findings.whole import Findings, read_findings
from pmulab.plan import Change

__all__ = [
    "FEWEST_CLIENTS",
    "Adjusted",
    "Agreement",
    "ArmSummary",
    "Case",
    "Certainty",
    "Change",
    "ClientValues",
    "Counts",
    "Earlier",
    "Effect",
    "Estimate",
    "Event",
    "EventArm",
    "Findings",
    "Flow",
    "Guesses",
    "Interval",
    "Judging",
    "Missing",
    "Provenance",
    "Running",
    "Safety",
    "Scoring",
    "Test",
    "Verdict",
    "read_findings",
]
