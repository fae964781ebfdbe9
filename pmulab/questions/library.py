"""The ready questions as they lie in the files beside this module."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from importlib.resources import files
from typing import Any

from pmulab.errors import UserError
from pmulab.plan import Outcome
from pmulab.tables import Field, study_tables

Entries = dict[str, Any]

_SHARED = "_usual"


@dataclass(frozen=True, slots=True)
class Question:
    """One ready question.

    Parameters
    ----------
    name : str
        Name of its file, plain words joined by hyphens.
    summary : str
        One line for a list.
    why_design : str
        Why left is compared with right, or clients with clients.
    carry_across : str
        What could reach the other eyelid, and what to do about it.
    data : mapping
        Entries of the plan, named as in `plan.toml`; each outcome is complete.
    """

    name: str
    summary: str
    why_design: str
    carry_across: str
    data: Mapping[str, Any]


def names() -> tuple[str, ...]:
    """List the ready questions.

    Returns
    -------
    tuple of str
        In alphabetical order.
    """
    found = (one.name for one in files("pmulab.questions").iterdir())
    return tuple(
        sorted(
            name.removesuffix(".toml")
            for name in found
            if name.endswith(".toml") and not name.startswith("_")
        )
    )


def question(name: str) -> Question:
    """Read one ready question.

    Parameters
    ----------
    name : str
        One of `names()`.

    Returns
    -------
    Question

    Raises
    ------
    UserError
        If there is no such question; lists those there are, the nearest one first.
    """
    there = names()
    if name not in there:
        raise UserError(f"There is no ready question {name!r}.{_nearest(name, there)}", _all(there))
    data, usual = _entries(name), _entries(_SHARED)
    about = {key: data.pop(key) for key in ("summary", "why_design", "carry_across")}
    data["primary"] = _completed(data["primary"], usual["outcomes"])
    data["secondary"] = [_completed(one, usual["outcomes"]) for one in data["secondary"]]
    data["promises"] = usual["promises"] | data["promises"]
    return Question(name, data=data, **about)


def usual_outcome(name: str) -> Outcome:
    """Give a usual outcome of the trade as a plan would hold it.

    Parameters
    ----------
    name : str
        Its column, such as 'work_min'.

    Returns
    -------
    Outcome

    Raises
    ------
    KeyError
        If there is no such usual outcome.
    """
    entry = _completed({"name": name}, _entries(_SHARED)["outcomes"])
    return Outcome(**entry | {"anchors": tuple(entry.get("anchors", ()))})


def _entries(name: str) -> Entries:
    text = files("pmulab.questions").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _completed(outcome: Entries, usual: Mapping[str, Entries]) -> Entries:
    """Fill what the question leaves open from the usual outcome, then from the table schema."""
    entry = usual.get(outcome["name"], {}) | outcome
    column = study_tables()[entry["table"]]
    known = {field.name: field for field in column.fields}
    if entry["name"] not in known:
        return entry
    return _from_column(known[entry["name"]]) | entry


def _from_column(column: Field) -> Entries:
    # A yes/no column has no limits of its own; the plan writes no as 0 and yes as 1.
    low, high = (0.0, 1.0) if column.kind == "flag" else (column.minimum, column.maximum)
    step = 1.0 if column.kind == "int" else column.step
    words = {
        "title": column.title,
        "unit": column.unit,
        "anchors": list(column.anchors),
    }
    scale = {"low": low, "high": high, "step": step}
    return {key: value for key, value in words.items() if value} | {
        key: float(value) for key, value in scale.items() if value is not None
    }


def _nearest(name: str, there: tuple[str, ...]) -> str:
    asked = "-".join(name.casefold().replace("_", " ").split())
    near = [one for one in there if asked and asked in one]
    near += get_close_matches(asked, there, n=1, cutoff=0.4)
    return f" Did you mean {near[0]!r}?" if near else ""


def _all(there: tuple[str, ...]) -> str:
    return "Choose one of these: " + ", ".join(there) + "."
