"""What the sessions table has to show of each way, as far as a plan says so."""

from collections.abc import Iterator, Mapping

from pmulab.plan.model import Key, Plan
from pmulab.tables.expectations import Shown
from pmulab.tables.fields import Field as TableField
from pmulab.tables.schema import study_tables

PIGMENT = "pigment_family"
_OF_WORK = ("what", "materials", "numbing", "work")
"""Subjects of the sessions table that tell how an eyelid was worked."""


def recorded(plan: Plan) -> dict[Key, Mapping[str, Shown]]:
    """Say what the sessions table has to show of each way.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    dict of {'A', 'B'} to mapping of column to value
        A choice, a number, or the lowest and highest number. An arm's own pigment is among them.
    """
    return {
        key: ({PIGMENT: arm.pigment} if arm.pigment else {}) | dict(arm.recorded)
        for key, arm in plan.arms.both
    }


def column(name: str) -> TableField:
    """Give a column of the sessions table.

    Parameters
    ----------
    name : str

    Returns
    -------
    Field

    Raises
    ------
    KeyError
        If there is none of that name.
    """
    return study_tables()["sessions"][name]


def column_words(name: str) -> str:
    """Name a column of the sessions table by its plain title and unit; others as they are."""
    if name not in study_tables()["sessions"].names:
        return name
    found = column(name)
    return f"{found.title} ({found.unit})" if found.unit else found.title


def columns_of_work(plan: Plan) -> tuple[str, ...]:
    """List the columns by which a way can be told from the other, but those that are measured.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    tuple of str
        In the order of the sessions table.
    """
    measured = {outcome.name for outcome in plan.outcomes}
    return tuple(
        one.name
        for one in study_tables()["sessions"].fields
        if one.group in _OF_WORK and _can_tell(one) and one.name not in measured
    )


def limits_of(value: Shown | None) -> tuple[float, float] | None:
    """Give the lowest and the highest number of what a column has to show, if it is a number."""
    if value is None or isinstance(value, str):
        return None
    low, high = value if isinstance(value, tuple) else (value, value)
    return low, high


def recorded_faults(plan: Plan) -> Iterator[tuple[tuple[str, ...], str]]:
    """Find what the sessions table can never show.

    Parameters
    ----------
    plan : Plan

    Yields
    ------
    tuple of (place, fault)
        As `faults.faults_of` gives them.
    """
    known = {one.name: one for one in study_tables()["sessions"].fields}
    for key, arm in plan.arms.both:
        for name, value in arm.recorded.items():
            told = _fault(known.get(name), value)
            if name == PIGMENT and arm.pigment and value != arm.pigment:
                told = f"this way's pigment is {arm.pigment!r}"
            if told:
                yield ("arms", key, "recorded", name), f"{name!r}: {told}"


def _can_tell(field: TableField) -> bool:
    return not field.arm and field.kind in ("choice", "int", "float")


def _fault(field: TableField | None, value: Shown) -> str:
    if field is None or not _can_tell(field):
        return "is no choice or number of the sessions table"
    if field.choices:
        return "" if value in field.choices else f"must be one of {', '.join(field.choices)}"
    limits = limits_of(value)
    if limits is None:
        return "must be a number, or [lowest, highest]"
    low, high = limits
    if low > high:
        return "the lowest number stands first"
    least, most = field.minimum, field.maximum
    beyond = (least is not None and low < least) or (most is not None and high > most)
    return f"must be {field.allowed}" if beyond else ""
