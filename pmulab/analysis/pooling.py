"""Studies of one question put together: harm first, then the average and how studios differ."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from statistics import median

from pmulab.analysis.contributions import contribution
from pmulab.analysis.duplicates import once_each, told_apart
from pmulab.analysis.matching import one_question
from pmulab.analysis.pooled_doubts import Checks, doubts
from pmulab.analysis.verdicts import favoured, read_interval, stepped_down
from pmulab.counting import counted
from pmulab.estimate.one_stage import one_stage_difference
from pmulab.estimate.pooling import common_effect, pooled, without_each
from pmulab.estimate.prediction import next_study
from pmulab.estimate.proportions import zero_events_upper_limit
from pmulab.estimate.results import Estimate, Pooled
from pmulab.findings import Earlier, Event, Safety
from pmulab.findings.pooled import (
    Common,
    PooledFindings,
    Question,
    Registered,
    Reported,
    SetAside,
    StudyResult,
    Without,
)

FEWEST_POOLED, FEWEST_PREDICTED = 3, 4
MOST_REFITTED = 60
"""Beyond so many studies only those that move the average most are left out in turn."""


@dataclass(frozen=True, slots=True)
class _Column:
    """Differences and errors of the studies, ready for the estimators."""

    effects: tuple[float, ...]
    errors: tuple[float, ...]

    def pooled(self, fewest: int = FEWEST_POOLED) -> Pooled | None:
        return pooled(self.effects, self.errors) if len(self.effects) >= fewest else None

    def with_next(self) -> Pooled | None:
        """Pool, with the range for the next study that holds best where studies are few."""
        together = self.pooled()
        if together is None:
            return None
        return replace(together, prediction=next_study(self.effects, self.errors))

    def without(self, place: int) -> "_Column":
        return _Column(
            self.effects[:place] + self.effects[place + 1 :],
            self.errors[:place] + self.errors[place + 1 :],
        )


def pool(
    packs: Sequence[Reported],
    register: Sequence[Registered] = (),
    *,
    made: str,
    software: str,
    also_aside: Sequence[SetAside] = (),
) -> PooledFindings:
    """Put the studies of one question together.

    Parameters
    ----------
    packs : sequence of Reported
        As they came in.
    register : sequence of Registered
        What the group was told beforehand, with the state of each study.
    made : str
        Day, ISO 8601.
    software : str
    also_aside : sequence of SetAside
        What could not be read.

    Returns
    -------
    PooledFindings
        One study: no pooling. Two: no pooled number but the value if both measure the same.
        Three and more: average with the modified Hartung-Knapp interval; from four on the
        prediction interval.

    Raises
    ------
    UserError
        If there is no pack, or the packs ask different questions.
    """
    once, doubled, flags = once_each(_labelled(packs))
    register = _coded(register)
    question, same, others, more = one_question(once)
    studies, unusable = _usable(same)
    column = _Column(tuple(s.value for s in studies), tuple(s.error for s in studies))
    together = column.with_next()
    silent = sum(entry.state == "never reported" for entry in register)
    if_silent = _if_silent(column, silent)
    without = tuple(_without(studies, column, together)) if together else ()
    case = read_interval(together.interval, question.outcome.worthwhile) if together else None
    reasons = tuple(doubts(question, Checks(together, without, if_silent, silent)))
    return PooledFindings(
        question=question,
        safety=_safety(once),
        studies=_weighed(studies, together),
        together=together,
        common=_common(column),
        show_prediction=len(studies) >= FEWEST_PREDICTED,
        other_spread=_other_spread(column),
        standardised=_standardised(studies),
        one_stage=_one_stage(question, same, {study.study for study in studies}),
        without=without,
        if_silent=if_silent,
        silent=silent,
        case=case,
        favours=favoured(_estimate(together), question.outcome) if together else "",
        certainty=stepped_down(len(reasons)),
        reasons=reasons,
        set_aside=(*doubled, *others, *unusable, *also_aside),
        register=tuple(register),
        flags=(*flags, *more, *_flags(same, question, register)),
        software=software,
        made=made,
    )


def _labelled(packs: Sequence[Reported]) -> list[Reported]:
    names = told_apart([(pack.label, pack.study) for pack in packs])
    return [replace(pack, label=name) for pack, name in zip(packs, names, strict=True)]


def _coded(register: Sequence[Registered]) -> list[Registered]:
    names = told_apart([(entry.code, entry.study) for entry in register])
    return [replace(entry, code=name) for entry, name in zip(register, names, strict=True)]


def _usable(same: Sequence[Reported]) -> tuple[tuple[StudyResult, ...], list[SetAside]]:
    studies, aside = [], []
    for pack in same:
        found = contribution(pack)
        if isinstance(found, StudyResult):
            studies.append(found)
        else:
            aside.append(found)
    return tuple(studies), aside


def _weighed(studies: Sequence[StudyResult], together: Pooled | None) -> tuple[StudyResult, ...]:
    if together is None:
        return tuple(studies)
    weights = [1 / (study.error**2 + together.tau2) for study in studies]
    total = sum(weights)
    return tuple(
        replace(study, weight=weight / total)
        for study, weight in zip(studies, weights, strict=True)
    )


def _common(column: _Column) -> Common | None:
    if len(column.effects) != 2:
        return None
    return Common(*common_effect(column.effects, column.errors))


def _other_spread(column: _Column) -> Pooled | None:
    if len(column.effects) < FEWEST_POOLED:
        return None
    return pooled(column.effects, column.errors, spread="Paule-Mandel")


def _standardised(studies: Sequence[StudyResult]) -> Pooled | None:
    pairs = [
        (study.standardised, study.standardised_error)
        for study in studies
        if study.standardised is not None and study.standardised_error
    ]
    if len(pairs) < FEWEST_POOLED or len(pairs) < len(studies):
        return None
    return pooled([value for value, _ in pairs], [error or 0.0 for _, error in pairs])


def _one_stage(question: Question, same: Sequence[Reported], used: set[str]) -> Estimate:
    method = "all clients in one model"
    if question.design != "within-person" or question.outcome.yes_no:
        note = "One model of all clients is made only for numbers compared within one client."
        return Estimate(None, 0, method, note=note)
    rows = [
        (client.a - client.b, pack.study)
        for pack in same
        if pack.study in used
        for client in pack.findings.primary.clients
        if client.a is not None and client.b is not None
    ]
    found = one_stage_difference([d for d, _ in rows], [study for _, study in rows])
    return replace(found, unit=question.outcome.unit)


def _without(
    studies: Sequence[StudyResult], column: _Column, together: Pooled
) -> Iterator[Without]:
    """Leave out each study in turn; of very many only those that move the average most."""
    rest = without_each(column.effects, column.errors, together.tau2)
    moved = sorted(range(len(studies)), key=lambda i: -abs(float(rest[i]) - together.value))
    for place in sorted(moved[: MOST_REFITTED if len(studies) <= MOST_REFITTED else 5]):
        left = column.without(place).pooled(fewest=2)
        if left is not None:
            enough = left.k >= FEWEST_POOLED
            yield Without(studies[place].label, left.value, left.interval if enough else None)


def _if_silent(column: _Column, silent: int) -> Pooled | None:
    """Count every silent study as 'no difference', with the errors' median."""
    if not silent or len(column.effects) < FEWEST_POOLED:
        return None
    extra = (median(column.errors),) * silent
    return _Column(column.effects + (0.0,) * silent, column.errors + extra).pooled()


def _safety(packs: Sequence[Reported]) -> Safety:
    """Add up the adverse events of all studies, those that are not pooled too."""
    parts = [pack.findings.safety for pack in packs]
    counts: Counter[Event] = Counter()
    for part in parts:
        for event in part.events:
            counts[replace(event, clients=0)] += event.clients
    events = [replace(event, clients=clients) for event, clients in counts.items()]
    signed = sum(
        part.treated if part.clients_signed is None else part.clients_signed for part in parts
    )
    healed = [part.clients_healed for part in parts]
    told = [part.earlier for part in parts]
    earlier = Earlier(
        sum(before.gone for before in told),
        sum(before.milder for before in told),
        sum(before.corrected for before in told),
    )
    harmed = bool(events) or earlier.recorded
    limit = zero_events_upper_limit(signed).interval if signed and not harmed else None
    return Safety(
        treated=sum(part.treated for part in parts),
        visits=sum(part.visits for part in parts),
        visits_signed=sum(part.visits_signed for part in parts),
        events=tuple(sorted(events, key=lambda e: (not e.serious, -e.clients, e.event, e.arm))),
        with_event=sum(part.with_event for part in parts),
        upper_limit=limit.high if limit else None,
        stop=" ".join(
            f"{pack.label}: {pack.findings.safety.stop}"
            for pack in packs
            if pack.findings.safety.stop
        ),
        clients_signed=signed,
        not_treated_with_event=sum(part.not_treated_with_event for part in parts),
        clients_healed=None if None in healed else sum(filter(None, healed)),
        earlier=earlier,
    )


def _estimate(together: Pooled) -> Estimate:
    return Estimate(together.value, together.k, "pooled", together.interval)


def _flags(
    same: Sequence[Reported], question: Question, register: Sequence[Registered]
) -> Iterator[str]:
    announced = {entry.study: entry for entry in register}
    for pack in same if register else ():
        entry = announced.get(pack.study)
        if entry is None:
            yield f"{pack.label} was never announced to the group."
        elif entry.clients_then:
            had = counted(entry.clients_then, "client")
            yield f"{pack.label} was announced after {had} had a card."
    stated = {pack.findings.plan.primary.worthwhile for pack in same}
    if len(stated) > 1:
        yield (
            f"The studies stated different smallest worthwhile differences ({min(stated):g} to "
            f"{max(stated):g} {question.outcome.unit}); the largest is used."
        )
