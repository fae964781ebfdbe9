"""What entries of a plan cannot be together, each with the place where it stands."""

from collections.abc import Iterator
from itertools import pairwise

from pmulab.devices import is_device
from pmulab.plan.columns import is_known
from pmulab.plan.model import Outcome, Plan
from pmulab.plan.recorded import recorded_faults
from pmulab.tables.fields import Field as TableField
from pmulab.tables.schema import study_tables

Fault = tuple[tuple[str | int, ...], str]

MOST_LOOKS = 4
"""Early looks that a plan may hold."""

_AS_YES_NO = ("migration",)
"""Choices that can be read as yes or no: any doubt counts as yes."""


def faults_of(plan: Plan) -> Iterator[Fault]:
    """Find what entries of a plan, each possible alone, cannot be together.

    Parameters
    ----------
    plan : Plan

    Yields
    ------
    tuple of (place, fault)
        Path of the entry, and what is wrong with it in plain words.
    """
    if is_device(plan.study.code):
        told = "is the name of a device of the computer; choose another short name"
        yield ("study", "code"), f"{plan.study.code!r} {told}"
    yield from _arm_faults(plan)
    yield from recorded_faults(plan)
    yield from _time_faults(plan)
    names = [outcome.name for outcome in plan.outcomes]
    if len(plan.secondary) > 4:
        yield ("secondary", 4), "at most four secondary outcomes: more would find something by luck"
    for place, outcome in zip(_outcome_places(plan), plan.outcomes, strict=True):
        if names.count(outcome.name) > 1:
            yield (*place, "name"), f"{outcome.name!r} is named twice"
        for key, fault in _outcome_faults(outcome):
            yield (*place, key), fault


def _outcome_places(plan: Plan) -> list[tuple[str | int, ...]]:
    return [("primary",), *(("secondary", row) for row in range(len(plan.secondary)))]


def _outcome_faults(outcome: Outcome) -> Iterator[tuple[str, str]]:
    if outcome.low >= outcome.high:
        yield "low", f"low ({outcome.low:g}) must lie below high ({outcome.high:g})"
    widest = 100.0 if outcome.yes_no else outcome.high - outcome.low
    if outcome.worthwhile > widest > 0:
        yield "worthwhile", f"{outcome.worthwhile:g} is more than the whole range ({widest:g})"
    known = study_tables()
    if is_known(outcome, known):
        yield from _column_faults(outcome, known[outcome.table][outcome.name])
    elif outcome.name in {one.name for table in known.values() for one in table.fields}:
        yield "table", f"{outcome.name!r} is recorded in another table, not in {outcome.table}"


def _column_faults(outcome: Outcome, column: TableField) -> Iterator[tuple[str, str]]:
    """Say why an outcome does not fit the column of every study that it names."""
    if column.kind not in ("int", "float", "flag") and column.name not in _AS_YES_NO:
        yield "name", f"{outcome.name!r} is no measure that can be compared"
    elif outcome.yes_no != (column.kind not in ("int", "float")):
        fits = "'yes-no'" if column.kind not in ("int", "float") else "a number or a grade"
        yield "kind", f"{outcome.name!r} is recorded as {fits}"
    elif not outcome.yes_no:
        least, most = column.minimum, column.maximum
        if least is not None and outcome.low < least:
            yield "low", f"{outcome.name!r} is never below {least:g}"
        if most is not None and outcome.high > most:
            yield "high", f"{outcome.name!r} is never above {most:g}"


def _arm_faults(plan: Plan) -> Iterator[Fault]:
    if plan.arms.A.label.casefold() == plan.arms.B.label.casefold():
        yield ("arms", "B", "label"), "the two arms need different names"
    varied = plan.study.pigment == "varied"
    for key, arm in (("A", plan.arms.A), ("B", plan.arms.B)):
        if varied != bool(arm.pigment):
            told = 'name each arm\'s pigment, and set pigment = "varied" in [study], or neither'
            yield ("arms", key, "pigment"), told


def _time_faults(plan: Plan) -> Iterator[Fault]:
    if not plan.healed.earliest <= plan.healed.planned_day <= plan.healed.latest:
        yield ("healed", "planned_day"), "the planned day must lie between earliest and latest"
    yield from _look_faults(plan)
    if plan.analysis.lead == "adjusted" and not plan.within_person:
        yield ("analysis", "lead"), "only a left/right comparison has an adjusted estimate"


def _look_faults(plan: Plan) -> Iterator[Fault]:
    looks = plan.analysis.looks
    rising = all(earlier < later for earlier, later in pairwise((*looks, plan.clients.planned)))
    if len(looks) > MOST_LOOKS or not rising:
        told = f"at most {MOST_LOOKS} early looks, rising, at fewer clients than planned"
        yield ("analysis", "looks"), told
    if plan.analysis.after_every_client:
        if looks:
            yield ("analysis", "looks"), "no planned looks where every client is looked at anyway"
        if not plan.within_person or plan.primary.yes_no:
            told = "only a left/right comparison of a number or grade can be read at every client"
            yield ("analysis", "after_every_client"), told
