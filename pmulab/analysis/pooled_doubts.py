"""What makes a pooled answer less sure: one reason a doubt."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pmulab.analysis.verdicts import read_interval
from pmulab.estimate.results import Pooled
from pmulab.findings.pooled import Question, Without

FEWEST_SETTLED = 5
_NAMED = 3


@dataclass(frozen=True, slots=True)
class Checks:
    """The pooled value and what was tried on it.

    Parameters
    ----------
    together : Pooled or None
    without : sequence of Without
    if_silent : Pooled or None
    silent : int
        Studies that never reported.
    """

    together: Pooled | None
    without: Sequence[Without]
    if_silent: Pooled | None
    silent: int


def doubts(question: Question, checks: Checks) -> Iterator[str]:
    """Say what makes the pooled answer less sure.

    Parameters
    ----------
    question : Question
    checks : Checks

    Yields
    ------
    str
    """
    if question.outcome.judged == "open":
        yield "judged by someone who knew which way was which"
    if checks.together is None:
        yield "too few studies to pool"
        yield "how much studios differ is unknown"
    else:
        yield from _of_the_value(question.outcome.worthwhile, checks, checks.together)
    if checks.silent:
        many = "study that never reported" if checks.silent == 1 else "studies that never reported"
        yield f"{checks.silent} {many}"


def _of_the_value(worthwhile: float, checks: Checks, together: Pooled) -> Iterator[str]:
    case = read_interval(together.interval, worthwhile)
    if together.k < FEWEST_SETTLED:
        yield "with so few studies nobody can tell how much studios differ"
    elif together.prediction and read_interval(together.prediction, worthwhile) != case:
        yield "the next studio may see something else than the average"
    changing = [
        one.label
        for one in checks.without
        if one.interval and read_interval(one.interval, worthwhile) != case
    ]
    if changing:
        few = len(changing) <= _NAMED
        named = " or without ".join(changing) if few else f"any one of {len(changing)} studies"
        yield f"the answer changes without {named}"
    if checks.if_silent and read_interval(checks.if_silent.interval, worthwhile) != case:
        yield "the answer changes if the silent studies saw no difference"
