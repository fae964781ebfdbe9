"""What the blind scoring rounds say of one outcome, for its verdict."""

from dataclasses import dataclass

from pmulab.findings import Scoring
from pmulab.plan import Outcome


@dataclass(frozen=True, slots=True)
class Scored:
    """What the blind scoring rounds say of one outcome.

    Parameters
    ----------
    told_apart : bool
        True when an assessor could tell the ways apart.
    poor : bool
        True when looks or assessors did not agree well on it.
    """

    told_apart: bool = False
    poor: bool = False


NOTHING_SCORED = Scored()


def scored(outcome: Outcome, scoring: Scoring | None) -> Scored:
    """Say what the blind scoring rounds say of an outcome.

    Parameters
    ----------
    outcome : Outcome
    scoring : Scoring or None

    Returns
    -------
    Scored
    """
    if scoring is None or outcome.table != "healed" or outcome.judged != "blind":
        return NOTHING_SCORED
    return Scored(scoring.told_apart, bool(scoring.poor(outcome.name)))
