"""How well two looks, and several assessors, agree on each measure of the rounds."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Literal

import numpy as np

from pmulab.estimate.agreement import intraclass_correlations, kappa, percent_agreement
from pmulab.estimate.measurement_error import smallest_detectable_change
from pmulab.estimate.results import Estimate
from pmulab.findings.scoring import Agreement, Reading
from pmulab.scoring.questions import Question
from pmulab.scoring.rows import Judgement

ENOUGH = 0.6
"""Kappa or intraclass correlation under which anchors are to be mended before anything is read.

Advice of the trade's scoring (comparable anchored scales reached 0.76 between and 0.85 within
assessors after training); no law of nature.
"""
FEWEST = 5
_ALIKE = 0.9
_Kind = Literal["within", "between"]
_Pairs = list[tuple[str, str]]


def agreements(found: Sequence[Judgement], asked: Sequence[Question]) -> tuple[Agreement, ...]:
    """Compute agreement within and between assessors.

    Parameters
    ----------
    found : sequence of Judgement
        Of one round or several; two rounds are never compared with each other.
    asked : sequence of Question

    Returns
    -------
    tuple of Agreement
        For each question first within, then between; only where something was judged twice.
    """
    return tuple(one for question in asked for one in _of_question(found, question))


def _of_question(found: Sequence[Judgement], question: Question) -> Iterator[Agreement]:
    answered = [one for one in found if question.name in one.answers]
    twice = _two_looks(answered, question)
    if twice:
        yield _agreement(question, "within", twice, _kappa(question, twice), twice)
    together = _first_looks(answered, question)
    if together:
        yield _between(question, together)


def _two_looks(found: Sequence[Judgement], question: Question) -> list[tuple[str, ...]]:
    """Give the two answers of each assessor to each photo that came twice."""
    looks: dict[object, dict[int, str]] = defaultdict(dict)
    for one in found:
        looks[one.eyelid, one.assessor][one.look] = one.answers[question.name]
    return [(both[1], both[2]) for both in looks.values() if len(both) == 2]


def _first_looks(found: Sequence[Judgement], question: Question) -> dict[object, dict[str, str]]:
    """Give the first answers to each eyelid that more than one assessor judged."""
    eyelids: dict[object, dict[str, str]] = defaultdict(dict)
    for one in found:
        if one.look == 1:
            eyelids[one.eyelid][one.assessor] = one.answers[question.name]
    return {eyelid: answers for eyelid, answers in eyelids.items() if len(answers) > 1}


def _between(question: Question, together: dict[object, dict[str, str]]) -> Agreement:
    assessors = sorted({assessor for answers in together.values() for assessor in answers})
    by_pair = []
    for one, other in combinations(assessors, 2):
        both = [
            (answers[one], answers[other])
            for answers in together.values()
            if one in answers and other in answers
        ]
        if both:
            by_pair.append(both)
    everybody = [
        tuple(answers[assessor] for assessor in assessors)
        for answers in together.values()
        if len(answers) == len(assessors)
    ]
    all_pairs = [pair for pairs in by_pair for pair in pairs]
    return _agreement(question, "between", all_pairs, _mean_kappa(question, by_pair), everybody)


def _agreement(
    question: Question,
    kind: _Kind,
    pairs: Sequence[tuple[str, ...]],
    agreed: Estimate,
    complete: Sequence[tuple[str, ...]],
) -> Agreement:
    first, second = _places(question, pairs)
    exact = percent_agreement(first, second)
    near = percent_agreement(first, second, within=1) if question.ordered else None
    numbers = [_places(question, [row])[0] + _rest(question, row) for row in complete]
    graded, counted = question.kind != "choice", question.kind == "segments"
    icc = _icc(numbers) if graded else None
    change = smallest_detectable_change(numbers) if graded and numbers else None
    return Agreement(
        question.name,
        question.title,
        kind,
        exact,
        near,
        agreed,
        icc,
        change,
        _reading(exact, icc if counted and icc and icc.value is not None else agreed),
    )


def _rest(question: Question, row: tuple[str, ...]) -> list[float]:
    return [float(question.values.index(value)) for value in row[1:]]


def _places(
    question: Question, pairs: Sequence[tuple[str, ...]]
) -> tuple[list[float], list[float]]:
    """Give the places of both answers on the scale."""
    place = {value: float(position) for position, value in enumerate(question.values)}
    return [place[pair[0]] for pair in pairs], [place[pair[1]] for pair in pairs]


def _kappa(question: Question, pairs: Sequence[tuple[str, ...]]) -> Estimate:
    return kappa(
        [pair[0] for pair in pairs],
        [pair[1] for pair in pairs],
        question.values,
        weights="quadratic" if question.ordered else "none",
    )


def _mean_kappa(question: Question, by_pair: Sequence[_Pairs]) -> Estimate:
    """Give kappa of two assessors, or its mean over all pairs of them.

    References
    ----------
    .. [1] R. J. Light (1971), Psychological Bulletin 76:365-377 (from memory).
    """
    each = [_kappa(question, pairs) for pairs in by_pair]
    if len(each) == 1:
        return each[0]
    values = [one.value for one in each if one.value is not None]
    photos = max((one.n for one in each), default=0)
    method = f"{each[0].method}, mean over {len(each)} pairs of assessors"
    if len(values) < len(each):
        return Estimate(None, photos, method, note="Kappa does not exist for every pair.")
    note = f"Pairs lie between {min(values):.2f} and {max(values):.2f}; a mean has no interval."
    return Estimate(float(np.mean(values)), photos, method, note=note)


def _icc(numbers: Sequence[Sequence[float]]) -> Estimate:
    if len(numbers) < 3:
        note = "Fewer than three photos were judged by everybody."
        return Estimate(None, len(numbers), "ICC(A,1)", note=note)
    return intraclass_correlations(numbers).absolute


def _reading(exact: Estimate, agreed: Estimate) -> Reading:
    """Say whether agreement is enough, poor, or cannot be told from so few or so equal answers."""
    if exact.n < FEWEST or exact.value is None:
        return "open"
    if agreed.value is not None and agreed.value >= ENOUGH:
        return "good"
    return "open" if exact.value >= _ALIKE else "poor"
