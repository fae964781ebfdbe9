"""One outcome in words: its difference, how it reads, how sure, and what stands beside it."""

from collections.abc import Iterable, Iterator

from pmulab.findings import Effect, Estimate, Test
from pmulab.plan import Plan
from pmulab.wording.amounts import (
    SAME,
    amount,
    capital,
    decimals,
    level_words,
    p_number,
    signed,
    span,
    unit_of,
    with_unit,
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
        f"{_over(effect, estimate)} {estimate.n} clients{freed}"
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
        does not exist.
    """
    estimate = effect.difference
    if estimate.value is None:
        return "no difference can be given", estimate.note
    size = f"with A {signed(estimate.value, effect.outcome)}"
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
        The difference with its interval, then its reading against the smallest worthwhile
        difference.
    """
    return f"{difference_words(effect, plan)} {_reading(effect, plan)}"


def _reading(effect: Effect, plan: Plan) -> str:
    verdict, outcome = effect.verdict, effect.outcome
    matters = with_unit(outcome.worthwhile, outcome)
    favoured = plan.arms.label(verdict.favours) if verdict.favours else ""
    sentences = {
        "G1": f"This favours {favoured}. Even the cautious end is more than the {matters} that "
        "we had said would matter.",
        "G2": f"{capital(favoured)} probably did better, but how much is open: "
        f"{_which_interval(effect, plan)} {_reach(effect, plan, matters)}.",
        "G3": f"Any average difference is likely smaller than the {matters} that would matter: "
        "for this outcome choose by cost or comfort.",
        "G4": f"We cannot tell.{_needed(effect)}",
        "G5": f"A small difference, less than the {matters} that matter: for this outcome "
        "choose by cost or comfort.",
        "G6": "Too few to compare; here is what was seen.",
        "G7": "The study was stopped early; the numbers describe what happened and should not "
        "be used to compare.",
        "G8": f"The answer depends on {verdict.depends_on}; we treat it as unclear.",
    }
    return sentences[verdict.case]


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
    needed = effect.verdict.clients_needed
    if needed is None:
        return ""
    return f" A new study of about {needed} clients would be needed for a clear answer."


def certainty(effect: Effect) -> str:
    """Say how sure, and why no surer.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    str
    """
    verdict = effect.verdict
    if rated(effect):
        return how_sure(verdict.certainty, verdict.reasons)
    return f"How sure: there is no answer yet to be sure of ({'; '.join(verdict.reasons)})."


def rated(effect: Effect) -> bool:
    """Tell whether a finding says anything that one could be sure of.

    Parameters
    ----------
    effect : Effect

    Returns
    -------
    bool
        False where it cannot tell, has too few clients, was stopped, or depends on the view.
    """
    return effect.verdict.case in ("G1", "G2", "G3", "G5")


def how_sure(word: str, reasons: Iterable[str]) -> str:
    """Say a certainty with what lowers it."""
    because = "; ".join(reasons)
    return f"How sure: {word}" + (f" ({because})." if because else ".")


def details(effect: Effect, plan: Plan) -> Iterator[str]:
    """Say what stands beside the difference, in its fixed order.

    Parameters
    ----------
    effect : Effect
    plan : Plan

    Yields
    ------
    str
        Standardised difference, counts of clients, adjusted estimate, correlation, missing
        results, and for the primary outcome one p-value, last.
    """
    yield from _remarks(effect)
    if effect.standardised is not None and effect.difference.interval is not None:
        yield _standardised(effect.standardised)
    if effect.counts is not None:
        label_a, label_b = plan.arms.A.label, plan.arms.B.label
        counts = effect.counts
        yield (
            f"Clients who did better with {label_a}: {counts.a_better}; with {label_b}: "
            f"{counts.b_better}; the same: {counts.equal}."
        )
    yield from _adjusted(effect, plan)
    if effect.missing.n:
        yield from _missing(effect)
    if effect.test is not None:
        yield p_words(effect.test)


def _remarks(effect: Effect) -> Iterator[str]:
    """Say what the estimator noticed in the data, with the other difference beside it."""
    if effect.difference.interval is None or not effect.difference.note:
        return
    yield effect.difference.note
    name, other = "Typical difference", effect.typical
    if effect.typical_leads:
        name, other = "Average difference", effect.other_forms.get("mean")
    if other is not None and other.value is not None and other.interval is not None:
        yield (
            f"{name}: {signed(other.value, effect.outcome)} "
            f"({level_words(other.interval.level)} interval: "
            f"{span(other.interval, effect.outcome)})."
        )


def _standardised(estimate: Estimate) -> str:
    if estimate.value is None:
        return f"In standard deviations: none. {estimate.note}"
    said = f"In standard deviations: {estimate.value:+.2f}"
    if estimate.interval is None:
        return f"{said}. {estimate.note}"
    interval = estimate.interval
    level = level_words(interval.level)
    return f"{said} ({level} interval {interval.low:+.2f} to {interval.high:+.2f})."


def _adjusted(effect: Effect, plan: Plan) -> Iterator[str]:
    if effect.adjusted is None:
        return
    estimate, outcome = effect.adjusted.difference, effect.outcome
    if estimate.value is None or estimate.interval is None:
        yield f"Freed of working order and side: none. {estimate.note}"
        return
    name = "Freed of working order and side"
    if leading(effect, plan) is estimate and effect.difference.interval is not None:
        name, estimate = "Plain difference", effect.difference
    if estimate.value is None or estimate.interval is None:
        return
    yield (
        f"{name}: {signed(estimate.value, outcome)} "
        f"({level_words(estimate.interval.level)} interval: {span(estimate.interval, outcome)})."
    )
    order = effect.adjusted.order
    if order.value is not None and abs(order.value) >= outcome.worthwhile / 4:
        second = -order.value
        places, interval = decimals(outcome), effect.adjusted.order.interval
        clear = interval is not None and not interval.low <= 0 <= interval.high
        mattered = "mattered" if clear else "may have mattered"
        yield (
            f"Working order {mattered}: the second eyelid came out about "
            f"{amount(second, places)} {unit_of(outcome)} {'higher' if second > 0 else 'lower'}."
        )


def _missing(effect: Effect) -> Iterator[str]:
    missing = effect.missing
    reasons = f" ({'; '.join(missing.reasons)})" if missing.reasons else ""
    yield f"Clients without a usable result: {missing.n}{reasons}."
    if missing.low is None or missing.high is None or missing.limit is None:
        return
    bounds = [one.value for one in (missing.low, missing.high) if one.value is not None]
    if len(bounds) == 2:
        places = decimals(effect.outcome)
        unit = unit_of(effect.outcome)
        either = (
            f"Had they differed by {with_unit(missing.limit, effect.outcome)} either way"
            if effect.adjusted is not None
            else "Had they had the lowest or the highest values of all"
        )
        yield (
            f"{either}, the average difference would lie between {bounds[0]:+.{places}f} and "
            f"{bounds[1]:+.{places}f} {unit}"
            + (", and the reading would change." if missing.flips else "; it would read the same.")
        )


def p_words(test: Test) -> str:
    """Say the one p-value, never alone and with what it could have been."""
    if test.p is None:
        return f"No p-value: {test.note}"
    said = f"p = {p_number(test.p)} ({test.method}"
    if test.smallest_p is not None:
        said += f"; the smallest that this schedule allows is {p_number(test.smallest_p)}"
    return said + "). It does not say how large or how likely the difference is."
