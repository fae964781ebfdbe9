"""What the sessions table has to show of each way, as far as a plan says so."""

from collections.abc import Iterator, Mapping

from pmulab.plan.model import Key, Plan
from pmulab.tables.expectations import Shown
from pmulab.tables.fields import Field as TableField
from pmulab.tables.schema import study_tables

PIGMENT = "pigment_family"


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


def _fault(column: TableField | None, value: Shown) -> str:
    if column is None or column.arm or column.kind not in ("choice", "int", "float"):
        return "is no choice or number of the sessions table"
    if column.choices:
        return "" if value in column.choices else f"must be one of {', '.join(column.choices)}"
    if isinstance(value, str):
        return "must be a number, or [lowest, highest]"
    low, high = value if isinstance(value, tuple) else (value, value)
    if low > high:
        return "the lowest number stands first"
    least, most = column.minimum, column.maximum
    beyond = (least is not None and low < least) or (most is not None and high > most)
    return f"must be {column.allowed}" if beyond else ""
