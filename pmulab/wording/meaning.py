"""What a finding means and what it does not mean, told with its own numbers and names."""

from collections.abc import Callable

from pmulab.counting import counted
from pmulab.findings import Effect, Interval
from pmulab.plan import Plan
from pmulab.wording.amounts import capital, span, with_unit
from pmulab.wording.certainties import UNSURE
from pmulab.wording.comparisons import leading


def means(effect: Effect, plan: Plan) -> str:
    """Say what a finding means.

    Parameters
    ----------
    effect : Effect
    plan : Plan

    Returns
    -------
    str
        One or two sentences for the case of its verdict.
    """
    words = _AFTER_HARM[0] if _praises(effect) else _MEANS[effect.verdict.case](effect, plan)
    if effect.role == "primary":
        return words
    return f"{words} As an extra look it can only suggest the next question."


def does_not_mean(effect: Effect, plan: Plan) -> str:
    """Say what a finding does not mean, however much it looks like it.

    Parameters
    ----------
    effect : Effect
    plan : Plan

    Returns
    -------
    str
        One or two sentences for the case of its verdict.
    """
    words = _AFTER_HARM[1] if _praises(effect) else _DOES_NOT[effect.verdict.case](effect, plan)
    if effect.role == "primary":
        return words
    return f"{words} It was not the main measure, so it decides nothing, however clear it looks."


def _praises(effect: Effect) -> bool:
    """Tell whether the usual words would name a better way, though harm decides."""
    return effect.verdict.harm_first and effect.verdict.case in ("G1", "G2", "G5")


def _worthwhile(effect: Effect, plan: Plan) -> str:
    likely = "If it holds" if effect.verdict.certainty in UNSURE else "With clients like these"
    return (
        f"{likely}, expect {_favoured(effect, plan)} to do better by more than "
        f"the {_matters(effect)} that matter, on average."
    )


def _open_size(effect: Effect, plan: Plan) -> str:
    probably = "" if effect.verdict.certainty in UNSURE else "probably "
    ahead = f"{capital(_favoured(effect, plan))} was {probably}ahead, on average."
    interval = _interval(effect, plan)
    if interval is None:
        return ahead
    return (
        f"{ahead} How far is open: anything {_anywhere(interval, effect)} would fit what was seen."
    )


def _too_small(effect: Effect, plan: Plan) -> str:
    a, b = plan.arms.A.label, plan.arms.B.label
    return (
        f"If {a} and {b} differ at all on average, it is likely by less than the "
        f"{_matters(effect)} that would matter here."
    )


def _unclear(effect: Effect, plan: Plan) -> str:
    interval = _interval(effect, plan)
    if interval is None:
        return "The data fit a difference that matters and none as well."
    return (
        f"A true difference anywhere {_anywhere(interval, effect)} would fit what was seen: none "
        "at all, and one that matters as well."
    )


def _small(effect: Effect, plan: Plan) -> str:
    return (
        f"{capital(_favoured(effect, plan))} is likely a little ahead on average, by less than "
        f"the {_matters(effect)} that would matter."
    )


def _few(effect: Effect, plan: Plan) -> str:  # noqa: ARG001
    return (
        f"{counted(effect.difference.n, 'client')}: too few to tell a difference from luck. The "
        "numbers describe them and nobody else."
    )


def _disagree(effect: Effect, plan: Plan) -> str:  # noqa: ARG001
    return (
        "Two fair ways of looking at the same data do not agree. The answer depends on "
        f"{effect.verdict.depends_on}."
    )


def _not_everybody(effect: Effect, plan: Plan) -> str:
    counts = effect.counts
    gained = ""
    if counts is not None and effect.verdict.favours:
        better = counts.a_better if effect.verdict.favours == "A" else counts.b_better
        seen, favoured = counted(counts.n, "client"), _favoured(effect, plan)
        gained = f" Here {better} of {seen} did better with {favoured}."
        if counts.n < effect.difference.n:
            gained = (
                f" Of the {seen} who agreed to share their numbers, {better} did better with "
                f"{favoured}."
            )
    return (
        "It does not mean that every client gains, nor that another studio would see the same."
        f"{gained}"
    )


def _not_worth_it(effect: Effect, plan: Plan) -> str:
    return (
        f"It does not mean that changing to {_favoured(effect, plan)} pays: the true difference "
        f"may be no more than {_matters(effect)}."
    )


def _interval(effect: Effect, plan: Plan) -> Interval | None:
    return leading(effect, plan).interval


def _anywhere(interval: Interval, effect: Effect) -> str:
    said = span(interval, effect.outcome)
    return said if said.startswith("from") else f"from {said}"


def _favoured(effect: Effect, plan: Plan) -> str:
    favours = effect.verdict.favours
    return plan.arms.label(favours) if favours else "one way"


def _matters(effect: Effect) -> str:
    return with_unit(effect.outcome.worthwhile, effect.outcome)


def _always(words: str) -> Callable[[Effect, Plan], str]:
    """Say what needs no number and no name."""
    return lambda _effect, _plan: words


_AFTER_HARM = (
    "The numbers tell how far the two ways differed in this measure, and nothing else.",
    "It does not mean that either way is the one to use: harm weighs more than any difference.",
)
_MEANS: dict[str, Callable[[Effect, Plan], str]] = {
    "G1": _worthwhile,
    "G2": _open_size,
    "G3": _too_small,
    "G4": _unclear,
    "G5": _small,
    "G6": _few,
    "G7": _always("The study ended for a reason that matters more than the comparison."),
    "G8": _disagree,
}
_DOES_NOT: dict[str, Callable[[Effect, Plan], str]] = {
    "G1": _not_everybody,
    "G2": _not_worth_it,
    "G3": _always("It does not mean that the two ways are the same for every client."),
    "G4": _always(
        "It does not mean that there is no difference. Not having found one is not the same as "
        "there being none."
    ),
    "G5": _always("It does not mean that it is worth a change."),
    "G6": _always("It is no comparison, however large the difference looks."),
    "G7": _always(
        "The difference seen so far is not a finding. A study that stops at a bad moment shows "
        "that moment."
    ),
    "G8": _always("It does not mean that you may choose the answer that you like better."),
}
"""For each case: what it means, and what it does not mean."""
