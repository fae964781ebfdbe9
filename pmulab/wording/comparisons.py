"""One outcome in words: its difference, how it reads, and what comes before both."""

from pmulab.counting import counted
from pmulab.findings import Effect, Estimate
from pmulab.plan import Plan
from pmulab.wording.amounts import (
    SAME,
    capital,
    level_words,
    needed_words,
    signed,
    span,
    with_unit,
)
from pmulab.wording.certainties import did_better, favours

HARM_FIRST = (
    "Harm comes first: whether a way is used at all is for a physician to decide, whatever the "
    "numbers say."
)


def leading(effect: Effect, plan: Plan) -> Estimate:
    """Give the estimate that the plan names first.

    Parameters
    ----------
    effect : Effect
    plan : Plan

    Returns
    -------
    Estimate
        The plain difference; or the one freed of working order and side, where the plan says so
        and there is one.
    """
    adjusted = effect.adjusted
    if plan.analysis.lead == "adjusted" and adjusted and adjusted.difference.interval:
        return adjusted.difference
    return effect.difference


def difference_words(effect: Effect, plan: Plan) -> str:
    """Say the difference with its interval, first thing.

    Parameters
    ----------
    effect : Effect
    plan : Plan

    Returns
    -------
    str
    """
    estimate = leading(effect, plan)
    freed = "" if estimate is effect.difference else ", freed of working order and side"
    label_a, label_b = plan.arms.A.label, plan.arms.B.label
    title = capital(effect.outcome.title)
    if estimate.value is None:
        return f"{title}: no comparison. {estimate.note}"
    size = signed(estimate.value, effect.outcome)
    joined = "as" if size == SAME else "than"
    said = (
        f"{title}: {size} with {label_a} {joined} with {label_b}, "
        f"{_over(effect, estimate)} {counted(estimate.n, 'client')}{freed}"
    )
    if estimate.interval is None:
        return f"{said}. {estimate.note}"
    level = level_words(estimate.interval.level)
    return f"{said} ({level} interval: {span(estimate.interval, effect.outcome)})."


def _over(effect: Effect, estimate: Estimate) -> str:
    return (
        "typically, over"
        if estimate is effect.difference and effect.typical_leads
        else ("on average over")
    )


def difference_parts(effect: Effect) -> tuple[str, str]:
    """Say the difference and its interval as two short phrases, for pictures.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    tuple of (str, str)
        'with A 3.2 min lower' and '95 % interval: 2.0 to 4.4 min lower'; the note for what
        does not exist. 'A measured 3.2 min lower' where it is a mere measurement.
    """
    estimate = effect.difference
    if estimate.value is None:
        return "no difference can be given", estimate.note
    begun = "A measured" if only_measured(effect) else "with A"
    size = f"{begun} {signed(estimate.value, effect.outcome)}"
    if estimate.interval is None:
        return size, estimate.note
    level = level_words(estimate.interval.level)
    return size, f"{level} interval: {span(estimate.interval, effect.outcome)}"


def difference_short(effect: Effect) -> str:
    """Say an outcome's difference and interval in one line, the arms by letter.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    str
        'Swelling: with A 0.5 grades lower (95 % interval: 0.1 to 0.9 grades lower)'.
    """
    size, reach = difference_parts(effect)
    return f"{capital(effect.outcome.title)}: {size}" + (f" ({reach})" if reach else "")


def finding(effect: Effect, plan: Plan) -> str:
    """Say what the comparison found, in the words of its case.

    Parameters
    ----------
    effect : Effect
    plan : Plan

    Returns
    -------
    str
        The difference with its interval, then its reading; before both that harm comes first,
        where it does.
    """
    first = f"{HARM_FIRST} " if effect.verdict.harm_first else ""
    return f"{first}{difference_words(effect, plan)} {_read(effect, plan)}"


def reading(effect: Effect, plan: Plan) -> str:
    """Read the difference of an outcome against the smallest worthwhile one.

    Parameters
    ----------
    effect : Effect
    plan : Plan

    Returns
    -------
    str
        As in `finding`, without the difference.
    """
    first = f"{HARM_FIRST} " if effect.verdict.harm_first else ""
    return f"{first}{_read(effect, plan)}"


def only_measured(effect: Effect) -> bool:
    """Tell whether a difference is told as a mere measurement, which speaks for neither way.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    bool
        True after harm, and where the study was stopped.
    """
    return effect.verdict.harm_first or effect.verdict.case == "G7"


def headline_words(effect: Effect) -> tuple[str, ...]:
    """Give what stands over the picture of a difference, the headline first.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    tuple of str
        After harm, or where the study was stopped, that comes first and the difference below.
    """
    size = capital(difference_parts(effect)[0])
    if effect.verdict.harm_first:
        return "Harm comes first", size
    return ("Stopped early: no comparison", size) if only_measured(effect) else (size,)


def _read(effect: Effect, plan: Plan) -> str:
    verdict, outcome = effect.verdict, effect.outcome
    matters = with_unit(outcome.worthwhile, outcome)
    favoured = plan.arms.label(verdict.favours) if verdict.favours else ""
    sure = None if verdict.harm_first else verdict.certainty
    sentences = {
        "G1": f"{favours(favoured, sure)} Even the cautious end is more than the "
        f"{matters} that we had said would matter.",
        "G2": f"{did_better(favoured, sure)}; how much is open: "
        f"{_which_interval(effect, plan)} {_reach(effect, plan, matters)}.",
        "G3": f"Any average difference is likely smaller than the {matters} that would matter"
        f"{_choose(effect)}",
        "G4": f"We cannot tell.{_needed(effect)}",
        "G5": f"A small difference, less than the {matters} that matter{_choose(effect)}",
        "G6": "Too few to compare; here is what was seen.",
        "G7": "The study was stopped early; the numbers describe what happened and should not "
        "be used to compare.",
        "G8": f"The answer depends on {verdict.depends_on}{_both_intervals(effect)}; we treat it "
        "as unclear.",
    }
    return sentences[verdict.case]


def _choose(effect: Effect) -> str:
    """Leave the choice to cost or comfort, but never where harm decides."""
    return "." if effect.verdict.harm_first else ": for this outcome choose by cost or comfort."


def _both_intervals(effect: Effect) -> str:
    """Give both intervals where taking order and side into account reads otherwise."""
    plain = effect.difference.interval
    freed = effect.adjusted.difference.interval if effect.adjusted else None
    if plain is None or freed is None or "working order" not in effect.verdict.depends_on:
        return ""
    told = (span(one, effect.outcome) for one in (plain, freed))
    return " (without: {}; with: {})".format(*told)


def _which_interval(effect: Effect, plan: Plan) -> str:
    """Name the interval that leaves the size open, where it is not the one just told."""
    interval, worthwhile = leading(effect, plan).interval, effect.outcome.worthwhile
    beyond = interval is not None and (interval.low > worthwhile or interval.high < -worthwhile)
    if not beyond:
        return "the interval"
    if plan.analysis.lead == "adjusted":
        return "the plain interval"
    return "the interval freed of working order and side"


def _reach(effect: Effect, plan: Plan, matters: str) -> str:
    """Say how far the interval of an open size reaches; at its edge it is not yet beyond it."""
    interval, worthwhile = leading(effect, plan).interval, effect.outcome.worthwhile
    if interval is not None and min(abs(interval.low), abs(interval.high)) == worthwhile:
        return f"begins at just the {matters} that would matter, and we had asked for more"
    return f"reaches from too small to matter to more than the {matters} that would"


def _needed(effect: Effect) -> str:
    """Say what a new study would take, in the words of `pmulab size`."""
    verdict = effect.verdict
    if verdict.clients_needed is None or verdict.harm_first:
        return ""
    matters = with_unit(effect.outcome.worthwhile, effect.outcome)
    return (
        f" To see a true difference of {matters} four times in five, a new study would take "
        f"{needed_words(verdict.clients_needed, verdict.clients_to_enrol)}."
    )
