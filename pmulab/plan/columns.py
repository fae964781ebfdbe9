"""The tables of one study: its own columns, its outcomes required and within its ranges."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Literal

from pmulab.plan.model import Outcome, Plan
from pmulab.tables.fields import Field as TableField
from pmulab.tables.fields import Table
from pmulab.tables.schema import study_tables

EXCLUSION = "study_exclusion"
"""Column of the clients table that asks for the plan's own reasons."""


def plan_tables(plan: Plan) -> dict[str, Table]:
    """Give the four tables with the plan's own columns, its outcomes required.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    dict of str to Table
    """
    known = study_tables()
    extra: dict[str, list[TableField]] = {"sessions": [], "healed": []}
    required: dict[str, list[str]] = {"sessions": [], "healed": []}
    for outcome in plan.outcomes:
        required[outcome.table].append(outcome.name)
        if not is_known(outcome, known):
            extra[outcome.table].append(_own_column(outcome))
    tables = study_tables(extra, required)
    for outcome in plan.outcomes:
        tables[outcome.table] = _narrowed(tables[outcome.table], outcome)
    names = (("A", plan.arms.A.label), ("B", plan.arms.B.label))
    for name in ("sessions", "healed"):
        tables[name] = _with_arm_names(tables[name], names)
    if plan.clients.exclude:
        clients = tables["clients"]
        tables["clients"] = replace(clients, fields=(*clients.fields, _exclusion(plan)))
    return tables


def _with_arm_names(table: Table, names: tuple[tuple[str, str], ...]) -> Table:
    fields = (
        replace(field, labels=(*names, *(one for one in field.labels if one[0] not in ("A", "B"))))
        if field.arm
        else field
        for field in table.fields
    )
    return replace(table, fields=tuple(fields))


def _narrowed(table: Table, outcome: Outcome) -> Table:
    """Refuse values outside the plan's range, also in a column that every study has."""
    if outcome.yes_no:
        return table
    fields = (
        replace(field, minimum=outcome.low, maximum=outcome.high)
        if field.name == outcome.name
        else field
        for field in table.fields
    )
    return replace(table, fields=tuple(fields))


def _exclusion(plan: Plan) -> TableField:
    """Ask, at enrolment, for the reasons of this study that keep a client out."""
    return TableField(
        name=EXCLUSION,
        title="A reason of this study's plan",
        kind="choice",
        choices=("no", "yes", "unsure"),
        needed="always",
        group="health",
        hint="Does one of these hold? " + " / ".join(plan.clients.exclude),
        share="drop",
        why="The plan says that such clients do not take part.",
    )


def is_known(outcome: Outcome, tables: Mapping[str, Table]) -> bool:
    """Tell whether the outcome is a column that every study has.

    Parameters
    ----------
    outcome : Outcome
    tables : mapping of str to Table
        The tables without a study's own columns.

    Returns
    -------
    bool
    """
    return any(known.name == outcome.name for known in tables[outcome.table].fields)


def _own_column(outcome: Outcome) -> TableField:
    whole = outcome.kind in ("ordinal", "count") and outcome.step in (0, 1)
    kind: Literal["flag", "int", "float"] = (
        "flag" if outcome.yes_no else "int" if whole else "float"
    )
    return TableField(
        name=outcome.name,
        title=outcome.title,
        kind=kind,
        unit="" if outcome.yes_no else outcome.unit,
        minimum=None if outcome.yes_no else outcome.low,
        maximum=None if outcome.yes_no else outcome.high,
        step=outcome.step or None,
        anchors=outcome.anchors,
        group="this study",
        needed="always",
        why="An outcome of this study's plan.",
    )
