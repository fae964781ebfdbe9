"""Parts of the clients in words: each difference or refusal, and how two parts differ."""

from pmulab.counting import counted
from pmulab.findings import Estimate
from pmulab.plan import Plan
from pmulab.wording.amounts import level_words, signed, span


def part_words(label: str, answer: Estimate, plan: Plan) -> str:
    """Say the difference in one part, or why it is not given.

    Parameters
    ----------
    label : str
        What the clients of this part have in common.
    answer : Estimate
    plan : Plan

    Returns
    -------
    str
    """
    if answer.value is None or answer.interval is None:
        return f"{label}: not compared. {answer.note}"
    return (
        f"{label}, {counted(answer.n, 'client')}: {signed(answer.value, plan.primary)} with "
        f"{plan.arms.A.label} ({level_words(answer.interval.level)} interval: "
        f"{span(answer.interval, plan.primary)})."
    )


def parts_differ_words(between: Estimate, plan: Plan) -> str:
    """Say how far the difference itself differs between two parts.

    Parameters
    ----------
    between : Estimate
        First part minus second part.
    plan : Plan

    Returns
    -------
    str
    """
    if between.value is None or between.interval is None:
        return between.note
    low, high = between.interval.low, between.interval.high
    clear = "" if low > 0 or high < 0 else " The parts may well be alike."
    return (
        f"Between the first part and the second the difference itself is "
        f"{signed(between.value, plan.primary)} ({level_words(between.interval.level)} interval: "
        f"{span(between.interval, plan.primary)}).{clear}"
    )
