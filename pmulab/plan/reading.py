"""Reading a plan from its file: every fault told at once, each with its line."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from pmulab.errors import UserError
from pmulab.plan.faults import Fault, faults_of
from pmulab.plan.labels import entry_label
from pmulab.plan.model import (
    FORMAT,
    About,
    Analysis,
    Arm,
    Clients,
    Healed,
    Outcome,
    Plan,
    Promises,
)
from pmulab.plan.toml_text import line_of, read_toml


@dataclass(frozen=True, slots=True)
class Change:
    """One entry of the plan that differs from the locked one."""

    entry: str
    locked: str
    now: str

    def __str__(self) -> str:
        return f"{entry_label(self.entry)}: locked as {self.locked!r}, now {self.now!r}"


@cache
def _adapter() -> TypeAdapter[Plan]:
    return TypeAdapter(Plan)


def read_plan(text: str, where: str = "plan.toml") -> Plan:
    """Read a plan from the text of its file.

    Parameters
    ----------
    text : str
        TOML.
    where : str, default='plan.toml'
        File name used in messages.

    Returns
    -------
    Plan

    Raises
    ------
    UserError
        If the text is no TOML, or an entry is missing, unknown or impossible. All faults are
        told at once, each with its line.
    """
    data = read_toml(text, where, _TOML_REMEDY)
    plan, faults = _validated(data)
    told = [f"{where}, line {line_of(text, place)}: {fault}" for place, fault in faults]
    if told or plan is None:
        raise UserError("\n".join(told), "Mend these lines in the plan and save the file again.")
    return plan


def plan_from_dict(data: Mapping[str, Any], where: str = "journal") -> Plan:
    """Build a plan from plain data that a locked journal entry or a findings file holds.

    Parameters
    ----------
    data : mapping
        As `Plan.to_dict` gives it.
    where : str
        Named in messages.

    Returns
    -------
    Plan

    Raises
    ------
    UserError
        If the data are not a plan of a format that this release knows.
    """
    plan, faults = _validated(data)
    if plan is None or faults:
        told = "; ".join(f"{'.'.join(map(str, place))}: {fault}" for place, fault in faults)
        raise UserError(f"The plan kept in {where} cannot be read: {told}", "Ask for help with it.")
    return plan


def changes(locked: Plan, now: Plan) -> tuple[Change, ...]:
    """List what differs between the locked plan and the file as it is now.

    Parameters
    ----------
    locked, now : Plan

    Returns
    -------
    tuple of Change
        In alphabetical order of the entries; empty when nothing differs.
    """
    before, after = entries_of(locked), entries_of(now)
    keys = sorted(before.keys() | after.keys())
    return tuple(
        Change(key, str(before.get(key, "(nothing)")), str(after.get(key, "(nothing)")))
        for key in keys
        if before.get(key) != after.get(key)
    )


def entries_of(plan: Plan) -> dict[str, Any]:
    """Give every entry of a plan by its name.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    dict of str to value
        Plain data; named such as 'arms.A.recorded.passes' and 'secondary.1.unit', from 1.
    """
    return _flat(plan.to_dict())


_TOML_REMEDY = (
    "A line reads: name = value. Words stand in double quotes, numbers use a point (2.5), "
    "and a list stands in square brackets."
)


def _validated(data: Mapping[str, Any]) -> tuple[Plan | None, list[Fault]]:
    version = data.get("format")
    if isinstance(version, int) and version > FORMAT:
        told = f"the plan has format {version}; this release reads format {FORMAT}"
        return None, [(("format",), f"{told}: install a newer pmulab")]
    try:
        plan = _adapter().validate_json(json.dumps(data, default=str))
    except ValidationError as error:
        return None, [_plain(one) for one in error.errors(include_url=False)]
    return plan, list(faults_of(plan))


def _plain(error: Any) -> Fault:
    """Turn one fault of the validator into a sentence."""
    place = tuple(part for part in error["loc"] if not str(part).startswith("function-"))
    name = str(place[-1]) if place else "plan"
    kind, limits = error["type"], error.get("ctx", {})
    if kind == "missing":
        return place, f"{name!r} is missing"
    if kind in ("unexpected_keyword_argument", "extra_forbidden"):
        return place, f"{name!r} is not an entry of the plan{_nearest(place)}"
    if kind == "literal_error":
        return place, f"{name!r} must be {limits['expected']}; found {_shown(error['input'])}"
    found = f"; found {_shown(error['input'])}"
    told = str(error["msg"]).replace("Input should be", "must be").replace("String should", "must")
    return place, f"{name!r}: {told[:1].lower()}{told[1:]}{found}"


def _shown(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 60 else text[:57] + "..."


def _nearest(place: tuple[str | int, ...]) -> str:
    from difflib import get_close_matches

    words = {
        one.name
        for kind in (Plan, About, Arm, Outcome, Clients, Healed, Analysis, Promises)
        for one in fields(kind)
    }
    near = get_close_matches(str(place[-1]), sorted(words), n=1)
    return f"; did you mean {near[0]!r}?" if near else ""


def _flat(data: Any, prefix: str = "") -> dict[str, Any]:
    if isinstance(data, dict) and data:
        return {
            k: v for key, value in data.items() for k, v in _flat(value, f"{prefix}{key}.").items()
        }
    if isinstance(data, list) and data and isinstance(data[0], dict):
        return _flat({str(row + 1): value for row, value in enumerate(data)}, prefix)
    return {prefix.rstrip("."): data}
