"""The blind scoring in words: agreement before anything else, then whether the blinding held."""

from collections.abc import Iterator, Sequence

from pmulab.counting import counted
from pmulab.estimate.results import Estimate
from pmulab.findings import Agreement, Guesses, Scoring
from pmulab.plan import Plan

_KINDS = {"within": "two looks of one assessor", "between": "different assessors"}


def scoring_lines(scoring: Scoring, plan: Plan | None = None) -> Iterator[str]:
    """Say how the blind scoring went.

    Parameters
    ----------
    scoring : Scoring
    plan : Plan, optional
        When given, only the outcomes of the plan are told, and which arm's eyelid kept more side
        by side.

    Yields
    ------
    str
        Poor agreement first.
    """
    yield from poor_lines(scoring, plan)
    yield scoring_summary(scoring)
    for one in _told(scoring.agreements, plan):
        yield agreement_line(one)
    for each in scoring.guesses:
        yield _guesses(each)
    counts = scoring.kept_more
    if plan is not None and counts is not None:
        yield (
            f"Side by side (exploratory), more was kept with {plan.arms.A.label} in "
            f"{counted(counts.a_better, 'client')}, with {plan.arms.B.label} in "
            f"{counts.b_better}, no difference in {counts.equal}."
        )


def poor_lines(scoring: Scoring, plan: Plan | None = None) -> Iterator[str]:
    """Say on which measures agreement was poor, and what else takes weight from the scores.

    Parameters
    ----------
    scoring : Scoring
    plan : Plan, optional
        When given, only the outcomes of the plan are told.

    Yields
    ------
    str
    """
    poor = _told(scoring.poor(), plan)
    for title in dict.fromkeys(one.title for one in poor):
        kinds = [_KINDS[one.kind] for one in poor if one.title == title]
        yield (
            f"Poor agreement on {title.lower()} ({' and '.join(kinds)}): mend its anchors and "
            "score again before anything is read from it."
        )
    knew = [one.assessor for one in scoring.guesses if one.knew]
    if knew:
        yield (
            f"The blinding did not hold: {' and '.join(knew)} guessed the way right more often "
            "than luck explains. Such scores do not count as blind."
        )
    if scoring.late:
        yield "Some scores came in after the arms had been compared."


def _told(agreements: Sequence[Agreement], plan: Plan | None) -> list[Agreement]:
    names = {outcome.name for outcome in plan.outcomes} if plan is not None else None
    return [one for one in agreements if names is None or one.name in names]


def scoring_summary(scoring: Scoring) -> str:
    """Say in one sentence who scored what.

    Parameters
    ----------
    scoring : Scoring

    Returns
    -------
    str
    """
    many = counted(scoring.rounds, "round") if scoring.rounds > 1 else "one round"
    who = ", ".join(scoring.assessors)
    own = (
        f" {', '.join(scoring.operators)} did the work too: self-scored, blinded by coding."
        if scoring.operators
        else ""
    )
    return (
        f"Scored blind in {many}: {counted(scoring.photos, 'photo')} of "
        f"{counted(scoring.clients, 'client')}, coded and "
        f"mixed, {scoring.repeats} of them shown twice; assessors {who}.{own}"
    )


def agreement_line(one: Agreement) -> str:
    """Say how well the answers on one measure agree, with what was worked out."""
    told = f"same answer in {_share(one.exact)} of {counted(one.exact.n, 'pair of answers')}"
    if one.near is not None:
        told += f", within one step in {_share(one.near)}"
    if one.kappa.value is None:
        told += ". How much of that is luck cannot be told: too few answers, or all alike"
    else:
        told += f". Beyond luck (0 luck, 1 always): {_number(one.kappa)}"
    if one.icc is not None and one.icc.value is not None:
        told += f". Eyelids told apart (0 not at all, 1 fully): {_number(one.icc)}"
    if one.change is not None and one.change.value is not None:
        told += f". Smallest change that can be seen in one eyelid: {one.change.value:.1f}"
    if one.reading == "open" and one.kappa.value is not None:
        told += ". Too few or too equal answers to tell agreement from luck"
    return f"{one.title}, {_KINDS[one.kind]}: {told}."


def _share(share: Estimate) -> str:
    return "none" if share.value is None else f"{100 * share.value:.0f} %"


def _number(estimate: Estimate) -> str:
    """Give a number with its interval, and the name that statisticians know it by."""
    interval = estimate.interval
    span = f"interval {interval.low:.2f} to {interval.high:.2f}; " if interval else ""
    return f"{estimate.value:.2f} ({span}{estimate.method})"


def _guesses(one: Guesses) -> str:
    told = (
        "more often right than luck explains" if one.knew else "no more right than luck may explain"
    )
    return (
        f"{one.assessor}, by clients: the way guessed right {one.right}, wrong {one.wrong}, no "
        f"idea {one.no_idea}; {told}."
    )
