"""Which case a comparison is, and how sure one may be: decided on unrounded numbers."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from pmulab.analysis.scored import NOTHING_SCORED, Scored
from pmulab.counting import counted, were
from pmulab.estimate.results import Estimate, Interval
from pmulab.findings import FEWEST_CLIENTS, Adjusted, Case, Certainty, Flow, Missing, Verdict
from pmulab.plan import Outcome, Plan, read_at

MOST_MISSING = 0.30
_OFF_ZERO = ("G1", "G2", "G5")
_WORDS: tuple[Certainty, ...] = ("fairly sure", "somewhat sure", "not sure", "very unsure")


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a verdict on one outcome rests on.

    Parameters
    ----------
    difference : Estimate
        The plain difference A minus B.
    adjusted : Adjusted or None
    missing : Missing
    fewest : int
        Clients compared: pairs, or the clients of the smaller arm.
    unblinded : int, default=0
        Eyelids of a blind outcome that were judged by someone who knew.
    scored : Scored
        What the blind scoring rounds say of this outcome.
    """

    difference: Estimate
    adjusted: Adjusted | None
    missing: Missing
    fewest: int
    unblinded: int = 0
    scored: Scored = NOTHING_SCORED

    @property
    def share_missing(self) -> float:
        """Share of clients without a usable result, 0 to 1."""
        everybody = self.difference.n + self.missing.n
        return self.missing.n / everybody if everybody else 1.0


@dataclass(frozen=True, slots=True)
class Ruling:
    """The case, and what it depends on (G8)."""

    case: Case
    depends_on: str = ""


@dataclass(frozen=True, slots=True)
class Ending:
    """How the comparison came about.

    Parameters
    ----------
    stopped : str
        Why the study ended early, or ''.
    level : float
        Level that an interval needs to be read at all: higher at an early look.
    plan_holds : bool
        True when the plan was locked and not edited since.
    departures : sequence of str
        What did not go as planned, each kind as a reason to be less sure.
    """

    stopped: str = ""
    level: float = 0.95
    plan_holds: bool = True
    departures: tuple[str, ...] = ()


def read_interval(interval: Interval, worthwhile: float) -> Case:
    """Read an interval against the smallest worthwhile difference.

    Parameters
    ----------
    interval : Interval
        Of the difference A minus B.
    worthwhile : float
        Positive, in the same unit. A limit that equals it, or 0, counts as crossing it.

    Returns
    -------
    {'G1', 'G2', 'G3', 'G4', 'G5'}
        Wholly beyond it; off zero, size open; wholly within, zero too; open; wholly within,
        off zero.
    """
    low, high = interval.low, interval.high
    if low > worthwhile or high < -worthwhile:
        return "G1"
    off_zero = low > 0 or high < 0
    within = -worthwhile < low and high < worthwhile
    if within:
        return "G5" if off_zero else "G3"
    return "G2" if off_zero else "G4"


def decide(plan: Plan, outcome: Outcome, evidence: Evidence, ending: Ending) -> Ruling:
    """Decide the case of a comparison by its precedence.

    Parameters
    ----------
    plan : Plan
    outcome : Outcome
    evidence : Evidence
    ending : Ending

    Returns
    -------
    Ruling
    """
    interval = evidence.difference.interval
    if ending.stopped:
        return Ruling("G7")
    too_few = evidence.fewest < FEWEST_CLIENTS or evidence.share_missing > MOST_MISSING
    if too_few or interval is None or interval.level < ending.level - 1e-9:
        return Ruling("G6")
    case, agreed = _both_ways(plan, outcome, interval, evidence.adjusted)
    depends = []
    if not agreed:
        depends.append("whether working order and side are taken into account")
    if evidence.missing.flips:
        depends.append(_absent(evidence.missing.n))
    if depends:
        return Ruling("G8", " and on ".join(depends))
    return Ruling(case)


def _both_ways(
    plan: Plan, outcome: Outcome, plain: Interval, adjusted: Adjusted | None
) -> tuple[Case, bool]:
    """Read the plain and the adjusted interval; tell the case and whether they agree.

    Where both lie off zero on the same side and only the size is in doubt, they agree on the
    more cautious case: a difference of open size. Where they part only by what nobody could tell,
    they agree on what both say with such a limit taken as lying on the edge.
    """
    case = read_interval(plain, outcome.worthwhile)
    other = adjusted.difference.interval if plan.within_person and adjusted else None
    if other is None:
        return case, True
    second = read_interval(other, outcome.worthwhile)
    if case == second:
        return case, case not in _OFF_ZERO or _same_side(plain, other)
    if _same_side(plain, other) and "G2" in (case, second):
        return "G2", True
    rounded = {read_interval(_at(one, outcome), outcome.worthwhile) for one in (plain, other)}
    if len(rounded) == 1 and rounded.isdisjoint(_OFF_ZERO):
        return rounded.pop(), True
    return case, False


def _at(interval: Interval, outcome: Outcome) -> Interval:
    low, high = (read_at(limit, outcome) for limit in (interval.low, interval.high))
    return replace(interval, low=low, high=high)


def _same_side(one: Interval, other: Interval) -> bool:
    return (one.low > 0 and other.low > 0) or (one.high < 0 and other.high < 0)


def _absent(clients: int) -> str:
    whom = "one client" if clients == 1 else counted(clients, "client")
    return f"the {whom} without a result"


def certainty(
    outcome: Outcome, evidence: Evidence, flow: Flow, ending: Ending
) -> tuple[Certainty, tuple[str, ...]]:
    """Say how sure one may be, beginning at 'fairly sure' and stepping down.

    Parameters
    ----------
    outcome : Outcome
    evidence : Evidence
    flow : Flow
    ending : Ending

    Returns
    -------
    tuple of (word, reasons)
        The last reasons, poor agreement and one operator, are noted without a step.
    """
    reasons = list(_doubts(outcome, evidence, flow, ending))
    noted = ["those who scored it did not agree well"] if evidence.scored.poor else []
    last = "one operator, so for this studio only"
    return stepped_down(len(reasons)), (*reasons, *noted, last)


def stepped_down(doubts: int) -> Certainty:
    """Give the word that is left after so many doubts, beginning at 'fairly sure'."""
    return _WORDS[min(doubts, len(_WORDS) - 1)]


def favoured(difference: Estimate, outcome: Outcome) -> Literal["A", "B", ""]:
    """Name the arm that the interval favours.

    Parameters
    ----------
    difference : Estimate
    outcome : Outcome

    Returns
    -------
    {'A', 'B', ''}
        '' when the interval reaches zero or there is none.
    """
    interval = difference.interval
    if interval is None or interval.low <= 0 <= interval.high:
        return ""
    a_lower = interval.high < 0
    return "A" if a_lower == (outcome.better == "lower") else "B"


def verdict(
    ruling: Ruling,
    difference: Estimate,
    outcome: Outcome,
    sure: tuple[Certainty, tuple[str, ...]],
) -> Verdict:
    """Put case and certainty together.

    Parameters
    ----------
    ruling : Ruling
    difference : Estimate
    outcome : Outcome
    sure : tuple
        From `certainty`.

    Returns
    -------
    Verdict
    """
    word, reasons = sure
    favours: Literal["A", "B", ""] = (
        favoured(difference, outcome) if ruling.case in _OFF_ZERO else ""
    )
    return Verdict(ruling.case, favours, word, reasons, ruling.depends_on)


def _doubts(outcome: Outcome, evidence: Evidence, flow: Flow, ending: Ending) -> Iterator[str]:
    yield from _judging(outcome, evidence)
    yield from _size(outcome, evidence)
    if evidence.missing.flips or evidence.share_missing > 0.15:
        yield "clients without a result could change the answer"
    if not ending.plan_holds:
        yield "the plan was not locked, or was edited afterwards"
    yield from ending.departures
    if flow.before_card:
        yield "clients were worked on before their card was opened"
    if flow.allocated and flow.wrong_arm / flow.allocated > 0.10:
        yield f"{counted(flow.wrong_arm, 'client')} {were(flow.wrong_arm)} not worked as drawn"


def _judging(outcome: Outcome, evidence: Evidence) -> Iterator[str]:
    if outcome.judged == "open":
        yield "judged by someone who knew which way was which"
    elif evidence.unblinded:
        eyelids = f"{counted(evidence.unblinded, 'eyelid')} {were(evidence.unblinded)}"
        yield f"{eyelids} judged by someone who knew, against the plan"
    elif evidence.scored.told_apart:
        yield "whoever scored it could tell which way was which"


def _size(outcome: Outcome, evidence: Evidence) -> Iterator[str]:
    interval = evidence.difference.interval
    if evidence.fewest < 10:
        yield _few(evidence)
    elif interval is not None and _crosses(interval, outcome.worthwhile):
        yield "the interval reaches across the smallest worthwhile difference"


def _few(evidence: Evidence) -> str:
    only = f"only {counted(evidence.fewest, 'client')}"
    if evidence.adjusted is None:
        return f"{only} with one of the two ways"
    if evidence.adjusted.difference.interval is None:
        return f"{only}, too few to take working order into account"
    return only


def _crosses(interval: Interval, worthwhile: float) -> bool:
    return any(interval.low <= edge <= interval.high for edge in (-worthwhile, worthwhile))
