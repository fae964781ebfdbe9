"""Several studies in words: what they say together, how studios differ, who is silent."""

from collections.abc import Iterator

from pmulab.counting import counted
from pmulab.estimate.results import Interval, Pooled
from pmulab.findings.pooled import PooledFindings, Question, StudyResult
from pmulab.wording.amounts import (
    SAME,
    agree_about_zero,
    capital,
    level_words,
    signed,
    span,
    unit_of,
    with_unit,
)
from pmulab.wording.certainties import did_better, favours, how_sure
from pmulab.wording.comparisons import HARM_FIRST

NEXT_HELD = "93 to 98"
"""Measured, tests/bench/measured_pooling.md."""
FEWEST_OLDER = 4
_NAMED = 12


def registered_words(found: PooledFindings) -> str:
    """Say how many of the announced studies are in.

    Parameters
    ----------
    found : PooledFindings

    Returns
    -------
    str
    """
    if not found.register:
        return "No group register was given: nobody can tell how many studies are silent."
    asked = [entry for entry in found.register if not entry.other_question]
    reported = sum(entry.state in ("finished", "stopped") for entry in asked)
    silent = f"; {found.silent} never reported" if found.silent else ""
    others = len(found.register) - len(asked)
    if not others:
        return f"{reported} of {len(asked)} registered studies are in{silent}."
    told = f"{reported} of {len(asked)} registered studies of this question are in{silent}."
    return f"{told} {counted(others, 'registered study')} asked something else."


def study_words(study: StudyResult, question: Question) -> str:
    """Say one study's difference with its interval.

    Parameters
    ----------
    study : StudyResult
    question : Question

    Returns
    -------
    str
    """
    return f"{study.label}: {_amount(study.value, study.interval, question)}"


def pooled_finding(found: PooledFindings) -> str:
    """Say what the studies say together, in as many words as their number allows.

    Parameters
    ----------
    found : PooledFindings

    Returns
    -------
    str
    """
    question, studies = found.question, found.studies
    title = capital(question.outcome.title)
    if not studies:
        return f"{title}: none of the packs can be used; each is listed with its reason."
    if found.together is None:
        each = "; ".join(study_words(study, question) for study in studies)
        if len(studies) == 1:
            return f"{title}: this is one study, so nothing is pooled. {each}."
        return f"{title}: two studies, so no common number is given. {each}."
    first = f"{HARM_FIRST} " if found.safety.harm_first else ""
    size = signed(found.together.value, question.outcome)
    joined = "as" if size == SAME else "than"
    a, b = question.labels
    return (
        f"{first}{title}: {size} with {a} {joined} with {b}, on average over "
        f"{len(studies)} studies with {counted(found.clients, 'client')} "
        f"({_interval(found.together.interval, question)}). {_reading(found)}"
    )


def _reading(found: PooledFindings) -> str:
    question = found.question
    matters = with_unit(question.outcome.worthwhile, question.outcome)
    favoured = {"A": question.labels[0], "B": question.labels[1], "": ""}[found.favours]
    sure = None if found.safety.harm_first else found.certainty
    sentences = {
        "G1": f"{favours(favoured, sure)} Even the cautious end of the average is more "
        f"than the {matters} that was said to matter.",
        "G2": f"{did_better(favoured, sure)}; how much is open: the interval of the "
        f"average reaches from too small to matter to the {matters} that would, or beyond.",
        "G3": f"Any average difference is likely smaller than the {matters} that would matter"
        f"{'' if found.safety.harm_first else ': choose by cost or comfort'}.",
        "G4": "We cannot tell.",
        "G5": f"A small average difference, less than the {matters} that would matter.",
    }
    return sentences.get(found.case or "", "")


def pooled_certainty(found: PooledFindings) -> str:
    """Say how sure, and why no surer.

    Parameters
    ----------
    found : PooledFindings

    Returns
    -------
    str
    """
    return how_sure(found.certainty, found.reasons)


def spread_lines(found: PooledFindings) -> Iterator[str]:
    """Say how much studios differ, or that so few cannot tell.

    Parameters
    ----------
    found : PooledFindings

    Yields
    ------
    str
    """
    together, question = found.together, found.question
    k = len(found.studies)
    if together is None:
        yield "How much studios truly differ cannot be told from so few studies."
        yield "Nor can it be told whether the next studio would see the same."
        return
    if k < 5:
        yield f"How much studios truly differ cannot be told from {k} studies."
    elif together.tau2 == 0:
        yield (
            "The studies differ no more than chance gives; that does not show that studios are "
            "alike."
        )
    else:
        twice = with_unit(float(f"{2 * together.tau:.2g}"), question.outcome)
        yield f"True differences seem to vary between studios by about ± {twice}."
    if found.show_prediction and together.prediction is not None:
        yield from _prediction(together.prediction, question, few=k < 5)
    elif k >= 3:
        yield "For the next studio no range can be given from three studies."
    yield (
        "Look for the reason in how the studies were made (needle, time of judging, who judged); "
        "a reason found afterwards is a guess, not a finding."
    )


def _prediction(interval: Interval, question: Question, *, few: bool) -> Iterator[str]:
    warned = " With four studies this range is hardly more than a warning." if few else ""
    turned = ""
    if interval.low < 0 < interval.high:
        turned = " It could even be the other way round."
    yield (
        "In the next studio the difference may lie "
        f"{_between(interval, question)} (95 % prediction interval).{turned}{warned}"
    )


def check_lines(found: PooledFindings) -> Iterator[str]:
    """Say what was tried on the pooled value.

    Parameters
    ----------
    found : PooledFindings

    Yields
    ------
    str
    """
    question = found.question
    for one in found.without[:_NAMED]:
        yield f"Without {one.label}: {_amount(one.value, one.interval, question)}."
    if len(found.without) > _NAMED:
        yield f"And {len(found.without) - _NAMED} more, in the file of the findings."
    if found.if_silent is not None:
        many = "the silent study" if found.silent == 1 else f"the {found.silent} silent studies"
        amount = _amount(found.if_silent.value, found.if_silent.interval, question)
        yield f"If {many} had seen no difference at all: {amount}."
    yield _one_stage(found)
    yield from _standardised(found)


def _standardised(found: PooledFindings) -> Iterator[str]:
    together, standardised = found.together, found.standardised
    if together is None or standardised is None:
        return
    said = f"In standard deviations: {_plain(standardised)}."
    if not agree_about_zero(standardised.interval, together.interval):
        said = (
            f"In standard deviations: {standardised.value:+.2f}, without an interval: the interval "
            "of the average counts."
        )
    yield said


def _one_stage(found: PooledFindings) -> str:
    estimate = found.one_stage
    if estimate.value is None:
        return f"All clients in one model: not done. {estimate.note}"
    amount = _amount(estimate.value, estimate.interval, found.question)
    return f"All {counted(estimate.n, 'client')} in one model: {amount}."


def footnote_lines(found: PooledFindings) -> Iterator[str]:
    """Give the numbers that statisticians ask for.

    Parameters
    ----------
    found : PooledFindings

    Yields
    ------
    str
    """
    together, other = found.together, found.other_spread
    yield from _own_intervals(found)
    if found.common is not None:
        amount = _amount(found.common.value, found.common.interval, found.question)
        yield f"If both measure the same thing: {amount}. Two studies cannot show whether they do."
    if together is None:
        return
    unit = unit_of(found.question.outcome)
    imprecise = ", imprecise with so few studies" if together.k < 10 else ""
    yield (
        f"Scatter of true differences between studios: {together.tau:.2f} {unit} (tau, "
        f"{together.spread}). Of what the studies differ, not chance: {100 * together.i2:.0f} % "
        f"(I²; Q {together.q:.2f} on {together.k - 1} degrees of freedom{imprecise}). The interval "
        f"of the average allows for that scatter ({together.interval.method})."
    )
    if found.show_prediction:
        yield (
            "In invented groups of 4 to 12 studies the range for the next studio held it in "
            f"{NEXT_HELD} of 100 groups."
        )
    if other is not None:
        yield (
            f"Scatter worked out another way: {other.tau:.2f} {unit}; the average is then "
            f"{_plain(other)} ({other.spread}).{_older(other)}"
        )


def _own_intervals(found: PooledFindings) -> Iterator[str]:
    """Say why a study's interval here need not be the one on its handout."""
    question = found.question
    if not found.studies or question.outcome.yes_no:
        return
    whose = "Student's" if question.design == "within-person" else "Welch's"
    yield (
        f"Each study's interval is {whose} t interval, worked out from its summary numbers; it may "
        "differ a little from the one on the study's own handout."
    )


def _older(other: Pooled) -> str:
    """Give the usual formula's range beside it, for whoever compares with another program."""
    if other.prediction is None or other.k < FEWEST_OLDER:
        return ""
    low, high = other.prediction.low, other.prediction.high
    return f" Next studio by the older formula with t(k - 2): {low:+.2f} to {high:+.2f}."


def _plain(pooled: Pooled) -> str:
    interval = pooled.interval
    return (
        f"{pooled.value:+.2f} ({level_words(interval.level)} interval {interval.low:+.2f} to "
        f"{interval.high:+.2f})"
    )


def _amount(value: float, interval: Interval | None, question: Question) -> str:
    size = signed(value, question.outcome)
    said = size if size == SAME else f"{size} with {question.labels[0]}"
    return f"{said} ({_interval(interval, question)})" if interval else f"{said}, no interval"


def _interval(interval: Interval, question: Question) -> str:
    return f"{level_words(interval.level)} interval: {span(interval, question.outcome)}"


def _between(interval: Interval, question: Question) -> str:
    said = span(interval, question.outcome)
    return said if said.startswith("from") else f"from {said}"
