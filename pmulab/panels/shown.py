"""What the records of each way have to show, as inputs of a form."""

from collections.abc import Collection, Mapping
from typing import Any

from ipywidgets import Widget

from pmulab.errors import UserError
from pmulab.panels.inputs import choice, number, words
from pmulab.plan import Key, Plan
from pmulab.plan.labels import recorded_label
from pmulab.plan.recorded import column, columns_of_work, limits_of
from pmulab.questions import names, question

LEAST, MOST = ".least", ".most"
"""Ends of the names of the two inputs that make one entry."""
_NOT_CHECKED = "not checked"


def entry_of(name: str) -> str:
    """Give the entry of the plan that an input belongs to."""
    return name.removesuffix(LEAST).removesuffix(MOST)


def columns_asked(plan: Plan, more: Collection[str]) -> tuple[str, ...]:
    """List the columns that a form asks about: those of either way, of the question, and more.

    Parameters
    ----------
    plan : Plan
    more : collection of str

    Returns
    -------
    tuple of str
        In the order of the sessions table.
    """
    asked = {*more, *(name for _, arm in plan.arms.both for name in arm.recorded)}
    if plan.study.library in names():
        arms = question(plan.study.library).data["arms"]
        asked |= {name for arm in arms.values() for name in arm.get("recorded", ())}
    offered = columns_of_work(plan)
    return (*(name for name in offered if name in asked), *sorted(asked - {*offered}))


def columns_left(plan: Plan, asked: Collection[str]) -> tuple[str, ...]:
    """List the columns that may be asked about as well."""
    return tuple(name for name in columns_of_work(plan) if name not in asked)


def shown_inputs(plan: Plan, key: Key, asked: Collection[str]) -> dict[str, Widget]:
    """Make the inputs of one way.

    Parameters
    ----------
    plan : Plan
    key : {'A', 'B'}
    asked : collection of str
        Columns of the sessions table.

    Returns
    -------
    dict of str to Widget
        A list for a column of choices, least and most for a number; by entry of the plan.
    """
    made: dict[str, Widget] = {}
    for name in asked:
        field, now = column(name), dict(plan.arms.both)[key].recorded.get(name)
        entry, label = f"arms.{key}.recorded.{name}", recorded_label(key, name)
        if field.choices:
            options = [(_NOT_CHECKED, ""), *((one, one) for one in field.choices)]
            made[entry] = choice(label, options, now or "")
            continue
        limits = limits_of(now)
        for place, (end, said) in enumerate(((LEAST, "least"), (MOST, "most"))):
            text = f"{limits[place]:g}" if limits else ""
            made[entry + end] = words(f"{label}: {said}", text, _NOT_CHECKED)
    return made


def shown_changes(inputs: Mapping[str, Any], plan: Plan) -> dict[str, Any]:
    """Give what the records of each way have to show as it stands in the inputs.

    Parameters
    ----------
    inputs : mapping of str to Widget
    plan : Plan
        As it is now.

    Returns
    -------
    dict of str to value
        By entry of the plan; None for what is to be taken out of it.

    Raises
    ------
    UserError
        If one of the two numbers is missing or none, or they stand the wrong way round.
    """
    found: dict[str, Any] = {}
    for name, given in inputs.items():
        _, key, kind, *rest = (*entry_of(name).split("."), "", "")
        if kind != "recorded" or name.endswith(MOST):
            continue
        now = getattr(plan.arms, key).recorded.get(rest[0])
        value = (
            _limits(given, inputs[entry_of(name) + MOST]) if name.endswith(LEAST) else given.value
        )
        if not value:
            found |= {} if now is None else {entry_of(name): None}
        elif value == limits_of(now) or value == now:
            found[entry_of(name)] = list(now) if isinstance(now, tuple) else now
        else:
            found[entry_of(name)] = _written(value)
    return found


def _limits(least: Any, most: Any) -> tuple[float, float] | None:
    low, high = number(least), number(most)
    if low is None and high is None:
        return None
    if low is None or high is None:
        raise UserError(
            f"{(least if low is None else most).description}: empty, and its other end is not.",
            "Give both numbers, the same twice for one number; or leave both empty: then it is "
            "not checked.",
        )
    if low > high:
        raise UserError(
            f"{least.description}: {low:g} is more than the most, {high:g}.",
            "Write the smaller number first.",
        )
    return low, high


def _written(value: str | tuple[float, float]) -> Any:
    """Write whole numbers without a point, and one number instead of twice the same."""
    if isinstance(value, str):
        return value
    low, high = (int(one) if one.is_integer() else one for one in value)
    return low if low == high else [low, high]
