"""What stands beside a difference, in its fixed order, with the one p-value last."""

from collections.abc import Iterator

from pmulab.counting import counted
from pmulab.findings import Effect, Estimate, Interval, Test
from pmulab.findings.held_back import all_held_back
from pmulab.plan import Plan
from pmulab.wording.amounts import (
    agree_about_zero,
    amount,
    decimals,
    level_words,
    p_number,
    signed,
    sized,
    span,
    unit_of,
    with_unit,
)
from pmulab.wording.comparisons import leading

NOT_COUNTED = (
    "How many did better with which way stays in the studio: a few clients did not agree to share "
    "their numbers, and the count would tell theirs."
)
_SMALL_P = 0.05
"""What goes with the 95 % of the intervals."""


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
        yield _standardised(effect.standardised, effect.difference.interval)
    if told := better_words(effect, plan.arms.A.label, plan.arms.B.label):
        yield told
    yield from _adjusted(effect, plan)
    if effect.missing.n:
        yield from _missing(effect)
    if effect.test is not None:
        yield p_words(effect.test)


def better_words(effect: Effect, label_a: str, label_b: str) -> str:
    """Count the clients who did better with either way.

    Parameters
    ----------
    effect : Effect
    label_a, label_b : str
        Names of the ways.

    Returns
    -------
    str
        Of those who agreed only, where some did not; of nobody, and why, where they are so few
        that the count would tell theirs. '' where nothing was counted.
    """
    counts = effect.counts
    if counts is None:
        withheld = effect.adjusted is not None and all_held_back(effect)
        return NOT_COUNTED if withheld else ""
    who = "Clients"
    if counts.n < effect.difference.n:
        who = f"Of the {counted(counts.n, 'client')} who agreed to share their numbers, those"
    return (
        f"{who} who did better with {label_a}: {counts.a_better}; with {label_b}: "
        f"{counts.b_better}; the same: {counts.equal}."
    )


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


def _standardised(estimate: Estimate, counts: Interval) -> str:
    """Say the difference in standard deviations; one interval only may speak about zero."""
    if estimate.value is None:
        return f"In standard deviations: none. {estimate.note}"
    said = f"In standard deviations: {estimate.value:+.2f}"
    if estimate.interval is None:
        return f"{said}. {estimate.note}"
    interval = estimate.interval
    if not agree_about_zero(interval, counts):
        return f"{said}, without an interval: the interval of the difference itself counts."
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
            f"{sized(amount(second, places), unit_of(outcome))} "
            f"{'higher' if second > 0 else 'lower'}."
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
    """Say the one p-value, never alone and with what it could have been.

    Parameters
    ----------
    test : Test

    Returns
    -------
    str
        Where not even the clearest result could give a small p, that comes first.
    """
    if test.p is None:
        return f"No p-value: {test.note}"
    least = test.smallest_p
    if least is not None and least > _SMALL_P:
        return (
            "So few clients cannot give a small p-value: even the clearest result would come by "
            f"luck in {100 * least:.3g} of 100 such studies, so it tells nothing here "
            f"(p = {p_number(test.p)}, {test.method})."
        )
    said = f"p = {p_number(test.p)} ({test.method}"
    if least is not None:
        said += f"; the smallest that this schedule allows is {p_number(least)}"
    return said + "). It does not say how large or how likely the difference is."
